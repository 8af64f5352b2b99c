"""A bed list that lives on beside the plan made from it: what changed, taken over into the plan.

Nothing is taken out of the plan: a bed that is gone from the list, a value that the list leaves
blank, notes, and everything on other sheets stay as they were typed there.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from xlfuncs.catalogue.arguments import as_argument, is_blank, read_one
from xlfuncs.errors import InputError, WorkbookError
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.our_tables.read_inputs import Reading, read_inputs
from xlfuncs.workbooks.our_tables.table_cells import TableInWorkbook
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

Row = Mapping[str, Any]
KEPT = ("bed", "notes")  # the name is compared apart; notes are the plan's own


@dataclass
class Changes:
    """What a list says otherwise than the plan; `str()` of it is a line a change."""

    added: list[Row] = field(default_factory=list)
    renamed: dict[str, str] = field(default_factory=dict)
    changed: list[tuple[str, str, Any, Any]] = field(default_factory=list)  # bed, column, old, new
    gone: list[str] = field(default_factory=list)
    left_out: Sequence[str] = ()  # what is said of the list's rows that were not read as beds

    def __bool__(self) -> bool:
        return bool(self.added or self.renamed or self.changed)

    def without(self, beds: str) -> bool:
        """Leaves these beds, by their names with commas, as they are; False if it has none."""
        kept, before = {name.strip().casefold() for name in beds.split(",")}, str(self)
        self.added = [row for row in self.added if str(row["bed"]).casefold() not in kept]
        self.changed = [change for change in self.changed if change[0].casefold() not in kept]
        self.renamed = {old: new for old, new in self.renamed.items()
                        if not kept & {old.casefold(), new.casefold()}}  # fmt: skip
        return str(self) != before

    def __str__(self) -> str:
        lines = [f"renamed: {old} is now {new}" for old, new in self.renamed.items()]
        lines += [f"{bed}: {BEDS[name].header} {shown(old)} -> {shown(new)}"
                  for bed, name, old, new in self.changed]  # fmt: skip
        for row in self.added:
            told = ", ".join(f"{BEDS[n].header} {shown(v)}" for n, v in row.items() if n != "bed")
            lines.append(f"new bed {row['bed']}: {told}")
        why = "was not read from the list" if self.left_out else "is no bed of the list"
        stays = "it stays in the plan (On: no takes it out of the sums)"
        lines += [f"{bed} {why}; {stays}" for bed in self.gone]
        lines += self.left_out
        if not self:
            everything = "All else" if self.left_out else "All"
            lines.append(f"{everything} that the list says is in the plan.")
        return "\n".join(lines)


def shown(value: Any) -> str:
    if value is None:
        return "blank"
    return f"{value:.6g}" if isinstance(value, float) else str(_typed(value))


def compare(plan: Sequence[Row], beds: Sequence[Row], system: str) -> Changes:
    """The changes from the plan's rows to the list's; names are told apart by capitals too."""
    changes = Changes()
    of_plan, of_list = ({str(row.get("bed")): row for row in rows if row} for rows in (plan, beds))
    missing = [name for name in of_plan if name not in of_list]
    new = [name for name in of_list if name not in of_plan]
    places = {name: place for rows in (of_plan, of_list) for place, name in enumerate(rows)}
    for old in missing:
        same = [name for name in new if places[name] == places[old]
                and not list(_differences(of_plan[old], of_list[name], system))]  # fmt: skip
        if same:
            changes.renamed[old] = same[0]
            new.remove(same[0])
        else:
            changes.gone.append(old)
    changes.added = [_as_others(of_list[name], plan, i) for i, name in enumerate(new, 1)]
    for name, row in of_plan.items():
        if other := of_list.get(name):
            changes.changed += [(name, column, row.get(column), other[column])
                                for column in _differences(row, other, system)]  # fmt: skip
    return changes


def _as_others(row: Row, plan: Sequence[Row], number: int) -> Row:
    """A new bed with the pipes that most beds have, and the next valve, so that it opens alone."""
    given = {name: value for name, value in row.items() if not is_blank(value)}
    for name in ("main_pipe", "manifold_pipe"):
        if usual := Counter(bed[name] for bed in plan if bed.get(name)).most_common(1):
            given.setdefault(name, usual[0][0])
    valves = [shown(bed["valve"]) for bed in plan if bed.get("valve")]
    if valves and all(valve.isdecimal() for valve in valves):
        given.setdefault("valve", str(max(map(int, valves)) + number))
    return given


def _differences(ours: Row, theirs: Row, system: str) -> Iterator[str]:
    """The columns in which the list says something else; what it leaves blank it does not say."""
    for name, value in theirs.items():
        if name in KEPT or is_blank(value):
            continue
        mine, new = (_base(name, v, system) for v in (ours.get(name), value))
        numbers = isinstance(mine, float) and isinstance(new, float)
        if mine != new and not (numbers and abs(mine - new) <= 1e-9 * abs(new)):
            yield name


def _base(name: str, value: Any, system: str) -> Any:
    """A value to compare: in base units, blanks by their default, as typed where it is none."""
    column = BEDS[name]
    try:
        base = read_one(as_argument(column), _typed(value), system)
    except InputError:
        return value
    return column.default if base is None else base


def _typed(value: Any) -> Any:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else value


def read_plan(content: bytes, name: str) -> tuple[Reading, list[Row]]:
    """A plan, and its beds row by row."""
    reading = read_inputs(Contents(Package.open(content, name)))
    if BEDS.name not in reading.tables:
        raise WorkbookError(f"{name}: no plan with a table of beds")
    return reading, list(reading.inputs.tables[BEDS.name])


def taken_over(content: bytes, name: str, changes: Changes) -> bytes:
    """The plan with the changes typed into its table of beds; values wait to be computed."""
    reading, rows = read_plan(content, name)
    writer = _Writer(reading, content)
    beds = reading.tables[BEDS.name]
    numbers = {str(row.get("bed")): i for i, row in enumerate(rows) if row}
    for old, new in changes.renamed.items():
        for table in reading.tables.values():
            for column in table.table.columns:
                if column.one_of == (BEDS.name, "bed") or (table is beds and column.name == "bed"):
                    writer.rename(table, column.name, old, new)
    for bed, name_of_column, _, value in changes.changed:
        writer.put(beds, numbers[bed], name_of_column, value)
    free = [i for i in range(beds.placed.area.last_row - beds.header_row - beds.placed.total_rows)
            if i >= len(rows) or not rows[i]]  # fmt: skip
    if len(free) < len(changes.added):
        words = "insert rows above its last one and copy its computed columns down"
        raise WorkbookError(f"{name}: no free row for all new beds on {beds.sheet}; {words}")
    for place, row in zip(free, changes.added, strict=False):
        for key, value in row.items():
            if not is_blank(value):
                writer.put(beds, place, key, value)
    return writer.cells.written({})


class _Writer:
    def __init__(self, reading: Reading, content: bytes) -> None:
        self.reading, self.cells = reading, NewCells(reading.contents, content)

    def put(self, table: TableInWorkbook, place: int, name: str, value: Any) -> None:
        """A typed value in the n-th row of a table (from 0); the cell keeps its look."""
        if name in table.places:
            row = table.header_row + table.placed.header_rows + place
            column = table.places[name]
            there = self.reading.contents.cell_at(table.sheet, row, column)
            style = there.style if there else ""
            self.cells.put(table.sheet, row, column, _typed(value), style=style)

    def rename(self, table: TableInWorkbook, name: str, old: str, new: str) -> None:
        for place, row in enumerate(self.reading.inputs.tables[table.table.name]):
            if row.get(name) is not None and shown(row[name]) == old:
                self.put(table, place, name, new)
