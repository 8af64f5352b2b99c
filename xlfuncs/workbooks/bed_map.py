"""The beds of a workbook as a map to scale: what is drawn, without saying how it is drawn."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

import xlfuncs
from xlfuncs.catalogue.calling import call
from xlfuncs.catalogue.findings.given import Row
from xlfuncs.catalogue.registry import find
from xlfuncs.errors import WorkbookError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.units import DIMENSIONS, parse, to_base
from xlfuncs.workbooks.checking.input_checks import workbook_system
from xlfuncs.workbooks.our_tables import table_cells
from xlfuncs.workbooks.our_tables.findings import CellValues, cell_values
from xlfuncs.workbooks.recalculating.engine import evaluate
from xlfuncs.xlsx.contents import CellValue, Contents
from xlfuncs.xlsx.package import Package

_COUNTED = ("part", "number", "spares", "length")  # columns of the counted parts, by their names


@dataclass(frozen=True)
class MapBed:
    """One bed in default units of length; x across, y up; strips and lines as distances from the
    middle line of the bed."""

    name: str
    inlet_x: float
    end_x: float
    y: float
    pipe_x: float
    width: float
    strip_edges: tuple[tuple[float, float], ...]
    lines: tuple[float, ...]
    on: bool
    valve: str


@dataclass(frozen=True)
class BedMap:
    """The beds that could be placed, those that could not and why, the unit of length, and the
    parts as (name, how many) where the workbook counts them."""

    title: str
    beds: tuple[MapBed, ...]
    left_out: tuple[str, ...]
    unit: str
    system: str
    parts: tuple[tuple[str, str], ...] = ()
    toward: str = ""  # which way the main runs, by the compass


def read_bed_map(path: Path) -> BedMap:
    """The map of a workbook with a Beds table; formulas are computed first."""
    contents = Contents(Package.open(path))
    values = cell_values(contents)
    for sheet, computed in evaluate(contents, worksheet_callables()).values.items():
        values[sheet].update(computed)
    system, _ = workbook_system(contents, values)
    return bed_map(contents, values, system, path.stem)


def bed_map(contents: Contents, values: CellValues, system: str, title: str) -> BedMap:
    """The map of a workbook whose values, those of its input cells too, are known."""
    tables = table_cells.tables_in(contents, values)
    if "Beds" not in tables:
        raise WorkbookError(f"{title} has no table Beds, so there is nothing to draw")
    named = table_cells.named_cells(contents)
    farm, toward = (
        table_cells.cell_value(contents, named[name]) if name in named else None
        for name in ("farm", "main_runs")
    )
    found = _map(tables["Beds"], system, str(farm or title))
    parts = _parts(contents, values, found.unit)
    return replace(found, parts=parts, toward=str(toward or ""))


def _parts(contents: Contents, values: CellValues, unit: str) -> tuple[tuple[str, str], ...]:
    """The parts that the workbook counted, by the names of its columns; one line a part."""
    columns = [_named_column(contents, values, f"counted_{name}") for name in _COUNTED]
    counts: dict[str, list[float]] = {}
    for part, *numbers in zip(*columns, strict=True):
        if isinstance(part, str) and part:
            total = counts.setdefault(part, [0.0] * len(numbers))
            for i, number in enumerate(numbers):
                total[i] += float(number) if isinstance(number, int | float) else 0.0
    return tuple(
        (part, _how_many(unit, *numbers)) for part, numbers in counts.items() if any(numbers)
    )


def _how_many(unit: str, number: float, spares: float, length: float) -> str:
    if length:
        return f"{length:.0f} {unit}"
    return f"{number:.0f} + {spares:.0f}" if spares else f"{number:.0f}"


def _named_column(contents: Contents, values: CellValues, name: str) -> list[CellValue]:
    area = table_cells.named_areas(contents).get(name)
    if area is None:
        return []
    cells = values.get(area.sheet, {})
    rows = range(area.first_row, area.last_row + 1)
    return [cells.get((row, area.first_column)) for row in rows]


def _map(beds: table_cells.TableInWorkbook, system: str, title: str) -> BedMap:
    rows, left_out = [], []
    for row in beds.rows():
        counted = beds.other("Counted", row.number)
        if counted == "no":
            name, said = row.text("bed"), str(beds.other("Check", row.number))
            left_out.append(said if said.startswith(f"{name}: ") else f"{name}: {said}")
        elif row.text("bed"):
            rows.append((row, counted != "off"))
    if not rows:
        raise WorkbookError("no bed could be read; see the Check column on Beds")
    placed = _positions([row for row, _ in rows], system)
    drawn = tuple(
        _drawn_bed(row, on, place, system) for (row, on), place in zip(rows, placed, strict=True)
    )
    return BedMap(title, drawn, tuple(left_out), DIMENSIONS["length"].unit(system), system)


def _positions(rows: list[Row], system: str) -> list[tuple[float, ...]]:
    columns = [[row.cells.get(name) for row in rows] for name in ("distance", "length", "branch")]
    twice = 2 * to_base(1.0, "length", system)
    half_widths = [_widths(row, system)[2] / twice for row in rows]
    outcome = call(find("BED_POSITIONS"), [*columns, None, half_widths], system)
    if outcome is None:
        raise WorkbookError("no bed has a distance and a length, so none can be placed")
    return [tuple(float(v) for v in place) for place in zip(*outcome.columns, strict=True)]


def _widths(row: Row, system: str) -> tuple[int, float, float]:
    """How many strips, how wide each is and the bed as a whole (m)."""
    strips = int(row.cells.get("strips") or 1)
    strip, top = (_length(row.cells.get(name), "width", system)
                  for name in ("strip_width", "bed_top_width"))  # fmt: skip
    return strips, strip, max(top, strips * strip)


def _drawn_bed(row: Row, on: bool, place: Sequence[float], system: str) -> MapBed:
    strips, strip, top = _widths(row, system)
    laterals = int(row.cells.get("laterals") or 0)
    offsets: list[float] = []
    if laterals:
        inset = row.cells.get("inset")
        found = xlfuncs.line_offsets(f"{top} m", laterals, inset, units=system)
        scale = to_base(1.0, "width", system)
        offsets = [float(v) * scale - top / 2 for v in np.asarray(found).ravel()]
    to_length = 1 / to_base(1.0, "length", system)
    edges = _strip_edges(strips, strip, top)
    inlet_x, end_x, y, pipe_x = place
    return MapBed(
        name=row.text("bed"), inlet_x=inlet_x, end_x=end_x, y=y, pipe_x=pipe_x,
        width=top * to_length, strip_edges=tuple((a * to_length, b * to_length) for a, b in edges),
        lines=tuple(v * to_length for v in offsets), on=on, valve=row.text("valve"),
    )  # fmt: skip


def _strip_edges(strips: int, width: float, top: float) -> list[tuple[float, float]]:
    """Strips spread evenly over the bed top, as distances from its middle (m)."""
    pitch = top / strips
    middles = [(i + 0.5) * pitch - top / 2 for i in range(strips)]
    return [(middle - width / 2, middle + width / 2) for middle in middles]


def _length(value: CellValue, dimension: str, system: str) -> float:
    """A width cell in metres; 0 where it is blank."""
    if value is None or value == "":
        return 0.0
    if isinstance(value, str):
        return parse(value, dimension, system)
    return to_base(float(value), dimension, system)  # type: ignore[arg-type]
