"""Functions on the whole in a workbook for Excel: each is called once, and its answer spills.

Excel computes such a function anew for each cell that names it, and fetches every range of its
arguments again each time. So a sheet asks for an answer that several cells read (`Page.answer`),
and for Excel one formula for it spills on the sheet Results, from which the cells read.
A block that shows an answer as it is spills in its own place (`Page.whole`).

Each formula fills a fixed number of cells, blanks below the answer included. So it never runs into
what stands below, formulas that read the block find the same as in a workbook for other programs,
and Excel 2019, which keeps the extent that it finds, shows rows that are added later.
"""

from xlsxwriter.utility import xl_range_abs

from workbook_template.kit.book import Book
from workbook_template.kit.declared import SheetFor
from workbook_template.kit.formulas import Answer, for_any_sheet
from workbook_template.kit.page import Page

SHEET = "Results"
COLUMNS = 24  # of the widest answer


def write_results(book: Book) -> None:
    """The sheet Results, once all others are written; none where no answer spills there."""
    answers = [answer for answer in book.answers if answer.sheet not in book.aside]
    for answer in answers:
        book.workbook.define_name(answer.asked, f"={for_any_sheet(answer.call, answer.sheet)}")
    answers = [answer for answer in answers if answer.spills]
    if not answers:
        return
    page = Page(
        book, SheetFor(SHEET, "Nothing to fill in: what functions answer that read whole tables,"
        " for the other sheets. A pale error means that inputs are missing; those sheets say which."
        ), widths=(11,) * COLUMNS,
    )  # fmt: skip
    for answer in answers:
        _write(page, answer)


def _write(page: Page, answer: Answer) -> None:
    """A function's answer with its headings, and the name by which cells read it."""
    results = answer.function.results
    page.section(f"{answer.function.name}, for the sheet {answer.sheet}")
    headers = [(r.name.replace("_", " ").capitalize(), r.dimension) for r in results]
    words = {i: page.styles.aside for i, r in enumerate(results) if r.dimension == "text"}
    first = page.grid(headers, [["0"] * len(results)] * answer.rows, styles=words)
    last = (first + answer.rows - 1, len(results) - 1)
    page.spill((first, 0), last, answer.asked, 'IFERROR({found},"")')
    page.sheet.conditional_format(first, 0, *last, {"type": "errors", "format": page.styles.pale})
    page.book.workbook.define_name(answer.name, f"='{page.name}'!{xl_range_abs(first, 0, *last)}")
