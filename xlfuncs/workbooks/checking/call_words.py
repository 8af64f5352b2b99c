"""The calls of our functions in a formula, and words on a value that one of them is given."""

from collections.abc import Iterator
from typing import Any

from xlfuncs.catalogue.arguments import doubt_of_argument, is_blank, read_one
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.findings.given import DOUBTFUL, WRONG
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError, InputError
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.formulas.parsing import Node
from xlfuncs.xlsx.contents import CellValue

_CHOOSERS = {"IF", "IFERROR", "IFNA"}  # they give one of their arguments as it is


def calls(node: Any) -> Iterator[Node]:
    """Every call of one of our functions inside a formula, INPUT_CHECK apart."""
    if isinstance(node, list):
        for item in node:
            yield from calls(item)
    elif isinstance(node, dict):
        name = str(node.get("name", "")).upper()
        if node.get("node_type") == "Function":
            declared = functions().get(name)
            if declared is not None and not declared.variadic:
                yield node
        for value in node.values():
            if isinstance(value, (list, dict)):
                yield from calls(value)


def given_by(node: Node) -> str:
    """The function whose result a formula gives unchanged, '' where there is none or several."""
    if node["node_type"] != "Function":
        return ""
    name = str(node["name"]).upper()
    if name in functions():
        return name
    if name not in _CHOOSERS:
        return ""
    found = {root for argument in node["args"] if (root := given_by(argument))}
    return found.pop() if len(found) == 1 else ""


def unit_clash(function: WorksheetFunction, arg: Arg, inner: str, system: str) -> str:
    """Words where a result is in one unit and the argument that takes it in another."""
    results = functions()[inner].results
    if len(results) != 1:
        return ""
    gives = DIMENSIONS[results[0].dimension].unit(system)
    wants = DIMENSIONS[arg.dimension].unit(system)
    if not gives or not wants or gives == wants:
        return ""
    return (
        f"{function.name}: {arg.name} is read as {wants} but gets the result of {inner}, which is"
        f" in {gives}"
    )


def flat(value: Any) -> list[CellValue]:
    return [cell for row in value for cell in row] if isinstance(value, list) else [value]


def words_on(
    function: WorksheetFunction, arg: Arg, value: CellValue, system: str
) -> Iterator[tuple[str, str]]:
    if is_blank(value) or isinstance(value, CellError) or arg.table is not None:
        return  # a blank gives a blank; an error has its own cell
    try:
        base = read_one(arg, value, system)
    except InputError as error:
        yield WRONG, f"{function.name}: {error}"
        return
    if words := doubt_of_argument(arg, base):
        yield DOUBTFUL, f"{function.name}: {arg.name}: {words}"
