"""Years: water and materials by year, and why this year differs from the last."""

from __future__ import annotations

from collections.abc import Sequence

from workbook_template.kit.book import Book
from workbook_template.kit.charts import Series, chart, rows_of
from workbook_template.kit.currency import currency_axis
from workbook_template.kit.declared import BOOKKEEPER, SheetFor
from workbook_template.kit.page import Page
from workbook_template.sheets.money.ledger import fiscal_year
from workbook_template.sheets.money.year_detail import (
    AMOUNT,
    BEFORE,
    CHANGE,
    KIND,
    QUANTITY,
    RANK,
    THIS,
    YEAR,
    comparison,
    detail,
)  # fmt: skip
from xlfuncs.tables.money.years import YEARS

SHEETS = (
    SheetFor(
        "Years", (BOOKKEEPER,), group="ledger", needs=("Ledger", "Year detail", "Water bills")
    ),
)

YEARS_SHOWN = 5
KINDS_SHOWN = 10
WIDTH = 11  # columns
WATER_KINDS = ("water", "sewer")
NO_MATERIAL = (*WATER_KINDS, "electricity", "labour")
STEPS = (
    "Year before",
    "Price",
    "Area",
    "Weather",
    "Use",
    "Fixed",
    "Beside tariff",
    "Year explained",
)
CHART_ROWS = 16  # that the charts of the years cover
BRIDGE_ROWS = 17
EFFECTS = ("price", "area", "weather", "use", "fixed")  # in the order of the comparison


def write(book: Book) -> None:
    page = Page(
        book,
        "Years",
        "Years",
        "Water and materials by year, and why the year explained differs from the one before it.",
        widths=(18, *(12,) * (WIDTH - 1)),
    )
    page.portrait()
    money = currency_axis(page)
    page.table(YEARS, spare=4, widths={"year": 18, "planted_area": 12, "need": 12, "note": 12})
    _check(book, page)
    by_year = _by_year(book, page)
    by_year_charts = page.row
    page.row += CHART_ROWS
    steps = _by_kind(page)
    _charts(page, by_year, by_year_charts, steps, money)


def _check(book: Book, page: Page) -> None:
    nothing = f'COUNTIF({book.column("Ledger", "summed")},"yes")=0'
    page.text(page.row, 0, "Check", page.styles.strong)
    words = f'IF({nothing},"The ledger is empty",{comparison(book)[1]})'
    page.formula(page.row, 1, words, "text", style=page.styles.aside)
    book.name("years_check", page.name, page.row, 1)
    page.row += 1
    year, change = detail(YEAR), detail(CHANGE)
    last = f'IF(compare_year="",MAX({year}),compare_year)'
    page.text(page.row, 0, "Year explained", page.styles.strong)
    page.formula(
        page.row, 1,
        f'IF(SUMPRODUCT(({year}={last})*ISNUMBER({change}))=0,"",{last})', "count", strong=True,
    )  # fmt: skip
    book.name("compared_year", page.name, page.row, 1)
    page.text(page.row, 2, "beside the year before it; another one may be chosen on Setup",
              page.styles.aside)  # fmt: skip
    page.row += 2


def _by_year(book: Book, page: Page) -> int:
    """Sums of each year; gives the first row."""
    year, kind = detail(YEAR), detail(KIND)

    def total(col: int, kinds: Sequence[str] | None = None) -> str:
        if kinds is None:
            return f"SUMIFS({detail(col)},{year},A{{row}})"
        return "+".join(f'SUMIFS({detail(col)},{year},A{{row}},{kind},"{k}")' for k in kinds)

    begins = f'IF(ledger_from="",0,{fiscal_year("ledger_from")})'
    first = f"MAX(MIN({year}),MAX({year})-{YEARS_SHOWN - 1},{begins})"
    area = book.lookup("Years", "planted_area", "year", "A{row}")
    rows = []
    for i in range(YEARS_SHOWN):
        shown = [
            f'IF(OR(COUNT({year})=0,{first}+{i}>MAX({year})),"",{first}+{i})',
            total(QUANTITY, ("water",)),
            total(AMOUNT, WATER_KINDS),
            'IF(B{row}=0,"",C{row}/B{row})',
            f"{total(AMOUNT)}-({total(AMOUNT, NO_MATERIAL)})",
            total(AMOUNT, ("labour",)),
            total(AMOUNT, ("electricity",)),
            total(AMOUNT),
            f'IFERROR(IF(N({area})=0,"",H{{row}}/{area}),"")',
        ]
        rows.append([shown[0], *(f'IF($A{{row}}="","",{f})' for f in shown[1:])])
    page.section("By year", columns=WIDTH)
    headers = (
        ("Year", "count"), ("Water", "billed_volume"), ("Water", "money"),
        ("Price of water", "money_per_billed_volume"), ("Materials", "money"),
        ("Labour", "money"), ("Electricity", "money"), ("All", "money"),
        ("All, planted area", "money_per_area"),
    )  # fmt: skip
    return page.grid(headers, rows)


def _by_kind(page: Page) -> int:
    """The change of each kind in the year explained, and the steps of the bridge; its first row."""
    page.next_printed_page()
    page.section("From the year before to the year explained", columns=WIDTH)
    page.note(
        "The effects add up to the change, to the cent. Price: the old quantity at the new price"
        " less at the old, so the old year weighs the price. Area, weather (need beyond rain), use:"
        " each at the new price, so the new year weighs them. Fixed: amounts without a quantity."
        " Water goes by its tariffs where Water bills could split it: then Beside tariff holds"
        " refunds, credits and the days of bills over a year's end.",
        columns=WIDTH, lines=3,
    )  # fmt: skip
    headers = [("Kind", "text"), ("Year before", "money"), ("Year explained", "money"),
               ("Change", "money"), ("Price", "money"), ("Area", "money"), ("Weather", "money"),
               ("Use", "money"), ("Fixed", "money"), ("Beside tariff", "money")]  # fmt: skip
    first = page.grid(headers, [_kind(number) for number in range(1, KINDS_SHOWN + 1)])
    page.row = first + KINDS_SHOWN
    ranges = [f"{c}{first + 1}:{c}{first + KINDS_SHOWN}" for c in "BCDEFGHIJ"]
    sums = [f'IF(COUNT({cells})=0,"",ROUND(SUM({cells}),2))' for cells in ranges]
    page.text(page.row, 0, "All kinds shown", page.styles.strong)
    for col, formula in enumerate(sums, 1):
        page.formula(page.row, col, formula, "money", strong=True)
    total_row = page.row + 1
    more = f'IF(MAX({detail(RANK)})>{KINDS_SHOWN},"more kinds stand on Year detail","")'
    page.formula(page.row, WIDTH - 1, more, "text", style=page.styles.aside)
    for name, col in (("year_before_total", 1), ("year_total", 2), ("year_change", 3)):
        page.book.name(name, page.name, page.row, col)
    page.row += 2 + BRIDGE_ROWS
    return _steps(page, total_row)


def _kind(number: int) -> Sequence[str]:
    row = f"MATCH({number},{detail(RANK)},0)"

    def of(col: int) -> str:
        return f"INDEX({detail(col)},{row})"

    shown = f"MAX({detail(RANK)})<{number}"
    by_tariff = 'AND($A{row}="water",water_bills_check="ok")'

    def effect(name: str, place: int) -> str:
        return f"IF({by_tariff},tariff_{name},{of(CHANGE + 1 + place)})"

    cells = [
        of(BEFORE), of(THIS), of(CHANGE), *(effect(name, i) for i, name in enumerate(EFFECTS)),
        f"IF({by_tariff},ROUND($D{{row}}-tariff_change,2),0)",
    ]  # fmt: skip
    return [f'IF({shown},"",{of(KIND)})', *(f'IF($A{{row}}="","",{f})' for f in cells)]


def _steps(page: Page, total_row: int) -> int:
    """The bridge as columns: a hidden foot, and what stands on it. Gives its first row."""
    page.section("The bridge in figures", columns=WIDTH)
    headers = (("Step", "text"), ("Reached", "money"), ("Foot", "money"), ("Year", "money"),
               ("Dearer", "money"), ("Cheaper", "money"))  # fmt: skip
    rows = []
    for i, (name, letter) in enumerate(zip(STEPS, "BEFGHIJC", strict=True)):
        sums, before = f"${letter}${total_row}", f"B{page.row + 1 + i}"
        if name in (STEPS[0], STEPS[-1]):
            shown = (sums, "0", sums, "0", "0")
        else:
            shown = (f"{before}+{sums}", f"MIN({before},B{{row}})", "0",
                     f"MAX(B{{row}}-{before},0)", f"MAX({before}-B{{row}},0)")  # fmt: skip
        rows.append([f'"{name}"', *(f'IF($B${total_row}="","",{f})' for f in shown)])
    return page.grid(headers, rows)


def _charts(page: Page, by_year: int, below: int, steps: int, money: str) -> None:
    def of_year(col: int) -> str:
        return rows_of(page, by_year, by_year + YEARS_SHOWN - 1, col)

    def of_step(col: int) -> str:
        return rows_of(page, steps, steps + len(STEPS) - 1, col)

    years = of_year(0)
    volume, price = (page.book.unit(d) for d in ("billed_volume", "money_per_billed_volume"))
    chart(page, "column", "Water used", [Series("Water", years, of_year(1))], (below, 0),
          y_title=volume, size=(365, 300))  # fmt: skip
    paid = [("Water", 2), ("Materials", 4), ("Labour", 5), ("Electricity", 6)]
    chart(page, "column", "Paid", [Series(n, years, of_year(c)) for n, c in paid], (below, 4),
          y_title=money, size=(320, 300), subtype="stacked")  # fmt: skip
    chart(page, "column", "Price of water, all charges", [Series("Price", years, of_year(3))],
          (below, 8), y_title=price, size=(245, 300), from_zero=True)  # fmt: skip
    shown = (("Year", 3), ("Dearer", 4), ("Cheaper", 5))
    bridge = [
        Series("Foot", of_step(0), of_step(2), hidden=True),
        *(Series(name, of_step(0), of_step(col)) for name, col in shown),
    ]
    at = (steps - 2 - BRIDGE_ROWS, 0)
    chart(page, "column", "From the year before to the year explained, all kinds", bridge, at,
          y_title=money, size=(930, 320), subtype="stacked")  # fmt: skip
