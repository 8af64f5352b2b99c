"""Prices and counting rules: what parts cost, and what makes one more of each."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, GROWER, SheetFor
from workbook_template.kit.page import Page
from xlfuncs.tables.money.parts import COUNTING_RULES
from xlfuncs.tables.money.prices import ALREADY_HAVE, ORDERS, PRICES

COUNTING = "Counting rules"
SHEETS = (
    SheetFor("Prices",
             "One row an offer, without tax; several rows of a part are packs or rolls to choose"
             " from. Never part of a client's copy.", (GROWER, CONSULTANT), group="buying",
             needs=("Parts",)),
    SheetFor(COUNTING, "How many of each part. Change a rule, add one, or set Each to 0.",
             (CONSULTANT,), group="parts"),
)  # fmt: skip

INVENTED = "(invented)"  # in the source of an example
AT_INVENTED = "at an invented price"
COMPUTED = {
    "bought": 'IF(COUNTIFS(bought_part,{part},bought_price,{price})=0,"",'
    "IF(AND(COUNTIFS(examples_name,{part},examples_value,{price})>0,"
    f'ISNUMBER(SEARCH("{INVENTED}",{{source}}))),'
    f'"{AT_INVENTED}","yes"))',
    "age": 'IF({part}="","",IF(N({date})=0,"without a date",IF(N(plan_date)=0,'
    '"no plan date",IF({date}>plan_date,"after the plan date",'
    'IF(N(plan_date)-N({date})>N(old_after),"old","ok")))))',
    "doubt": f'IF(AND({{bought}}="yes",ISNUMBER(SEARCH("{INVENTED}",{{source}}))),'
    '"the price is yours, its source the example\'s: type one and renew",'
    'IF(OR({age}="",{age}="ok",{age}="no plan date"),"","the price is "&{age}))',
}


def write(book: Book) -> None:
    page = Page(book, SHEETS[0])
    page.freeze(page.row + 1)
    read = f'ROW_CHECK("{PRICES.name}",{book.span(PRICES)},units)'
    own = f"INDEX({read},ROW()-ROW($A${page.row + 1}),1)"
    counted = {"counted": f'IF({{part}}="","",IF({own}="ok","yes","no"))'}
    page.table(
        PRICES, counted | COMPUTED, spare=12,
        widths={"part": 28, "source": 30, "note": 14, "currency": 9, "age": 15, "bought": 18},
        grouped=("shortest_life", "likely_life", "longest_life", "note"),
    )  # fmt: skip
    page.row += 1
    page.next_printed_page()
    for title, table, spare in (
        ("Already have", ALREADY_HAVE, 8), ("What an order costs", ORDERS, 4),
    ):  # fmt: skip
        page.section(title)
        page.note(table.help)
        page.table(table, spare=spare)
        page.row += 1
    rules = Page(book, SHEETS[1], upright=True)
    rules.freeze(rules.row + 1)
    rules.table(
        COUNTING_RULES, spare=6,
        widths={"part": 28, "counted_by": 16, "only_line": 18, "winter": 16, "why": 58},
    )  # fmt: skip
