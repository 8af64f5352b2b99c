"""Formulas written anew for a client's copy: plain, readable, and resting on kept cells only."""

from collections.abc import Callable
from typing import Any

from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError, DeclarationError, UnitError
from xlfuncs.hosts.plain_formulas import has_plain_formula, plain_formula
from xlfuncs.units import SYSTEMS, from_base, parse
from xlfuncs.workbooks.formulas.index_positions import cells_above
from xlfuncs.workbooks.formulas.ordinary_functions import ARGUMENT_KINDS, canonical
from xlfuncs.workbooks.formulas.origins import Moving, Origin
from xlfuncs.workbooks.formulas.parsing import Node, UnreadableReference
from xlfuncs.workbooks.formulas.references import References
from xlfuncs.workbooks.formulas.workbook_names import WorkbookNames
from xlfuncs.xlsx.cell_references import Area, column_letters, quoted_sheet
from xlfuncs.xlsx.contents import CellValue, DefinedName

LONGEST = 8000  # characters; a spreadsheet takes 8192
CHECK = "INPUT_CHECK"
OUTSIDE = "an input is missing or outside its limits"
FINE = "ok"
_LONGEST_TEXT = 255  # characters of one text in a formula
_BINDING = {"=": 1, "<>": 1, "<": 1, "<=": 1, ">": 1, ">=": 1, "&": 2, "+": 3, "-": 3, "*": 4,
            "/": 4, "^": 5}  # fmt: skip
_UNARY, _PERCENT, _WHOLE = 6, 7, 8
_OTHERS = {"SUBTOTAL", "ROW", "COLUMN"}


class CannotKeep(Exception):  # noqa: N818 - a reason to give the value instead
    """A formula that a client's copy cannot hold; the text says why."""


class PlainWriter:
    """Writes one formula for the client's copy.

    `kept` says whether an area is in the copy in full; `value` gives the value of a cell there.
    """

    def __init__(
        self,
        workbook_names: WorkbookNames,
        origin: Origin,
        kept: Callable[[Area], bool],
        value: Callable[[str, int, int], CellValue],
    ) -> None:
        self.workbook_names = workbook_names
        self.origin = origin
        self.kept = kept
        self.value = value
        self.names: set[str] = set()  # defined names that the formula uses
        self.references = References(workbook_names, origin)

    def formula(self, text: str) -> str:
        """The whole formula without its equals sign; raises CannotKeep."""
        try:
            written = self.write(self.workbook_names.parse(text))
        except (UnreadableReference, DeclarationError, UnitError) as error:
            raise CannotKeep(str(error)) from None
        if len(written) > LONGEST:
            raise CannotKeep("too long as a plain formula")
        return written

    def write(self, node: Node, binding: int = 0) -> str:
        """A part of the formula, in brackets where it binds less than its surroundings."""
        text, own = self._written(node)
        return f"({text})" if own < binding else text

    def _written(self, node: Node) -> tuple[str, int]:
        kind = node["node_type"]
        if kind == "Literal":
            return literal(node["value"]), _WHOLE
        if kind == "Omitted":
            return "", _WHOLE
        if kind == "Reference":
            return self.reference(node["reference"]), _WHOLE
        if kind == "BinaryOp":
            return self.binary(node)
        if kind == "UnaryOp":
            return self.unary(node)
        if kind == "Function":
            return self.function(node), _WHOLE
        if kind == "Array":
            rows = [[literal(item["value"]) for item in row] for row in node["rows"]]
            return "{" + ";".join(",".join(row) for row in rows) + "}", _WHOLE
        raise CannotKeep(f"holds {kind.lower()}")

    def binary(self, node: Node) -> tuple[str, int]:
        operator = node["operator"]
        if above := cells_above(node):
            return self.counted_above(node, *above), _WHOLE
        if operator not in _BINDING:
            raise CannotKeep(f"joins ranges by {operator!r}")
        own = _BINDING[operator]
        left, right = self.write(node["left"], own), self.write(node["right"], own + 1)
        return f"{left}{operator}{right}", own

    def counted_above(self, node: Node, column: int, top: int) -> str:
        """The cells from a row down to the one above, as the formula has them."""
        area = Area(self.origin.sheet, top, column, self.origin.row - 1, column)
        if not self.kept(area):
            raise CannotKeep(f"reads {area}, which is not in the copy")
        whole = node["right"]["args"][0]["reference"]
        return f"{node['left']['reference']}:INDEX({whole},ROW()-1)"

    def unary(self, node: Node) -> tuple[str, int]:
        operator = node["operator"]
        if operator == "%":
            return self.write(node["operand"], _PERCENT) + "%", _PERCENT
        if operator not in "+-":
            raise CannotKeep(f"holds {operator!r}")
        # Programs differ on whether a sign binds closer than a power: leave nothing to that.
        return operator + self.write(node["operand"], _UNARY), 3

    def reference(self, text: str) -> str:
        target = self.references.resolve(text)
        if target is None:
            raise CannotKeep("refers to nothing (#REF!)")
        if isinstance(target, DefinedName):
            return self.defined_name(target)
        if not self.kept(target):
            raise CannotKeep(f"reads {target}, which is not in the copy")
        if not text.endswith("]") and "!" not in text and self.origin.shift == (0, 0):
            return text if text.lower() not in self.workbook_names.tables else _address(target)
        prefix = "" if target.sheet == self.origin.sheet else quoted_sheet(target.sheet) + "!"
        return prefix + _address(target)

    def defined_name(self, name: DefinedName) -> str:
        if not self.kept(self.area_of(name)):
            raise CannotKeep(f"uses {name.name}, which is not in the copy")
        self.names.add(name.name)
        return name.name

    def area_of(self, name: DefinedName) -> Area:
        """The cells of a defined name that is a plain reference."""
        target = self.references.area_of(self.workbook_names.parse(name.text))
        if target is None:
            raise CannotKeep(f"uses the name {name.name}, which is no plain reference")
        return target

    def function(self, node: Node) -> str:
        name, arguments = canonical(node["name"]), node["args"]
        if name in functions():
            return self.own(name, arguments)
        if name not in ARGUMENT_KINDS and name not in _OTHERS:
            raise CannotKeep(f"uses {name}")
        return f"{node['name']}({','.join(self.write(argument) for argument in arguments)})"

    def own(self, name: str, arguments: list[Node]) -> str:
        if name == CHECK and arguments and arguments[0].get("value"):
            checked = str(arguments[0]["value"]).upper()
            body = self.own(checked, arguments[1:])
            return f'IF(ISERROR({body}),"{OUTSIDE}","{FINE}")'
        if not has_plain_formula(name):
            raise CannotKeep(f"uses {name}, which has no plain formula")
        function = functions()[name]
        given, system = self.split(function, arguments)
        texts = [
            self.argument(arg, node, system)
            for arg, node in zip(function.inputs, given, strict=False)
        ]
        return plain_formula(name, texts, system)

    def split(self, function: WorksheetFunction, arguments: list[Node]) -> tuple[list[Node], str]:
        """The arguments without `units`, and the system that those say."""
        place = [arg.name for arg in function.args].index("units")
        if len(arguments) <= place:
            return arguments, SYSTEMS[0]
        return arguments[:place] + arguments[place + 1 :], self.system(arguments[place])

    def system(self, node: Node) -> str:
        value: Any = node.get("value")
        if node["node_type"] == "Reference":
            target = self.references.area_of(node)
            if target is not None and target.single:
                value = self.value(target.sheet, target.first_row, target.first_column)
        text = str(value or (SYSTEMS[0] if node["node_type"] == "Omitted" else "")).lower()
        if text not in SYSTEMS:
            raise CannotKeep("takes its units from a formula")
        return text

    def argument(self, arg: Arg, node: Node, system: str) -> str:
        """The text of an argument; a written quantity becomes its number in the default unit."""
        if arg.kind == "number" and isinstance(node.get("value"), str):
            base = parse(node["value"], arg.dimension, system)
            return literal(from_base(base, arg.dimension, system))
        return self.write(node)


def _address(area: Area) -> str:
    if isinstance(area, Moving):
        left, right = column_letters(area.first_column), column_letters(area.last_column)
        first = f"{left}{area.first_row}"
        return first if area.single else f"{first}:{right}{area.last_row}"
    return area.address()


def literal(value: CellValue) -> str:
    """A value as it is written in a formula."""
    if value is None:
        return '""'
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, CellError):
        return str(value)
    if isinstance(value, int | float):
        return repr(int(value)) if value == int(value) and abs(value) < 1e15 else repr(float(value))
    if value in {str(error) for error in CellError}:
        return value
    pieces = [value[i : i + _LONGEST_TEXT] for i in range(0, len(value), _LONGEST_TEXT)] or [""]
    return "&".join('"' + piece.replace('"', '""') + '"' for piece in pieces)
