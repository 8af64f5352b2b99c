"""What is made from the registry: FUNCTIONS.md, NOMENCLATURE.md and the types in __init__.pyi.

python -m xlfuncs.hosts.reference_pages     writes both anew; a test holds them true.
"""

from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path

from xlfuncs.catalogue.arguments import limits
from xlfuncs.catalogue.declaration import TOPICS, Arg, Result, WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.units import DIMENSIONS, display

FOLDER = Path(__file__).parents[1]


def functions_page() -> str:
    """Every function with its arguments, units, limits, results and source."""
    parts = [
        "# Worksheet functions",
        "Made from the declarations; do not edit. A plain number is in the unit given here, US |"
        " metric; text may carry its own unit. Arguments in [brackets] may be left out. In Python"
        " every function has its lower-case name, and `units` is given by name.",
    ]
    for topic, title in TOPICS.items():
        parts.append(f"## {title}")
        parts += [_function(f) for f in functions().values() if f.topic == topic]
    return "\n\n".join(parts) + "\n"


def _function(function: WorksheetFunction) -> str:
    rows = ["| | US | metric | |", "|---|---|---|---|"]
    for name, arg in function.described:
        shown = f"– {name}" if arg not in function.inputs else name
        rows.append(_row(shown, arg.dimension, _help(arg)))
    rows += [_row(f"→ {r.name}", r.dimension, r.help) for r in function.results]
    shape = (
        "Elementwise."
        if function.elementwise
        else "On the whole: tables with headers in, result columns out."
        if any(arg.table for arg in function.inputs)
        else "On the whole: columns in, result columns out."
    )
    examples = "".join(f"\n\n`={example}`" for example in function.examples)
    return (
        f"### {function.name}\n`{function.signature}`\n\n{function.help} {shape}\n\n"
        + "\n".join(rows)
        + f"\n\nSource: {function.source}.{examples}"
    )


def _row(name: str, dimension: str, words: str) -> str:
    unit = DIMENSIONS[dimension]
    return f"| {name} | {unit.us} | {unit.metric} | {words} |"


def _help(arg: Arg) -> str:
    """The argument's help with its limits, which are shown in both systems where they differ."""
    if arg.kind != "number":
        return arg.help + (f" ({', '.join(arg.choices)})" if arg.choices else "")
    low, low_open, high, high_open = limits(arg)
    words = []
    for limit, sign in ((low, ">" if low_open else "≥"), (high, "<" if high_open else "≤")):
        if abs(limit) != float("inf"):
            shown = dict.fromkeys(display(limit, arg.dimension, s, 4) for s in ("us", "metric"))
            words.append(f"{sign} {' or '.join(shown)}")
    return f"{arg.help}; {', '.join(words)}" if words else arg.help


def nomenclature_page() -> str:
    """One name, one dimension and its units for every quantity."""
    uses: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    meanings: dict[tuple[str, str], str] = {}
    for function in functions().values():
        arguments = (a for a in (*function.values, *function.inputs) if not a.table)
        items: Iterable[Arg | Result] = (*arguments, *function.results)
        for item in items:
            if function.name not in uses[item.name][item.dimension]:
                uses[item.name][item.dimension].append(function.name)
            meanings.setdefault((item.name, item.dimension), item.help)
    rows = ["| quantity | what it is | dimension | US | metric | used by |"]
    rows.append("|---|---|---|---|---|---|")
    for name in sorted(uses):
        for dimension, names in uses[name].items():
            unit = DIMENSIONS[dimension]
            shown = ", ".join(names[:4]) + (f" and {len(names) - 4} more" if names[4:] else "")
            what = meanings[name, dimension]
            rows.append(f"| {name} | {what} | {dimension} | {unit.us} | {unit.metric} | {shown} |")
    return (
        "# Nomenclature\n\nOne name and one unit for each quantity, in the words of the function"
        " that comes first in FUNCTIONS.md; made from the declarations, do not edit.\n\n"
        + "\n".join(rows)
        + "\n"
    )


# --- what a type checker is told of the functions, which come into being when they are asked for
_HEAD = '''"""Made from the declarations; do not edit."""

from datetime import date
from typing import Any, TypeAlias, overload

import pandas as pd

_Cell: TypeAlias = float | str | date | None

__version__: str
'''
_PYTHON_TYPES = {"number": "float", "text": "str", "flag": "bool", "date": "date"}


def type_stub() -> str:
    """The stub of the package: one function a declaration, columns and single values apart."""
    return _HEAD + "".join(_stub_of(function) for function in functions().values())


def _stub_of(function: WorksheetFunction) -> str:
    if function.variadic:
        return f"\n\ndef {_head(function, 'Any')} -> Any: ..."
    if not function.elementwise:
        single = len(function.results) == 1 and not function.rows
        return f"\n\ndef {_head(function, 'Any')} -> {'Any' if single else 'pd.DataFrame'}: ..."
    one = _PYTHON_TYPES[DIMENSIONS[function.results[0].dimension].kind]
    return (
        f"\n\n@overload\ndef {_head(function, '_Cell')} -> {one}: ..."
        f"\n@overload\ndef {_head(function, 'Any')} -> Any: ..."
    )


def _head(function: WorksheetFunction, kind: str) -> str:
    named = "" if function.variadic else "*, "
    # a table may be given column by column instead: what stands after it is then not in its place
    tables = [i for i, arg in enumerate(function.inputs) if arg.table]
    first = tables[0] if tables else len(function.inputs)
    arguments = ", ".join(_argument(a, kind, i >= first) for i, a in enumerate(function.inputs))
    columns = [value for value in function.values if value not in function.inputs]
    named += "".join(f"{value.name}: {kind} = ..., " for value in columns)
    return f"{function.python_name}({arguments}, {named}units: str = ...)"


def _argument(arg: Arg, kind: str, left_out: bool) -> str:
    if arg.variadic:
        return f"*{arg.name}: {kind}"
    return f"{arg.name}: {kind}" + (" = ..." if left_out or not arg.required else "")


PAGES = {
    "FUNCTIONS.md": functions_page,
    "NOMENCLATURE.md": nomenclature_page,
    "__init__.pyi": type_stub,
}


def main() -> None:
    """Write the pages anew."""
    for name, page in PAGES.items():
        (FOLDER / name).write_text(page(), "utf-8")


if __name__ == "__main__":
    main()
