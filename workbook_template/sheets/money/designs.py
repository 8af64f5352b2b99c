"""Designs: what to buy and how to lay and group it, compared whole; fit to rolls."""

from xlsxwriter.utility import xl_range_abs

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, SheetFor
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from workbook_template.sheets.garden.supply_pressure import CURVE
from xlfuncs.tables.designs import DESIGN_WANTED
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.head_assembly import HEAD_PARTS, REGULATORS
from xlfuncs.tables.garden.lines import LINES, PIPES
from xlfuncs.tables.money.parts import COUNTING_RULES
from xlfuncs.tables.money.prices import ALREADY_HAVE, CHOICES, ORDERS, PRICES

SHEETS = (
    SheetFor("Designs",
             "The cheapest whole design that waters every bed, those that are better in something,"
             " and cheaper ones that fail.", (CONSULTANT,), group="designs",
             needs=("Beds", "Lines", "Supply", "Soils", "Line layout", "Prices", "Parts",
                    "Cut list", "Timer", "Summary")),
)  # fmt: skip

WIDTH = 14  # columns
ROWS = 24
FIT_ROWS = 14
SAID = said("designs")
HIDDEN_AT = WIDTH + 1


OTHERWISE = {"most_pressure": "supply_most_pressure", "efficiency": "efficiency_used"}


def write(book: Book) -> None:
    page = Page(
        book, SHEETS[0], widths=(10, 30, 12, 12, 14, 9, 9, 6, 8, 8, 8, 9, 46, 34), numbers_at=18
    )
    page.note(SAID.about, columns=WIDTH)
    page.settings(CHOICES)
    _asked(book, page)
    _fit(book, page)
    _designs(book, page)  # last, for its header stands on every page behind it


def _asked(book: Book, page: Page) -> None:
    """What is wanted, as labels and values: folded to the right."""
    top = page.row
    for column in DESIGN_WANTED.columns:
        name = OTHERWISE.get(column.name, column.name)
        value = f'IF({name}="","",{name})'
        if column.name == "most_pressure":
            value = f'IF(supply_kind<>"well","",{value})'
        page.text(page.row, HIDDEN_AT, column.header)
        page.formula(page.row, HIDDEN_AT + 1, value, column.dimension)
        page.text(page.row, HIDDEN_AT + 2, column.unit(book.system))
        page.row += 1
    cells = xl_range_abs(top, HIDDEN_AT, page.row - 1, HIDDEN_AT + 2)
    book.workbook.define_name("designs_wanted", f"='{page.name}'!{cells}")
    page.sheet.set_column(HIDDEN_AT, HIDDEN_AT + 2, 12, None, {"level": 1, "hidden": True})
    page.row = top


def _designs(book: Book, page: Page) -> None:
    supply = book.places[CURVE].with_headers("flow", "pressure")
    found = page.answer(
        ROWS, "DESIGNS", beds=book.up_to(BEDS, "laid"), supply=supply, wanted="designs_wanted",
        lines=book.span(LINES), pipes=book.span(PIPES), prices=book.span(PRICES),
        rules=book.span(COUNTING_RULES), head=book.span(HEAD_PARTS),
        regulators=book.span(REGULATORS), stock=book.span(ALREADY_HAVE), orders=book.span(ORDERS),
    )  # fmt: skip
    missing = (
        (f'COUNTIF({book.column("Beds", "laid")},"yes")=0', '"No bed is counted yet"'),
        ('supply_state<>"ok"', '"The supply is not known yet: see Supply"'),
        ('weekly_depth=""', '"Net depth per week on Setup is missing"'),
        ('soil_wetted_width=""', '"Choose a soil on Setup"'),
        (f"COUNT({book.column('Prices', 'price')})=0", '"Prices has no price yet"'),
    )
    page.next_printed_page()
    page.section("Designs", columns=WIDTH)
    page.state(book.words(found), "designs_state", missing=missing)
    table = page.place("designs", ROWS, first=page.row + 4)  # behind two results, a count, a header
    kind, cost = (table.reference(name) for name in ("kind", "cost"))
    page.result("cost_as_it_is", 'IF(N(cost_of_parts)=0,"",cost_of_parts)')
    saves = f'cost_as_it_is-INDEX({cost},MATCH("cheapest",{kind},0))'
    page.result("cheapest_saves", f'IF(cost_as_it_is="","",IFERROR({saves},""))')
    page.sheet.repeat_rows(table.first - 1)
    laid = page.whole(found, "designs", ROWS, ready='designs_state="ok"', dash=True)
    assert laid.first == table.first


def _fit(book: Book, page: Page) -> None:
    page.section("Fit to the rolls: the first line of the cut list")
    page.note(SAID.fit)
    spacing = book.lookup("Lines", "emitter_spacing", "line", "cut_line_1")
    fit = call("ROLL_FIT", "cut_line_1_pieces", "cut_line_1_rolls", spacing)
    ready = 'AND(cut_line_1<>"",COUNT(cut_line_1_lengths)>0,COUNT(cut_line_1_rolls)>0)'
    page.whole(fit, "fit to rolls", FIT_ROWS, ready=ready, dash=True)
