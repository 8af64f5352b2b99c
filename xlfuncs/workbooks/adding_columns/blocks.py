"""Columns of formulas on a sheet of their own: headings, and the same formula in every row."""

from dataclasses import dataclass, field

from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.xlsx.cell_references import column_letters


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
