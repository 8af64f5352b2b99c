"""New cells as parts of a workbook: beside a list, into its table, on sheets of their own."""

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from html import escape
from typing import NamedTuple

from xlfuncs.workbooks.formulas.origins import with_rows
from xlfuncs.xlsx.cell_references import cell_name, column_letters, parse_area
from xlfuncs.xlsx.cell_styles import CellStyles
from xlfuncs.xlsx.contents import CellValue, Contents, ExcelTable
from xlfuncs.xlsx.draft import Draft
from xlfuncs.xlsx.elements import appended, find_elements
from xlfuncs.xlsx.package import Package, edited
from xlfuncs.xlsx.sheet_cells import scan_sheet
from xlfuncs.xlsx.sheet_edits import SheetEdits, value_xml

Values = Mapping[str, Mapping[tuple[int, int], CellValue]]  # of formulas, by sheet and place
_Down = tuple[int, int, Sequence[CellValue], str | None, str]  # as put_down has it
_REF = re.compile(rb"""(\sref\s*=\s*["'])([^"']*)""")
_COUNT = re.compile(rb"""(\scount\s*=\s*["'])(\d+)""")
_EMPTY = ('<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<worksheet xmlns='
          '"http://schemas.openxmlformats.org/spreadsheetml/2006/main"><dimension ref="A1"/>'
          "<cols>{}</cols><sheetData/></worksheet>")  # fmt: skip


class NewCell(NamedTuple):
    """A value that is typed in, or a formula."""

    value: CellValue = None
    formula: str | None = None
    style: str = ""


class NewCells:
    """The cells that are added to a workbook; `written` gives the file with them."""

    def __init__(self, contents: Contents, content: bytes) -> None:
        self.contents = contents
        self.content = content
        self.styles = CellStyles(contents)
        self.cells: dict[str, dict[tuple[int, int], NewCell]] = defaultdict(dict)
        self._down: dict[str, list[_Down]] = defaultdict(list)
        self._fresh: dict[str, Sequence[float]] = {}
        self._widths: dict[str, dict[int, float]] = defaultdict(dict)
        # The formula that the rows of a table's column get, and whether the column is there.
        self.table_columns: dict[ExcelTable, dict[str, tuple[str, bool]]] = defaultdict(dict)

    def put(
        self, sheet: str, row: int, column: int, value: CellValue = None, *,
        formula: str | None = None, style: str = "",
    ) -> None:  # fmt: skip
        self.cells[sheet][row, column] = NewCell(value, formula, style)

    def put_down(
        self, sheet: str, row: int, column: int, values: Sequence[CellValue], *,
        formula: str | None = None, style: str = "",
    ) -> None:  # fmt: skip
        """Cells below each other that look alike: values that are typed in, for each None the
        formula, its rows counted from its own."""
        self._down[sheet].append((row, column, values, formula, style))

    def set_width(self, sheet: str, column: int, width: float) -> None:
        """Of a column that has no width of its own."""
        self._widths[sheet][column] = width

    def make_sheet(self, name: str, widths: Sequence[float]) -> None:
        """A sheet that is made, or made anew where it is there; its cells are all put."""
        self._fresh[name] = widths

    def parts(self, values: Values) -> dict[str, bytes]:
        """The parts of the workbook that change, with the new cells."""
        parts: dict[str, bytes] = {}
        for name in (n for n in {**self.cells, **self._down} if n not in self._fresh):
            sheet = self.contents.sheet(name)
            edits = SheetEdits(self.contents.package.read(sheet.part), self.contents.scan(sheet))
            edits.set_widths(self._widths[name])
            parts[sheet.part] = self._with_cells(edits, name, values)
        for table, columns in self.table_columns.items():
            part, content = table.part, self.contents.package.read(table.part)
            old = {header: formula for header, (formula, present) in columns.items() if present}
            new = [(header, formula) for header, (formula, present) in columns.items()
                   if not present]  # fmt: skip
            content = _reformed(content, old, part) if old else content
            parts[part] = _grown(content, new, part) if new else content
        if (styles := self.styles.result()) is not None:
            parts[self.styles.part] = styles
        return parts

    def written(self, values: Values) -> bytes:
        """The workbook with the new cells; `values` are those of their formulas."""
        parts, made = self.parts(values), dict[str, bytes]()
        for name in (n for n in self.cells if n in self._fresh):
            content = _EMPTY.format(_columns(self._fresh[name])).encode()
            edits = SheetEdits(content, scan_sheet(content, name))
            made[name] = self._with_cells(edits, name, values)
        if not made:
            return self.contents.package.with_parts(parts)
        draft = Draft(self.content, self.contents.package.name)
        for part, content in parts.items():
            draft.write(part, content)
        for name, content in made.items():
            there = draft.sheet(name)
            if there is not None:
                draft.write(there.part, content)
            else:
                draft.add_sheet(name, content.decode())
        return draft.result()

    def _with_cells(self, edits: SheetEdits, name: str, values: Values) -> bytes:
        cells, columns, known = self.cells[name], self._down[name], values.get(name, {})
        for place, cell in cells.items():
            kind, text = _typed(cell.value if cell.formula is None else None)
            if cell.formula is not None and place in known:
                kind, text = value_xml(known[place])
            edits.add_down(*place, [edits.held(kind, text, cell.formula)], cell.style)
        for first, column, typed, formula, style in columns:
            of = lru_cache(None, typed=True)(lambda value: edits.held(*_typed(value)))
            own = edits.held("n", None, formula)
            held = (of(value) if value is not None else with_rows(own, row)
                    for row, value in enumerate(typed, first))  # fmt: skip
            edits.add_down(first, column, held, style)
        last = [*cells, *((first + len(typed) - 1, column) for first, column, typed, *_ in columns)]
        edits.extend_dimension(max(row for row, _ in last), max(column for _, column in last))
        return edits.result()

    def with_values(self, values: Values) -> Contents:
        return Contents(Package.open(self.written(values), self.contents.package.name))


def _columns(widths: Sequence[float]) -> str:
    return "".join(f'<col min="{i}" max="{i}" width="{width}" customWidth="1"/>'
                   for i, width in enumerate(widths, 1))  # fmt: skip


def _typed(value: CellValue) -> tuple[str, str | None]:
    """Kind and text of a value that is typed in."""
    kind, text = value_xml(value) if value is not None else ("n", None)
    return "inlineStr" if kind == "str" else kind, text


def _reformed(content: bytes, columns: Mapping[str, str], where: str) -> bytes:
    """The table's part with other formulas for the rows of its columns of those names."""
    path, edits = "table/tableColumns/tableColumn", []
    named = find_elements(content, path, where)
    for formula in find_elements(content, f"{path}/calculatedColumnFormula", where):
        own = next(column for column in named if column.start < formula.start < column.end)
        if text := columns.get(own.attributes.get("name", "")):
            edits.append((formula.head, formula.close, escape(text, quote=False).encode()))
    return edited(content, edits)


def _grown(content: bytes, columns: Sequence[tuple[str, str]], where: str) -> bytes:
    """The table's part with columns behind its last one."""
    present = find_elements(content, "table/tableColumns/tableColumn", where)
    number = max(int(element.attributes.get("id", "0")) for element in present)
    (listed,) = find_elements(content, "table/tableColumns", where)
    added = "".join(
        f'<tableColumn id="{number + i}" name="{escape(header)}"><calculatedColumnFormula>'
        f"{escape(formula, quote=False)}</calculatedColumnFormula></tableColumn>"
        for i, (header, formula) in enumerate(columns, 1)
    )
    edits = [appended(content, listed, added)]
    if count := _COUNT.search(content, listed.start, listed.head):
        total = str(len(present) + len(columns)).encode()
        edits.append((*count.span(2), total))
    for path in ("table", "table/autoFilter"):
        for element in find_elements(content, path, where):
            if ref := _REF.search(content, element.start, element.head):
                area = parse_area(ref[2].decode(), "")
                assert area is not None
                last = cell_name(area.last_row, area.last_column + len(columns))
                wider = f"{cell_name(area.first_row, area.first_column)}:{last}"
                edits.append((*ref.span(2), wider.encode()))
    return edited(content, edits)


@dataclass
class Block:
    """Columns by name, from a row with their headings on; in formulas `{row}` is their own row."""

    sheet: str
    top: int
    left: int
    rows: int
    columns: dict[str, tuple[str, str]] = field(default_factory=dict)  # heading and formula

    def add(self, name: str, heading: str, formula: str) -> None:
        self.columns[name] = heading, formula

    def letters(self, name: str) -> str:
        return column_letters(self.left + list(self.columns).index(name))

    def here(self, name: str) -> str:
        """The cell of a column in the row of a formula."""
        return f"${self.letters(name)}{{row}}"

    def cells(self, first: str, last: str = "", *, headed: bool = False) -> str:
        """The cells of a column, or of all from one to another, with their headings if asked."""
        top = self.top + (0 if headed else 1)
        return f"${self.letters(first)}${top}:${self.letters(last or first)}${self.top + self.rows}"

    def write(self, cells: NewCells, head_style: str) -> None:
        for place, (heading, formula) in enumerate(self.columns.values(), self.left):
            cells.put(self.sheet, self.top, place, heading, style=head_style)
            for row in range(self.top + 1, self.top + self.rows + 1):
                text = formula.replace("{row}", str(row))
                cells.put(self.sheet, row, place, formula=text)
