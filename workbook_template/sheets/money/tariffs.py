"""Tariffs: what water costs, from which day."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, CONSULTANT, SheetFor
from workbook_template.kit.page import Page, say_currency
from workbook_template.kit.said import said
from xlfuncs.tables.money.prices import TARIFFS, TIERS

SHEETS = (
    SheetFor("Tariffs",
             "The water company's price list, from the day it holds; keep the old ones, so that"
             " years can be compared.", (CONSULTANT, BOOKKEEPER), title="Water tariffs",
             group="costs"),
)  # fmt: skip

MOST_TIERS = 6


def write(book: Book) -> None:
    page = Page(book, SHEETS[0])
    say_currency(page)
    page.freeze(page.row + 1)
    page.table(TARIFFS, spare=4, widths={"valid_from": 12, "price": 10, "sewer_price": 11,
                                         "sewer_share": 11, "note": 44})  # fmt: skip
    page.section("Tiers", columns=7)
    page.note(said("tariffs").tiers, columns=7)
    page.table(TIERS, spare=9, widths={"valid_from": 12})


def tariff_in_force(book: Book, day: str) -> str:
    """First day of the tariff that holds on `day`; 0 where there is none."""
    from_days = book.column("Tariffs", "valid_from")
    return f'_xlfn.MAXIFS({from_days},{from_days},"<="&{day})'


def of_tariff(book: Book, column: str, valid_from: str) -> str:
    """A column of the tariff that holds from `valid_from`."""
    return book.lookup("Tariffs", column, "valid_from", valid_from)


def tier(book: Book, column: str, valid_from: str, number: int) -> str:
    """The `number`-th tier's top or price under the tariff from `valid_from`; blank after them."""
    from_days = book.column("Tiers", "valid_from")
    cell = f"INDEX({book.column('Tiers', column)},MATCH({valid_from},{from_days},0)+{number - 1})"
    beyond = f"COUNTIF({from_days},{valid_from})<{number}"
    return f'IF(N({valid_from})=0,"",IF({beyond},"",IF({cell}="","",{cell})))'
