"""Worksheet functions as the engine calls them: values turned both ways, results kept.

A call with the same arguments is computed once in a run. The whole result that many INDEX cells
read is kept on this side, so that it does not travel to the engine for each of them.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from functools import partial
from typing import Any

import formualizer

from xlfuncs.errors import CellError, InputError
from xlfuncs.hosts.memory import Memory
from xlfuncs.workbooks.formulas import corrections, for_engine
from xlfuncs.xlsx.contents import CellValue

WorksheetCallable = Callable[[list[Any]], "CellValue | Sequence[Sequence[CellValue]]"]

_KIND_OF = {
    CellError.VALUE: "Value",
    CellError.NUMBER: "Num",
    CellError.DIVISION: "Div",
    CellError.NOT_AVAILABLE: "Na",
    CellError.REFERENCE: "Ref",
    CellError.NAME: "Name",
    CellError.NULL: "Null",
}
_ERROR_OF = {kind: error for error, kind in _KIND_OF.items()}
_INDEXES = {int, float, bool, type(None)}
_EPOCH = datetime(1899, 12, 30)


class EngineTrouble(Exception):  # noqa: N818 - not a mistake, a reason to leave a cell alone
    """The engine gave no value; the text says why."""


def to_engine(value: object) -> object:
    """A cell value for the engine."""
    if value is None or value.__class__ is str or value.__class__ is bool:
        return value
    if isinstance(value, CellError):
        return {"type": "Error", "kind": _KIND_OF[value]}
    number = float(value)  # type: ignore[arg-type]
    return number if math.isfinite(number) else to_engine(CellError.NUMBER)


def from_engine(value: Any) -> CellValue:
    """A cell value from the engine; raises EngineTrouble for what is no ordinary value."""
    if isinstance(value, str):
        return value
    if isinstance(value, float) and not math.isfinite(value):
        raise EngineTrouble("gives no finite number")
    if value is None or isinstance(value, bool | float):
        return value
    if isinstance(value, int):
        return float(value)
    if isinstance(value, dict):
        kind = value.get("kind", "?")
        if kind in _ERROR_OF:
            return _ERROR_OF[kind]
        raise EngineTrouble(_TROUBLE.get(kind, f"the engine reports {kind}"))
    return _serial(value)


_TROUBLE = {
    "Circ": "a circular reference",
    "Spill": "gives several values, and its neighbors are not empty",
    "NImpl": "uses something that the engine does not know",
}


def _serial(value: object) -> float:
    """Dates from the engine as the 1900 day numbers of a worksheet."""
    if isinstance(value, timedelta):
        return value.total_seconds() / 86400
    if isinstance(value, time):
        return (value.hour * 3600 + value.minute * 60 + value.second) / 86400
    if isinstance(value, datetime):
        return (value.replace(tzinfo=None) - _EPOCH).total_seconds() / 86400
    if isinstance(value, date):
        return float((datetime(value.year, value.month, value.day) - _EPOCH).days)
    raise EngineTrouble(f"the engine gave a {type(value).__name__}")


def _argument(value: Any) -> Any:
    if isinstance(value, list):  # of ranges, where nearly all is blank or text
        return [[item if item is None or item.__class__ is str or
                 (item.__class__ is float and math.isfinite(item)) else _scalar_argument(item)
                 for item in row] for row in value]  # fmt: skip
    return _scalar_argument(value)


def _scalar_argument(value: Any) -> CellValue:
    try:
        return from_engine(value)
    except EngineTrouble:
        return CellError.VALUE


def _result(value: Any) -> object:
    if isinstance(value, list | tuple):
        return [[to_engine(item) for item in row] for row in value]
    return to_engine(value)


def _rows(result: Any) -> list[list[Any]]:
    return result if isinstance(result, list) else [[result]]


class Callbacks:
    """All functions of one run, registered in one engine workbook."""

    def __init__(
        self,
        functions: Mapping[str, WorksheetCallable],
        handed: Callable[[str], list[list[CellValue]] | None],
    ) -> None:
        self.handed = handed
        self.functions = {name.upper(): function for name, function in functions.items()}
        self.failures: list[str] = []
        self.refused: dict[int, str] = {}  # number of a formula -> why it has no value
        self._results = Memory()
        self._held: dict[int, object] = {}  # results, and calls that nobody has needed yet

    def register(self, workbook: formualizer.Workbook) -> None:
        own: dict[str, Callable[..., object]]
        own = {
            for_engine.HOLD: self.hold,
            for_engine.LATER: self.later,
            for_engine.ITEM: self.item,
            for_engine.PICK: self.pick,
        }
        own |= {for_engine.SINGLE: self.single, for_engine.STRICT: self.strict}
        own |= {
            for_engine.WORDS: self.words,
            for_engine.COMPARE: self.compare,
            for_engine.WHOLE: self.whole,
        }
        own |= corrections.replacements()
        own |= {name: partial(self.answer, name) for name in self.functions}
        for name, function in own.items():
            workbook.register_function(name, function, allow_override_builtin=True)

    def answer(self, name: str, *arguments: Any) -> object:
        """What one of the functions answers to arguments from the engine."""
        given = [*map(self._given, arguments)]
        return self._results.answer((name, *given), partial(self._call, name, arguments, given))

    def _call(self, name: str, arguments: Sequence[Any], given: Sequence[Any]) -> object:
        try:
            pairs = zip(arguments, given, strict=True)  # what was handed over is as it should be
            return _result(self.functions[name]([_argument(v) if g is v else g for v, g in pairs]))
        except InputError as error:
            return to_engine(error.cell_error)
        except Exception as error:
            failure = f"{name} failed: {type(error).__name__}: {error}"
            if failure not in self.failures:
                self.failures.append(failure)
            return to_engine(CellError.VALUE)

    def _given(self, value: Any) -> Any:
        """An argument from the engine, the range itself where it was handed over by its name."""
        handed = self.handed(value) if isinstance(value, str) else None
        return value if handed is None else handed

    def hold(self, row: float, result: object) -> float:
        self._held[int(row)] = result
        return row

    def later(self, row: float, name: str, *arguments: Any) -> float:
        self._held[int(row)] = name, *arguments
        return row

    def held(self, row: float) -> Any:
        """What a row of HELD keeps, computed by now."""
        result = self._held[int(row)]
        if isinstance(result, tuple):  # a call: what the engine gives or gets is no tuple
            result = self._held[int(row)] = self.answer(*result)
        return result

    def item(self, row: float, *place: Any) -> object:
        """INDEX(result, row, column), with a row or column of 0 for all; arrays item by item."""
        kinds = {*map(type, place)}
        if list in kinds:
            return self.items(row, *map(_rows, place))
        result = self.held(row)
        if isinstance(result, dict):
            return result
        if not kinds <= _INDEXES:
            wrong = next(value for value in place if type(value) not in _INDEXES)
            return wrong if isinstance(wrong, dict) else to_engine(CellError.VALUE)
        rows = _rows(result)
        numbers = [int(value or 0) for value in place]
        if len(numbers) == 1:  # one index counts along a single row, or down a single column
            if len(rows) > 1 and len(rows[0]) > 1:
                return to_engine(CellError.REFERENCE)
            numbers = [1, numbers[0]] if len(rows) == 1 else [numbers[0], 1]
        down, right = numbers
        if not (0 <= down <= len(rows) and 0 <= right <= len(rows[0])):
            return to_engine(CellError.REFERENCE)
        if down and right:
            return rows[down - 1][right - 1]
        chosen = rows if down == 0 else [rows[down - 1]]
        part = [line if right == 0 else [line[right - 1]] for line in chosen]
        return part[0][0] if len(part) == 1 and len(part[0]) == 1 else part

    def items(self, row: float, *places: list[list[Any]]) -> object:
        """INDEX for arrays of positions, as an array formula has them."""

        def found(r: int, c: int) -> object:
            at = (p[r if len(p) > 1 else 0][c if len(p[0]) > 1 else 0] for p in places)
            value = self.item(row, *at)
            return to_engine(CellError.VALUE) if isinstance(value, list) else value

        height = max(len(place) for place in places)
        width = max(len(place[0]) for place in places)
        if any(len(p) not in (1, height) or len(p[0]) not in (1, width) for p in places):
            return to_engine(CellError.VALUE)
        return [[found(r, c) for c in range(width)] for r in range(height)]

    def pick(self, row: float, down: float, right: float) -> object:
        """One cell of an array formula with a fixed extent; a single row or column repeats."""
        rows = _rows(self.held(row))
        at = 0 if len(rows) == 1 else int(down) - 1
        across = 0 if len(rows[0]) == 1 else int(right) - 1
        if at >= len(rows) or across >= len(rows[0]):
            return to_engine(CellError.NOT_AVAILABLE)
        return rows[at][across]

    def single(self, result: Any) -> object:
        return _rows(result)[0][0]

    def words(self, number: float, value: Any) -> object:
        """Numbers as text; a formula whose number programs write differently is refused."""
        return self._unless_ambiguous(
            number, corrections.through, corrections.number_as_text, value
        )

    def compare(self, number: float, operator: str, left: Any, right: Any) -> object:
        return self._unless_ambiguous(number, corrections.compared, operator, left, right)

    def whole(self, number: float, name: str, *arguments: Any) -> object:
        """INT, MOD and their kin, where programs differ in the last digits."""
        return self._unless_ambiguous(number, corrections.careful, name, *arguments)

    def _unless_ambiguous(
        self, number: float, compute: Callable[..., object], *arguments: Any
    ) -> object:
        try:
            return compute(*arguments)
        except corrections.Ambiguous as doubt:
            self.refused[int(number)] = f"programs differ on {doubt}"
            return to_engine(CellError.VALUE)

    def strict(self, number: float, result: Any) -> object:
        if isinstance(result, list) and (len(result) > 1 or len(result[0]) > 1):
            self.refused[int(number)] = "a whole result where a single value is expected"
        return _rows(result)[0][0]
