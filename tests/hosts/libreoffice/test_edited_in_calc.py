"""Formulas survive what people do to sheets: after rows and columns were put in, taken out and
moved, and sheets renamed and moved, every number is as before, or a finding says what broke.

A block that shows the rows of a table shows a blank row for a blank one, and its own rows in their
order wherever one is moved: it is as before where the same rows follow each other. The folded
numbers of its rows say where they are now.

Places are random, over all sheets. `XLFUNCS_EDITS=200` makes that many. Each is undone before the
next, or the workbook opened anew.
"""

from __future__ import annotations

import os
import random
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.hosts.libreoffice.typing_person import Person
from workbook_template.build import build, demo_inputs
from workbook_template.kit.blocks import Blocks
from xlfuncs.errors import CellError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.hosts.libreoffice.installation import Installation
from xlfuncs.workbooks.our_tables.findings import cell_values
from xlfuncs.workbooks.recalculating.engine import evaluate
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

pytestmark = pytest.mark.libreoffice

EDITS = int(os.environ.get("XLFUNCS_EDITS", "0"))
# Those that are always made.
FEW: tuple[tuple[str, str, int, int | str], ...] = (
    ("rename sheet", "Supply", 0, "My Supply"), ("insert row", "Need", 3, 0),
    ("delete row", "Setup", 9, 0), ("move sheet", "Crops", 0, 4), ("insert row", "Beds", 1, 0),
)  # fmt: skip
RECALCULATED = 1 if EDITS < 20 else 8  # every so many are also saved and recalculated
REOPENED = 20  # edits after which the workbook is opened anew, for the memory
KINDS = (
    *("insert row",) * 6, *("delete row",) * 3, *("move row",) * 2, *("insert column",) * 3,
    "delete column", "move column", "rename sheet", "move sheet",
)  # fmt: skip
AS_IT_IS = ("", "", 0, 0)
FOUND = ("wrong", "doubtful", "note")
BEHIND = 5  # the first column of the rows behind the list on Checks: they say where cells are
Cells = dict[tuple[int, int], Any]
Edit = tuple[str, str, int, int | str]
Block = tuple[str, int, int, int, int]  # sheet, first and last row, first and last column


def edits(sheets: dict[str, Cells], number: int) -> Iterator[Edit]:
    chance = random.Random(19)
    for _ in range(number):
        name, kind = chance.choice(list(sheets)), chance.choice(KINDS)
        rows, columns = (max(place[i] for place in sheets[name]) for i in (0, 1))
        most = rows if kind.endswith("row") else columns
        at, to = chance.randrange(most + 1), chance.randrange(most + 1)
        if kind == "rename sheet":
            yield kind, name, 0, f"My {name}"[:31]
        elif kind == "move sheet":
            yield kind, name, 0, chance.randrange(len(sheets))
        elif kind.startswith("move") and to in (at, at + 1):
            yield kind, name, at, at + 3
        else:
            yield kind, name, at, to


def moved(edit: Edit) -> Callable[[int, int], tuple[int, int] | None]:
    """Where a cell of the edited sheet stands afterwards; None for one that was taken out."""
    kind, _, at, to = edit
    of_row = kind.endswith("row")

    def place(row: int, column: int) -> tuple[int, int] | None:
        line = row if of_row else column
        if kind.startswith("insert"):
            line += line >= at
        elif kind.startswith("delete"):
            if line == at:
                return None
            line -= line > at
        elif kind in ("move row", "move column"):
            assert isinstance(to, int)
            if line == at:
                line = to - (to > at)
            else:
                line -= line > at
                line += line >= to - (to > at)
        return (line, column) if of_row else (row, line)

    return place


def changed(before: dict[str, Cells], after: dict[str, Cells], edit: Edit) -> list[Any]:
    """Numbers that are others than before."""
    found, where = [], moved(edit)
    for name, cells in before.items():
        mine = name == edit[1]
        now = after[str(edit[3]) if mine and edit[0] == "rename sheet" else name]
        for place, value in cells.items():
            if not isinstance(value, float) or (name == "Checks" and place[1] >= BEHIND):
                continue
            there = where(*place) if mine else place
            if there is None:
                continue
            if not alike(value, got := now.get(there)):
                found.append((name, place, value, got))
    return found


def kept(
    blocks: Iterable[Block], before: dict[str, Cells], after: dict[str, Cells], edit: Edit
) -> set[tuple[str, int, int]]:
    """The cells of blocks whose rows follow each other as before, those that are blank or all 0
    left out."""
    found, where = set(), moved(edit)
    for name, first, last, left, right in blocks:
        mine = name == edit[1]
        now = after[str(edit[3]) if mine and edit[0] == "rename sheet" else name]
        cells = {
            (r, c): where(r, c) if mine else (r, c)
            for r in range(first, last + 1) for c in range(left, right + 1)
        }  # fmt: skip
        there = [place for place in cells.values() if place]
        if not there or {c for _, c in there} != set(range(left, right + 1)):
            continue
        rows = range(min(r for r, _ in there), max(r for r, _ in there) + 1)
        if alike(
            _rows(before[name], range(first, last + 1), range(left, right + 1)),
            _rows(now, rows, range(left, right + 1)),
        ):
            found |= {(name, r, c) for r, c in cells}
    return found


def _rows(cells: Cells, rows: range, columns: range) -> list[list[Any]]:
    found = [[cells.get((r, c)) for c in columns] for r in rows]
    return [row for row in found if any(row)]


def alike(before: Any, now: Any) -> bool:
    if isinstance(before, list) and isinstance(now, list):
        return len(before) == len(now) and all(map(alike, before, now))
    if isinstance(before, float) and isinstance(now, float):
        return abs(now - before) <= 1e-9 * max(1, abs(before))
    return bool(before == now)


def findings(cells: dict[str, Cells]) -> set[tuple[str, str]]:
    sheet = next(c for name, c in cells.items() if name.endswith("Checks"))
    rows = {(r, c): value for (r, c), value in sheet.items() if value in FOUND}
    return {(kind, str(sheet.get((r, c + 1)))) for (r, c), kind in rows.items()}


def in_calc(sheets: dict[str, list[list[Any]]]) -> dict[str, Cells]:
    return {
        name: {(r, c): value for r, row in enumerate(rows) for c, value in enumerate(row)
               if value != ""}
        for name, rows in sheets.items()
    }  # fmt: skip


def by_recalculate(path: Path) -> dict[str, Cells]:
    contents = Contents(Package.open(path))
    values = cell_values(contents)
    for sheet, computed in evaluate(contents, worksheet_callables()).values.items():
        values[sheet].update(computed)
    return {
        name: {(r - 1, c - 1): value for (r, c), value in cells.items()
               if value != "" and not isinstance(value, CellError)}
        for name, cells in values.items()
    }  # fmt: skip


def taken_back(person: Person, start: dict[str, Cells], edit: Edit) -> bool:
    """Whether the workbook is as it was, once the last edit was undone: what was put in is taken
    out, which is fast."""
    kind, sheet, at, _ = edit
    if kind.startswith("insert"):
        person.ask("edit", kind.replace("insert", "delete"), sheet, at, 0)
    else:
        person.ask("take_back")
    now = in_calc(person.ask("values"))
    return now.keys() == start.keys() and not (
        changed(start, now, AS_IT_IS) or findings(now) ^ findings(start)
    )


def blocks_of(path: Path) -> tuple[list[Block], set[tuple[str, int]]]:
    """Build the example; gives where its blocks lie, and the columns of their rows' numbers."""
    blocks: list[Block] = []
    numbers: set[tuple[str, int]] = set()
    grid = Blocks.grid

    def noted(page: Blocks, headers: Any, rows: Any, *, col: int = 0, styles: Any = None) -> int:
        first = grid(page, headers, rows, col=col, styles=styles)
        blocks.append((page.name, first, first + len(rows) - 1, col, col + len(headers) - 1))
        if page._numbers_at is not None:
            numbers.add((page.name, page._numbers_at))
        return first

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Blocks, "grid", noted)
        build(path, "us", demo_inputs("us"))
    return blocks, numbers


def test_numbers_survive_edits(installation: Installation, tmp_path: Path) -> None:
    path, saved = tmp_path / "farm.xlsx", tmp_path / "saved.xlsx"
    blocks, numbers = blocks_of(path)
    silent, same, said = [], 0, 0
    with Person(installation, tmp_path) as person:
        person.ask("open", str(path))
        start = in_calc(person.ask("values"))
        for number, edit in enumerate(edits(start, EDITS) if EDITS else FEW):
            person.ask("edit", *edit)
            ways = {"Calc": in_calc(person.ask("values"))}
            if number % RECALCULATED == 0:
                person.ask("save", str(saved))
                ways["recalculate"] = by_recalculate(saved)
            for way, now in ways.items():
                others = changed(start, now, edit)
                if others:
                    same_rows = kept(blocks, start, now, edit)
                    others = [
                        o
                        for o in others
                        if (o[0], *o[1]) not in same_rows and (o[0], o[1][1]) not in numbers
                    ]
                fresh = findings(now) - findings(start)
                same, said = same + (not others), said + bool(others and fresh)
                print(number, way, edit, len(others), others[:2], sorted(fresh)[:2], flush=True)
                if others and not fresh:
                    silent.append((way, edit, len(others), others[:3]))
            if number % REOPENED == REOPENED - 1 or not taken_back(person, start, edit):
                person.ask("open", str(path))
    print(f"{same} as before, {said} said, {len(silent)} silent")
    assert silent == []
    assert same > said
