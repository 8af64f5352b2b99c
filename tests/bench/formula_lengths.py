"""How long the template's formulas are, by sheet, and which are the longest.

    python -m tests.bench.formula_lengths [us|metric] [longest]

Counted as Excel shows them: `[@Amount]` for `Ledger[[#This Row],[Amount]]`, without `_xlfn.`. The
calls that defined names stand for count as formulas of their own.
"""

from __future__ import annotations

import re
import statistics
import sys
from collections import defaultdict

from workbook_template.build import demo_inputs, write
from workbook_template.kit.written import Written

OWN_ROW = re.compile(r"\w+\[\[#This Row\],\[((?:[^\[\]']|'.)+)\]\]")
LIMIT = 250


def shown(formula: str) -> str:
    """A formula as Excel shows it."""

    def of_row(match: re.Match[str]) -> str:
        return f"[@{match[1]}]" if match[1].isalnum() else f"[@[{match[1]}]]"

    return OWN_ROW.sub(of_row, formula.replace("_xlfn.", ""))


def formulas(
    system: str, edition: str = "all", spills: bool = False
) -> dict[str, list[tuple[str, str]]]:
    """Place and formula of every cell, by sheet, and of every name that stands for a call."""
    written = Written(write(system, demo_inputs(system), edition=edition, spills=spills))
    found: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for sheet in written.sheets:
        for cell in written.scan(sheet).cells:
            if cell.formula:
                place = f"row {cell.row}, column {cell.column}"
                found[sheet.name].append((place, shown(cell.formula)))
    for name in written.names:
        if "(" in name.text.partition("'!")[2] or re.match(r"=?[A-Z_]+\(", name.text):
            found["defined names"].append((name.name, shown(name.text)))
    return found


def main(system: str = "us", longest: str = "20") -> None:
    by_sheet = formulas(system)
    lengths = [len(text) for cells in by_sheet.values() for _, text in cells]
    over = sum(length > LIMIT for length in lengths)
    print(f"{len(lengths)} formulas, median {statistics.median(lengths)}, {over} over {LIMIT}")
    for sheet, cells in sorted(by_sheet.items()):
        own = [len(text) for _, text in cells]
        over = sum(length > LIMIT for length in own)
        print(f"{sheet:16} {len(own):5} median {statistics.median(own):5} longest {max(own):5} "
              f"over {LIMIT}: {over}")  # fmt: skip
    alike: dict[tuple[str, str], list[tuple[str, str]]] = defaultdict(list)
    for sheet, cells in by_sheet.items():
        for place, text in cells:
            alike[sheet, re.sub(r"\d+", "#", text)].append((place, text))
    by_sum = sorted(alike.items(), key=lambda item: -len(item[1]) * len(item[1][0][1]))
    for (sheet, _), cells in by_sum[: int(longest)]:
        place, text = cells[0]
        print(f"\n{sheet}, {place}, {len(cells)} alike, {len(text)} long: {text}")


if __name__ == "__main__":
    main(*sys.argv[1:])
