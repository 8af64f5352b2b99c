"""Year detail: every kind in every year beside the year before, which the sheet Years reads."""

from functools import cache

from xlsxwriter.utility import xl_col_to_name

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, SheetFor
from workbook_template.kit.formulas import Place, call, checked
from workbook_template.kit.page import Page, say_currency
from workbook_template.kit.said import computed_columns, said
from xlfuncs.tables.money.ledger import LEDGER, YEARS

SHEETS = (
    SheetFor("Year detail",
             "Every kind in every year, and the change from the year before split into effects"
             " that add up to it.", (BOOKKEEPER,), group="ledger", needs=("Ledger", "Years")),
)  # fmt: skip

SHEET = "Year detail"
COUNTED = "years as counted"  # a block of Years, where the workbook has a weather log
ROWS = 40  # kinds times years that are shown
FIRST = 8  # first row of the comparison, from 0
COMPARED = "years compared"  # its quantities and their prices have no unit that all kinds share
RANK = 19  # column of the rank, behind it: which of the kinds of the year explained a row is


@cache
def _place() -> Place:
    """Where the comparison lies, which Years names before it is written."""
    columns = [column.name for column in computed_columns(COMPARED)]
    return Place.of(SHEET, [*columns, "rank"], FIRST, ROWS)


def detail(column: str) -> str:
    """A column of the comparison, in a formula of any sheet."""
    return _place().reference(column)


def given_years(book: Book) -> str:
    """The years with their areas and needs: with what the log says, where there is one."""
    place = book.places.get(COUNTED)
    return place.with_headers("year", "need") if place else book.span(YEARS)


def comparison(book: Book) -> tuple[str, str]:
    """The call of YEAR_ON_YEAR for the ledger, and its check in words."""
    given = {
        "entries": book.span(LEDGER), "years": given_years(book),
        "counted": book.column("Ledger", "summed"), "first_month": "first_month",
        "known_from": 'IF(ledger_from="","",ledger_from)',
        "known_through": 'IF(ledger_through="","",ledger_through)',
    }  # fmt: skip
    return call("YEAR_ON_YEAR", **given), checked("YEAR_ON_YEAR", **given)


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(14, 8, *(11,) * (RANK - 4), 34, 11), numbers_at=RANK + 1)
    say_currency(page)
    page.sheet.fit_to_pages(1, 1)
    least = {
        "kind": 72, "year": 36, "quantity": 58, "unit_price": 54, "per_area": 46, "covered": 38,
        "days": 40, "words": 120, "rank": 0,
    }  # fmt: skip
    page.sheet.least_pixels = {col: least.get(name, 59) for name, col in _place().columns.items()}
    page.row = FIRST - 3
    page.note(said("year_detail").effects, columns=RANK)
    page.whole(
        comparison(book)[0], COMPARED, ROWS, ready='years_check="ok"', dash=True,
        styles={"quantity": page.styles.result("billed_volume"),
                "unit_price": page.styles.result("unit_price")},
    )  # fmt: skip
    page.freeze(FIRST)
    _ranks(page)


def _ranks(page: Page) -> None:
    """Numbers the rows of the year explained, so that Years finds them."""
    page.text(FIRST - 1, RANK, "Row on Years", page.styles.header)
    page.sheet.set_column(RANK, RANK, 10, None, {"level": 1, "hidden": True})
    year = xl_col_to_name(_place().columns["year"])
    for row in range(FIRST, FIRST + ROWS):
        here = f"{year}{row + 1}"
        before = f"COUNTIF({year}${FIRST + 1}:{here},compared_year)"
        page.formula(row, RANK, f'IF(OR({here}="",{here}<>compared_year),"",{before})', "count")
