"""The worksheet functions as ordinary spreadsheet formulas, for copies that must work without us.

A declaration's `plain` is a formula in base units. Here its arguments become cells or expressions
in the default units of a system, its result the same; products of arguments are folded into one
constant so that the formula stays short. The declared limits come along: outside them the formula
gives #N/A, where the function would give an error too.
"""

import math
import re
from collections.abc import Sequence

from xlfuncs.catalogue.arguments import default_of, limits
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import DeclarationError
from xlfuncs.units import default_conversion, from_base

_PLACEHOLDER = re.compile(r"\{(\w+)\}")
_PRODUCT = re.compile(r"(?:\{\w+\}|[\d.]+)(?:[*/](?:\{\w+\}|[\d.]+))*")
_SIMPLE = re.compile(r"[\w$.!'\[\]#, ]+|[\d.]+")


def has_plain_formula(name: str) -> bool:
    """Whether a worksheet function has a plain equivalent."""
    return name in functions() and bool(functions()[name].plain)


def plain_formula(name: str, args: Sequence[str], system: str) -> str:
    """The plain formula (without the equals sign) for a call with these argument texts.

    `args` are the arguments as they stand in the formula, `units` left out, '' where omitted;
    `system` is the system that the call has. Raises DeclarationError where there is none.
    """
    function = functions()[name]
    if not function.plain:
        raise DeclarationError(f"{name} has no plain formula")
    given = {
        arg.name: _argument(arg, args[i] if i < len(args) else "", system)
        for i, arg in enumerate(function.inputs)
    }
    body = _folded(function, given, system) or _converted(function, given, system)
    refused = [test for arg in function.inputs for test in _outside(arg, given[arg.name], system)]
    return f"IF(OR({','.join(refused)}),NA(),{body})" if refused else body


def _argument(arg: Arg, text: str, system: str) -> str:
    """The text of an argument, with its default where it is blank or left out."""
    text = text.strip()
    if arg.required:
        return text
    default = default_of(arg)
    if default is None:
        if not text:
            raise DeclarationError(f"{arg.name} has no value to put in a plain formula")
        return text
    if isinstance(default, str):
        shown = '"' + default.replace('"', '""') + '"'
    else:
        shown = _number(from_base(float(default), arg.dimension, system))
    if not text:
        return shown
    return text if _is_number(text) else f'IF({text}="",{shown},{text})'


def _folded(function: WorksheetFunction, given: dict[str, str], system: str) -> str:
    """A pure product of arguments with all factors in one constant; '' where it is none."""
    if not _PRODUCT.fullmatch(function.plain):
        return ""
    constant = 1.0
    over: list[str] = []
    under: list[str] = []
    by_name = {arg.name: arg for arg in function.inputs}
    for sign, item in re.findall(r"([*/]?)(\{\w+\}|[\d.]+)", function.plain):
        if not item.startswith("{"):
            constant *= float(item) if sign != "/" else 1 / float(item)
            continue
        arg = by_name[item[1:-1]]
        scale, offset = default_conversion(arg.dimension, system)
        if offset:
            return ""
        text = _bracketed(given[arg.name])
        (under if sign == "/" else over).append(text)
        constant *= 1 / scale if sign == "/" else scale
    constant /= default_conversion(function.results[0].dimension, system)[0]
    factors = [t for t in over if t != "1"] or ["1"]
    if not math.isclose(constant, 1, rel_tol=1e-14):
        factors.append(_number(constant))
    return "*".join(factors) + "".join(f"/{t}" for t in under if t != "1")


def _converted(function: WorksheetFunction, given: dict[str, str], system: str) -> str:
    """The general way: every argument to its base unit, the result back."""
    by_name = {arg.name: arg for arg in function.inputs}

    def in_base(match: re.Match[str]) -> str:
        arg = by_name[match[1]]
        text = _bracketed(given[arg.name])
        if arg.kind != "number":
            return text
        scale, offset = default_conversion(arg.dimension, system)
        scaled = text if scale == 1 else f"{text}*{_number(scale)}"
        return f"({scaled}{_signed(offset)})" if scaled != text or offset else text

    body = _PLACEHOLDER.sub(in_base, function.plain)
    scale, offset = default_conversion(function.results[0].dimension, system)
    if scale == 1 and not offset:
        return body
    return f"(({body}){_signed(-offset)})/{_number(scale)}"


def _outside(arg: Arg, text: str, system: str) -> list[str]:
    """Tests that are true where an argument is outside its limits."""
    if arg.kind != "number" or _is_number(text):
        return []
    low, low_open, high, high_open = limits(arg)
    tests = []
    if math.isfinite(low):
        tests.append(f"{text}{'<=' if low_open else '<'}{_edge(low, arg, system)}")
    if math.isfinite(high):
        tests.append(f"{text}{'>=' if high_open else '>'}{_edge(high, arg, system)}")
    if arg.divides and not (low >= 0 and low_open):
        tests.append(f"{text}=0")
    return tests


def _edge(limit: float, arg: Arg, system: str) -> str:
    return _number(from_base(limit, arg.dimension, system))


def _number(value: float) -> str:
    return f"{value:.15g}".replace("e", "E") if value >= 0 else f"(-{_number(-value)})"


def _signed(value: float) -> str:
    return "" if not value else f"{'+' if value > 0 else '-'}{_number(abs(value))}"


def _is_number(text: str) -> bool:
    return re.fullmatch(r"[\d.]+(?:E[-+]?\d+)?", text) is not None


def _bracketed(text: str) -> str:
    """An expression in brackets unless it is a plain reference, number, or one call."""
    if _SIMPLE.fullmatch(text) or (re.fullmatch(r"\w+\(.*\)", text) and _one_call(text)):
        return text
    return f"({text})"


def _one_call(text: str) -> bool:
    """Whether the first bracket closes only at the very end."""
    depth = 0
    for place, sign in enumerate(text):
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if depth == 0 and sign == ")":
            return place == len(text) - 1
    return False
