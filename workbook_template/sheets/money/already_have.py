"""Already have: what counts against the purchase, and what an order costs."""

from __future__ import annotations

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, GROWER, SheetFor
from workbook_template.kit.page import Page
from xlfuncs.tables.money.prices import ALREADY_HAVE, ORDERS

SHEETS = (SheetFor("Already have", (GROWER, CONSULTANT), group="buying", needs=("Prices",)),)


def write(book: Book) -> None:
    page = Page(
        book,
        "Already have",
        "Already have",
        "Parts, rolls and rests that are there: the purchase takes them first. Below, shops that"
        " charge for an order.",
    )
    page.section("What is there")
    page.note(ALREADY_HAVE.help)
    page.table(ALREADY_HAVE, spare=12, widths={"part": 28, "note": 30})
    page.section("What an order costs")
    page.note(ORDERS.help)
    page.table(ORDERS, spare=5, widths={"shop": 28})
