"""Ledger: what was used and paid, with a check of each entry."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, SheetFor
from workbook_template.kit.page import Page
from xlfuncs.tables.money.ledger import LEDGER

SHEETS = (
    SheetFor("Ledger",
             "One row per bill, a receipt, a day of labor; refunds negative. For a bill by meter"
             " give the date of the reading before too: it is spread over its days.", (BOOKKEEPER,),
             group="ledger"),
)  # fmt: skip

SPARE = 40  # a year of entries
AT_LEAST = 120  # rows in all
ADDED = 1000  # that may be typed below them, in Excel, before renew makes room for more
FOLDED = ("recoverable", "currency", "share", "meter", "note")


def in_year(book: Book, year: str, since: str = "") -> str:
    """Criteria of SUMIFS for the entries in the sums of a year, by the first month on Setup.

    `since` is a criterion of the date in place of the year's first day.
    """
    day, summed = (book.column("Ledger", name) for name in ("date", "summed"))
    begins = since or f'">="&DATE({year}-1,year_turn,1)'
    return f'{day},{begins},{day},"<"&DATE({year},year_turn,1),{summed},"yes"'


def fiscal_year(day: str) -> str:
    """The year that a day falls in, by the first month on Setup."""
    return f"YEAR({day})+(MONTH({day})>=year_turn)"


def _computed(book: Book, rows: int) -> dict[str, str]:
    given = {"entries": book.span(LEDGER), "currency": 'IF(currency="","",currency)'}
    checked = book.in_table("Ledger", "LEDGER_CHECK", rows=rows, **given)
    number = "ROW()-ROW(Ledger[#Headers])"
    return {
        "check": checked.item("check", number),
        "summed": 'IF({check}="","",IF({cost}="","no","yes"))',
        "cost": checked.item("cost", number),
        "garden_quantity": checked.item("garden_quantity", number),
    }


def write(book: Book) -> None:
    page = Page(book, SHEETS[0])
    book.name_formula("year_turn", page.name, "IF(N(first_month)>1,N(first_month),13)")
    state_row = page.row
    page.row += 1
    page.freeze(page.row + 1)
    book.headings["Ledger"] = {c.name: c.heading(book.system) for c in LEDGER.columns}
    filled = len(book.inputs.tables.get("Ledger", ()))
    spare = max(SPARE, AT_LEAST - filled)
    page.table(
        LEDGER,
        _computed(book, filled + spare + ADDED),
        spare=spare,
        widths={"kind": 13, "item": 30, "unit": 6, "reference": 11, "counted": 8, "check": 34,
                "currency": 8, "summed": 7, "quantity": 10, "tax": 8},
        grouped=FOLDED,
        shown_as={"quantity": "quantity"},
    )  # fmt: skip
    check, summed = book.column("Ledger", "check"), book.column("Ledger", "summed")
    page.remark(
        state_row, 0,
        f'"Entries in the sums: "&COUNTIF({summed},"yes")&"; left out: "&COUNTIF({summed},"no")',
    )  # fmt: skip
    wrong = f'COUNTIF({summed},"no")-COUNTIF({check},"left out")'
    twice = f'COUNTIF({check},"ok, but*")'
    for name, words, count, (label, at) in (
        ("entries_twice", "In the sums, to look at", twice, ("amount", "reference")),
        ("entries_to_correct", "Left out, to correct", wrong, ("check", "summed")),
    ):
        columns = book.places["Ledger"].columns
        page.text(state_row, columns[label], words, page.styles.aside)
        page.formula(state_row, columns[at], count, "count", style=page.styles.aside)
        book.name(name, page.name, state_row, columns[at])
