"""Cells of a typed list as values of a table's columns, in the default units of the system."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from xlfuncs.catalogue.arguments import read_one
from xlfuncs.catalogue.declaration import Arg
from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Column
from xlfuncs.units import DIMENSIONS, from_base
from xlfuncs.workbooks.lists.headers import FEET_AND_INCHES, Header
from xlfuncs.workbooks.lists.numbers import spelt_out, with_points

_PLAIN = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+|\d+\s+\d+/\d+|\d+/\d+|\d*\s*[½¼¾⅛⅜⅝])")
_FLAG_WORDS = {
    "active": True, "in use": True, "running": True, "watered": True, "planted": True,
    "✓": True, "✔": True, "ok": True,
    "fallow": False, "inactive": False, "resting": False, "closed": False, "unused": False,
    "not used": False, "none": False,
}  # fmt: skip


@lru_cache(maxsize=512)
def as_argument(column: Column) -> Arg:
    """A column read by the very rules that arguments of worksheet functions are read by."""
    return Arg(
        column.header,
        column.dimension,
        column.help,
        default=None,
        above=column.above,
        minimum=column.minimum,
        maximum=column.maximum,
        whole=column.dimension == "count",
        choices=column.choices,
    )


@dataclass(frozen=True)
class ValueReader:
    """Reads cells; `mark` is the decimal mark ('' where it is not known), `units` are stated by
    column name, `words` are other words for choices."""

    system: str
    mark: str
    units: Mapping[str, str]
    words: Mapping[str, str]

    def read(self, headers: tuple[Header, ...], cells: tuple[Any, ...]) -> Any:
        """The value of one column from its cell (or feet and inches from two); None for a blank.

        InputError says what is wrong.
        """
        column = headers[0].column
        parts = [(h, cells[h.place]) for h in headers if h.place < len(cells)]
        parts = [(h, cell) for h, cell in parts if cell is not None and not _is_dash(cell)]
        if not parts:
            return None
        kind = DIMENSIONS[column.dimension].kind
        if kind == "number":
            base = self._base(*parts[0]) if len(parts) == 1 else self._sum(column, parts)
            return _tidy(from_base(base, column.dimension, self.system))
        return self._other(column, kind, parts[0][1])

    def _sum(self, column: Column, parts: list[tuple[Header, Any]]) -> float:
        """Feet in one cell and inches in the next; the limits hold for their sum."""
        lengths = [self._base(header, cell, limited=False) for header, cell in parts]
        total: float = read_one(as_argument(column), f"{sum(lengths)!r} m", self.system)
        return total

    def _base(self, header: Header, cell: Any, *, limited: bool = True) -> float:
        argument = as_argument(header.column)
        if not limited:
            argument = replace(argument, above=None, maximum=None, minimum=0)
        unit = self.units.get(header.column.name) or header.unit
        if isinstance(cell, str):
            text = with_points(cell, self.mark)
            if text is None:
                words = f"{cell!r}: what its comma means is not clear"
                raise InputError(header.column.header, words)
            cell = spelt_out(text, header.column.dimension, unit)
        elif isinstance(cell, (int, float)) and not isinstance(cell, bool):
            cell = f"{cell:.15g}"
        if isinstance(cell, str) and unit and _PLAIN.fullmatch(cell):
            in_both = unit == FEET_AND_INCHES
            cell = self._in_feet_and_inches(header, cell) if in_both else f"{cell} {unit}"
        base: float = read_one(argument, cell, self.system)
        return base

    def _in_feet_and_inches(self, header: Header, number: str) -> str:
        if "." in number:
            raise InputError(
                header.column.header,
                f"{number} under feet and inches may be {number} ft or feet and inches; write"
                " it as 22 ft 9 in",
            )
        return f"{number} ft"

    def _other(self, column: Column, kind: str, cell: Any) -> Any:
        if kind == "text":
            text = f"{cell:.15g}" if isinstance(cell, float) else str(cell)
            if column.choices:
                text = self.words.get(text.casefold(), text)
            return read_one(as_argument(column), text, self.system)
        if kind == "flag":
            word = _FLAG_WORDS.get(str(cell).strip().casefold(), cell)
            return bool(read_one(as_argument(column), word, self.system))
        day = read_one(as_argument(column), cell, self.system)
        return dt.date.fromisoformat(str(day))


def _is_dash(cell: Any) -> bool:
    return isinstance(cell, str) and cell in ("-", "–", "—", "n/a", "N/A", "?")


def _tidy(value: float) -> float:
    return float(f"{value:.12g}")
