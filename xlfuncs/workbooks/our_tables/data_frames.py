"""A workbook's tables for those who go on in Python.

garden = xlfuncs.read_workbook("garden.xlsx")
garden["Beds"]                  # a DataFrame: what was typed, and what was computed from it
garden["Beds"].attrs["units"]   # {"length": "ft", ...}
garden.names["planted_area"]    # a setting or a computed number by its name
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from xlfuncs.catalogue.findings.given import unit_in
from xlfuncs.workbooks.our_tables.read_inputs import Reading, read_inputs
from xlfuncs.workbooks.our_tables.table_cells import cell_value, named_cells

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class WorkbookTables(Mapping[str, "pandas.DataFrame"]):
    """The tables by name; `names` are the single numbers and words that have one."""

    reading: Reading
    names: Mapping[str, Any]

    @property
    def system(self) -> str:
        """us or metric: what plain numbers are in."""
        return self.reading.marks.system

    def __getitem__(self, name: str) -> "pandas.DataFrame":
        """The filled rows: declared columns by their Python names, any other by its header."""
        import pandas

        table, rows = self.reading.tables[name], self.reading.inputs.tables[name]
        first = table.header_row + table.placed.header_rows
        columns = {column: [row.get(column) for row in rows] for column in table.places}
        units = {column: table.table[column].unit(self.system) for column in table.places}
        contents = self.reading.contents
        for header, column in table.others.items():
            places = [(table.sheet, first + i, column) for i in range(len(rows))]
            columns[header] = [cell_value(contents, place) for place in places]
            units[header] = unit_in(header)
        frame = pandas.DataFrame(columns)
        frame.attrs = {"units": units, "system": self.system}
        return frame.loc[[i for i, row in enumerate(rows) if row]].reset_index(drop=True)

    def __iter__(self) -> Iterator[str]:
        return iter(self.reading.tables)

    def __len__(self) -> int:
        return len(self.reading.tables)


def read_workbook(path: Path | str) -> WorkbookTables:
    """Read a workbook of the template; computed values are those that the file holds.

    Raises WorkbookError for a file that is no workbook of the template.
    """
    reading = read_inputs(Path(path))
    contents = reading.contents
    values = {name: cell_value(contents, at) for name, at in named_cells(contents).items()}
    return WorkbookTables(reading, values | dict(reading.inputs.settings))
