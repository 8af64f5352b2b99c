"""Water bills: those of the year explained and the year before, each by the tariffs of its days."""

from collections.abc import Mapping

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, SheetFor
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Page, say_currency
from workbook_template.sheets.money.ledger import in_year
from workbook_template.sheets.money.year_detail import COUNTED, given_years
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.tables.money.prices import TARIFFS, TIERS

SHEETS = (
    SheetFor("Water bills",
             "A bill is shown in the year of its last day, by the tariffs that held on its own"
             " days.", (BOOKKEEPER,), title="Water bills by their tariff", group="ledger",
             needs=("Ledger", "Years", "Tariffs")),
)  # fmt: skip

BILLS = 13  # of a year that are shown
EFFECTS = (
    ("Bills of the year before", "old_bill"), ("Bills of the year explained", "new_bill"),
    ("Change", "change"), ("Price", "price"), ("Area", "area"), ("Weather", "weather"),
    ("Use", "use"), ("Fixed charges", "fixed"),
    ("Meter exchange", "exchange"),
)  # fmt: skip
WORDS = {
    "old_bill": "Garden's part, by tariff, on the days on bills in both years",
    "change": "On Years also credits, and what was paid beside the tariff",
    "price": "Old volumes by the tariffs of a year later, less by their own",
    "area": "The old use of an area, on the new area, at those tariffs",
    "weather": "That in proportion to the new year's need, at those tariffs",
    "use": "The rest: a dearer tier reached, or two bills for one",
    "fixed": "What every bill bears whatever is used",
    "exchange": "What bills of two meters in a period cost beyond one bill",
}


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(26, 13, 13, 13, 13, 15), upright=True)
    say_currency(page)
    for side, words in (("old", "The year before"), ("new", "The year explained")):
        page.section(words, columns=6)
        _terms(book, page, side)
        first, later = (_bill(book, side, is_first) for is_first in (True, False))
        place = page.block("bills of a year", [first, *[later] * (BILLS - 1)])
        col = place.columns["found"]
        page.sheet.set_column(col, col, 10, None, {"level": 1, "hidden": True})
    page.section("The change of the bills", columns=6)
    _effects(page)


def _terms(book: Book, page: Page, side: str) -> None:
    """What holds for one of the two years."""
    year = f"{side}_year"

    def of_ledger(column: str, more: str) -> str:
        return (
            f"SUMIFS({book.column('Ledger', column)},{book.column('Ledger', 'kind')},"
            f'"water",{in_year(book, year)}{more})'
        )

    def of_years(column: str) -> str:
        found = book.lookup("Years", column, "year", year)
        if place := book.places.get(COUNTED):
            row = f"MATCH({year},{place.reference('year')},0)"
            found = f"INDEX({place.reference(column)},{row})"
        return f'IF(N({year})=0,"",IFERROR(IF({found}="","",{found}),""))'

    before = "-1" if side == "old" else ""
    page.result_row("Year", f'IF(compared_year="","",compared_year{before})', "count", name=year)
    amount, quantity = (book.column("Ledger", name) for name in ("amount", "quantity"))
    back = f',{amount},"<0",{quantity},"="'
    by_day = "By the last day of each bill; Years goes by all its days"
    for label, column, more, words in (
        ("Paid for water", "amount", "", by_day),
        ("Of it credits", "amount", back, "Money back without a quantity, by its own date"),
        ("Of it the garden's", "cost", "", "After tax that comes back and the household's share"),
    ):
        page.result_row(label, f'IF(N({year})=0,"",{of_ledger(column, more)})', "money", words)
    page.result_row("Planted area", of_years("planted_area"), "area")
    page.result_row("Need beyond rain", of_years("need"), "depth")
    page.row += 1


def _bill(book: Book, side: str, first: bool) -> Mapping[str, str]:
    def ledger(name: str) -> str:
        return book.column("Ledger", name)

    year = f"{side}_year"
    metered = f'{ledger("kind")},"water",{ledger("quantity")},"<>"'
    since = "" if first else '">"&{found-1}'
    found = f"_xlfn.MINIFS({ledger('date')},{metered},{in_year(book, year, since)})"
    none = f"N({year})=0" if first else "{found-1}=0"
    of_day = f'{ledger("date")},{{day}},{ledger("summed")},"yes"'
    charge = call("WATER_BILL", "{water}", "{start}", "{day}", book.span(TARIFFS), book.span(TIERS))
    paid = f'{ledger("kind")},"water",{of_day}'
    return {
        "found": f"IF({none},0,{found})",
        "day": 'IF({found}=0,"",{found})',
        "start": "IFERROR(ROUND(1/(1/_xlfn.MAXIFS("  # none where no bill says it
        f'{ledger("period_start")},{metered},{of_day})),0),"")',
        "water": f'IF({{day}}="","",SUMIFS({ledger("quantity")},{metered},{of_day}))',
        "by_tariff": f'IF(N({{day}})*N({{start}})=0,"",IFERROR({charge},""))',
        "paid": f'IF({{day}}="","",SUMIFS({ledger("amount")},{paid}))',
        "beyond": 'IF(OR(N({by_tariff})=0,{paid}=""),"",{paid}-{by_tariff})',
    }


def _effects(page: Page) -> None:
    """The bills split by TARIFF_YEAR_ON_YEAR, or why they are not."""
    book = page.book
    missing = (
        ("N(new_year)=0", '"No year to compare with yet"'),
        (f"COUNT({book.column('Tariffs', 'valid_from')})=0", '"No tariff for one of the years"'),
    )
    effects = page.answer(
        1, "TARIFF_YEAR_ON_YEAR", explained="new_year", entries=book.span(LEDGER),
        tariffs=book.span(TARIFFS), tiers=book.span(TIERS), years=given_years(book),
        counted=book.column("Ledger", "summed"), first_month="first_month",
    )  # fmt: skip
    page.state(book.words(effects), "water_bills_check", missing=missing)
    for number, (label, name) in enumerate(EFFECTS, 1):
        page.result_row(label, f'IF(water_bills_check<>"ok","",{effects.item(number, 1)})', "money",
                        WORDS.get(name, ""), name=f"tariff_{name}")  # fmt: skip
