"""Store: what was bought and what is left, so that a year's rolls are not that year's use."""

from __future__ import annotations

from workbook_template.book import Book
from workbook_template.formulas import call, checked
from xlfuncs.tables.register import REGISTER

SPARE = 14
ROWS = 15
USED = (
    ("Kind", "text"), ("Year", "count"), ("Last day of it", "date"), ("Opening", "number"),
    ("Bought", "number"), ("Left at its end", "number"), ("Used", "number"),
    ("Cost of the used", "money"), ("Worth of what is left", "money"),
)  # fmt: skip


def write(book: Book) -> None:
    page = book.page(
        "Store",
        "Store",
        "Purchases kept in the store, and counts of what is left. Count a kind at every year's end"
        " or never; a kind never counted is used as it is bought.",
    )
    page.freeze(page.row + 1)
    page.table(REGISTER, spare=SPARE, widths={"item": 20, "kind": 16, "note": 24})
    names = ("date", "kind", "bought", "amount", "in_store")
    columns = (*(book.column("Store", name) for name in names), "first_month")
    page.section("Used from the store, at the year's average cost", columns=9)
    page.note(
        "Enter the purchase in the ledger with Counted: no, and what was used with the last day of"
        " its year, the quantity and the cost given here: then a year bears what it used, not what"
        " it bought.",
        columns=9,
    )
    filled = f"COUNT({book.column('Store', 'date')})=0"
    page.text(page.row, 0, "Check", page.styles.strong)
    page.formula(
        page.row, 1, f'IF({filled},"nothing entered yet",{checked("STOCK_USED", *columns)})',
        "text", style=page.styles.aside,
    )  # fmt: skip
    book.name("store_check", page.name, page.row, 1)
    page.row += 1
    page.whole(call("STOCK_USED", *columns), USED, ROWS, ready='store_check="ok"')
