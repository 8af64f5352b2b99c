"""The ordinary spreadsheet functions that the recalculation claims to evaluate.

Each is compared with LibreOffice in the tests. A formula with any other function is left as it is
and listed. After each name stands what its arguments take, the last letter for all that follow:

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
from typing import Any

_TABLE = """
SUM R        AVERAGE R     COUNT R       COUNTA R     COUNTBLANK R  MIN R        MAX R
PRODUCT R    MEDIAN R      SUMSQ R       LARGE RV     SMALL RV      RANK VRV     STDEV R
VAR R        MODE R        SUMPRODUCT A  SUMIF RXR    COUNTIF RX    AVERAGEIF RXR
SUMIFS RRXRXRXRXRXRXRXRXRXRXRXRX         COUNTIFS RXRXRXRXRXRXRXRXRXRXRXRX
AVERAGEIFS RRXRXRXRXRXRXRXRXRXRXRXRX     MAXIFS RRXRXRXRXRXRXRXRX  MINIFS RRXRXRXRXRXRXRXRX
ABS V        ROUND V       ROUNDUP V     ROUNDDOWN V  MROUND V      INT V        TRUNC V
CEILING V    FLOOR V       MOD V         SIGN V       SQRT V        POWER V      EXP V
LN V         LOG V         LOG10 V       PI V         SIN V         COS V        TAN V
ATAN V       ATAN2 V       RADIANS V     DEGREES V    QUOTIENT V    EVEN V       ODD V
ACOS V       ASIN V
IF CPP       IFERROR X     IFNA X        AND R        OR R          NOT V        TRUE V
FALSE V      CHOOSE VP     ISNUMBER X    ISTEXT X     ISBLANK X     ISERROR X    ISERR X
ISNA X       ISLOGICAL X   NA X          N X          T X
INDEX RV     MATCH XRV     VLOOKUP XRV   HLOOKUP XRV  XLOOKUP XRRXVV ROWS R      COLUMNS R
LEN W        LEFT WV       RIGHT WV      MID WV       UPPER W       LOWER W      TRIM W
CONCATENATE W SUBSTITUTE WWWV REPT WV    FIND WWV     SEARCH WWV    EXACT W      TEXT VX
TEXTJOIN WVS CONCAT S      CHAR V       CODE W        PROPER W     ADDRESS VVV
DATE V       YEAR V        MONTH V       DAY V        WEEKDAY V     EDATE V      EOMONTH V
DAYS V       TIME V        HOUR V        MINUTE V     SECOND V      TODAY V      NOW V
PMT V        FV V          PV V          NPER V
"""

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
    words = _TABLE.split()
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
