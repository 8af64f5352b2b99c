"""Quoting: lines and terms of a quotation with their costs, for the one who quotes."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, SheetFor
from workbook_template.kit.formulas import checked
from workbook_template.kit.page import Page, say_currency
from workbook_template.kit.said import said
from xlfuncs.tables.money.quotation import OPTIONS, QUOTATION_LINES, QUOTATION_TERMS

SHEETS = (
    SheetFor("Quoting",
             "For you alone: what things cost you, and your markup. The client gets the sheet"
             " Quotation, or better its PDF.", (CONSULTANT,), group="quotation",
             needs=("Purchase",)),
)  # fmt: skip

COLUMNS = 9
SPARE = 8
SUMS = (
    ("Materials, at cost", "money"), ("Labor, at cost", "money"), ("Contingency", "money"),
    ("Cost", "money"), ("Markup, part of cost", "ratio"), ("Margin, part of price", "ratio"),
    ("Price before tax", "money"), ("Tax", "money"), ("Total", "money"),
    ("All optional items, with tax", "money"),
)  # fmt: skip
OF_PARTS = "cost_of_parts-N(tax_of_parts)"  # before tax: the price is taxed itself
PARTS_BY_THE_LIST = {"item": "Parts and lines", "quantity": 1.0, "unit": "set",
                     "computed": f'IF(N(cost_of_parts)=0,"",{OF_PARTS})'}  # fmt: skip
TERMS = "quotation_terms"  # the name of the cells with labels, values and units


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(24, 40, 11, 11, 11, 11, 22, 11, 26))
    say_currency(page)
    first = page.settings(QUOTATION_TERMS)
    book.name_settings(TERMS, page.name, first, page.row - 2)
    page.section("Lines", columns=COLUMNS)
    for label, cost, words in (
        ("Parts by the list", OF_PARTS,
         "Purchase before tax, to be taken as a line if you like: the price is taxed itself"),
        ("With their tax", "cost_of_parts", "Take this one if that tax does not come back to you"),
    ):  # fmt: skip
        page.text(page.row, 0, label)
        page.formula(page.row, 1, f'IF(N(cost_of_parts)=0,"",{cost})', "money")
        page.text(page.row, 3, words, page.styles.aside)
        page.row += 1
    page.row += 1
    page.table(QUOTATION_LINES, _computed(), spare=SPARE, widths={
        "option": 24, "item": 40, "quantity": 11, "unit": 11, "unit_cost": 11, "optional": 11,
        "note": 22, "check": 26})  # fmt: skip
    place = book.places[QUOTATION_LINES.name]
    for row, line in enumerate(book.inputs.tables.get(QUOTATION_LINES.name, ()), place.first):
        if formula := line.get("computed"):
            page.formula(row, place.columns["unit_cost"], formula, "money",
                         style=page.styles.input("money"))  # fmt: skip
    _sums(book, page)


def _computed() -> dict[str, str]:
    def if_ok(value: str) -> str:
        return f'IF({{check}}="ok",{value},"")'

    return {
        "line_cost": if_ok("ROUND(N({quantity})*N({unit_cost}),2)"),
        "check": 'IF(AND({item}="",{quantity}="",{unit_cost}=""),"",'
                 'IF({item}="","Item: missing",'
                 'IF(NOT(ISNUMBER({quantity})),"Quantity: missing, or not a number",'
                 'IF(NOT(ISNUMBER({unit_cost})),"Unit cost: missing, or not a number","ok"))))',
        "counted": 'IF({check}="","",IF({check}="ok","yes","no"))',
    }  # fmt: skip


def lines_of(book: Book) -> dict[str, str]:
    """The lines, the terms, and which lines count, as arguments of QUOTATION."""
    counted = book.column("QuotationLines", "counted")
    return {"lines": book.span(QUOTATION_LINES), "terms": TERMS, "counted": counted}


def _sums(book: Book, page: Page) -> None:
    page.section("The sums of each option", columns=COLUMNS)
    lines = lines_of(book)
    nothing = f'COUNTIF({lines["counted"]},"yes")=0'
    page.state(checked("QUOTATION", **lines), "quotation_check", strong=True,
               missing=((nothing, '"No lines yet"'),))  # fmt: skip
    page.headers((f"Option {option}" for option in OPTIONS), 1)
    _offered(book, page)
    sums = [page.answer(1, "QUOTATION", **lines, option=f'"{option}"')
            for option in OPTIONS]  # fmt: skip
    for place, (label, dimension) in enumerate(SUMS, 1):
        page.text(page.row, 0, label, page.styles.strong if label == "Total" else None)
        for col, option in enumerate(OPTIONS, 1):
            shown = f'AND(quotation_check="ok",option_{option.lower()}_offered="yes")'
            page.formula(page.row, col, f'IF({shown},{sums[col - 1].item(place, 1)},"")', dimension,
                         strong=label == "Total")  # fmt: skip
            name = f"option_{option.lower()}_{label.split(',')[0].split()[0].lower()}"
            book.name(name, page.name, page.row, col)
        page.row += 1
    page.row += 1
    page.note(said("quoting").markup, columns=COLUMNS)


def _offered(book: Book, page: Page) -> None:
    """An option is offered if a line is its own; the first one also where all lines are for all."""
    chosen, counted = (book.column("QuotationLines", name) for name in ("option", "counted"))
    own = [f"option_{option.lower()}_lines" for option in OPTIONS]
    offered = [f'IF({lines}>0,"yes","no")' for lines in own]
    offered[0] = f'IF(OR({own[0]}>0,{"+".join(own)}=0),"yes","no")'
    for label, name, dimension, formulas in (
        ("Lines of its own", "lines", "count",
         [f'COUNTIFS({chosen},"{option}",{counted},"yes")' for option in OPTIONS]),
        ("Offered", "offered", "text", offered),
    ):  # fmt: skip
        page.text(page.row, 0, label)
        for col, (option, formula) in enumerate(zip(OPTIONS, formulas, strict=True), 1):
            page.formula(page.row, col, formula, dimension, style=page.styles.aside)
            book.name(f"option_{option.lower()}_{name}", page.name, page.row, col)
        page.row += 1
