"""Ledger: what was used and paid, with a check of each entry."""

from __future__ import annotations

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, SheetFor
from workbook_template.kit.formulas import call, checked, first_that_holds
from workbook_template.kit.page import Computed, Page
from xlfuncs.tables.money.ledger import LEDGER

SHEETS = (SheetFor("Ledger", (BOOKKEEPER,), group="ledger"),)

SPARE = 40  # a year of entries
AT_LEAST = 120  # rows in all
FOLDED = ("recoverable", "currency", "share", "meter", "note")
EXAMINED = ("date", "kind", "amount", "quantity", "reference", "currency", "period_start", "meter")
COST = ("{amount}", "{tax}", "{recoverable}", "{part}")


def fiscal_year(day: str) -> str:
    """The year that a day falls in, by the first month on Setup."""
    return f"YEAR({day})+(MONTH({day})>=year_turn)"


ENTERED = first_that_holds(
    (
        ('{no_date}<>""', "{no_date}"), ('{kind}=""', '"Kind: missing"'),
        ("NOT(ISNUMBER({amount}))", '"Amount: missing, or not a number"'),
        ("ISTEXT({quantity})", '"Quantity: must be a number, in the unit of the kind"'),
    ),
    '""',
)  # fmt: skip
PERIOD = first_that_holds(
    (
        ('{entered}<>""', "{entered}"), ('{period_start}=""', '""'),
        ("OR(N({period_start})=0,N({period_start})>=N({date}))",
         '"Reading before: must be a date before Date"'),
    ),
    '""',
)  # fmt: skip
CURRENCY = (
    'IF(AND({currency}<>"",currency<>"",{currency}<>currency),'
    '"Currency: another than on Setup; one ledger has one","")'
)
CHECK = first_that_holds(
    (
        ('{date}&{kind}&{amount}=""', '""'), ('{counted}="no"', '"not counted"'),
        ('{period}<>""', "{period}"), ('{cost_check}<>"ok"', "{cost_check}"),
        ('{other_currency}<>""', "{other_currency}"),
        ('{finding}<>""', '"ok, but "&{finding}'),
    ),
    '"ok"',
)  # fmt: skip


def _computed(book: Book) -> tuple[Computed, ...]:
    examined = (*(book.column("Ledger", name) for name in EXAMINED), "Ledger[Readable]")
    finding = book.in_table("Ledger", "LEDGER_CHECK", *examined)
    number = "ROW()-ROW(Ledger[[#Headers],[Date]])"
    return (
        Computed("part", "Part", "ratio", "The garden's share", 'IF({share}="",1,{share})',
                 grouped=True),
        # Columns of their own: Calc gives #VALUE! for an IF behind an IF that asks our functions.
        # Words are asked for only where there is no cost, for each call crosses to Python.
        Computed("reckoned", "Reckoned", "money", "Its cost to the garden, in the sums or not",
                 f'IF({{amount}}="","",IFERROR({call("ENTRY_COST", *COST)},""))', grouped=True),
        Computed("cost_check", "Amounts", "text", "Amount, tax and shares",
                 f'IF(OR({{amount}}="",{{reckoned}}<>""),"ok",{checked("ENTRY_COST", *COST)})',
                 grouped=True),
        Computed("no_date", "Without a date", "text", "The day of the entry",
                 'IF(N({date})=0,"Date: missing, or not a date","")', grouped=True),
        Computed("entered", "Entered", "text", "What is missing in the row", ENTERED,
                 grouped=True),
        Computed("period", "Period", "text", "The same, and whether the reading before fits",
                 PERIOD,
                 grouped=True),
        Computed("other_currency", "Other currency", "text", "Whether it is another than on Setup",
                 CURRENCY, grouped=True),
        Computed("readable", "Readable", "text", "Whether it is compared with the other entries",
                 'IF(AND({amount}<>"",{period}="",{counted}<>"no"),"yes","no")', grouped=True),
        Computed("finding", "Beside the others", "text",
                 "Entered twice, days on two bills or on none, money back that counts as use",
                 f'IFERROR({finding.item(1, number)},"")', grouped=True),
        Computed("check", "Check", "text", "ok, or what keeps the entry out of the sums", CHECK),
        Computed("summed", "In the sums", "text", "Whether the entry is in every sum",
                 'IF({check}="","",IF(LEFT({check},2)="ok","yes","no"))'),
        Computed("cost", "Cost to the garden", "money",
                 "Amount less the tax that comes back, by the garden's share",
                 'IF({summed}="yes",{reckoned},"")'),
        Computed("garden_quantity", "Garden's quantity", "number", "Quantity by its share",
                 'IF(OR({summed}<>"yes",{quantity}=""),"",{quantity}*{part})',
                 grouped=True),
        Computed("year", "Year", "count", "Year that the date falls in",
                 f'IF({{summed}}="yes",{fiscal_year("N({date})")},"")', grouped=True),
        Computed("metered", "Water by volume", "text", "Whether it is a charge for metered water",
                 'IF(AND({year}<>"",{kind}="water",ISNUMBER({quantity})),"yes","no")',
                 grouped=True),
    )  # fmt: skip


def write(book: Book) -> None:
    page = Page(
        book,
        "Ledger",
        "Ledger",
        "One row per bill, a receipt, a day of labour; refunds negative. For a bill by meter give"
        " the date of the reading before too: it is spread over its days.",
    )
    book.name_formula("year_turn", page.name, "IF(N(first_month)>1,first_month,13)")
    state_row = page.row
    page.row += 1
    page.freeze(page.row + 1)
    book.headings["Ledger"] = {c.name: c.heading(book.system) for c in LEDGER.columns}
    page.table(
        LEDGER,
        _computed(book),
        spare=max(SPARE, AT_LEAST - len(book.inputs.tables.get("Ledger", ()))),
        widths={"kind": 10, "item": 30, "unit": 6, "reference": 11, "counted": 8, "check": 34,
                "currency": 8, "summed": 7, "quantity": 10, "tax": 8},
        grouped=FOLDED,
        shown_as={"quantity": "quantity"},
    )  # fmt: skip
    check, summed = book.column("Ledger", "check"), book.column("Ledger", "summed")
    page.formula(
        state_row, 0,
        f'"Entries in the sums: "&COUNTIF({summed},"yes")&"; left out: "&COUNTIF({summed},"no")',
        "text", style=page.styles.aside,
    )  # fmt: skip
    wrong = f'COUNTIF({summed},"no")-COUNTIF({check},"not counted")'
    twice = f'COUNTIF({check},"ok, but*")'
    for name, words, count, (label, at) in (
        ("entries_twice", "In the sums, to look at", twice, ("amount", "reference")),
        ("entries_to_correct", "Left out, to correct", wrong, ("check", "summed")),
    ):
        columns = book.places["Ledger"].columns
        page.text(state_row, columns[label], words, page.styles.aside)
        page.formula(state_row, columns[at], count, "count", style=page.styles.aside)
        book.name(name, page.name, state_row, columns[at])
