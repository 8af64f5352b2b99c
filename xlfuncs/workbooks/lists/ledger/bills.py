"""What of an export the ledger has already, bills for the same days, and days on no bill.

A line is known as it came or as a person corrected it: by what the paper says and nobody
corrected, its number, its days, its meter, its item. The corrected entry stays as it is; what
the file says otherwise is told.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import numpy as np

from xlfuncs.catalogue import account_days
from xlfuncs.tables.header_words import says
from xlfuncs.workbooks.lists.ledger.lines import BILLED, Entry
from xlfuncs.workbooks.lists.ledger.netting import key_of, meter_of, text_of

ALREADY = "is in the ledger already"
_COMPARED = ("date", "period_start", "kind", "item", "quantity", "amount", "reference", "meter")
_Line = tuple[int, Entry]
_BILLED = re.compile(rf"\b(?:{BILLED}|dated) (\d{{4}}-\d{{2}}-\d{{2}})")


def replace_bills(
    entries: Sequence[tuple[int, Entry]], existing: Sequence[Entry]
) -> tuple[list[tuple[Entry, str]], list[str]]:
    """Proposes which of two bills for the same days is replaced: it comes in uncounted.

    Gives the entries of the ledger that are replaced, each with words, and words on missing days
    and on several lines for the same ones.
    """
    every = [*existing, *(entry for _, entry in entries)]
    names = [*(f"row {entry.get('row', '?')} of the ledger" for entry in existing),
             *(f"line {line}" for line, _ in entries)]  # fmt: skip
    known = len(existing)
    days = [entry["date"] for _, entry in entries]
    newest_first = bool(days) and days[0] > days[-1]
    replaced: list[tuple[Entry, str]] = []
    several = _in_several_lines(every)
    told = [f"{' '.join(filter(None, meter))}: several lines for the same days in most periods: all"
            " count, as parts of one bill; a column Meter tells meters apart"
            for meter in several & {meter_of(entry) for _, entry in entries}]  # fmt: skip
    while True:
        meters = _meters(every, several)
        marked = False
        for bills in meters.values():
            for shared in account_days.shared_days(bills):
                of_file = min(*shared.one.rows, *shared.other.rows) >= known
                turned = newest_first and of_file
                gone, stays, sure = _which(shared, every, newest_first=turned)
                if max(*gone.rows, *stays.rows) < known:
                    continue  # both were in the ledger before
                words = f"{account_days.in_words(shared.days)}, are on {names[stays.rows[0]]} too"
                words = f"replaced by {names[stays.rows[0]]}? {words}" if sure else words
                for row in _with_charges(gone, every):
                    entry = every[row]
                    if entry["counted"] is not False:
                        entry["counted"] = False
                        entry["note"] = "; ".join(filter(None, [words, entry.get("note")]))
                        if row < known:
                            replaced.append((entry, f"{names[row]} is {words}"))
                marked = True
        if not marked:
            return replaced, [*told, *_missing(meters, names, known)]


def _meters(every: Sequence[Entry], several: set[tuple[str, str]]) -> account_days.Meters:
    def column(name: str) -> list[str]:
        return [str(entry.get(name) or "") for entry in every]

    return account_days.bills_by_meter(
        np.array([entry["date"] for entry in every], dtype="datetime64[D]"),
        np.array([entry.get("period_start") or "NaT" for entry in every], dtype="datetime64[D]"),
        column("kind"), column("meter"),
        np.array([np.nan if entry.get("quantity") is None else entry["quantity"]
                  for entry in every], dtype=float),
        _papers_of(every, several),
        np.array([entry["counted"] is not False for entry in every], dtype=bool),
    )  # fmt: skip


def _period_of(entry: Entry) -> tuple[Any, ...] | None:
    """Meter and days of a bill's line that has no number; None of any other."""
    has = entry.get("period_start") and entry.get("quantity") is not None
    counts = has and entry["counted"] is not False and not text_of(entry, "reference")
    return (meter_of(entry), entry["date"], entry["period_start"]) if counts else None


def _in_several_lines(every: Sequence[Entry]) -> set[tuple[str, str]]:
    """The meters that have several lines of one item in most periods: these are parts of a bill."""
    lines = Counter((period, text_of(entry, "item")) for entry in every
                    if (period := _period_of(entry)))  # fmt: skip
    periods = Counter(meter for meter, *_ in {period for period, _ in lines})
    again = Counter(meter for meter, *_ in {period for (period, _), n in lines.items() if n > 1})
    return {meter for meter, count in again.items() if count > 1 and count * 2 > periods[meter]}


def _papers_of(every: Sequence[Entry], several: set[tuple[str, str]]) -> list[str]:
    """The number of each entry's bill; without one, which of the bills for the same days it is on.

    Items that differ are parts of one bill, an item that comes again is on another.
    """
    seen: Counter[Any] = Counter()
    papers = []
    for entry in every:
        paper = text_of(entry, "reference")
        if period := _period_of(entry):
            key = period, text_of(entry, "item")
            again = is_estimated([entry]) if period[0] in several else seen[key]
            paper = f"\0{again:d}"
            seen[key] += 1
        papers.append(paper)
    return papers


def _which(
    shared: account_days.Shared, every: Sequence[Entry], *, newest_first: bool
) -> tuple[account_days.Bill, account_days.Bill, bool]:
    """The bill that is replaced, the one that stays, and whether the file shows it."""
    one, other = shared.one, shared.other
    for gone, stays in ((one, other), (other, one)):
        if _names([every[row] for row in stays.rows], gone.reference):
            return gone, stays, True
    estimated = [is_estimated([every[row] for row in bill.rows]) for bill in (one, other)]
    if estimated == [True, False]:
        return one, other, True
    if estimated == [False, True]:
        return other, one, True
    one_day, other_day = (billed([every[row] for row in bill.rows]) for bill in (one, other))
    is_later = (max(one.rows) > max(other.rows)) is not newest_first
    if one_day and other_day and one_day != other_day:
        is_later = one_day > other_day
    later, earlier = (one, other) if is_later else (other, one)
    if (one.first, one.after) == (other.first, other.after):
        return earlier, later, True
    for small, large in ((one, other), (other, one)):
        if large.first <= small.first and small.after <= large.after:
            return small, large, True
    return later, earlier, False


def _names(lines: Iterable[Entry], reference: str) -> bool:
    """Whether lines name the number of another bill: `Actual (replaces 2024-17)`."""
    words = " ".join(text_of(line, name) for line in lines for name in ("note", "item"))
    return bool(reference.strip("\0")) and bool(
        re.search(rf"(?<!\w){re.escape(reference)}(?!\w)", words)
    )


def is_estimated(lines: Iterable[Entry]) -> bool:
    """Whether a bill's lines say that its reading was estimated."""
    words = " ".join(str(line.get(name) or "") for line in lines for name in ("note", "item"))
    return says(words, "estimated")


def billed(lines: Iterable[Entry]) -> str:
    """The day of a bill, as its lines note it."""
    found = (_BILLED.search(str(line.get("note") or "")) for line in lines)
    return max((match[1] for match in found if match), default="")


def _with_charges(bill: account_days.Bill, every: Sequence[Entry]) -> Iterator[int]:
    """The rows of a bill, and the fixed charges that stand on it."""
    yield from bill.rows
    of = every[bill.rows[0]]
    for row, entry in enumerate(every):
        alike = meter_of(entry) == meter_of(of) and entry["date"] == of["date"]
        number = text_of(entry, "reference")
        same = number == text_of(of, "reference") and (number or row - 1 in bill.rows)
        if same and alike and entry.get("quantity") is None:
            yield row


def _missing(meters: account_days.Meters, names: Sequence[str], known: int) -> Iterator[str]:
    for (kind, meter), bills in meters.items():
        for bill, days in account_days.missing_days(bills):
            before = next(b for b in bills if b.after == days[0])
            if max(*bill.rows, *before.rows) >= known:
                of = f"{kind} of meter {meter}" if meter else kind
                missed = account_days.in_words(days)
                yield f"{of}: {missed}, before {names[bill.rows[0]]}, are on no bill"


# --- lines that are known ------------------------------------------------------------------------


def known_lines(read: Sequence[_Line], existing: Iterable[Entry]) -> dict[int, str]:
    """The lines that the ledger has, with words on what was corrected there."""
    left: dict[tuple[Any, ...], list[Entry]] = {}
    for entry in existing:
        left.setdefault(key_of(entry), []).append(entry)
    reasons: dict[int, str] = {}
    new: list[_Line] = []
    for number, entry in read:
        if left and (alike := left.get(key_of(entry))):
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
    if not left:
        return {}
    credits = Counter(-entry["amount"] for _, entry in new if entry["amount"] < 0)
    pairs = []
    for at, (_, entry) in enumerate(new):
        for place in {p for paper in _papers(entry) for p in by_paper.get(paper, ())}:
            same = _in_common(entry, left[place])
            if "amount" not in same and left[place]["amount"] in credits:
                continue  # the file takes that entry back, and this line is the bill in its place
            if _is_same(entry, left[place], same, cancelled=entry["amount"] in credits):
                pairs.append((-len(same), at, place))
    reasons: dict[int, str] = {}
    taken: set[int] = set()
    for _, at, place in sorted(pairs):
        number, entry = new[at]  # a line may be two entries
        if number not in reasons and place not in taken:
            taken.add(place)
            reasons[number] = _words(entry, left[place])
    return reasons


def _papers(entry: Entry) -> list[Any]:
    """What two entries of one line have at least one of in common, whatever was corrected."""
    figures = entry.get("quantity"), entry["amount"]
    found: list[Any] = [(entry["date"], *figures), (entry.get("period_start"), *figures)]
    if number := text_of(entry, "reference"):
        return [*found, number]
    return [*found, (entry["date"], text_of(entry, "item"))]


def _in_common(one: Entry, other: Entry) -> set[str]:
    def value(entry: Entry, name: str) -> Any:
        if name in ("quantity", "amount"):
            return None if entry.get(name) is None else round(float(entry[name]), 6)
        return entry.get(name) if name in ("date", "period_start") else text_of(entry, name)

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
    numbers = {text_of(line, "reference"), text_of(entry, "reference")}
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
    things = "item" in same and bool(text_of(line, "item"))
    if numbers == {""}:
        return "date" in same and (figures or (things and bool({"quantity", "amount"} & same)))
    return "date" in same and things and figures and not cancelled


def _words(line: Entry, entry: Entry) -> str:
    same = _in_common(line, entry)
    other = [f"{name.replace('_', ' ')} {_shown(entry.get(name))} (the file: "
             f"{_shown(line.get(name))})" for name in _COMPARED if name not in same
             and (name != "reference" or entry.get(name))]  # fmt: skip
    in_row = f", in row {entry.get('row', '?')} with {', '.join(other)}" if other else ""
    return f"{ALREADY}{in_row}"


def _shown(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:.10g}"
    return str(value) if value not in (None, "") else "blank"
