"""Units: text of the trade, wrong dimensions, defaults."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from xlfuncs.errors import UnitError
from xlfuncs.units import (
    DIMENSIONS,
    SYSTEMS,
    conversion,
    factors_by_pint,
    from_base,
    kept_factors,
    parse,
    pint_conversion,
    to_base,
)

# NIST Special Publication 811, Appendix B, and Handbook 44, Appendix C: exact factors.
EXACT = [
    ("22 ft 9 in", "length", 6.9342),
    ("22' 9\"", "length", 6.9342),
    ("22'-9\"", "length", 6.9342),
    ("22’ 9”", "length", 6.9342),
    ("22 ft. 9 in.", "length", 6.9342),
    ("22'-9 1/2\"", "length", 6.9469),
    ("1/2 in", "diameter", 0.0127),
    ("1 1/2 in", "diameter", 0.0381),
    ("½ in", "diameter", 0.0127),
    ("15 mil", "wall", 0.000381),
    ("0.8 bar", "pressure", 80000),
    ("1 psi", "pressure", 6894.757293168),
    ("10 m head", "pressure", 98066.5),
    ("1 psig", "pressure", 6894.757293168),
    ("1 kg/cm2", "pressure", 98066.5),
    ("1 ac-ft", "volume", 1233.48183754752),
    ("1 cu ft", "volume", 0.028316846592),
    ("1 cfs", "flow", 0.028316846592),
    ("1 lps", "flow", 0.001),
    ("1 imp gpm", "flow", 4.54609e-3 / 60),
    ("1 m3/hr", "flow", 1 / 3600),
    ("1 gpm", "flow", 3.785411784e-3 / 60),
    ("227.124707 lph", "flow", 3.785411784e-3 / 60),
    ("1 m3/h", "flow", 1 / 3600),
    ("1 ccf", "billed_volume", 2.8316846592),
    ("1 kgal", "billed_volume", 3.785411784),
    ("1 gal", "volume", 3.785411784e-3),
    ("1 imperial gallon", "volume", 4.54609e-3),
    ("1 acre", "area", 4046.8564224),
    ("1 ha", "area", 10000),
    ("1 gpm/100 ft", "flow_per_length", 3.785411784e-3 / 60 / 30.48),
    ("85%", "ratio", 0.85),
    ("-3 ft 6 in", "elevation", -1.0668),
    ("212 °F", "temperature", 100),
    ("04:30", "clock", 16200),
    ("21:05", "clock", 75900),
    ("4.5", "clock", 16200),
    ("4 h 30 min", "clock", 16200),
]


@pytest.mark.parametrize(("text", "dimension", "base"), EXACT)
def test_text_with_units(text: str, dimension: str, base: float) -> None:
    assert parse(text, dimension) == pytest.approx(base, rel=1e-8)


@pytest.mark.parametrize(
    ("text", "dimension", "words"),
    [
        ("3 psi", "length", "does not measure length; use ft or m"),
        ("3 ft", "flow", "does not measure flow; use gpm or L/min"),
        ("3 foo", "length", "not known"),
        ("12,5 m", "length", "decimal point"),
        ("5 2", "length", "without its unit"),
        ("10' 13\"", "length", "has 13 inches beside feet; 12 are a foot"),
        ("22 ft 12.5 in", "length", "has 12.5 inches beside feet"),
        ("abc", "length", "not a number with a unit"),
        ("1/0 in", "width", "not a number with a unit"),
        ("1 m", "pressure", "does not measure pressure"),
    ],
)
def test_what_cannot_be_read_says_why(text: str, dimension: str, words: str) -> None:
    with pytest.raises(UnitError, match=words):
        parse(text, dimension)


@given(st.floats(0.001, 1e6), st.sampled_from(sorted(DIMENSIONS)), st.sampled_from(SYSTEMS))
def test_to_and_from_base_are_inverse(value: float, dimension: str, system: str) -> None:
    if DIMENSIONS[dimension].kind == "number":
        there = to_base(value, dimension, system)
        assert from_base(there, dimension, system) == pytest.approx(value, rel=1e-9)


def test_every_unit_named_in_the_table_converts() -> None:
    for row in DIMENSIONS.values():
        for unit in (row.us, row.metric, *row.also) if row.kind == "number" else ():
            assert conversion(unit, row.name)[0] > 0 if unit else True


def test_kept_factors_are_those_of_pint() -> None:
    assert kept_factors() == factors_by_pint(), "run: python -m xlfuncs.units"
    for unit, dimension in (("ft", "length"), ("gpm", "flow"), ("°F", "temperature")):
        assert conversion(unit, dimension) == pint_conversion(unit, dimension)


def test_ordinary_calls_do_not_wait_for_pint() -> None:
    code = (
        "import sys, xlfuncs; xlfuncs.run_minutes(600, 1, '6 gpm');"
        "xlfuncs.bed_area('22 ft 9 in', 75, units='metric'); print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
