"""Worksheets as XlsxWriter writes them, with what the template needs beyond it."""

from collections.abc import Callable
from html import escape
from typing import Any, NamedTuple

from xlsxwriter.utility import xl_range, xl_rowcol_to_cell_fast
from xlsxwriter.worksheet import CellFormulaTuple, Worksheet

from xlfuncs.errors import CellError

_ERRORS = frozenset(error.value for error in CellError)


class Spilled(NamedTuple):
    """A cell of a formula that spills; the first one has the formula and the cells that it fills.

    XlsxWriter has dynamic arrays, but would write an error or a logical value in their first cell
    as text.
    """

    format: Any
    value: Any = 0
    formula: str = ""
    extent: str = ""


class TemplateSheet(Worksheet):  # type: ignore[misc]
    """A worksheet that takes formulas as they are: writing takes half as long.

    XlsxWriter looks in each for a hundred newer functions and completes their names; the template
    writes them complete (`_xlfn.`).
    """

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        return formula.removeprefix("=")

    def put_formula(self, row: int, col: int, formula: str, style: Any) -> None:
        """A formula without its equals sign, its value still to come."""
        cells = self.table[row]
        if not cells or not self.dim_colmin <= col <= self.dim_colmax:
            self._check_dimensions(row, col)
        cells[col] = CellFormulaTuple(formula, style, 0)

    def _write_formula(
        self, row: int, col: int, formula: str, cell_format: Any = None, value: Any = 0
    ) -> int:
        self.put_formula(row, col, formula.removeprefix("="), cell_format)
        return 0

    def set_value(self, row: int, col: int, value: Any) -> None:
        """The value of a formula that has been put."""
        cells = self.table[row]
        cell = cells[col]
        if isinstance(cell, CellFormulaTuple):
            cells[col] = CellFormulaTuple(cell.formula, cell.format, value)
        else:
            cells[col] = cell._replace(value=value)

    def spill(self, first: tuple[int, int], last: tuple[int, int], formula: str) -> None:
        """Put one formula over cells that have been written, which keep their formats."""
        for row in range(first[0], last[0] + 1):
            for col in range(first[1], last[1] + 1):
                self.table[row][col] = Spilled(self.table[row][col].format)
        head = self.table[first[0]][first[1]].format
        self.table[first[0]][first[1]] = Spilled(head, 0, formula, xl_range(*first, *last))
        self.has_dynamic_arrays = True

    def _calculate_spans(self) -> None:
        """From which cell to which the rows are filled is left out: no program needs it."""

    def _write_cell(self, row: int, col: int, cell: Any) -> None:
        """A formula and its value, or the value alone where the formula is empty.

        An empty text is marked as text, as Excel does; XlsxWriter leaves it a missing value.
        """
        written = _WRITTEN.get(type(cell).__name__)
        if written is None or not (cell.format or hasattr(cell, "formula")):
            super()._write_cell(row, col, cell)
            return
        mark, inner = written(cell)
        style = f' s="{cell.format._get_xf_index()}"' if cell.format else ""
        place = xl_rowcol_to_cell_fast(row, col)
        end = f">{inner}</c>" if inner else "/>"
        self.fh.write(f'<c r="{place}"{style}{mark}{end}')


class WorkingsSheet(TemplateSheet):
    """Pages below each other that are there for their numbers alone: without any look of a page."""

    def _unseen(self, *args: Any, **options: Any) -> int:
        return 0

    set_column = freeze_panes = repeat_rows = print_area = insert_chart = _unseen
    set_h_pagebreaks = conditional_format = fit_to_pages = set_portrait = _unseen


def _formula(cell: CellFormulaTuple) -> tuple[str, str]:
    """The marks of a cell in the file, and what stands in it."""
    mark, value = _as_saved(cell.value)
    return mark, f"<f>{escape(cell.formula, quote=False)}</f>{value}" if cell.formula else value


def _spilled(cell: Spilled) -> tuple[str, str]:
    mark, value = _as_saved(cell.value)
    if not cell.formula:
        return mark, value
    over = f't="array" ref="{cell.extent}"'
    return f'{mark} cm="1"', f"<f {over}>{escape(cell.formula, quote=False)}</f>{value}"


def _as_saved(value: Any) -> tuple[str, str]:
    """The mark of a cell's type, none for a number, and its value."""
    if isinstance(value, str):
        kind = "e" if value in _ERRORS else "str"
        return f' t="{kind}"', f"<v>{escape(value, quote=False)}</v>"
    if isinstance(value, bool):
        return ' t="b"', f"<v>{int(value)}</v>"
    return "", f"<v>{value}</v>"


# How cells are written, by what they are; others XlsxWriter writes, and inputs without a look.
_WRITTEN: dict[str, Callable[[Any], tuple[str, str]]] = {
    "Formula": _formula,
    "Spilled": _spilled,
    "String": lambda cell: (' t="s"', f"<v>{cell.string}</v>"),
    "Number": lambda cell: ("", f"<v>{cell.number:.16G}</v>"),
    "Blank": lambda cell: ("", ""),
}
