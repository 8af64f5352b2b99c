"""Writing one parsed formula anew for the engine."""

from __future__ import annotations

import marshal
from collections.abc import Callable
from enum import Enum
from typing import TYPE_CHECKING, Any

from xlfuncs.workbooks.formulas.call_checks import refuse_doubtful_call
from xlfuncs.workbooks.formulas.call_forms import written_call
from xlfuncs.workbooks.formulas.corrections import CAREFUL, EACH, ITEM_BY_ITEM, looks_like_a_number
from xlfuncs.workbooks.formulas.index_positions import gives_one_cell, indexed_cell, rows_above
from xlfuncs.workbooks.formulas.literals import array, literal, numbers
from xlfuncs.workbooks.formulas.ordinary_functions import (
    ARGUMENT_KINDS,
    SUBTOTALS,
    WHY_NOT,
    argument_kind,
    canonical,
)
from xlfuncs.workbooks.formulas.references import MAX_NESTING, Origin, References
from xlfuncs.workbooks.formulas.table_references import (
    MARK,
    Moving,
    Offset,
    UnreadableReference,
    offset,
    with_rows,
)
from xlfuncs.xlsx.cell_references import Area
from xlfuncs.xlsx.contents import DefinedName

if TYPE_CHECKING:
    from xlfuncs.workbooks.formulas.rewriting import Translator

HELD = "HELD"  # the engine's sheet of whole results; see Held
NOTHING = f"{HELD}!$B$1"  # a blank cell: the engine passes an argument left out as zero
ITEM = "XLFUNCS.ITEM"  # (row of HELD, row, column): one item of a whole result
SINGLE = "XLFUNCS.SINGLE"  # (result): its first item
STRICT = "XLFUNCS.STRICT"  # (number of the formula, result): refuses more than one item
HOLD = "XLFUNCS.HOLD"  # (row of HELD, result): keeps it for ITEM and PICK
LATER = "XLFUNCS.LATER"  # (row of HELD, function, arguments): keeps a call until ITEM needs it
COMPARE = "XLFUNCS.COMPARE"  # (number of the formula, operator, left, right)
WHOLE = "XLFUNCS.WHOLE"  # (number of the formula, function, arguments): see corrections.CAREFUL
WORDS = "XLFUNCS.WORDS"  # (number of the formula, value): numbers as text
PICK = "XLFUNCS.PICK"  # (row of HELD, row, column): one cell of an array formula

_COMPARISONS = ("=", "<>", "<", "<=", ">", ">=")
# These stand in a written formula for its own number and its own row until those are known.
OWN_NUMBER, OWN_ROW = "\1", "\2"

Node = dict[str, Any]


class Place(Enum):
    """What the surroundings of a part of a formula take."""

    CELL = "a single value; a range gives the cell of the formula's own row or column"
    RANGE = "a range as it is"
    INNER = "a single value inside something that takes ranges; programs differ about ranges here"
    PRODUCT = "an array, inside a plain formula"
    ARRAY = "an array, inside an array formula"


_OPERATOR_PLACE = {Place.RANGE: Place.INNER}
_ARGUMENT_PLACE = {
    "V": {p: Place.CELL if p is Place.CELL else Place.INNER for p in Place},
    "C": {p: p if p in (Place.CELL, Place.ARRAY) else Place.INNER for p in Place},
    "P": {p: p for p in Place},
    "R": {p: Place.ARRAY if p is Place.ARRAY else Place.RANGE for p in Place},
    "X": {p: Place.CELL if p is Place.CELL else Place.INNER for p in Place},
    "W": {p: Place.CELL if p is Place.CELL else Place.INNER for p in Place},
    "S": dict.fromkeys(Place, Place.RANGE),
    "A": {p: Place.ARRAY if p is Place.ARRAY else Place.PRODUCT for p in Place},
}


class FormulaWriter:
    """Writes one formula anew, in a form that equal formulas of other rows can share."""

    def __init__(self, translator: Translator, origin: Origin) -> None:
        self.translator = translator
        self.origin = origin
        self.reads: list[Area] = []
        self.converts: list[Area] = []
        self.several = False  # whether the result may be several values
        self.references = References(translator, origin)

    def write(self, node: Node, place: Place) -> str:
        kind = node["node_type"]
        if kind == "Literal":
            return literal(node["value"])
        if kind == "Omitted":
            return ""
        if kind == "Reference":
            return self.reference(node["reference"], place)
        if kind == "BinaryOp":
            return self.binary(node, place)
        if kind == "UnaryOp":
            return self.unary(node, place)
        if kind == "Function":
            return self.function(node, place)
        if kind == "Array" and place in (Place.RANGE, Place.PRODUCT, Place.ARRAY):
            return array(node)
        raise UnreadableReference(f"holds {kind.lower()} where a single value is expected")

    def reference(self, text: str, place: Place) -> str:
        target = self.references.resolve(text)
        if isinstance(target, DefinedName):
            area = self.references.named(target)
            return self.defined_name(target, place) if area is None else self.area(area, place)
        return "#REF!" if target is None else self.area(target, place)

    def defined_name(self, name: DefinedName, place: Place) -> str:
        if len(self.references.names) >= MAX_NESTING:
            raise UnreadableReference(f"the name {name.name} leads in a circle")
        try:
            node = self.translator.parse(name.text)
        except UnreadableReference as error:
            raise UnreadableReference(f"the name {name.name} {error}") from None
        self.references.names.append(name.name)
        written = self.write(node, place)
        self.references.names.pop()
        return written if node["node_type"] in ("Reference", "Literal") else f"({written})"

    def area(self, area: Area, place: Place) -> str:
        if not area.single:
            if place is Place.CELL:
                return self.own_row_or_column(area)
            if place is Place.INNER:
                raise UnreadableReference(f"{area} stands where a single value is expected")
        if isinstance(area, Moving):
            area = area.seen_from(self.origin.row)
        self.reads.append(area)
        return self.translator.address(area)

    def own_row_or_column(self, area: Area) -> str:
        """Implicit intersection: what a range means in a plain formula that wants one value."""
        self.references.shared = False
        row, column = self.origin.row, self.origin.column
        if area.first_column == area.last_column and area.first_row <= row <= area.last_row:
            column = area.first_column
        elif area.first_row == area.last_row and area.first_column <= column <= area.last_column:
            row = area.first_row
        else:
            return "#VALUE!"
        return self.area(Area(area.sheet, row, column, row, column), Place.RANGE)

    def binary(self, node: Node, place: Place) -> str:
        operator = node["operator"]
        if operator in (":", " "):
            return self.joined(node, place)
        if operator == ",":
            raise UnreadableReference("joins several ranges into one")
        if place not in (Place.PRODUCT, Place.ARRAY):
            above = rows_above(node, self.references)
            if above is not None:
                return f"({OWN_ROW}-{above})"
        inner = _OPERATOR_PLACE.get(place, place)
        sides = node["left"], node["right"]
        if operator == "&":
            left, right = (self.as_text(side, inner) for side in sides)
        elif operator in _COMPARISONS:
            left, right = (self.write(side, inner) for side in sides)
            if not any(_is_exact(side) for side in sides):
                return f'{COMPARE}({OWN_NUMBER},"{operator}",{left},{right})'
        else:
            left, right = (self.as_number(side, inner) for side in sides)
        return f"({left}{operator}{right})"

    def as_number(self, node: Node, place: Place) -> str:
        """A part that is read as a number; text there is converted, differently by programs."""
        if node["node_type"] == "Literal" and looks_like_a_number(node["value"]):
            raise UnreadableReference(f"reads the text {node['value']!r} as a number")
        before = len(self.reads)
        written = self.write(node, place)
        if node["node_type"] == "Reference":
            self.converts += [area for area in self.reads[before:] if area.single]
        return written

    def as_text(self, node: Node, place: Place) -> str:
        """A part that is read as text: numbers get the 15 digits that a spreadsheet shows."""
        written = self.write(node, place)
        if node["node_type"] == "Literal" and isinstance(node["value"], str):
            return written
        if node["node_type"] == "BinaryOp" and node["operator"] == "&":
            return written
        return f"{WORDS}({OWN_NUMBER},{written})" if written else ""

    def joined(self, node: Node, place: Place) -> str:
        """`Sheet!A1:Sheet!B2` and the intersection of two ranges."""
        ends = []
        for side in (node["left"], node["right"]):
            is_reference = side["node_type"] == "Reference"
            target = self.references.resolve(side["reference"]) if is_reference else None
            if not isinstance(target, Area):
                raise UnreadableReference("a range whose ends are only known while computing")
            ends.append(target)
        one, two = ends
        if isinstance(one, Moving) or isinstance(two, Moving):
            self.references.shared = False
        if one.sheet != two.sheet:
            raise UnreadableReference("a range over two sheets")
        outer, inner = (min, max) if node["operator"] == ":" else (max, min)
        area = Area(
            one.sheet,
            outer(one.first_row, two.first_row),
            outer(one.first_column, two.first_column),
            inner(one.last_row, two.last_row),
            inner(one.last_column, two.last_column),
        )
        if area.first_row > area.last_row or area.first_column > area.last_column:
            return "#NULL!"
        return self.area(area, place)

    def unary(self, node: Node, place: Place) -> str:
        operator = node["operator"]
        if operator == "@":
            return self.write(node["operand"], Place.CELL)
        if operator == "#":
            raise UnreadableReference("reads a spilled range")
        operand = self.as_number(node["operand"], _OPERATOR_PLACE.get(place, place))
        return f"({operand}%)" if operator == "%" else f"({operator}{operand})"

    def function(self, node: Node, place: Place) -> str:
        name, arguments = canonical(node["name"]), node["args"]
        if name in self.translator.functions:
            return self.own_function(name, arguments, place)
        if name == "SINGLE" and len(arguments) == 1:
            return self.write(arguments[0], Place.CELL)
        if name == "SUBTOTAL":
            return self.subtotal(arguments, place)
        if name == "HYPERLINK" and len(arguments) == 2:  # its value is the text that is shown
            return self.write(arguments[1], place)
        if name in ("ROW", "COLUMN"):
            return self.row_or_column(name, arguments, place)
        in_array = place in (Place.PRODUCT, Place.ARRAY)
        if name == "INDEX" and not in_array:
            cell = indexed_cell(arguments, self.references)
            if cell is not None:
                return self.area(cell, place)
        if name not in ARGUMENT_KINDS:
            reason = f"{name} is not among the functions that were checked"
            raise UnreadableReference(WHY_NOT.get(name, reason))
        if name in ("INDEX", "XLOOKUP"):
            one = name == "INDEX" and not in_array and gives_one_cell(arguments, self.references)
            self.several |= not one
        if name == "INDEX" and self.is_own_call(arguments[0]):
            return self.item(arguments, place)
        refuse_doubtful_call(name, arguments, self.references.area_of, self.is_own_call)
        if place in (Place.PRODUCT, Place.ARRAY) and name in (*ITEM_BY_ITEM, "IFERROR"):
            return self.item_by_item(name, arguments, place)
        written = []
        for position, argument in enumerate(arguments):
            kind = argument_kind(name, position)
            written.append(_write_as(self, kind)(argument, _ARGUMENT_PLACE[kind][place]))
        if place in (Place.PRODUCT, Place.ARRAY) and name not in CAREFUL:
            return f"{name}({','.join(written)})"
        careful = f"{WHOLE}({OWN_NUMBER}"
        return written_call(name, arguments, written, self.translator.functions, careful)

    def item_by_item(self, name: str, arguments: list[Node], place: Place) -> str:
        """A function of single values that is given a range inside an array."""
        first = [self.write(argument, place) for argument in arguments[:1]]
        rest = [self.write(argument, Place.INNER) for argument in arguments[1:]]
        return f"{EACH}{name}({','.join(first + rest)})"

    def is_own_call(self, node: Node) -> bool:
        is_call = node["node_type"] == "Function"
        return is_call and canonical(node["name"]) in self.translator.functions

    def own_call(self, name: str, arguments: list[Node], place: Place) -> str:
        inside = Place.ARRAY if place is Place.ARRAY else Place.RANGE
        written = [self.write(argument, inside) or NOTHING for argument in arguments]
        return f"{name}({','.join(written)})"

    def own_function(self, name: str, arguments: list[Node], place: Place) -> str:
        call = self.own_call(name, arguments, place)
        if place is Place.CELL:
            return f"{SINGLE}({call})"
        if place is Place.INNER:
            return f"{STRICT}({OWN_NUMBER},{call})"
        return call

    def item(self, arguments: list[Node], place: Place) -> str:
        """INDEX of a whole result: computed once for all the cells that read it."""
        row = self.held_row(arguments[0])
        position = Place.ARRAY if place is Place.ARRAY else _ARGUMENT_PLACE["V"][place]
        rest = [self.write(argument, position) or "0" for argument in arguments[1:]]
        return f"{ITEM}({HELD}!$A${row},{','.join(rest)})"

    def held_row(self, node: Node) -> int:
        """Where the whole result of a call is held; equal calls of a sheet are written once."""
        key = (self.origin.sheet, self.origin.shift, marshal.dumps(node))
        known = self.translator.known_calls.get(key)
        if known and not self.references.names:
            row, reads, converts = known
            self.reads += reads
            self.converts += converts
            return row
        before, converted = len(self.reads), len(self.converts)
        shared, self.references.shared = self.references.shared, True
        call = self.own_call(canonical(node["name"]), node["args"], Place.RANGE)
        reads, converts = self.reads[before:], self.converts[converted:]
        name = canonical(node["name"])
        text = finish(call, self.origin, elsewhere=True)
        row = self.translator.hold(text, name)
        if any(mark in call for mark in (MARK, OWN_NUMBER, OWN_ROW)):
            self.references.shared = False
        elif self.references.shared and not self.references.names:
            self.translator.known_calls[key] = row, reads, converts
        self.references.shared = shared and self.references.shared
        return row

    def subtotal(self, arguments: list[Node], place: Place) -> str:
        """SUBTOTAL as the function that it stands for, where no row is hidden or skipped."""
        code = arguments[0].get("value") if arguments else None
        name = SUBTOTALS.get(int(code) % 100) if isinstance(code, int | float) else None
        if name is None:
            raise UnreadableReference("SUBTOTAL of a kind that was not checked")
        before = len(self.reads)
        node = {"node_type": "Function", "name": name, "args": arguments[1:]}
        written = self.function(node, place)
        reads = self.reads[before:]
        if any(isinstance(area, Offset) for area in reads):
            self.references.shared = False  # other rows of it may be hidden
        for area in placed(reads, self.origin.row):
            self.translator.refuse_hidden_or_subtotals(area)
        return written

    def row_or_column(self, name: str, arguments: list[Node], place: Place) -> str:
        if not arguments:
            if name == "ROW":
                return offset(0)
            self.references.shared = False
            return str(self.origin.column)
        node = arguments[0]
        target = (
            self.references.resolve(node["reference"]) if node["node_type"] == "Reference" else None
        )
        if isinstance(target, Area) and place is Place.ARRAY and not isinstance(target, Moving):
            return numbers(name, target)
        if not isinstance(target, Area) or not target.single:
            raise UnreadableReference(f"{name} of more than one cell")
        if name == "COLUMN":
            return str(target.first_column)
        moves = isinstance(target, Moving)
        return offset(target.first_row - self.origin.row) if moves else str(target.first_row)


def finish(text: str, origin: Origin, *, elsewhere: bool) -> str:
    """A written formula for the cell that it stands in, or that has it computed elsewhere.

    In its own cell the engine knows the row; so the formulas of a column stay equal to the engine,
    which lays them out once. Their numbers count along the rows of the column.
    """
    row, number = "ROW()", f"({origin.number - origin.row}+ROW())"
    if elsewhere:
        row, number = str(origin.row), str(origin.number)
    return with_rows(text, origin.row).replace(OWN_NUMBER, number).replace(OWN_ROW, row)


def placed(areas: list[Area], row: int) -> list[Area]:
    """What a written formula reads, for the cell in a row."""
    return [area.at(row) if isinstance(area, Offset) else area for area in areas]


def _write_as(writer: FormulaWriter, kind: str) -> Callable[[Node, Place], str]:
    if kind in "WS":
        return writer.as_text
    return writer.as_number if kind in "VC" else writer.write


def _is_exact(node: Node) -> bool:
    """Text, a logical value or zero: comparing with it needs no rounding."""
    return node["node_type"] == "Literal" and (
        isinstance(node["value"], str | bool) or node["value"] == 0
    )
