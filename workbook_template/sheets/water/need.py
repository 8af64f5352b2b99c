"""Need: the garden's water by month, rain beside it, and which beds would do without lines."""

from __future__ import annotations

from workbook_template.kit.book import Book
from workbook_template.kit.charts import Series, chart, rows_of
from workbook_template.kit.declared import CONSULTANT, ForClient, SheetFor
from workbook_template.kit.formulas import Place, call
from workbook_template.kit.page import Page
from workbook_template.sheets.water.bed_need import (
    MONTH_DAYS,
    MONTH_RAIN,
    MONTHS,
    RAIN,
    TAKEN_UP,
    USE,
)  # fmt: skip

SHEETS = (
    SheetFor(
        "Need", (CONSULTANT,), group="watering", needs=("Bed need", "Summary"), client=ForClient()
    ),
)

NEED = "need by month"  # the block, by which other sheets find it
WIDTH = 10
EFFICIENCY = (
    "Losses are counted once: gross depth is net depth over the efficiency on Setup (and over what"
    " leaching leaves, where the water's salinity is given). Season and Timer work from the gross"
    " depth and count no efficiency again."
)
BY_BED = (
    "The year of the table, bed by bed. Rain fills the soil's store all year round and the crop"
    " draws on it. A bed whose use rain and store meet needs no lines in such a year; in a drier"
    " one it does. Enter a border as a bed to see it here."
)
HEADERS = (
    ("Month", "text"), ("Days", "count"), ("Reference ET", "depth"), ("Rain", "depth"),
    ("Crop use", "depth"), ("Effective rain", "depth"), ("Net depth", "depth"),
    ("Gross depth", "depth"), ("Gross volume", "volume"), ("Net depth a week", "depth"),
)  # fmt: skip
CHART_ROWS = 17


def write(book: Book) -> None:
    page = Page(
        book, "Need", "Water need by month", "Over the planted area of the beds counted.",
        widths=(18, *(12,) * (WIDTH - 1)),
    )  # fmt: skip
    page.portrait()
    page.text(page.row, 0, "State", page.styles.strong)
    page.formula(page.row, 1, "bed_need_state", "text", style=page.styles.aside)
    page.row += 1
    _leaching(book, page)
    page.row += 1
    page.note(EFFICIENCY, columns=WIDTH, lines=2)
    first = _months(book, page)
    _peak(book, page, first)
    _chart(page, first)
    _beds(book, page)


def _leaching(book: Book, page: Page) -> None:
    salt = book.column("BedPlan", "salt_zero_yield")
    share = call("LEACHING_FRACTION_DRIP", "water_salinity", f"MIN({salt})")
    page.result_row("Efficiency", "efficiency", "ratio",
                    "From Setup, counted here and nowhere after")  # fmt: skip
    page.result_row(
        "Leaching", f'IF(OR(water_salinity="",COUNT({salt})=0),0,{share})', "ratio",
        "For the crop of the plan that salt harms most; 0 where the water's salinity is not given",
        name="leaching",
    )  # fmt: skip


def _months(book: Book, page: Page) -> int:
    """A row a month and the year's sums; gives the first row."""

    def over_beds(block: str, month: int) -> str:
        depths, areas = book.places[block].reference(str(month)), book.column("Beds", "area")
        ready = 'OR(bed_need_state<>"ok",N(planted_area)=0)'
        return f'IF({ready},"",SUMPRODUCT({depths},{areas})/planted_area)'

    rows = []
    for month, name in enumerate(MONTHS, 1):
        et = book.lookup("MonthlyWeather", "reference_et", "month", str(month))
        days, rain = (book.places[block].cell(str(month)) for block in (MONTH_DAYS, MONTH_RAIN))
        no_et = f'IFERROR({et},"")'
        use, effective, net, gross = (f"{letter}{{row}}" for letter in "EFGH")
        volume = call("VOLUME_FROM_DEPTH", "planted_area", gross)
        rows.append([
            f'"{name}"', days, f'IF(OR(B{{row}}="",{no_et}=""),"",{et}*B{{row}})', rain,
            over_beds(USE, month), over_beds(RAIN, month),
            f'IF({use}="","",{call("NET_IRRIGATION", use, effective)})',
            f'IF({net}="","",{call("GROSS_IRRIGATION", net, "efficiency", "leaching")})',
            f'IF({gross}="","",{volume})', f'IF({net}="","",{net}*7/B{{row}})',
        ])  # fmt: skip
    last = page.row + 13  # as people count, of December
    sums = [f'IF(COUNT({c}{last - 11}:{c}{last})<12,"",SUM({c}{last - 11}:{c}{last}))'
            for c in "BCDEFGHI"]  # fmt: skip
    first = page.grid(HEADERS, [*rows, ['"Year"', *sums, ""]])
    book.name("year_water", page.name, first + 12, 8)
    book.places[NEED] = Place(page.name, first, first + 11, {"net_depth_a_week": 9})
    return first


def _peak(book: Book, page: Page, first: int) -> None:
    weeks = f"J{first + 1}:J{first + 12}"
    greatest = f'IF(COUNT({weeks})=0,"",MAX({weeks}))'
    page.result_row("Most in a week", greatest, "depth",
                    "Net depth a week of the month with the most, all beds together",
                    name="greatest_week")  # fmt: skip
    page.result_row(
        "On Setup", 'IF(weekly_depth="","",weekly_depth)', "depth",
        "Net depth a week that Beds and Pressure plan with: cover the hottest month with it",
    )  # fmt: skip
    page.row += 1


def _chart(page: Page, first: int) -> None:
    months = rows_of(page, first, first + 11, 0)
    series = (
        Series("Crop use", months, rows_of(page, first, first + 11, 4)),
        Series("Effective rain", months, rows_of(page, first, first + 11, 5)),
        Series("Rain that falls", months, rows_of(page, first, first + 11, 3), line=True),
    )
    unit = page.book.unit("depth")
    chart(page, "column", "What crops use and what rain gives", series, (page.row, 0),
          x_title="Month", y_title=f"Depth ({unit})", size=(880, 320))  # fmt: skip
    page.row += CHART_ROWS


def _beds(book: Book, page: Page) -> None:
    page.next_printed_page()
    page.section("Rain on the garden against its need", columns=WIDTH)
    page.note(BY_BED, columns=WIDTH, lines=2)
    use, rain, store = (book.places[block] for block in (USE, RAIN, TAKEN_UP))
    headers = (("Bed", "text"), ("Cover", "text"), ("Storage", "depth"), ("Crop use", "depth"),
               ("Effective rain", "depth"), ("Left unmet", "depth"), ("Lines", "text"))  # fmt: skip
    used = use.beside("1", "12")
    below = call("RAIN_SHORTFALL", used, store.beside("1", "12"), 'IF(C{row}="",0,C{row})')
    counted = f"INDEX({book.column('Beds', 'counted')},{{n}})"
    row = [
        *(use.beside(column) for column in ("bed", "cover", "third", "year")), rain.beside("year"),
        f'IF(COUNT({used})<12,"",SUM({below}))',
        f'IF(OR(A{{row}}="",F{{row}}=""),"",IF({counted}="off","off",IF(D{{row}}=0,"fallow",'
        f'IF(F{{row}}<{_LITTLE},"does without","needs lines"))))',
    ]  # fmt: skip
    first = page.grid(headers, [row] * use.rows)
    verdicts = f"G{first + 1}:G{first + use.rows}"
    page.result_row(
        "Do without lines",
        f'IF(bed_need_state="ok",COUNTIF({verdicts},"does without"),"")', "count",
        "Beds whose need rain and soil meet in the year of the table", name="beds_without_lines",
    )  # fmt: skip


_LITTLE = "0.005"  # in or mm a year: nothing
