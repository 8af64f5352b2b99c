"""Quantities written as text, such as 46 ft 6 in, on sheets of the consultant's own.

In our own tables and settings the column says what a text means; here it is the argument of the
function that reads the cell. A plain formula needs the number.
"""

from collections.abc import Iterator

from workbook_template.client_copy.selling import number_in
from workbook_template.kit.book import Book
from workbook_template.kit.written import Written
from xlfuncs.catalogue.declaration import Arg
from xlfuncs.catalogue.registry import functions
from xlfuncs.workbooks.formulas.ordinary_functions import canonical
from xlfuncs.workbooks.formulas.origins import Origin
from xlfuncs.workbooks.formulas.parsing import Node, UnreadableReference
from xlfuncs.workbooks.formulas.references import References
from xlfuncs.workbooks.formulas.workbook_names import WorkbookNames
from xlfuncs.xlsx.cell_references import Area


def write_as_numbers(book: Book, own: set[str]) -> None:
    """Put numbers in place of the texts that calls on own sheets read as quantities."""
    if not own:
        return
    contents = Written(book)
    names = WorkbookNames(contents)
    for sheet, row, column in book.own_cells:
        cell = contents.cell_at(sheet, row, column)
        if cell is None or not cell.formula:
            continue
        try:
            references = References(names, Origin(0, sheet, row, column))
            for arg, area in _quantities(names.parse(cell.formula), references):
                _write(book, contents, arg, area, own)
        except UnreadableReference:
            continue


def _write(book: Book, contents: Written, arg: Arg, area: Area, own: set[str]) -> None:
    if area.sheet not in own or area.cells() > 10_000:
        return
    sheet = book.workbook.sheetnames[area.sheet]
    for row, column in area.positions():
        value = contents.typed(area.sheet, row, column)
        if not isinstance(value, str) or not value.strip():
            continue
        number = number_in(value, arg.dimension, book.system)
        if number is not None:
            style = sheet.table[row - 1][column - 1].format
            sheet.write_number(row - 1, column - 1, number, style)


def _quantities(node: Node, references: References) -> Iterator[tuple[Arg, Area]]:
    """The cells that number arguments of our functions read directly."""
    function = functions().get(canonical(node["name"])) if node["node_type"] == "Function" else None
    if function is not None and not function.variadic:
        for arg, given in zip(function.args, node["args"], strict=False):
            if arg.kind == "number" and (area := references.area_of(given)) is not None:
                yield arg, area
    for inner in (node.get("left"), node.get("right"), node.get("operand"), *node.get("args", ())):
        if inner is not None:
            yield from _quantities(inner, references)
