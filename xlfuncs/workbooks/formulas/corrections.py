"""Ordinary functions that the engine computes otherwise than spreadsheet programs do.

Each stands here in place of the engine's own; arguments and results are the engine's values
(errors are dictionaries, ranges lists of rows).
"""

import math
import re
from collections.abc import Callable
from decimal import Decimal
from operator import eq, ge, gt, le, lt, ne
from typing import Any

_SIGNS_AND_DIGITS = re.compile(r"[\s$€£¥+\-.,/:()%\deE]*\d[\s$€£¥+\-.,/:()%\deE]*")
_MONTH_OR_HALF_DAY = re.compile(
    r"(?=.*\d).*\b(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|[ap]m?\b)", re.IGNORECASE
)

_VALUE = {"type": "Error", "kind": "Value"}
_NUMBER = {"type": "Error", "kind": "Num"}
_DIVISION = {"type": "Error", "kind": "Div"}
_NOT_AVAILABLE = "Na"

EACH = "XLFUNCS.EACH."  # before the name of a function that goes through a range item by item


class Ambiguous(ValueError):  # noqa: N818 - leads to an unevaluated cell, never shown as an error
    """Programs differ on this value."""


def looks_like_a_number(value: object) -> bool:
    """Text that some programs turn into a number, a date or a logical value, and others do not.

    Text that is a number in the plainest writing (7, -2.5, 1e3) is turned into it by all.
    """
    if not isinstance(value, str):
        return False
    text = value.strip()
    try:
        float(text)
    except ValueError:
        pass
    else:
        return not text.isascii() or "_" in text or text[-1:].isalpha()
    if text.lower() in ("true", "false"):
        return True
    signs = _SIGNS_AND_DIGITS.fullmatch(text) is not None
    return signs or _MONTH_OR_HALF_DAY.match(text) is not None


def number_as_text(value: Any) -> Any:
    """A number as `&` and the text functions see it: 15 digits, no exponent; TRUE and FALSE."""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if not isinstance(value, int | float):
        return value
    if value and not 1e-9 <= abs(value) < 1e15:
        raise Ambiguous("a very large or very small number as text")
    digits = Decimal(f"{value:.15g}")
    return f"{digits.normalize():f}" if digits else "0"


def _ceiling(number: float, significance: float = 1.0) -> Any:
    return 0.0 if significance == 0 else _stepped(math.ceil, number, significance)


def _floor(number: float, significance: float = 1.0) -> Any:
    if significance == 0:
        return _DIVISION if number else 0.0
    return _stepped(math.floor, number, significance)


def _stepped(whole: Callable[[float], int], x: float, step: float) -> Any:
    if x > 0 > step:
        return _NUMBER
    steps = whole(float(f"{x / step:.15g}"))  # 2.1 / 0.1 counts as 21
    return float(f"{steps * step:.15g}")


def _int(number: float) -> float:
    _refuse_almost_whole(number)
    return float(math.floor(number))


def _mod(number: float, divisor: float) -> Any:
    if divisor == 0:
        return _DIVISION
    if not (number.is_integer() and divisor.is_integer()):
        ratio = number / divisor
        if ratio and abs(ratio - round(ratio)) <= 1e-9 * max(1.0, abs(ratio)):
            raise Ambiguous("a MOD that almost goes up")
    return number - divisor * math.floor(number / divisor)


def _quotient(number: float, divisor: float) -> Any:
    if divisor == 0:
        return _DIVISION
    _refuse_almost_whole(number / divisor)
    return float(math.trunc(number / divisor))


def _time(hour: float, minute: float, second: float) -> Any:
    parts = (hour, minute, second)
    if not all(part.is_integer() for part in parts):
        raise Ambiguous("a TIME of broken hours, minutes or seconds")
    seconds = parts[0] * 3600 + parts[1] * 60 + parts[2]
    if max(parts) > 32767 or seconds < 0:
        return _NUMBER
    return seconds % 86400 / 86400


def _refuse_almost_whole(number: float) -> None:
    if number != round(number) and f"{number:.14g}" == f"{round(number):.14g}":
        raise Ambiguous("the whole part of a number that is whole but for its last digits")


CAREFUL: dict[str, Callable[..., Any]] = {
    "CEILING": _ceiling, "FLOOR": _floor, "INT": _int, "MOD": _mod, "QUOTIENT": _quotient,
    "TIME": _time,
}  # fmt: skip


def careful(name: str, *arguments: Any) -> Any:
    """One of CAREFUL on engine values; raises Ambiguous where programs differ."""
    numbers = []
    for value in arguments:
        if isinstance(value, dict):
            return value
        try:
            numbers.append(0.0 if value is None else float(value))
        except (TypeError, ValueError):
            return _VALUE
    return CAREFUL[name](*numbers)


def compared(operator: str, left: Any, right: Any) -> Any:
    """A comparison as spreadsheet programs make it, numbers to 15 digits; ranges item by item."""
    if not isinstance(left, list) and not isinstance(right, list):
        return _compared(operator, left, right)
    sides = [side for side in (left, right) if isinstance(side, list)]
    rows, columns = max(map(len, sides)), max(len(side[0]) for side in sides)
    return [[_compared(operator, _at(left, r, c), _at(right, r, c)) for c in range(columns)]
            for r in range(rows)]  # fmt: skip


def _at(side: Any, row: int, column: int) -> Any:
    if not isinstance(side, list):
        return side
    r, c = (0 if len(side) == 1 else row), (0 if len(side[0]) == 1 else column)
    if r >= len(side) or c >= len(side[0]):
        return {"type": "Error", "kind": _NOT_AVAILABLE}
    return side[r][c]


def _compared(operator: str, left: Any, right: Any) -> Any:
    for value in (left, right):
        if isinstance(value, dict):
            return value
    left, right = _blank_like(left, right), _blank_like(right, left)
    kinds = _kind(left), _kind(right)
    if kinds[0] != kinds[1]:
        order = kinds[0] - kinds[1]
    elif kinds[0] == _TEXT:
        one, two = left.casefold(), right.casefold()
        if one != two and operator not in ("=", "<>") and not (one + two).isalnum():
            raise Ambiguous("the order of texts with signs or spaces in them")
        order = (one > two) - (one < two)
    else:
        order = 0 if _same_digits(left, right) else (left > right) - (left < right)
    return _ORDERS[operator](order, 0)


def _same_digits(left: float, right: float) -> bool:
    near = abs(left - right) <= 1e-14 * abs(left)  # what differs more differs in 15 digits too
    return near and f"{left:.15g}" == f"{right:.15g}"


_TEXT = 1
_ORDERS: dict[str, Callable[[int, int], bool]] = {
    "=": eq, "<>": ne, "<": lt, "<=": le, ">": gt, ">=": ge,
}  # fmt: skip


def _kind(value: Any) -> int:
    """Numbers come before texts, texts before logical values."""
    if isinstance(value, bool):
        return _TEXT + 1
    return _TEXT if isinstance(value, str) else _TEXT - 1


def _blank_like(value: Any, other: Any) -> Any:
    """A blank cell counts as zero, empty text or FALSE, after what it is compared with."""
    if value is not None:
        return value
    if isinstance(other, bool):
        return False
    return "" if isinstance(other, str) else 0.0


def _is_error(value: Any) -> bool:
    return isinstance(value, dict)


def _length(value: Any) -> Any:
    return value if _is_error(value) else float(len(number_as_text(value) or ""))


def _of_number(compute: Callable[[float], float]) -> Callable[[Any], Any]:
    def apply(value: Any) -> Any:
        if _is_error(value):
            return value
        try:
            return compute(0.0 if value is None else float(value))
        except (TypeError, ValueError):
            return _VALUE

    return apply


ITEM_BY_ITEM: dict[str, Callable[[Any], Any]] = {
    "ISNUMBER": lambda v: isinstance(v, int | float) and not isinstance(v, bool),
    "ISTEXT": lambda v: isinstance(v, str),
    "ISBLANK": lambda v: v is None,
    "ISERROR": _is_error,
    "ISNA": lambda v: _is_error(v) and v.get("kind") == _NOT_AVAILABLE,
    "LEN": _length,
    "ABS": _of_number(abs),
}


def through(compute: Callable[[Any], Any], value: Any) -> Any:
    """Apply to one value, or to each item of rows."""
    if isinstance(value, list):
        return [[compute(item) for item in row] for row in value]
    return compute(value)


def replacements() -> dict[str, Callable[..., Any]]:
    """What is registered with the engine, by name."""
    found: dict[str, Callable[..., Any]] = {}
    for name, compute in ITEM_BY_ITEM.items():
        found[EACH + name] = lambda value, compute=compute: through(compute, value)
    found[EACH + "IFERROR"] = lambda value, instead: through(
        lambda item: instead if _is_error(item) else item, value)  # fmt: skip
    return found
