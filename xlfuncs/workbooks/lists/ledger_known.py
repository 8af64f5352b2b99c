"""Which lines of an export are in the ledger already, as they came or as a person corrected them.

A corrected entry is known by what the paper says and nobody corrected: its number, its days, its
meter, its item. It stays as it is; what the file says otherwise is told.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from xlfuncs.workbooks.lists.ledger_bills import is_estimated
from xlfuncs.workbooks.lists.ledger_lines import Entry
from xlfuncs.workbooks.lists.ledger_netting import key_of, meter_of

ALREADY = "is in the ledger already"
_COMPARED = ("date", "period_start", "kind", "item", "quantity", "amount", "reference", "meter")
_Line = tuple[int, Entry]


def known_lines(read: Sequence[_Line], existing: Iterable[Entry]) -> dict[int, str]:
    """The lines that the ledger has, with words on what was corrected there."""
    left: dict[tuple[Any, ...], list[Entry]] = {}
    for entry in existing:
        left.setdefault(key_of(entry), []).append(entry)
    reasons: dict[int, str] = {}
    new: list[_Line] = []
    for number, entry in read:
        if alike := left.get(key_of(entry)):
            alike.pop(0)
            reasons[number] = ALREADY
        else:
            new.append((number, entry))
    return reasons | _corrected(new, [entry for alike in left.values() for entry in alike])


def _corrected(new: Sequence[_Line], left: Sequence[Entry]) -> dict[int, str]:
    """Pairs lines with the entries that no line equals, those that have most in common first."""
    by_paper: dict[Any, list[int]] = {}
    for place, entry in enumerate(left):
        for paper in _papers(entry):
            by_paper.setdefault(paper, []).append(place)
    credits = Counter(-entry["amount"] for _, entry in new if entry["amount"] < 0)
    pairs = []
    for number, entry in new:
        for place in {p for paper in _papers(entry) for p in by_paper.get(paper, ())}:
            same = _in_common(entry, left[place])
            if _is_same(entry, left[place], same, cancelled=entry["amount"] in credits):
                pairs.append((-len(same), number, place))
    reasons: dict[int, str] = {}
    taken: set[int] = set()
    lines = dict(new)
    for _, number, place in sorted(pairs):
        if number not in reasons and place not in taken:
            taken.add(place)
            reasons[number] = _words(lines[number], left[place])
    return reasons


def _text(entry: Mapping[str, Any], name: str) -> str:
    return str(entry.get(name) or "").strip().lower()


def _papers(entry: Entry) -> list[Any]:
    """What two entries of one line have at least one of in common, whatever was corrected."""
    figures = entry.get("quantity"), entry["amount"]
    found: list[Any] = [(entry["date"], *figures), (entry.get("period_start"), *figures)]
    if number := _text(entry, "reference"):
        return [*found, number]
    return [*found, (entry["date"], _text(entry, "item"))]


def _in_common(one: Entry, other: Entry) -> set[str]:
    def value(entry: Entry, name: str) -> Any:
        if name in ("quantity", "amount"):
            return None if entry.get(name) is None else round(float(entry[name]), 6)
        return entry.get(name) if name in ("date", "period_start") else _text(entry, name)

    return {name for name in _COMPARED if value(one, name) == value(other, name)}


def _is_same(line: Entry, entry: Entry, same: set[str], *, cancelled: bool) -> bool:
    """Whether the entry is the line, though a person changed it.

    `cancelled`: the file takes such an amount back, so that there may be two of it.
    """
    figures = {"quantity", "amount"} <= same
    if (line["amount"] < 0) != (entry["amount"] < 0):
        return False
    if not figures and is_estimated([line]) != is_estimated([entry]):
        return False  # an estimate, and the bill that replaces it
    if len({m for m in (meter_of(line)[1], meter_of(entry)[1]) if m}) > 1 and not figures:
        return False
    numbers = {_text(line, "reference"), _text(entry, "reference")}
    named = "reference" in same and numbers != {""}
    if line.get("period_start") or entry.get("period_start"):  # a bill: its days, and its item
        days = len({"date", "period_start"} & same)
        if named:
            return (days == 2 and bool({"item", "amount"} & same)) or bool(days and figures)
        if figures and not cancelled:
            return days == 2 or (days == 1 and numbers == {""})
        return days == 2 and numbers == {""} and "item" in same
    if named:
        return "amount" in same or ("date" in same and "item" in same)
    things = "item" in same and bool(_text(line, "item"))
    if numbers == {""}:
        return "date" in same and (figures or (things and bool({"quantity", "amount"} & same)))
    return "date" in same and things and figures and not cancelled


def _words(line: Entry, entry: Entry) -> str:
    same = _in_common(line, entry)
    other = [f"{name.replace('_', ' ')} {_shown(entry.get(name))} (the file: "
             f"{_shown(line.get(name))})" for name in _COMPARED if name not in same]  # fmt: skip
    return f"{ALREADY}, as corrected in row {entry.get('row', '?')}: {', '.join(other)}"


def _shown(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:.10g}"
    return str(value) if value not in (None, "") else "blank"
