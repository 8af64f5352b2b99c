"""Stock: what was bought and what is left, so that a year's rolls are not that year's use."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, SheetFor
from workbook_template.kit.formulas import call, checked
from workbook_template.kit.page import Page, say_currency
from workbook_template.kit.said import said
from xlfuncs.tables.money.parts import REGISTER

SHEETS = (
    SheetFor("Stock",
             "Purchases kept in stock, and counts of what is left. Count a kind at every year's"
             " end or never; a kind never counted is used as it is bought.", (BOOKKEEPER,),
             group="ledger"),
)  # fmt: skip

SPARE = 14
ROWS = 15
BESIDE = 8  # column of what was used, beside the table
WIDTH = 9  # columns of it


def write(book: Book) -> None:
    page = Page(book, SHEETS[0])
    say_currency(page)
    page.row += 1
    top = page.row
    page.freeze(top + 1)
    page.table(REGISTER, spare=SPARE, widths={"item": 14, "kind": 12, "note": 18},
               shown_as=dict.fromkeys(("bought", "in_store"), "quantity"))  # fmt: skip
    names = ("date", "kind", "bought", "amount", "in_store")
    columns = (*(book.column("Store", name) for name in names), "first_month")
    page.row += 1
    page.note(said("store").used, columns=BESIDE + WIDTH)
    nothing = f"COUNT({book.column('Store', 'date')})=0"
    page.text(top - 2, BESIDE, "State", page.styles.note)
    check = f'IF({nothing},"Nothing entered yet",{checked("STOCK_USED", *columns)})'
    page.remark(top - 2, BESIDE + 1, check)
    book.name("store_check", page.name, top - 2, BESIDE + 1)
    page.sheet.set_column(BESIDE - 1, BESIDE - 1, 3)
    for col in range(BESIDE, BESIDE + WIDTH):
        page.sheet.set_column(col, col, 11)
    page.row = top - 1
    counted = dict.fromkeys(("opening", "bought", "left", "used"), page.styles.result("quantity"))
    page.whole(call("STOCK_USED", *columns), "stock used", ROWS, ready='store_check="ok"',
               col=BESIDE, styles=counted)  # fmt: skip
