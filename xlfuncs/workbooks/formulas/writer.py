"""Writing one parsed formula anew for the engine."""

import marshal
from functools import partial

from xlfuncs.workbooks.formulas import for_engine as engine
from xlfuncs.workbooks.formulas.areas import joined, own_row_or_column
from xlfuncs.workbooks.formulas.call_checks import (
    COMPARED,
    OWN_RESULTS,
    refuse_doubtful_call,
    refuse_hidden_or_subtotals,
)
from xlfuncs.workbooks.formulas.call_forms import written_call
from xlfuncs.workbooks.formulas.corrections import CAREFUL, EACH, ITEM_BY_ITEM, looks_like_a_number
from xlfuncs.workbooks.formulas.for_engine import ForEngine, HeldCall, finish
from xlfuncs.workbooks.formulas.index_positions import gives_one_cell, indexed_cell, rows_above
from xlfuncs.workbooks.formulas.literals import array, is_exact, literal, numbers
from xlfuncs.workbooks.formulas.ordinary_functions import (
    ARGUMENT_KINDS,
    SUBTOTALS,
    WHY_NOT,
    argument_kind,
    canonical,
)
from xlfuncs.workbooks.formulas.origins import MARK, Growing, Moving, Offset, Origin, offset, placed
from xlfuncs.workbooks.formulas.parsing import Node, UnreadableReference
from xlfuncs.workbooks.formulas.references import MAX_NESTING, References
from xlfuncs.workbooks.formulas.surroundings import ARRAYS, Takes, inside_call, inside_operator
from xlfuncs.workbooks.formulas.workbook_names import WorkbookNames
from xlfuncs.xlsx.cell_references import Area
from xlfuncs.xlsx.contents import DefinedName

_COMPARISONS = ("=", "<>", "<", "<=", ">", ">=")


class FormulaWriter:
    """Writes one formula anew, in a form that equal formulas of other rows can share."""

    def __init__(self, names: WorkbookNames, for_engine: ForEngine, origin: Origin) -> None:
        self.engine = for_engine
        self.origin = origin
        self.reads: list[Area] = []
        self.converts: list[Area] = []
        self.several = False  # whether the result may be several values
        self.references = References(names, origin)

    def write(self, node: Node, takes: Takes) -> str:
        kind = node["node_type"]
        if kind == "Literal":
            return literal(node["value"])
        if kind == "Omitted":
            return ""
        if kind == "Reference":
            return self.reference(node["reference"], takes)
        if kind == "BinaryOp":
            return self.binary(node, takes)
        if kind == "UnaryOp":
            return self.unary(node, takes)
        if kind == "Function":
            return self.function(node, takes)
        if kind == "Array" and (takes in (Takes.RANGE, Takes.OURS) or takes in ARRAYS):
            return array(node)
        raise UnreadableReference(f"holds {kind.lower()} where a single value is expected")

    def reference(self, text: str, takes: Takes) -> str:
        target = self.references.resolve(text, growing=True)
        if isinstance(target, DefinedName):
            area = self.references.names.area(target)
            return self.defined_name(target, takes) if area is None else self.area(area, takes)
        return "#REF!" if target is None else self.area(target, takes)

    def is_formula(self, text: str) -> bool:
        """Whether a reference is a name that computes: what is converted in there counts itself."""
        target = self.references.resolve(text, growing=True)
        return isinstance(target, DefinedName) and self.references.names.area(target) is None

    def defined_name(self, name: DefinedName, takes: Takes) -> str:
        if len(self.references.reading) >= MAX_NESTING:
            raise UnreadableReference(f"the name {name.name} leads in a circle")
        try:
            node = self.references.names.parse(name.text)
        except UnreadableReference as error:
            raise UnreadableReference(f"the name {name.name} {error}") from None
        self.references.reading.append(name.name)
        written = self.write(node, takes)
        self.references.reading.pop()
        return written if node["node_type"] in ("Reference", "Literal") else f"({written})"

    def area(self, area: Area, takes: Takes) -> str:
        if not area.single:
            if takes is Takes.CELL:
                self.references.shared = False
                crossing = own_row_or_column(area, self.origin)
                return self.area(crossing, Takes.RANGE) if crossing else "#VALUE!"
            if takes is Takes.INNER:
                raise UnreadableReference(f"{area} stands where a single value is expected")
        if isinstance(area, Moving | Growing):
            area = area.seen_from(self.origin.row)
        self.reads.append(area)
        return self.engine.argument(area) if takes is Takes.OURS else self.engine.address(area)

    def binary(self, node: Node, takes: Takes) -> str:
        operator = node["operator"]
        if operator in (":", " "):
            return self.join(node, takes)
        if operator == ",":
            raise UnreadableReference("joins several ranges into one")
        if takes not in ARRAYS and (above := rows_above(node, self.references)) is not None:
            return f"({engine.OWN_ROW}-{above})"
        inner = inside_operator(takes)
        sides = node["left"], node["right"]
        if operator == "&":
            left, right = (self.as_text(side, inner) for side in sides)
        elif operator in _COMPARISONS:
            left, right = (self.write(side, inner) for side in sides)
            if not any(is_exact(side) for side in sides):
                return f'{engine.COMPARE}({engine.OWN_NUMBER},"{operator}",{left},{right})'
        else:
            left, right = (self.as_number(side, inner) for side in sides)
        return f"({left}{operator}{right})"

    def as_number(self, node: Node, takes: Takes) -> str:
        """A part that is read as a number; text there is converted, differently by programs."""
        if node["node_type"] == "Literal" and looks_like_a_number(node["value"]):
            raise UnreadableReference(f"reads the text {node['value']!r} as a number")
        before = len(self.reads)
        written = self.write(node, takes)
        if node["node_type"] == "Reference" and not self.is_formula(node["reference"]):
            self.converts += [area for area in self.reads[before:] if area.single]
        return written

    def as_text(self, node: Node, takes: Takes) -> str:
        """A part that is read as text: numbers get the 15 digits that a spreadsheet shows."""
        written = self.write(node, takes)
        if node["node_type"] == "Literal" and isinstance(node["value"], str):
            return written
        if node["node_type"] == "BinaryOp" and node["operator"] == "&":
            return written
        return f"{engine.WORDS}({engine.OWN_NUMBER},{written})" if written else ""

    def join(self, node: Node, takes: Takes) -> str:
        """`Sheet!A1:Sheet!B2` and the intersection of two ranges."""
        ends: list[Area] = []
        for side in (node["left"], node["right"]):
            is_reference = side["node_type"] == "Reference"
            target = self.references.resolve(side["reference"]) if is_reference else None
            if not isinstance(target, Area):
                raise UnreadableReference("a range whose ends are only known while computing")
            ends.append(target)
        one, two = ends
        if isinstance(one, Moving) or isinstance(two, Moving):
            self.references.shared = False
        area = joined(one, two, node["operator"])
        return self.area(area, takes) if area else "#NULL!"

    def unary(self, node: Node, takes: Takes) -> str:
        operator = node["operator"]
        if operator == "@":
            return self.write(node["operand"], Takes.CELL)
        if operator == "#":
            raise UnreadableReference("reads a spilled range")
        operand = self.as_number(node["operand"], inside_operator(takes))
        return f"({operand}%)" if operator == "%" else f"({operator}{operand})"

    def function(self, node: Node, takes: Takes) -> str:
        name, arguments = canonical(node["name"]), node["args"]
        if name in OWN_RESULTS:
            arguments = [self.references.called(a, self.engine.is_our_call) for a in arguments]
        if name in self.engine.functions:
            return self.our_function(name, arguments, takes)
        if name == "SINGLE" and len(arguments) == 1:
            return self.write(arguments[0], Takes.CELL)
        if name == "SUBTOTAL":
            return self.subtotal(arguments, takes)
        if name == "HYPERLINK" and len(arguments) == 2:  # its value is the text that is shown
            return self.write(arguments[1], takes)
        if name in ("ROW", "COLUMN"):
            return self.row_or_column(name, arguments, takes)
        if name == "CELL" and (sheet := self.references.sheet_asked_for(arguments)):
            return literal(f"[]{sheet}")  # behind the file, of which nothing is known
        if name == "COUNTA" and (above := rows_above(node, self.references)) is not None:
            return f"({engine.OWN_ROW}-{above})"
        in_array = takes in ARRAYS
        if name == "INDEX" and not in_array:
            cell = indexed_cell(arguments, self.references)
            if cell is not None:
                return self.area(cell, takes)
        if name not in ARGUMENT_KINDS:
            reason = f"{name} is not among the functions that were checked"
            raise UnreadableReference(WHY_NOT.get(name, reason))
        if name in ("INDEX", "XLOOKUP"):
            one = name == "INDEX" and not in_array and gives_one_cell(arguments, self.references)
            self.several |= not one
        if name == "INDEX" and self.engine.is_our_call(arguments[0]):
            return self.item(arguments, takes)
        area_of = partial(self.references.area_of, growing=name not in COMPARED)
        refuse_doubtful_call(name, arguments, area_of, self.engine.is_our_call)
        if takes in ARRAYS and name in (*ITEM_BY_ITEM, "IFERROR"):
            return self.item_by_item(name, arguments, takes)
        written = []
        for position, argument in enumerate(arguments):
            kind = argument_kind(name, position)
            as_value = self.as_number if kind in "VC" else self.write
            write = self.as_text if kind in "WS" else as_value
            written.append(write(argument, inside_call(kind, takes)))
        if takes in ARRAYS and name not in CAREFUL:
            return f"{name}({','.join(written)})"
        careful = f"{engine.WHOLE}({engine.OWN_NUMBER}"
        return written_call(name, arguments, written, self.engine.functions, careful)

    def item_by_item(self, name: str, arguments: list[Node], takes: Takes) -> str:
        """A function of single values that is given a range inside an array."""
        first = [self.write(argument, takes) for argument in arguments[:1]]
        rest = [self.write(argument, Takes.INNER) for argument in arguments[1:]]
        return f"{EACH}{name}({','.join(first + rest)})"

    def our_call(self, name: str, arguments: list[Node], takes: Takes) -> str:
        inside = Takes.ARRAY if takes is Takes.ARRAY else Takes.OURS
        written = [self.write(argument, inside) or engine.NOTHING for argument in arguments]
        return f"{name}({','.join(written)})"

    def our_function(self, name: str, arguments: list[Node], takes: Takes) -> str:
        call = self.our_call(name, arguments, takes)
        if takes is Takes.CELL:
            return f"{engine.SINGLE}({call})"
        if takes is Takes.INNER:
            return f"{engine.STRICT}({engine.OWN_NUMBER},{call})"
        return call

    def item(self, arguments: list[Node], takes: Takes) -> str:
        """INDEX of a whole result: computed once for all the cells that read it."""
        row = self.held_row(arguments[0])
        position = Takes.ARRAY if takes is Takes.ARRAY else inside_call("V", takes)
        rest = [self.write(argument, position) or "0" for argument in arguments[1:]]
        return f"{engine.ITEM}({engine.HELD}!$A${row},{','.join(rest)})"

    def held_row(self, node: Node) -> int:
        """Where the whole result of a call is held; equal calls of a sheet are written once."""
        key = (self.origin.sheet, self.origin.shift, marshal.dumps(node))
        known = self.engine.held_calls.get(key)
        if known and not self.references.reading:
            row, reads, converts = known
            self.reads += reads
            self.converts += converts
            return row
        before, converted = len(self.reads), len(self.converts)
        shared, self.references.shared = self.references.shared, True
        call = self.our_call(canonical(node["name"]), node["args"], Takes.RANGE)
        reads, converts = self.reads[before:], self.converts[converted:]
        name = canonical(node["name"])
        text = finish(call, self.origin, elsewhere=True)
        row = self.engine.hold(text, name)
        if any(mark in call for mark in (MARK, engine.OWN_NUMBER, engine.OWN_ROW)):
            self.references.shared = False
        elif self.references.shared and not self.references.reading:
            self.engine.held_calls[key] = HeldCall(row, reads, converts)
        self.references.shared = shared and self.references.shared
        return row

    def subtotal(self, arguments: list[Node], takes: Takes) -> str:
        """SUBTOTAL as the function that it stands for, where no row is hidden or skipped."""
        code = arguments[0].get("value") if arguments else None
        name = SUBTOTALS.get(int(code) % 100) if isinstance(code, int | float) else None
        if name is None:
            raise UnreadableReference("SUBTOTAL of a kind that was not checked")
        before = len(self.reads)
        node = {"node_type": "Function", "name": name, "args": arguments[1:]}
        written = self.function(node, takes)
        reads = self.reads[before:]
        if any(isinstance(area, Offset) for area in reads):
            self.references.shared = False  # other rows of it may be hidden
        for area in placed(reads, self.origin.row):
            refuse_hidden_or_subtotals(self.engine.contents, area)
        return written

    def row_or_column(self, name: str, arguments: list[Node], takes: Takes) -> str:
        if not arguments:
            if name == "ROW":
                return offset(0)
            self.references.shared = False
            return str(self.origin.column)
        node = arguments[0]
        target = (
            self.references.resolve(node["reference"]) if node["node_type"] == "Reference" else None
        )
        if isinstance(target, Area) and takes is Takes.ARRAY and not isinstance(target, Moving):
            return numbers(name, target)
        if not isinstance(target, Area) or not target.single:
            raise UnreadableReference(f"{name} of more than one cell")
        if name == "COLUMN":
            return str(target.first_column)
        moves = isinstance(target, Moving)
        return offset(target.first_row - self.origin.row) if moves else str(target.first_row)
