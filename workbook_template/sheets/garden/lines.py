"""Lines and pipes, as they are sold."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, GROWER, SEEN, SheetFor
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from xlfuncs.tables.garden.lines import LINES, PIPES

SHEETS = (
    SheetFor("Lines",
             "What you could lay, as its data sheet gives it; flow is stated at the rated"
             " pressure.", (GROWER, CONSULTANT), title="Lines and pipes", group="garden",
             client=SEEN),
)  # fmt: skip

FLOW_AS_LAID = (
    'IF({line}="","",IF({emitter_flow}<>"",{emitter_flow},IF({flow_per_length}="","",'
    + call("EMITTER_FLOW_FROM_TAPE", "{flow_per_length}", "{emitter_spacing}")
    + ")))"
)
# What both tables need of the columns that they share.
WIDTHS = (19, 13, 10, 10, 11, 13, 9, 6, 10, 10, 10, 10, 8, 10, 9, 9, 15, 10)
SAID = said("lines")


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=WIDTHS)
    page.sheet.freeze_panes(1, 1)
    page.note(SAID.caution)
    computed = {"flow_of_emitter": FLOW_AS_LAID}
    for title, table, formulas in (("Drip lines", LINES, computed), ("Pipes", PIPES, {})):
        page.section(title)
        widths = dict(zip([*table.names, *formulas], WIDTHS, strict=False))
        page.table(table, formulas, spare=4, widths=widths)
