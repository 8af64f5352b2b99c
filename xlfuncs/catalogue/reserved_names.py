"""Names that a worksheet function must not have, because a host would read them otherwise."""

import re
from functools import lru_cache
from pathlib import Path

_A1 = re.compile(r"[A-Z]{1,3}[0-9]{1,7}")
_R1C1 = re.compile(r"R[0-9]*C[0-9]*|R[0-9]*|C[0-9]*")
_SPELLING = re.compile(r"[A-Z][A-Z0-9_]{1,59}")

# Visual Basic for Applications, language specification, reserved identifiers and statements.
_VBA = """
ABS ADDRESSOF ALIAS AND ANY APPEND ARRAY AS ATTRIBUTE BASE BINARY BOOLEAN BYREF BYTE BYVAL CALL
CASE CBOOL CBYTE CCUR CDATE CDBL CDEC CINT CIRCLE CLNG CLNGLNG CLNGPTR CLOSE COMPARE CONST CSNG
CSTR CURRENCY CVAR CVERR DATE DEBUG DECIMAL DECLARE DEFBOOL DEFDBL DEFINT DEFLNG DEFOBJ DEFSTR
DEFVAR DIM DO DOEVENTS DOUBLE EACH ELSE ELSEIF EMPTY END ENDIF ENUM EQV ERASE ERROR EVENT EXIT
EXPLICIT FALSE FIX FOR FRIEND FUNCTION GET GLOBAL GOSUB GOTO IF IMP IMPLEMENTS IN INPUT INPUTB INT
INTEGER IS LBOUND LEN LENB LET LIB LIKE LINE LOCK LONG LONGLONG LONGPTR LOOP LSET ME MID MIDB MOD
MODULE NAME NEW NEXT NOT NOTHING NULL OBJECT ON OPEN OPTION OPTIONAL OR OUTPUT PARAMARRAY PRESERVE
PRINT PRIVATE PROPERTY PSET PUBLIC PUT RAISEEVENT RANDOM READ REDIM REM RESUME RETURN RSET SCALE
SEEK SELECT SET SGN SHARED SINGLE SPC STATIC STEP STOP STRING SUB TAB TEXT THEN TO TRUE TYPE TYPEOF
UBOUND UNLOCK UNTIL VARIANT VB_NAME VERSION WEND WHILE WIDTH WITH WITHEVENTS WRITE XOR
"""

# UNO interface definition language, keywords.
_IDL = """
ANY ATTRIBUTE BOOLEAN BOUND BYTE CASE CHAR CONST CONSTANTS CONSTRAINED DEFAULT DOUBLE ENUM EXCEPTION
FALSE FLOAT GET HYPER IN INOUT INTERFACE LONG MAYBEAMBIGUOUS MAYBEDEFAULT MAYBEVOID MODULE NEEDS
OBSERVES ONEWAY OPTIONAL OUT PROPERTY PUBLISHED RAISES READONLY REMOVABLE SEQUENCE SERVICE SET
SHORT SINGLETON STRING STRUCT SWITCH TRANSIENT TRUE TYPE TYPEDEF UNION UNSIGNED VOID
"""

# LibreOffice Basic, statements beyond those of Visual Basic.
_BASIC = "BEEP CALL CHDIR CHDRIVE CLOSE ERL ERR FREEFILE KILL MKDIR RESUME RMDIR SHELL WAIT"

KEYWORDS = frozenset(f"{_VBA} {_IDL} {_BASIC}".split())


@lru_cache(maxsize=1)
def builtin_functions() -> frozenset[str]:
    """Functions of Excel and LibreOffice Calc (its own list, version 25.2)."""
    text = Path(__file__).with_name("builtin_functions.txt").read_text("ascii")
    return frozenset(text.split())


def objection(name: str) -> str:
    """Why a function must not have this name, or ''."""
    if not _SPELLING.fullmatch(name):
        return "a name is 2 to 60 capital letters, digits and underscores, a letter first"
    if _A1.fullmatch(name) or _R1C1.fullmatch(name):
        return f"{name} reads as a cell address"
    if name in KEYWORDS:
        return f"{name} is a keyword of Visual Basic or of UNO's interface language"
    if name in builtin_functions():
        return f"{name} is a built-in function of Excel or LibreOffice"
    return ""
