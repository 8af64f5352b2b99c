"""Numbers that stand out from their neighbours by what people slip by: a decimal point, a unit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import median

from xlfuncs.catalogue.findings.given import DOUBTFUL, Given, GivenTable, Row, Said
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.lines import LINES
from xlfuncs.units import display

# By how much a slip puts a number off, most likely first (common practice, no published source).
_POINT = (10.0, "the decimal point")
_SLIPS = {
    "length": (_POINT, (12.0, "inches and feet"), (100.0, "cm and m"), (3.281, "feet and m")),
    "width": (_POINT, (25.4, "mm and inches"), (12.0, "inches and feet"), (2.54, "cm and inches")),
    "emitter_flow": (_POINT, (60.0, "a flow by the minute and by the hour")),
}
_COMPARED = ((BEDS.name, "length"), (BEDS.name, "strip_width"), (BEDS.name, "bed_top_width"),
             (LINES.name, "emitter_flow"))  # fmt: skip
_FAR, _NEAR = 5.0, 1.25  # times beyond the others before it is odd; and within them once mended
_ENOUGH = 3  # others to compare with


def check_slips(given: Given) -> Iterator[Said]:
    """Each number beside those of the other rows; distances beside those above and below."""
    for name, column in _COMPARED:
        if name in given.tables:
            table = given.tables[name]
            numbers = _numbers(table, column)
            for i, (row, value) in enumerate(numbers):
                others = [v for j, (_, v) in enumerate(numbers) if j != i]
                yield from _odd(table, row, column, value, others)
    if BEDS.name in given.tables:
        yield from _distances(given.tables[BEDS.name])


def _numbers(table: GivenTable, column: str) -> list[tuple[Row, float]]:
    values = ((row, table.base(row, column)) for row in table.rows())
    return [(row, float(value)) for row, value in values if isinstance(value, float | int)]


def _distances(beds: GivenTable) -> Iterator[Said]:
    """Beds of a branch lie one behind the other; the nearest to the tap may be very near."""
    by_branch: dict[float, list[tuple[Row, float]]] = {}
    for row, value in _numbers(beds, "distance"):
        by_branch.setdefault(beds.base(row, "branch") or 0, []).append((row, value))
    for numbers in by_branch.values():
        for i, (row, value) in enumerate(numbers):
            beside = [v for _, v in numbers[max(i - 2, 0) : i] + numbers[i + 1 : i + 3]]
            if i or (beside and value > max(beside)):
                yield from _odd(beds, row, "distance", value, beside, enough=2)


def _odd(
    table: GivenTable, row: Row, column: str, value: float, others: Sequence[float],
    enough: int = _ENOUGH,
) -> Iterator[Said]:  # fmt: skip
    if len(others) < enough or value <= 0 or min(others) <= 0:
        return
    least, most, usual = min(others), max(others), median(others)
    if least / _FAR < value < most * _FAR:
        return
    declared = table.table[column]
    of_unit = _SLIPS[declared.dimension]
    for factor, slip in of_unit:
        meant = value / factor if value > usual else value * factor
        if least / _NEAR <= meant <= most * _NEAR:
            shown, likely, beside = (
                display(v, declared.dimension, table.system, 3) for v in (value, meant, usual)
            )
            words = (
                f"{declared.header}: {shown} beside {beside} in other rows; is it {likely}?"
                f" Likely slip: {slip}"
            )
            yield Said(DOUBTFUL, table.table.name, row, column, words)
            return
    times = max(value / usual, usual / value)
    shown, beside = (display(v, declared.dimension, table.system, 3) for v in (value, usual))
    words = f"{declared.header}: {shown} is {times:.0f} times off the {beside} of other rows"
    yield Said(DOUBTFUL, table.table.name, row, column, words)
