"""Lines and pipes, as they are sold."""

from __future__ import annotations

from workbook_template.book import Book
from workbook_template.formulas import call
from workbook_template.page import Computed
from xlfuncs.tables.lines import LINES, PIPES

FLOW_AS_LAID = Computed(
    "flow_of_emitter",
    "Flow of an emitter",
    "emitter_flow",
    "Flow of one emitter at rated pressure, from either of the two ways it is sold",
    'IF({line}="","",IF({emitter_flow}<>"",{emitter_flow},IF({flow_per_length}="","",'
    + call("EMITTER_FLOW_FROM_TAPE", "{flow_per_length}", "{emitter_spacing}")
    + ")))",
)


def write(book: Book) -> None:
    page = book.page(
        "Lines",
        "Lines and pipes",
        "What you could lay, as its data sheet gives it; flow is said at the rated pressure.",
    )
    page.section("Drip lines", columns=17)
    page.freeze(page.row + 1)
    page.table(LINES, (FLOW_AS_LAID,), spare=4, widths={"line": 20, "note": 16})
    page.section("Pipes", columns=17)
    page.table(PIPES, spare=4)
