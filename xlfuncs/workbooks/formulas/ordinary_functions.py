"""The ordinary spreadsheet functions that the recalculation claims to evaluate.

Each is compared with LibreOffice in the tests. A formula with any other function is left as it is
and listed. In ordinary_functions.txt each name is followed by what its arguments take, the last
letter for all that follow:

V  a single number, date or logical value; text is converted
X  a single value of any kind, taken as it is
R  a range, read as a range
A  an array: operators inside work on whole ranges
P  whatever the place of the function itself takes (the branches of IF)
W  a single value, read as text
S  a range, read as texts
C  a condition: a single value, or an array inside an array formula
"""

import re
from pathlib import Path
from typing import Any

# TEXT formats that were checked: digits with grouping, decimals, percent, a word in quotes; dates
# and times of day without seconds.
_NUMBER_FORMAT = re.compile(r"""(#,#{0,2})?0+(\.0+)?%?( ?"[^"]*")?""")
_DATE_FORMAT = re.compile(r"(yyyy|yy|mmmm|mmm|mm|m|dddd|ddd|dd|d)([-/. ]|, |$)")
_TIME_FORMAT = re.compile(r"hh?:mm")

# What SUBTOTAL(number, ...) computes; with 100 added, rows hidden by hand are left out too.
SUBTOTALS = {
    1: "AVERAGE", 2: "COUNT", 3: "COUNTA", 4: "MAX", 5: "MIN", 6: "PRODUCT", 7: "STDEV", 9: "SUM",
    10: "VAR",
}  # fmt: skip

_PREFIXES = ("_XLFN._XLWS.", "_XLFN.", "_XLL.")

WHY_NOT = {
    "INDIRECT": "where INDIRECT points is only known while computing",
    "OFFSET": "where OFFSET points is only known while computing",
    "RAND": "RAND gives another number each time",
    "RANDBETWEEN": "RANDBETWEEN gives another number each time",
    "GETPIVOTDATA": "GETPIVOTDATA reads a pivot table",
    "CELL": "CELL asks the spreadsheet program about itself",
    "INFO": "INFO asks the spreadsheet program about itself",
    "WEBSERVICE": "WEBSERVICE reads the network, which is never done here",
}


def _parsed() -> dict[str, str]:
    words = Path(__file__).with_suffix(".txt").read_text("ascii").split()
    return dict(zip(words[::2], words[1::2], strict=True))


ARGUMENT_KINDS = _parsed()


def canonical(name: str) -> str:
    """`_xlfn.XLOOKUP` -> `XLOOKUP`."""
    upper = name.upper()
    for prefix in _PREFIXES:
        upper = upper.removeprefix(prefix)
    return upper


def argument_kind(function: str, position: int) -> str:
    """What argument `position` (from 0) of an ordinary function takes."""
    kinds = ARGUMENT_KINDS[function]
    return kinds[min(position, len(kinds) - 1)]


def is_plain_format(node: dict[str, Any]) -> bool:
    """Whether the format of a TEXT is written out, and of a form that was checked."""
    text = node.get("value")
    if node["node_type"] != "Literal" or not isinstance(text, str) or not text:
        return False
    if _NUMBER_FORMAT.fullmatch(text) or _TIME_FORMAT.fullmatch(text):
        return True
    return _DATE_FORMAT.sub("", text) == "" and text[-1].isalpha()
