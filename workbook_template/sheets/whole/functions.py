"""Functions: the reference of all worksheet functions, from the registry."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, SheetFor
from workbook_template.kit.page import Page
from xlfuncs.catalogue.declaration import TOPICS, WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.units import DIMENSIONS

SHEETS = (
    SheetFor("Functions",
             "Every function of this workbook. A plain number is in the unit named here; text may"
             " carry its own unit. In [brackets]: may be left out.", (CONSULTANT,),
             group="reference"),
)  # fmt: skip

HEADERS = ("Function", "What it gives", "Arguments", "Gives", "Source")


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(22, 50, 50, 32, 38))
    page.headers(HEADERS)
    page.freeze(page.row)
    for topic, title in TOPICS.items():
        page.section(title, columns=len(HEADERS))
        for function in functions().values():
            if function.topic == topic:
                _row(book, page.row, function, page)
                page.row += 1


def _row(book: Book, row: int, function: WorksheetFunction, page: Page) -> None:
    def with_unit(name: str, dimension: str) -> str:
        unit = DIMENSIONS[dimension].unit(book.system)
        return f"{name} ({unit})" if unit else name

    arguments = [
        with_unit(a.name, a.dimension) if a.required else f"[{with_unit(a.name, a.dimension)}]"
        for a in function.inputs
    ]
    cells = (
        function.name, function.help, ", ".join(arguments),
        ", ".join(with_unit(r.name, r.dimension) for r in function.results), str(function.source),
    )  # fmt: skip
    for col, text in enumerate(cells):
        page.text(row, col, text, page.styles.words_strong if col == 0 else page.styles.words)
