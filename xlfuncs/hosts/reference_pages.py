"""What is made from the registry: FUNCTIONS.md, NOMENCLATURE.md and the types in __init__.pyi.

python -m xlfuncs.hosts.reference_pages     writes both anew; a test holds them true.
"""

from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path

from xlfuncs.catalogue.arguments import limits
from xlfuncs.catalogue.declaration import Arg, Result, WorksheetFunction
from xlfuncs.catalogue.registry import TOPICS, functions
from xlfuncs.hosts.type_stub import type_stub
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
