"""What the surroundings of a part of a formula take: a single value, a range, an array."""

from enum import Enum


class Takes(Enum):
    """What is taken where a part of a formula stands."""

    CELL = "a single value; a range gives the cell of the formula's own row or column"
    RANGE = "a range as it is"
    OURS = "a range as it is, of which a function of ours may be given the values"
    INNER = "a single value inside something that takes ranges; programs differ about ranges here"
    PRODUCT = "an array, inside a plain formula"
    ARRAY = "an array, inside an array formula"


ARRAYS = (Takes.PRODUCT, Takes.ARRAY)
_SINGLE = {t: Takes.CELL if t is Takes.CELL else Takes.INNER for t in Takes}
# What an argument of each kind (see ordinary_functions) takes, by what the call's place takes.
_ARGUMENTS: dict[str, dict[Takes, Takes]] = {
    "V": _SINGLE,
    "X": _SINGLE,
    "W": _SINGLE,
    "C": {t: t if t in (Takes.CELL, Takes.ARRAY) else Takes.INNER for t in Takes},
    "P": {t: Takes.RANGE if t is Takes.OURS else t for t in Takes},
    "R": {t: Takes.ARRAY if t is Takes.ARRAY else Takes.RANGE for t in Takes},
    "S": dict.fromkeys(Takes, Takes.RANGE),
    "A": {t: Takes.ARRAY if t is Takes.ARRAY else Takes.PRODUCT for t in Takes},
}


def inside_operator(takes: Takes) -> Takes:
    """What an operator takes on its sides."""
    return Takes.INNER if takes in (Takes.RANGE, Takes.OURS) else takes


def inside_call(kind: str, takes: Takes) -> Takes:
    """What an argument of a kind takes."""
    return _ARGUMENTS[kind][takes]
