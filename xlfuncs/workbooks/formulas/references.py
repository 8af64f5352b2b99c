"""What a reference in a formula means: cells, a defined name, a part of a table."""

import re
from collections.abc import Callable, Sequence

from xlfuncs.workbooks.formulas.origins import Growing, Moving, Origin
from xlfuncs.workbooks.formulas.parsing import Node, UnreadableReference
from xlfuncs.workbooks.formulas.table_references import data_rows, table_area
from xlfuncs.workbooks.formulas.workbook_names import WorkbookNames
from xlfuncs.xlsx.cell_references import MAX_ROW, Area, is_relative, parse_area, split_sheet
from xlfuncs.xlsx.contents import DefinedName

_CELLS = re.compile(r"\$?[A-Za-z]{1,3}(\$?)\d+(?::\$?[A-Za-z]{1,3}(\$?)\d+)?")
MAX_NESTING = 20  # of defined names that use each other


class References:
    """Resolves the references of one formula, and notes for which other cells they hold."""

    def __init__(self, names: WorkbookNames, origin: Origin) -> None:
        self.names = names
        self.origin = origin
        self.reading: list[str] = []  # defined names that are being read, innermost last
        self.shared = True  # whether all means the same in other cells of the sheet,
        self.rows = (1, MAX_ROW)  # and in which of its rows

    def resolve(self, text: str, growing: bool = False) -> Area | DefinedName | None:
        """What a reference means; None stands for #REF!. Only where that is asked for, cells that
        are more in each row mean the same in other rows."""
        if moving := self.moving(text, growing):
            return moving
        if self.reading or self.origin.shift != (0, 0) or text.startswith("["):
            return self.find(text)
        targets = self.names.targets
        key = (self.origin.sheet, text)
        if key not in targets:
            targets[key] = self.find(text)
        target = targets[key]
        if not isinstance(target, Moving):
            return target
        first, last = data_rows(self.names.tables[text.partition("[")[0].lower()])
        if not first <= self.origin.row <= last:
            raise UnreadableReference(f"{text} from outside the rows of its table")
        self.keep_to(first, last)  # the rows of the table that it reads
        return target._replace(first_row=self.origin.row, last_row=self.origin.row)

    def moving(self, text: str, growing: bool = False) -> Moving | Growing | None:
        """Cells whose reference moves down with the formula; None for any other reference."""
        if self.reading or self.origin.shift != (0, 0) or not text[-1].isdigit():
            return None
        prefix, rest = split_sheet(text)
        match = _CELLS.fullmatch(rest)
        if match is None or match[1] == match[2] == "$" or (match[1] and match[2] is None):
            return None
        area = parse_area(rest, self.origin.sheet if prefix is None else self.names.sheet(prefix))
        if not (match[1] or match[2]):
            return Moving(*area) if area else None
        from_fixed = area and rest.partition(":")[0].endswith(f"${area.first_row}")
        if growing and area and from_fixed and area.first_row < area.last_row:
            self.keep_to(self.origin.row - (area.last_row - area.first_row) + 1)
            return Growing(*area)
        self.shared = False
        return None

    def keep_to(self, first: int, last: int = MAX_ROW) -> None:
        """Let the written form hold only for these rows of the sheet."""
        self.rows = max(self.rows[0], first), min(self.rows[1], last)

    def find(self, text: str) -> Area | DefinedName | None:
        prefix, rest = split_sheet(text)
        sheet = self.origin.sheet if prefix is None else self.names.sheet(prefix)
        if prefix is None and rest.endswith("]"):
            return self.table(rest)
        area = parse_area(rest, sheet, self.origin.shift)
        if area is not None:
            if self.reading and (prefix is None or is_relative(rest)):
                raise UnreadableReference(f"the name {self.reading[-1]} moves with its reader")
            return area
        name = self.names.defined(rest, sheet)
        if name is not None:
            return name
        if prefix is None and rest.lower() in self.names.tables:
            return self.table(rest + "[]")
        raise UnreadableReference(f"the name {rest} is not defined")

    def table(self, text: str) -> Area | None:
        name, _, inside = text[:-1].partition("[")
        tables = self.names.tables
        if name:
            table = tables.get(name.lower())
        else:  # [@column] written inside the table itself
            self.shared = False
            here = (self.origin.sheet, self.origin.row, self.origin.column)
            table = next((t for t in tables.values() if t.area.holds(*here)), None)
        if table is None:
            if name.isdigit() or not name:
                raise UnreadableReference("reads another workbook, which is never followed")
            raise UnreadableReference(f"there is no table {name}")
        return table_area(table, inside, self.origin.sheet, self.origin.row)

    def area_of(self, node: Node, growing: bool = False) -> Area | None:
        """The area that a part of a formula names; None when it is something else."""
        if node["node_type"] != "Reference":
            return None
        target = self.resolve(node["reference"], growing)
        for _ in range(MAX_NESTING):
            if not isinstance(target, DefinedName):
                return target
            inner = self.names.parse(target.text)
            target = self.resolve(inner["reference"]) if "reference" in inner else None
        return None

    def sheet_asked_for(self, arguments: Sequence[Node]) -> str | None:
        """The sheet of the cell in CELL("filename",cell): that alone needs no program's answer."""
        if len(arguments) != 2 or arguments[0].get("value") != "filename":
            return None
        area = self.area_of(arguments[1])
        return area.sheet if area else None

    def called(self, node: Node, is_call: Callable[[Node], bool]) -> Node:
        """The call that a defined name stands for; any other part of a formula as it is."""
        if node["node_type"] != "Reference" or self.reading:
            return node
        target = self.resolve(node["reference"], growing=True)
        if not isinstance(target, DefinedName):
            return node
        inner = self.names.parse(target.text)
        return inner if is_call(inner) and self.names.is_fixed(target) else node
