"""Dimensions, their default units in the two systems, and text such as `22 ft 9 in`.

Conversion is by pint, loaded on first use; its factors for the trade's units are kept in
unit_factors.json, so that ordinary calls need not wait for it. Dimensions are the rows of
dimensions.csv; `base` is the unit that the calculations use. A gallon is the US gallon; an imperial
one must be spelt out. An acre is the international acre (43,560 square feet of 0.3048 m), not the
survey acre.
"""

import csv
import json
import re
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from xlfuncs.errors import UnitError

if TYPE_CHECKING:
    import pint

SYSTEMS = ("us", "metric")


class Dimension(NamedTuple):
    """A kind of quantity: the base unit of calculations and the default unit in each system.

    `also` are units that people mean by mistake; a value outside its limits is tried in them for
    the hint. `kind` tells numbers from text, flags and dates.
    """

    name: str
    base: str
    us: str
    metric: str
    also: tuple[str, ...] = ()
    kind: str = "number"

    def unit(self, system: str) -> str:
        return self.us if system == "us" else self.metric


def rows_of(file: Path) -> list[dict[str, str]]:
    """The rows of a data file, by its headings."""
    return list(csv.DictReader(file.read_text("utf-8").splitlines()))


DIMENSIONS = {
    row["name"]: Dimension(
        row["name"], row["base"], row["us"], row["metric"],
        tuple(filter(None, row["also"].split("; "))), row["kind"],
    )
    for row in rows_of(Path(__file__).with_name("dimensions.csv"))
}  # fmt: skip

_KEPT = Path(__file__).with_name("unit_factors.json")
_FRACTIONS = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8"}
_NUMBER = r"(?:\d+\s+\d+/\d+|\d+-\d+/\d+|\d+/\d+|\d+\.?\d*(?:e[-+]?\d+)?|\.\d+(?:e[-+]?\d+)?)"
_UNIT = r"(?:[^\d\s.,]|\s(?!\s*[\d.])|(?<=/)\d+\s*ft\b|(?<=[a-z])[23]\b)*"  # gpm/100 ft, m2
# As people write feet and inches: typed, printed, and as a word processor makes of the typed ones.
FOOT_MARKS, INCH_MARKS = "'′’", '"″”'
_DRAWN = re.compile(rf"(?<=[{FOOT_MARKS}])\s*-\s*(?=\d)|(?<=ft)-(?=\d)", re.I)  # 22'-9" as on plans
_SHORTENED = re.compile(r"(?<=[a-z])\.(?=\s|$)", re.I)  # 22 ft. 9 in.
_INCHES = re.compile(  # beside feet
    rf"(?:ft|feet|foot|[{FOOT_MARKS}])\s*(\d+(?:\.\d*)?)(?![\d./])", re.I
)
_CLOCK = re.compile(r"([01]?\d|2[0-4]):([0-5]\d)(?::00)?")  # 04:30, as timers show it
_PAIR = re.compile(rf"\s*({_NUMBER})\s*({_UNIT})", re.I)


@lru_cache(maxsize=1)
def spellings() -> dict[str, str]:
    """How people write units, in lower case, and what pint calls them.

    A row of unit_spellings.csv for what pint does not know or reads differently;
    `python -m xlfuncs.units` keeps its factors, and a line of EXACT in tests/test_units.py holds it
    to a published factor. What pint reads by itself needs no row.
    """
    return {
        row["spelling"]: row["unit"]
        for row in rows_of(Path(__file__).with_name("unit_spellings.csv"))
    }


@lru_cache(maxsize=1)
def registry() -> "pint.UnitRegistry[Any]":
    """pint's registry with the trade's units."""
    import pint

    units: pint.UnitRegistry[Any] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    units.define("international_acre = 43560 * foot ** 2")
    units.define("meter_of_head = 9806.65 pascal")
    units.define("foot_of_head = 0.3048 * 9806.65 pascal")
    return units


@lru_cache(maxsize=4096)
def conversion(unit: str, dimension: str) -> tuple[float, float]:
    """Scale and offset that turn a number in `unit` into the dimension's base unit.

    Raises UnitError where the unit is unknown or measures something else.
    """
    row = DIMENSIONS[dimension]
    if unit == row.base:
        return 1.0, 0.0
    name = unit.strip().lower()
    kept = {of: units[name] for of, units in kept_factors().items() if name in units}
    if kept and dimension not in kept:
        raise _of_another(unit, row)
    return (kept[dimension][0], kept[dimension][1]) if kept else pint_conversion(unit, dimension)


def _of_another(unit: str, row: Dimension) -> UnitError:
    words = f"{unit!r} does not measure {row.name.replace('_', ' ')}; {_wanted(row)}"
    return UnitError(row.name, words)


@lru_cache(maxsize=1)
def kept_factors() -> dict[str, dict[str, list[float]]]:
    """What pint says of the trade's units, kept in a file: loading pint takes half a second.

    Scale and offset by dimension and lower-case unit. Anything else is asked of pint itself.
    """
    found: dict[str, dict[str, list[float]]] = json.loads(_KEPT.read_text("utf-8"))
    return found


def factors_by_pint() -> dict[str, dict[str, list[float]]]:
    """The same asked of pint anew; `python -m xlfuncs.units` writes them, a test compares them."""
    found: dict[str, dict[str, list[float]]] = {}
    for row in DIMENSIONS.values():
        for unit in sorted(spellings()) if row.kind == "number" else ():
            try:
                factors = pint_conversion(unit, row.name)
            except UnitError:
                continue
            if unit:
                found.setdefault(row.name, {})[unit] = list(factors)
    return found


def pint_conversion(unit: str, dimension: str) -> tuple[float, float]:
    """`conversion` by pint."""
    row = DIMENSIONS[dimension]
    import pint

    target = spellings().get(row.base.lower(), row.base)
    try:
        quantity = registry().Quantity
        expression = spellings().get(unit.strip().lower(), unit.strip())
        if expression in ("degF", "degC"):
            zero, high = (quantity(x, expression).to(target).magnitude for x in (0.0, 9000.0))
            return _tidy((high - zero) / 9000), _tidy(zero)  # far apart, for the last digits
        return _tidy((1.0 * quantity(expression)).to(target).magnitude), 0.0
    except pint.DimensionalityError:
        raise _of_another(unit, row) from None
    except Exception:  # pint has no common base for the errors of its parser
        raise UnitError(dimension, f"unit {unit!r} is not known; {_wanted(row)}") from None


def _tidy(factor: float) -> float:
    """Without the last-digit noise of chained factors, so that a foot is 0.3048 m exactly."""
    return float(f"{float(factor):.15g}")


def _wanted(row: Dimension) -> str:
    defaults = dict.fromkeys((row.us, row.metric))
    units = " or ".join(unit for unit in defaults if unit)
    return f"use {units}" if units else "give a plain number"


@lru_cache(maxsize=1024)
def default_conversion(dimension: str, system: str) -> tuple[float, float]:
    """Scale and offset from the default unit of a system to the base unit."""
    row = DIMENSIONS[dimension]
    unit = row.unit(system)
    return conversion(unit, dimension) if unit and row.kind == "number" else (1.0, 0.0)


def to_base(value: float | str, dimension: str, system: str = "us") -> float:
    """A number in the system's default unit, or text with its own unit, in the base unit."""
    if isinstance(value, str):
        return parse(value, dimension, system)
    scale, offset = default_conversion(dimension, system)
    return value * scale + offset


def from_base(value: float, dimension: str, system: str = "us") -> float:
    """A number in the base unit, in the system's default unit."""
    scale, offset = default_conversion(dimension, system)
    return (value - offset) / scale


@lru_cache(maxsize=65536)
def parse(text: str, dimension: str, system: str = "us") -> float:
    """The base-unit value of text such as `22 ft 9 in`, `1/2 in`, `85%`, `04:30` or `12.5`.

    Raises UnitError; a decimal comma is refused with a hint, for it could be a thousands mark.
    """
    clean = text.replace("\u2212", "-").replace("\u00a0", " ").strip()
    for sign, spelt in _FRACTIONS.items():
        clean = clean.replace(sign, spelt)
    clean = _SHORTENED.sub("", clean).strip()
    if dimension == "clock" and (shown := _CLOCK.fullmatch(clean)):
        return int(shown[1]) * 3600.0 + int(shown[2]) * 60.0
    negative = clean.startswith("-")
    clean = _DRAWN.sub(" ", clean.lstrip("+-").strip())
    if re.match(r"^[\d.]*\d,\d", clean):
        raise UnitError(
            dimension, f"{text!r} has a comma; write a decimal point, no thousands mark"
        )
    total, place, pairs = 0.0, 0, 0
    while place < len(clean):
        match = _PAIR.match(clean, place)
        if match is None:
            raise UnitError(dimension, f"{text!r} is not a number with a unit")
        number, unit = _number(match[1], text, dimension), match[2].strip()
        pairs += 1
        if not unit and (pairs > 1 or match.end() < len(clean)):
            raise UnitError(dimension, f"{text!r} has a number without its unit")
        scale, offset = (
            conversion(unit, dimension) if unit else default_conversion(dimension, system)
        )
        total += (-number if negative else number) * scale + offset
        place = match.end()
    if not pairs:
        raise UnitError(dimension, f"{text!r} is not a number with a unit")
    if pairs > 1 and (inches := _INCHES.search(clean)) and float(inches[1]) >= 12:
        raise UnitError(dimension, f"{text!r} has {inches[1]} inches beside feet; 12 are a foot")
    return total


def _number(text: str, whole_text: str, dimension: str) -> float:
    """3, 3.5, 1/2, 1 1/2 or 1-1/2 as a float."""
    if "/" not in text:
        return float(text)
    from fractions import Fraction

    try:
        return float(sum(Fraction(part) for part in re.split(r"[\s-]+(?=\d+/)", text)))
    except (ValueError, ZeroDivisionError):
        raise UnitError(dimension, f"{whole_text!r} is not a number with a unit") from None


def display(value: float, dimension: str, system: str = "us", digits: int = 6) -> str:
    """A base-unit value as words for a person: '22.75 ft'."""
    unit = DIMENSIONS[dimension].unit(system)
    return f"{from_base(value, dimension, system):.{digits}g} {unit}".rstrip()


if __name__ == "__main__":
    _KEPT.write_text(json.dumps(factors_by_pint(), indent=1, ensure_ascii=False) + "\n", "utf-8")
