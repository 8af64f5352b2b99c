"""How a call of an ordinary function is written for the engine, where its own way differs."""

from collections.abc import Sequence

from xlfuncs.workbooks.formulas.corrections import CAREFUL
from xlfuncs.workbooks.formulas.ordinary_functions import canonical
from xlfuncs.workbooks.formulas.parsing import Node

# Text given as a value (not in a range) is turned into a number by these, or is an error.
_NUMBERS_ONLY = {"SUM", "AVERAGE", "MIN", "MAX", "PRODUCT", "MEDIAN", "SUMSQ"}
_FINANCIAL = {"PMT", "FV", "PV", "NPER"}
# Arguments, from 0, that the engine does not turn from text into a number, or not always.
_COUNTS = {
    "CHOOSE": (0,), "VLOOKUP": (2,), "HLOOKUP": (2,), "LEFT": (1,), "RIGHT": (1,), "MID": (1, 2),
    "REPT": (1,), "FIND": (2,), "SEARCH": (2,), "SUBSTITUTE": (3,),
}  # fmt: skip
_MAY_GIVE_A_RANGE = {"IF", "CHOOSE", "INDEX", "XLOOKUP"}
_COUNTED_ERRORS = {"COUNT": 0, "COUNTA": 1}  # an error given as a value counts as none, as one


def written_call(
    name: str, arguments: Sequence[Node], written: Sequence[str], own: set[str], careful: str
) -> str:
    """The text of a call; `written` are its arguments, `careful` opens a call of CAREFUL."""
    if name in CAREFUL:
        return f'{careful},"{name}",{",".join(written)})'
    if name in _COUNTED_ERRORS and len(written) > 0:
        return _counted(name, arguments, written, own)
    if name in _NUMBERS_ONLY:
        pairs = zip(arguments, written, strict=True)
        written = [f"(0+{text})" if _is_value(node, own) else text for node, text in pairs]
    if name in _COUNTS:
        written = [f"(0+{text})" if text and position in _COUNTS[name] else text
                   for position, text in enumerate(written)]  # fmt: skip
    if name in _FINANCIAL:
        written = [f"(0+{text})" if text else "" for text in written]
    return f"{name}({','.join(written)})"


def _counted(name: str, arguments: Sequence[Node], written: Sequence[str], own: set[str]) -> str:
    """COUNT and COUNTA, with the arguments that are values counted one by one."""
    pairs = list(zip(arguments, written, strict=True))
    ranges = [text for node, text in pairs if not _is_value(node, own)]
    parts = [f"{name}({','.join(ranges)})"] if ranges else []
    error = _COUNTED_ERRORS[name]
    parts += [f"IFERROR({name}({text}),{error})" for node, text in pairs if _is_value(node, own)]
    return parts[0] if len(parts) == 1 else f"({'+'.join(parts)})"


def _is_value(node: Node, own: set[str]) -> bool:
    """Whether a part of a formula surely gives a single value rather than a range."""
    kind = node["node_type"]
    if kind == "Function":
        name = canonical(node["name"])
        return name not in _MAY_GIVE_A_RANGE and name not in own
    if kind == "BinaryOp":
        return node["operator"] not in (":", " ", ",")
    return kind == "UnaryOp" or (kind == "Literal" and isinstance(node["value"], str))
