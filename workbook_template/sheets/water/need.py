"""Need: the garden's water by month, rain beside it, and which beds would do without lines."""

from workbook_template.kit.book import Book
from workbook_template.kit.charts import Series, chart
from workbook_template.kit.declared import CONSULTANT, SEEN, SheetFor
from workbook_template.kit.formulas import Place, call
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from workbook_template.sheets.water.bed_need import (
    DEPENDABLE,
    MONTH_DAYS,
    MONTH_RAIN,
    MONTHS,
    NET_WEEK,
    RAIN,
    TAKEN_UP,
    USE,
    rain_counted,
)  # fmt: skip
from xlfuncs.tables.garden.this_week import CATCH_TESTS

SHEETS = (
    SheetFor("Need", "Over the planted area of the beds counted.", (CONSULTANT,),
             title="Water need by month", group="watering",
             needs=("Bed need", "Summary"), reads=("Catch test",), client=SEEN),
)  # fmt: skip

NEED = "need by month"  # the block, by which other sheets find it
WIDTH = 13
SAID = said("need")
SUMMED = ("days", "et", "rain", "use", "effective", "net", "gross", "volume")
CHART_ROWS = 17


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(18, *(12,) * (WIDTH - 1)), upright=True)
    page.state("bed_need_state", strong=True)
    _leaching(book, page)
    page.row += 1
    page.note(SAID.efficiency, columns=WIDTH)
    months = _months(book, page)
    _peak(book, page, months)
    _chart(page, months)
    _beds(book, page)


def _leaching(book: Book, page: Page) -> None:
    salt = book.column("BedPlan", "salt_zero_yield")
    share = call("LEACHING_FRACTION_DRIP", "water_salinity", f"MIN({salt})")
    page.result("need_efficiency", "efficiency_used")
    page.result("need_efficiency_is", "efficiency_words")
    # Of a sheet that is written later.
    even = f"{CATCH_TESTS.name}[[#Data],[Uniformity that counts]]"
    measured = f'IF(COUNT({even})=0,"",AVERAGE({even}))'
    page.result("uniformity_of_catch_tests", measured)
    page.result("efficiency_fits", 'IF(N(uniformity_of_catch_tests)=0,"not measured",'
                'IF(efficiency_used<=uniformity_of_catch_tests+0.005,"yes","no"))')  # fmt: skip
    page.result("leaching", f'IF(OR(water_salinity="",COUNT({salt})=0),0,{share})')


def _months(book: Book, page: Page) -> Place:
    """A row a month and the year's sums; gives where the months lie."""

    def over_beds(block: str, month: int) -> str:
        depths, areas = book.places[block].reference(str(month)), book.column("Beds", "area")
        ready = 'OR(bed_need_state<>"ok",N(planted_area)=0)'
        return f'IF({ready},"",SUMPRODUCT({depths},{areas})/planted_area)'

    rows = []
    for month, name in enumerate(MONTHS, 1):
        et = book.lookup("MonthlyWeather", "reference_et", "month", str(month))
        days, rain = (book.places[block].cell(str(month)) for block in (MONTH_DAYS, MONTH_RAIN))
        no_et = f'IFERROR({et},"")'
        net = call("NET_IRRIGATION", "{use}", "{effective}")
        gross = call("GROSS_IRRIGATION", "{net}", "efficiency_used", "leaching")
        volume = call("VOLUME_FROM_DEPTH", "planted_area", "{gross}")
        rows.append({
            "month": f'"{name}"', "days": days,
            "et": f'IF(OR({{days}}="",{no_et}=""),"",{et}*{{days}})', "rain": rain,
            "use": over_beds(USE, month), "effective": over_beds(RAIN, month),
            "net": f'IF({{use}}="","",{net})', "gross": f'IF({{net}}="","",{gross})',
            "volume": f'IF({{gross}}="","",{volume})',
            "net_depth_a_week": 'IF({net}="","",{net}*7/{days})',
            "dependable": over_beds(DEPENDABLE, month),
            "week_dependable": 'IF({net}="","",MAX({use}-{dependable},0)*7/{days})',
            "week_no_rain": 'IF({net}="","",{use}*7/{days})',
        })  # fmt: skip
    months = page.place(NEED, len(rows))
    cells = {name: months.here(name, fixed=False) for name in SUMMED}
    sums = {name: f'IF(COUNT({of})<12,"",SUM({of}))' for name, of in cells.items()}
    page.block(NEED, [*rows, {"month": '"Year"', **sums}])
    book.places[NEED] = months  # without the row of sums
    book.name("year_water", page.name, months.last + 1, months.columns["volume"])
    return months


def _peak(book: Book, page: Page, months: Place) -> None:
    beds = book.places[NET_WEEK].reference("third")
    weeks = months.here("net_depth_a_week", fixed=False)
    page.result("need_rain_counted", rain_counted(book))
    page.result("greatest_week", f'IF(COUNT({beds})=0,"",MAX({beds}))')
    page.result("greatest_week_in_all", f'IF(COUNT({weeks})=0,"",MAX({weeks}))')
    depth = call("NET_IRRIGATION", "weekly_depth", "0")  # a number, whatever unit was typed
    page.result("need_weekly_depth", 'IF(weekly_depth="","",weekly_depth)')
    page.result(
        "beds_over_weekly_depth", f'IF(weekly_depth="","",COUNTIF({beds},">"&{depth}*1.0001))'
    )
    page.row += 1


def _chart(page: Page, months: Place) -> None:
    names = months.reference("month")
    series = (
        Series("Crop use", names, months.reference("use")),
        Series("Effective rain", names, months.reference("effective")),
        Series("Rain that falls", names, months.reference("rain"), line=True),
    )
    unit = page.book.unit("depth")
    chart(page, "column", "What crops use and what rain gives", series, (page.row, 0),
          x_title="Month", y_title=f"Depth ({unit})", size=(880, 320))  # fmt: skip
    page.row += CHART_ROWS


def _beds(book: Book, page: Page) -> None:
    page.section("Rain on the garden against its need", columns=WIDTH)
    page.note(SAID.by_bed, columns=WIDTH)
    use, rain, store = (book.places[block] for block in (USE, RAIN, TAKEN_UP))
    used = use.beside("1", "12")
    below = call("RAIN_SHORTFALL", used, store.beside("1", "12"), 'IF({storage}="",0,{storage})')
    counted = book.nth("Beds", "counted")
    verdict = (
        f'IF(OR({{bed}}="",{{unmet}}=""),"",IF({counted}="off","off",IF({{use}}=0,"fallow",'
        f'IF({{unmet}}<{_LITTLE},"does without","needs lines"))))'
    )
    beds = page.block("rain against need", {
        "bed": use.beside("bed"),
        "cover": use.beside("cover"),
        "storage": use.beside("third"),
        "use": use.beside("year"),
        "rain": rain.beside("year"),
        "unmet": f'IF(COUNT({used})<12,"",SUM({below}))',
        "verdict": verdict,
        "most": book.places[NET_WEEK].beside("third"),
    }, use.rows)  # fmt: skip
    verdicts = beds.here("verdict", fixed=False)
    page.result(
        "beds_without_lines", f'IF(bed_need_state="ok",COUNTIF({verdicts},"does without"),"")'
    )


_LITTLE = "0.005"  # in or mm a year: nothing
