"""The ordinary spreadsheet functions that the recalculation claims to evaluate.

Each is compared with LibreOffice in the tests. A formula with any other function is left as it is
and listed. After each name stands what its arguments take, the last letter for all that follow:

V  a single value
R  a range, read as a range
A  an array: operators inside work on whole ranges
P  whatever the place of the function itself takes (the branches of IF)
C  a condition: a single value, or an array inside an array formula
"""

from __future__ import annotations

_TABLE = """
SUM R        AVERAGE R     COUNT R       COUNTA R     COUNTBLANK R  MIN R        MAX R
PRODUCT R    MEDIAN R      SUMSQ R       LARGE RV     SMALL RV      RANK VRV     STDEV R
VAR R        MODE R        SUMPRODUCT A  SUMIF RVR    COUNTIF RV    AVERAGEIF RVR
SUMIFS RRVRVRVRVRVRVRVRVRVRVRVRV         COUNTIFS RVRVRVRVRVRVRVRVRVRVRVRV
AVERAGEIFS RRVRVRVRVRVRVRVRVRVRVRVRV     MAXIFS RRVRVRVRVRVRVRVRV  MINIFS RRVRVRVRVRVRVRVRV
ABS V        ROUND V       ROUNDUP V     ROUNDDOWN V  MROUND V      INT V        TRUNC V
CEILING V    FLOOR V       MOD V         SIGN V       SQRT V        POWER V      EXP V
LN V         LOG V         LOG10 V       PI V         SIN V         COS V        TAN V
ATAN V       ATAN2 V       RADIANS V     DEGREES V    QUOTIENT V    EVEN V       ODD V
IF CPP       IFERROR V     IFNA V        AND R        OR R          NOT V        TRUE V
FALSE V      CHOOSE VP     ISNUMBER V    ISTEXT V     ISBLANK V     ISERROR V    ISERR V
ISNA V       ISLOGICAL V   NA V          N V          T V
INDEX RV     MATCH VRV     VLOOKUP VRV   HLOOKUP VRV  XLOOKUP VRRVVV ROWS R      COLUMNS R
LEN V        LEFT V        RIGHT V       MID V        UPPER V       LOWER V      TRIM V
CONCATENATE V SUBSTITUTE V REPT V        FIND V       SEARCH V      EXACT V      TEXT V
TEXTJOIN VVR CONCAT R      REPLACE V     CHAR V       CODE V        PROPER V
DATE V       YEAR V        MONTH V       DAY V        WEEKDAY V     EDATE V      EOMONTH V
DAYS V       TIME V        HOUR V        MINUTE V     SECOND V      TODAY V      NOW V
DATEVALUE V
PMT V        FV V          PV V          NPER V
"""

_PREFIXES = ("_XLFN._XLWS.", "_XLFN.", "_XLL.")

WHY_NOT = {
    "INDIRECT": "where INDIRECT points is only known while computing",
    "OFFSET": "where OFFSET points is only known while computing",
    "RAND": "RAND gives another number each time",
    "RANDBETWEEN": "RANDBETWEEN gives another number each time",
    "GETPIVOTDATA": "GETPIVOTDATA reads a pivot table",
    "HYPERLINK": "HYPERLINK belongs to the spreadsheet program",
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
