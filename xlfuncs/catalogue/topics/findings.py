"""Declaration: FINDINGS, the one list of what is wrong or doubtful in tables and settings."""

from typing import Any

import numpy as np

from xlfuncs.catalogue.calling import read_system
from xlfuncs.catalogue.declaration import Arg, Result, worksheet_function
from xlfuncs.catalogue.findings.all_findings import find_all, given_ranges, in_full
from xlfuncs.catalogue.sources import DEFINITION


@worksheet_function(
    "FINDINGS",
    topic="checks",
    help="All that is wrong, doubtful or worth knowing in input tables and settings, looked at"
    " together: worst first, one a row; a blank row ends the list.",
    args=(
        Arg("system", "text", "us or metric: the units of plain numbers"),
        Arg("given", "text", "Input tables with their headers, and settings with their labels",
            variadic=True),
    ),
    results=(
        Result("kind", "text", "wrong, doubtful or note"),
        Result("place", "text", "Name of the table, or of the setting"),
        Result("row", "count", "Row of the table, from 1; 0: its headers, or a setting"),
        Result("column", "count", "Column of the table, from 1"),
        Result("words", "text", "The row's name, what is wrong, and what to do"),
    ),
    source=DEFINITION.at("the limits of the tables' columns, and what they say of each other"),
    elementwise=False,
    examples=("FINDINGS(units, A1:S20, U1:AH9)",),
)  # fmt: skip
def findings(system: Any, *given: Any) -> Any:
    ranges = [_rows(cells) for cells in given]
    known = given_ranges([cells for cells in ranges if cells], read_system(system))
    found = find_all(known)
    rows = [
        (
            said.kind,
            said.table or said.column,
            float(said.row.number if said.row else 0),
            float(known.tables[said.table].places.get(said.column, 0) + 1 if said.table else 1),
            in_full(known, said),
        )
        for said in found
    ]
    # A blank row ends the list; of one row alone Calc would fill a whole block.
    rows.append(("", "", np.nan, np.nan, ""))
    columns = list(zip(*rows, strict=True))
    return tuple(
        np.array(c, dtype=np.float64 if i in (2, 3) else object) for i, c in enumerate(columns)
    )


def _rows(cells: Any) -> list[list[Any]]:
    """A range as rows; None for a single cell."""
    if not isinstance(cells, list | tuple | np.ndarray):
        return []
    return [list(row) if isinstance(row, list | tuple | np.ndarray) else [row] for row in cells]
