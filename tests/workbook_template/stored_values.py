"""What every computed cell of the example showed when its values were last stored.

A sheet's columns stand in `values/us.csv` and `values/metric.csv`, a line each: how many cells, the
sum of their numbers and a digest of all their values in order, numbers with six digits. So columns
may move, and a change of one cell is seen. Values that change on purpose are stored anew:

    python -m tests.workbook_template.stored_values --store
"""

from __future__ import annotations

import csv
import hashlib
import sys
from collections import Counter, defaultdict
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

from openpyxl.utils import get_column_letter

from workbook_template.build import demo_inputs, results, write

FOLDER = Path(__file__).parent / "values"
ADDRESSES = {"Checks": {3, *range(8, 40)}}  # columns that say where cells are
Values = Mapping[str, Mapping[tuple[int, int], Any]]


class Line(NamedTuple):
    """The computed cells of a column, compared without its letters."""

    sheet: str
    cells: str
    total: str
    digest: str


def shown(value: Any) -> str:
    """A value with six digits; what ends in a 5 behind them goes up in every program.

    What equal numbers leave when one is taken from the other, which differs by program, is 0.
    """
    if isinstance(value, bool | int | float):
        return f"{round(float(value) * (1 + 1e-11), 9) + 0.0:.6g}"
    return str(value)


def lines(values: Values) -> dict[str, Line]:
    """A line for every column with a value, by sheet and letters."""
    found = {}
    for sheet, cells in values.items():
        columns: dict[int, list[Any]] = defaultdict(list)
        for (_, column), value in sorted(cells.items(), key=lambda item: item[0]):
            if value not in (None, "") and column not in ADDRESSES.get(sheet, ()):
                columns[column].append(value)
        for column, own in sorted(columns.items()):
            total = sum(value for value in own if isinstance(value, int | float))
            digest = hashlib.sha256("\n".join(map(shown, own)).encode()).hexdigest()[:16]
            letters = f"{sheet} {get_column_letter(column)}"
            found[letters] = Line(sheet, str(len(own)), f"{round(total, 9) + 0.0:.6g}", digest)
    return found


def stored(system: str) -> dict[str, Line]:
    with (FOLDER / f"{system}.csv").open(encoding="utf-8", newline="") as file:
        return {letters: Line(*rest) for letters, *rest in list(csv.reader(file))[1:]}


def differences(now: Mapping[str, Line], before: Mapping[str, Line]) -> list[str]:
    """Columns whose values are nowhere on their sheet any more, or were not there before."""
    said = []
    for kind, some, others in (("gone", before, now), ("new", now, before)):
        left = Counter(others.values())
        for letters, line in some.items():
            if left[line] > 0:
                left[line] -= 1
            else:
                said.append(f"{kind}: {letters}, {line.cells} cells that sum to {line.total}")
    return said


def main(asked: str = "") -> None:
    for system in ("us", "metric"):
        now = lines(results(write(system, demo_inputs(system))).values)
        path = FOLDER / f"{system}.csv"
        for said in differences(now, stored(system) if path.exists() else {}):
            print(f"{system}: {said}")
        if asked == "--store":
            FOLDER.mkdir(exist_ok=True)
            with path.open("w", encoding="utf-8", newline="") as file:
                rows = csv.writer(file, lineterminator="\n")
                rows.writerow(("column", *Line._fields))
                rows.writerows((letters, *line) for letters, line in now.items())
            print(f"STORED ANEW: {path.name} holds what the example shows today, right or wrong."
                  " Say in the commit why each line above differs.")  # fmt: skip


if __name__ == "__main__":
    main(*sys.argv[1:])
