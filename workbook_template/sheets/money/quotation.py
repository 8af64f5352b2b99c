"""Quotation: the page that the client gets; no cost, markup or note of yours stands on it."""

from collections.abc import Sequence
from functools import partial

from workbook_template.kit.book import Book
from workbook_template.kit.declared import AS_DELIVERED, CONSULTANT, SheetFor
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from workbook_template.sheets.money.quoting import lines_of
from workbook_template.sheets.whole.examples import words_on_examples
from xlfuncs.tables.money.quotation import ALL_OPTIONS, OPTIONS

SHEETS = (
    SheetFor("Quotation", "Drip irrigation of permanent vegetable beds", (CONSULTANT,),
             group="quotation", needs=("Quoting", "Summary"), client=AS_DELIVERED),
)  # fmt: skip

SAID = said("quotation")
QUOTED = "lines quoted"  # the block, by which the proposal finds it


def write(book: Book) -> None:
    page = Page(
        book,
        SHEETS[0],
        widths=(30, 36, 13, 13, 15, 15) if book.edition.for_client else (30, 36, 13, 13, 15),
        numbers_at=6,
        upright=True,
    )
    _head(page)
    _garden(page)
    _lines(book, page)
    _prices(book, page)
    page.next_printed_page()
    _words(page)


def _field(page: Page, label: str, formula: str, dimension: str = "text") -> None:
    page.state(formula, label=label, strong=True, style=page.styles.shown(dimension))


def _head(page: Page) -> None:
    def given(name: str) -> str:
        return f'IF({name}="","",{name})'

    _field(page, "Client", given("client"))
    _field(page, "Site", given("site"))
    _field(page, "Quotation, revision",
           'IF(quotation_number="","",quotation_number&", revision "&N(revision))')  # fmt: skip
    _field(page, "Date", given("quotation_date"), "date")
    until = 'IF(OR(N(quotation_date)=0,validity_days=""),"",N(quotation_date)+N(validity_days))'
    _field(page, "Prices hold until", until, "date")
    _field(page, "Prepared by", given("prepared_by"))
    _field(page, "Terms of payment", given("payment"))
    words_on_examples(page.book, page)
    page.row += 1


def _garden(page: Page) -> None:
    units = {name: page.book.unit(name) for name in ("flow", "pressure", "area", "length")}
    page.section("The garden and its water")

    def measured(name: str, dimension: str, format_text: str) -> str:
        number = f'TEXT({name},"{format_text}")&" {units[dimension]}"'
        shown = f"IF(ISTEXT({name}),{name},{number})"
        return f'IF(OR({name}="",{name}=0),"",{shown})'

    known = 'IF(supply_cut_in_pressure="",supply_static,supply_cut_in_pressure)'
    page.book.name_formula("supply_pressure_known", page.name, known)
    for label, formula, dimension in (
        ('"Flow of the supply"', measured("supply_greatest_flow", "flow", "0.0"), "text"),
        ('IF(supply_cut_in_pressure="","Static pressure","Pressure that it holds")',
         measured("supply_pressure_known", "pressure", "0.0"), "text"),
        ('"Beds"', 'IF(beds_counted=0,"",beds_counted)', "count"),
        ('"Planted area"', measured("planted_area", "area", "#,##0"), "text"),
        ('"Length of drip lines"', measured("line_length_total", "length", "#,##0"), "text"),
        ('IF(supply_measured_on="","","Supply measured on")',
         'IF(supply_measured_on="","",supply_measured_on)', "date"),
    ):  # fmt: skip
        _field(page, "", formula, dimension)
        page.formula(page.row - 1, 0, label, "text", style=page.styles.strong)
    page.row += 1


def _lines(book: Book, page: Page) -> None:
    """Every line that is ok; an optional one with its own price at the same terms.

    A client's lines are at selling prices, as `client_copy` put them into the inputs.
    """
    page.section("What is offered")
    added = page.answer(book.places["QuotationLines"].rows, "OPTIONAL_PRICES", **lines_of(book))

    of_line = partial(book.nth, "QuotationLines")
    # Calc computes cells that name a table late after a row was put in: all of a line at once.
    left_out = f'OR({of_line("check")}<>"ok",ISERROR(quotation_check))'
    optional = f'{of_line("optional")}="yes"'
    unit = of_line("unit")
    option = f'IF({of_line("option")}="","all",{of_line("option")})'
    row = {
        "option": f'IF({left_out},"",IF({optional},"optional, ","")&{option})',
        "item": f'IF({left_out},"",{of_line("item")})',
        "quantity": f'IF({left_out},"",{of_line("quantity")})',
        "unit": f'IF({left_out},"",IF({unit}="","",{unit}))',
        "added": f'IF(OR({left_out},NOT({optional}),quotation_check<>"ok"),"",{added.item(1)})',
    }
    if book.edition.for_client:
        row["price"] = f'IF(OR({left_out},{optional}),"",{of_line("line_cost")})'
    page.block(QUOTED, row, book.places["QuotationLines"].rows)
    labour = '"Labor: "&ROUND(labour_hours,2)&" hours, in every option."'
    page.remark(page.row - 1, 0, f'IF(N(labour_hours)=0,"",{labour})')
    page.row += 1


def _prices(book: Book, page: Page) -> None:
    page.section("Price")
    page.headers((f"Option {option}" for option in OPTIONS), 2)
    tax = 'IF(N(tax_rate)=0,"Tax","Tax, "&ROUND(tax_rate*100,4)&"%")'
    rows: Sequence[tuple[str, str, str]] = (
        ('"Price before tax"', "price", "money"), (tax, "tax", "money"),
        ('"Total"', "total", "money"),
    )  # fmt: skip
    for label, name, dimension in rows:
        page.formula(page.row, 0, label, "text", strong=name == "total")
        for col, option in enumerate(OPTIONS, 2):
            cell = f"option_{option.lower()}_{name}"
            page.formula(page.row, col, f'IF({cell}="","",{cell})', dimension,
                         strong=name == "total")  # fmt: skip
        page.row += 1
    page.text(page.row, 0, f"Total, {book.unit('money_per_area')} of planted area")
    for col, option in enumerate(OPTIONS, 2):
        total = f"option_{option.lower()}_total"
        each = call("COST_PER_AREA", total, "planted_area")
        page.formula(page.row, col, f'IF(OR(N({total})=0,N(planted_area)=0),"",{each})',
                     "money_per_area")  # fmt: skip
    page.row += 1
    words = '"Prices in "&IF(currency="","the currency of the plan",currency)&"."'
    page.remark(page.row, 0, words)
    page.row += 2


def _words(page: Page) -> None:
    for title, texts in (("Assumptions", SAID.assumptions), ("Not included", SAID.exclusions)):
        page.section(title)
        for text in texts:
            page.note(text)
        page.row += 1
    page.cautions()
    page.section("Acceptance")
    offered = {str(row.get("option") or ALL_OPTIONS) for row in
               page.book.inputs.tables.get("QuotationLines", ())} - {ALL_OPTIONS}  # fmt: skip
    one = page.book.edition.for_client and len(offered) < 2
    page.note(SAID.acceptance.replace("option ____ of ", "") if one else SAID.acceptance)
    page.row += 2
    for col in range(page.columns):
        page.sheet.write_blank(page.row, col, None, page.styles.result("text"))
    page.row += 1
    page.note(SAID.sign)
