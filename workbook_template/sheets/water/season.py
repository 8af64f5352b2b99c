"""Season: minutes of one watering, by bed and month."""

from functools import partial

from xlsxwriter.utility import xl_col_to_name, xl_range_abs

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, SEEN, SheetFor
from workbook_template.kit.formulas import Place, call
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from workbook_template.sheets.water.bed_need import DAYS, MONTH_NUMBERS, NET_WEEK

SHEETS = (
    SheetFor("Season", "Minutes of one watering, by bed and month.", (CONSULTANT,),
             title="Season table", group="watering", needs=("Bed need", "Need", "Plan"),
             client=SEEN),
)  # fmt: skip

GIVEN, PERCENT = "season given", "season percentage"
SEASON = "season minutes"  # the block, by which other sheets find it
WIDTH, PAGEFUL = 15, 40  # columns, and rows of beds that surely fit a page
SAID = said("season")
FILLINGS = 5  # a run of less loses over a fifth to filling; common practice
DELIVERED = "Flow: what arrives at the bed, from Pressure; nominal for a bed not solved there."
NOMINAL = "Flow: nominal, as if the rated pressure were everywhere."


def flow_words(book: Book) -> str:
    """A formula that says which flow the run times rest on."""
    known = f"COUNT({book.column('Beds', 'delivered_flow')})"
    return f'IF({known}=0,"{NOMINAL}","{DELIVERED}")'


def flow_of(book: Book) -> str:
    """The flow of a grid's bed, as Beds has it."""
    return book.nth("Beds", "flow_used")


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(16, 8, *(8,) * 12), upright=True)
    page.state("bed_need_state", strong=True)
    page.text(page.row, 0, "Waterings", page.styles.strong)
    page.formula(page.row, 1, "waterings_a_week", "number", strong=True)
    words = f'"a week, from Setup. "&{flow_words(book)}'
    page.remark(page.row, 2, words)
    page.row += 2
    page.note(SAID.about, columns=WIDTH - 1)
    page.sheet.freeze_panes(page.row + 1, 1)
    if book.places["Beds"].rows > PAGEFUL:  # else each part has its headers on its page
        page.sheet.repeat_rows(page.row)
    page.block(SEASON, _row(book), book.places["Beds"].rows)
    page.sheet.set_column(WIDTH - 1, WIDTH + 1, 8, None, {"level": 1, "hidden": True})
    _given(book, page)
    _percentages(book, page)


def _given(book: Book, page: Page) -> None:
    """What one time a valve brings each bed, and who gets too much or too little."""
    beds, season = book.places["Beds"].rows, book.places[SEASON]
    page.section("Volume of one watering", columns=WIDTH - 1)
    flow, own = season.beside("flow"), {month: season.beside(month) for month in MONTH_NUMBERS}
    volume = page.block("season volumes", {
        "bed": season.beside("bed"), "flow": f'IF(N({flow})=0,"",{flow})',
        **{month: f'IF(ISNUMBER({cell}),{cell}*${{flow}},"")' for month, cell in own.items()},
    }, beds)  # fmt: skip
    page.section("Given, with one time per valve", columns=WIDTH - 1)
    page.note(SAID.given, columns=WIDTH - 1)
    flows, valves = volume.reference("flow"), season.reference("valve")

    def shared(month: str) -> str:
        runs = f'SUMIFS({flows},{valves},${{valve}},{season.reference(month)},">=0")'
        share = f"SUMIF({valves},${{valve}},{volume.reference(month)})/{runs}"
        return f'IF(ISNUMBER({own[month]}),IF(${{valve}}="",{own[month]},{share}),"")'

    names = {name: season.beside(name) for name in ("bed", "valve")}
    given = page.block(GIVEN, names | {month: shared(month) for month in own}, beds)
    page.section("More or less than wanted (%)", columns=WIDTH - 1)
    page.note(SAID.off, columns=WIDTH - 1)

    def change(month: str) -> str:
        part = f"{given.beside(month)}/{own[month]}-1"
        over = f'IF(ABS({part})<=0.1,"",ROUND(100*({part}),0))'
        rained = f'IF(AND(ISNUMBER({own[month]}),N({given.beside(month)})>=0.5),"rain","")'
        return f"IF(N({own[month]})<=0,{rained},{over})"

    off = page.block("season more or less", names | {month: change(month) for month in own}, beds)
    page.row -= 1
    page.text(page.row, 0, "Too little", page.styles.strong)
    for month in own:
        page.formula(page.row, off.columns[month], f'COUNTIF({off.reference(month)},"<0")', "count")
    page.row += 2
    _how_often(book, page, given)


def _how_often(book: Book, page: Page, given: Place) -> None:
    """Runs against the filling of the lines, and how many waterings a week would suit."""
    page.section("How often", columns=WIDTH - 1)
    page.note(SAID.often, columns=WIDTH - 1)
    fill = f"{FILLINGS}*MAX({book.column('Beds', 'fill_minutes')})"
    lasts = f"MIN({book.column('BedPlan', 'interval')})*peak_reference_et"
    first = page.row + 1  # as people count
    for label, formula in (
        ("Short runs", 'COUNTIFS({cells},">0",{cells},"<"&{fill})'),
        ("Soil asks for", "ROUNDUP(7/MAX(1,INT({lasts}/{et})),0)"),
        ("Filling allows", 'INT(N(waterings_a_week)*_xlfn.MINIFS({cells},{cells},">0")/({fill}))'),
        ("Waterings", 'IF(COUNTIF({cells},">0")=0,"",MAX(1,MIN(7,MAX({column}{asks},'
                      "{column}{allows}))))"),
    ):  # fmt: skip
        page.text(page.row, 0, label, page.styles.strong)
        for month in MONTH_NUMBERS:
            column = given.columns[month]
            of_month = book.lookup("MonthlyWeather", "reference_et", "month", month)
            words = formula.format(
                cells=given.here(month), fill=fill, lasts=lasts, et=of_month,
                column=xl_col_to_name(column), asks=first + 1, allows=first + 2,
            )  # fmt: skip
            ready = 'bed_need_state<>"ok"'
            page.formula(page.row, column, f'IF({ready},"",{words})', "count")
        page.row += 1
    cells = xl_range_abs(page.row - 1, given.columns["1"], page.row - 1, given.columns["12"])
    book.workbook.define_name("season_waterings", f"='{page.name}'!{cells}")
    page.row += 1


def _percentages(book: Book, page: Page) -> None:
    beds, given = book.places["Beds"].rows, book.places[GIVEN]
    page.section("Percentage", columns=WIDTH - 1)
    page.note(SAID.percent, columns=WIDTH - 1)
    season, year = book.places[SEASON], given.beside("1", "12")
    own = {month: given.beside(month) for month in MONTH_NUMBERS}
    place = page.block(PERCENT, {
        "bed": season.beside("bed"), "valve": season.beside("valve"),
        **{month: f'IF(OR({cell}="",MAX({year})=0),"",ROUND(100*{cell}/MAX({year}),0))'
           for month, cell in own.items()},
    }, beds)  # fmt: skip
    page.row -= 1
    page.text(page.row, 0, "One for all", page.styles.strong)
    for month in MONTH_NUMBERS:
        cells = place.reference(month)
        share = f'IF(COUNT({cells})=0,"",ROUND((AVERAGE({cells})+MAX({cells}))/2,0))'
        page.formula(page.row, place.columns[month], share, "count")
    page.row += 1


def _row(book: Book) -> dict[str, str]:
    of_bed = partial(book.nth, "Beds")
    bed, valve = of_bed("bed"), of_bed("valve")
    return {
        "bed": f'IF({bed}="","",{bed})', "valve": f'IF({valve}="","",{valve})',
        **{month: _minutes(book, month) for month in MONTH_NUMBERS},
        "counted": of_bed("counted"), "area": of_bed("area"), "flow": flow_of(book),
    }  # fmt: skip


def _minutes(book: Book, month: str) -> str:
    days, net = (book.places[block].beside(month) for block in (DAYS, NET_WEEK))
    gross = call("GROSS_IRRIGATION", net, "efficiency_used", "leaching")
    # A week's depth: a wet month has short runs by right, which RUN_MINUTES would ask about.
    minutes = call("SEASON_MINUTES", gross, "7", "waterings_a_week", "${area}", "${flow}")
    return (
        'IF(${bed}="","",IF(${counted}="off","off",IF(${counted}<>"yes","check",'
        f'IF(OR({days}="",N(${{flow}})=0),"",IF({days}=0,"fallow",{minutes})))))'
    )
