"""Findings as a person reads them: what to fill in first, what may wait, each thing in a line."""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from xlfuncs.catalogue.findings.given import BLANK, DOUBTFUL, NOTE, WRONG
from xlfuncs.workbooks.our_tables.findings import EXAMPLES_LEFT, EXAMPLES_USED, Finding
from xlfuncs.xlsx.cell_references import cell_name

OF_CELL = re.compile(r" \(for \w+ in .*\)")  # which cell of a row an argument is for
_ARGUMENT = re.compile(r"\b[a-z]+(?:_[a-z]+)+: ")  # a name with bars, as formulas know it
_QUOTED = re.compile(r"'[^']*'")
_FIGURES = re.compile(r"'[^']*'|\d+(?:\.\d+)?")
_CELLS = 4  # blank ones of a sheet, below each other, that are each named
FIRST_NAMES = 8  # of the examples of a sheet
STANDS_IN = "; fill in "  # what is typed there stands for what is not known yet
_TITLES = {WRONG: "Wrong:", DOUBTFUL: "Doubtful:", NOTE: "To know:"}


def told(findings: Sequence[Finding], *, named: bool = True, doubts: bool = True) -> list[str]:
    """Lines for the terminal: of what is said of many rows of a sheet the first is named, of what
    may wait the sheets; examples are `named`, or only those in use
    counted, and rows that differ in figures alone are one line; without `doubts` these are counted
    by sheet."""
    blank = [f for f in findings if f.words.endswith(BLANK)]
    rows = {(f.sheet, f.row) for f in blank}
    used = [f for f in findings if EXAMPLES_USED in f.words]
    left = [f for f in findings if EXAMPLES_LEFT in f.words]
    there = [*blank, *used, *left]
    rest = [f for f in findings
            if f not in there and (f.kind == WRONG or (f.sheet, f.row) not in rows)]  # fmt: skip
    lines = _below("Invented, in use, to be typed over:", map(_examples, used))
    if used and not named:
        counts = (f"{_count(f)} on {f.sheet} (from {cell_name(f.row, f.column)})" for f in used)
        lines = [f"Invented, in use: {', '.join(counts)}"]
    standing_in = [f for f in rest if STANDS_IN in f.words]
    needed = (f for f in blank if not waits(f))
    lines += _below("To fill in:", [*_blanks(needed), *_repeated(standing_in)])
    there += standing_in
    for kind, title in _TITLES.items():
        said = [f for f in rest if f.kind == kind and f not in there]
        if kind == DOUBTFUL and said and not doubts:
            by_sheet = Counter(f.sheet for f in said).items()
            counted = ", ".join(f"{number} on {sheet}" for sheet, number in by_sheet)
            lines.append(f"Doubtful: {counted} (xlfuncs check names them)")
            continue
        lines += _below(title, _repeated(said, _QUOTED if named else _FIGURES))
    if named and (words := ", ".join(map(_unused, left))):
        lines.append(f"Invented, not in use, may stay: {words}")
    later = ", ".join(dict.fromkeys(f.sheet for f in blank if waits(f)))
    return [*lines, f"May wait (weather, crops, upkeep): {later}"] if later else lines


def _examples(finding: Finding) -> str:
    number, _, names = finding.words.partition(EXAMPLES_USED)
    first = names.split(", ")[:FIRST_NAMES]
    more = names.count(", ") + 1 - len(first)
    of = f"{finding.sheet} {number} (at {cell_name(finding.row, finding.column)})"
    return f"{of}: {', '.join(first)}{f' and {more} more' if more else ''}"


def _count(finding: Finding) -> str:
    return finding.words.partition(EXAMPLES_USED)[0]


def _unused(finding: Finding) -> str:
    """By name if there is one alone, which a sheet of own rows hides."""
    number, _, names = finding.words.partition(EXAMPLES_LEFT)
    return f"{finding.sheet} {number}{f' ({names})' if number == '1' else ''}"


def wrong_at_once(findings: Sequence[Finding]) -> list[str]:
    """A line for each matter that is wrong and can't wait, what is blank first."""
    wrong = [f for f in findings if f.kind == WRONG and not waits(f)]
    blank = [f for f in wrong if f.words.endswith(BLANK)]
    other = _repeated([f for f in wrong if f not in blank])
    return [*(f"To fill in: {line}" for line in _blanks(blank)), *(f"Wrong: {x}" for x in other)]


def _below(title: str, lines: Iterable[str]) -> list[str]:
    listed = [f"  {line}" for line in lines]
    return [title, *listed] if listed else []


def waits(finding: Finding) -> bool:
    """Whether a cell is blank that no purchase, proposal or program rests on."""
    return finding.kind == NOTE and finding.words.endswith(BLANK)


def of_proposal(finding: Finding) -> bool:
    """Whether it matters to what a client gets."""
    return finding.kind != NOTE or EXAMPLES_USED in finding.words


def _header(finding: Finding) -> str:
    return finding.words.removesuffix(BLANK).rstrip(":").rpartition(": ")[2]


def _blanks(findings: Iterable[Finding]) -> Iterator[str]:
    """A line a sheet: the first cell, and what is blank there."""
    by_sheet: dict[str, list[Finding]] = {}
    for finding in findings:
        by_sheet.setdefault(finding.sheet, []).append(finding)
    for found in by_sheet.values():
        headers = dict.fromkeys(map(_header, found))
        rows = {row for f in found for row in range(f.row, max(f.row, f.last_row) + 1)}
        many = f" in {len(rows)} rows" if ": " in found[0].words and len(rows) > 1 else ""
        cells = [found[0].address, *(cell_name(f.row, f.column) for f in found[1:])]
        apart = len(headers) == len(found) <= _CELLS and len(rows) == len(found)
        at = ", ".join(cells) if apart else cells[0]
        yield f"{at}: {', '.join(headers)}{many}"


def _repeated(findings: Sequence[Finding], apart: re.Pattern[str] = _QUOTED) -> Iterator[str]:
    """One line for what is said of several rows, `apart` from what differs."""
    alike: dict[tuple[str, str], list[tuple[Finding, str]]] = {}
    for finding in findings:
        words = OF_CELL.sub("", finding.words.partition(": ")[2] or finding.words)
        same = apart.sub("", words)  # of Crop 'roses' as of Crop 'herbs'
        alike.setdefault((finding.sheet, same), []).append((finding, words))
    for (first, words), *others in alike.values():
        line = f"{first.address} and {len(others)} more: {words}" if others else str(first)
        yield _ARGUMENT.sub(lambda name: name[0].replace("_", " ").capitalize(), line)
