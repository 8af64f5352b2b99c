"""Names that a worksheet function must not have, because a host would read them otherwise."""

import re
from functools import lru_cache
from pathlib import Path

_A1 = re.compile(r"[A-Z]{1,3}[0-9]{1,7}")
_R1C1 = re.compile(r"R[0-9]*C[0-9]*|R[0-9]*|C[0-9]*")
_SPELLING = re.compile(r"[A-Z][A-Z0-9_]{1,59}")


def _listed(file: str) -> frozenset[str]:
    return frozenset(Path(__file__).with_name(file).read_text("ascii").split())


@lru_cache(maxsize=1)
def keywords() -> frozenset[str]:
    """Of Visual Basic for Applications (language specification, reserved identifiers and
    statements), of UNO's interface definition language, and the statements of LibreOffice Basic."""
    return _listed("keywords.txt")


@lru_cache(maxsize=1)
def builtin_functions() -> frozenset[str]:
    """Functions of Excel and LibreOffice Calc (its own list, version 25.2)."""
    return _listed("builtin_functions.txt")


def objection(name: str) -> str:
    """Why a function must not have this name, or ''."""
    if not _SPELLING.fullmatch(name):
        return "a name is 2 to 60 capital letters, digits and underscores, a letter first"
    if _A1.fullmatch(name) or _R1C1.fullmatch(name):
        return f"{name} reads as a cell address"
    if name in keywords():
        return f"{name} is a keyword of Visual Basic or of UNO's interface language"
    if name in builtin_functions():
        return f"{name} is a built-in function of Excel or LibreOffice"
    return ""
