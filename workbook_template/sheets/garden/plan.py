"""Plan: which crop stands in which bed, from when to when, and how long its soil's water lasts."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, GROWER, SEEN, SheetFor
from workbook_template.kit.formulas import call
from workbook_template.kit.page import SPARE_ROWS, Page
from xlfuncs.tables.garden.beds import BED_PLAN, BEDS

SHEETS = (
    SheetFor("Plan",
             "One row per crop in a bed, with its first and last day of watering. Without a row a"
             " bed lies fallow and gets no water.", (GROWER, CONSULTANT), title="Bed plan",
             group="watering", needs=("Beds", "Soils", "Crops"), reads=("Weather",), client=SEEN),
)  # fmt: skip

FROM_CROPS = ("kc_mid", "root_depth", "depletion_fraction", "salt_zero_yield")
CROPS_A_BED = 2  # rows for so many, one after the other


def write(book: Book) -> None:
    page = Page(book, SHEETS[0])
    page.freeze(page.row + 1)
    book.headings["BedPlan"] = {c.name: c.heading(book.system) for c in BED_PLAN.columns}
    beds, planned = (len(book.inputs.tables.get(t.name, ())) for t in (BEDS, BED_PLAN))
    page.table(
        BED_PLAN, {"check": _check(book), **_from_crops(book), **_soil_water(book)},
        spare=max(SPARE_ROWS, CROPS_A_BED * beds - planned),
        widths={"bed": 14, "crop": 24, "check": 30, "available_water": 10, "depletion": 10,
                "wetted_fraction": 11, "interval": 12},
    )  # fmt: skip


def _check(book: Book) -> str:
    bed = f"COUNTIF({book.column('Beds', 'bed')},{{bed}})"
    crop = f"COUNTIF({book.column('Crops', 'crop')},{{crop}})"
    return (
        f'IF({{bed}}&{{crop}}="","",IF({bed},IF({crop},'
        'IF(COUNT({start},{end})<2,"From and To: both are needed",'
        'IF({end}<{start},"To: before From","ok")),"Crop: not in the list of crops"),'
        '"Bed: not on the Beds sheet"))'
    )


def _from_crops(book: Book) -> dict[str, str]:
    columns = {}
    for name in FROM_CROPS:
        found = book.lookup("Crops", name, "crop", "{crop}")
        columns[name] = f'IF({{check}}<>"ok","",IF({found}="","",{found}))'
    counted = 'IF({check}="","",IF({check}="ok","yes","no"))'
    beds, starts, ends = (book.column("BedPlan", name) for name in ("bed", "start", "end"))
    others = f'COUNTIFS({beds},{{bed}},{starts},"<="&{{end}},{ends},">="&{{start}})>1'
    doubt = f'IF({{check}}<>"ok",{{check}},IF({others},"overlaps another crop in this bed",""))'
    doubt = f'IF(COUNT({{start}},{{end}})<2,"",{doubt})'  # said of the cell
    return {**columns, "doubt": doubt, "counted": counted}


def _soil_water(book: Book) -> dict[str, str]:
    """How long the water of the root zone lasts in the hottest month at mid-season."""

    def of_bed(column: str) -> str:
        return f"INDEX({book.column('Beds', column)},{{bed_row}})"

    wetted = call("WETTED_FRACTION", of_bed("laterals"), "soil_wetted_width", "{planted_width}")
    held = call("AVAILABLE_WATER", "soil_capacity", "{root_depth}")
    own = call("DEPLETION_FRACTION", "{depletion_fraction}", "{peak_use}")
    a_week = "MIN(7,MAX(1,ROUND(N(waterings_a_week),0)))"
    gap = call("LONGEST_GAP", a_week, 'IF(allowed_days="","",allowed_days)')
    return {
        "peak_use": f'IF(OR({{kc_mid}}="",peak_reference_et=""),"",'
                    f"{call('CROP_ET', 'peak_reference_et', '{kc_mid}')})",
        "available_water": f'IF(OR({{root_depth}}="",soil_capacity=""),"",{held})',
        "hot_fraction": 'IF({depletion_fraction}="","",IF({peak_use}="",{depletion_fraction},'
                        f"{own}))",
        "share": 'IF(OR({available_water}="",{hot_fraction}=""),"",'
                 'IF(allowed_depletion<>"",allowed_depletion,{hot_fraction}))',
        "depletion": 'IF({share}="","",'
                     f"{call('ALLOWABLE_DEPLETION', '{available_water}', '{share}')})",
        "bed_row": f'IF({{check}}="ok",MATCH({{bed}},{book.column("Beds", "bed")},0),"")',
        "planted_width": f'IF({{check}}="ok",{of_bed("strips_across")},"")',
        "wetted_fraction": f'IF(OR({{check}}<>"ok",soil_wetted_width=""),"",IFERROR({wetted},""))',
        "interval":
            'IF(OR({depletion}="",N({peak_use})=0,N({wetted_fraction})=0),"",'
            f"{call('IRRIGATION_INTERVAL', '{depletion}', '{peak_use}', '{wetted_fraction}')}"
            ")",
        "often_enough": f'IF({{interval}}="","",IF({gap}<=MAX(1,INT({{interval}}+0.05)),"yes",'
                        '"no: water more often"))',
    }  # fmt: skip
