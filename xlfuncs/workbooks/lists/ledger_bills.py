"""Bills of an export, and of the ledger, that are for the same days, and days on no bill."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from xlfuncs.catalogue.account_days import (
    Bill,
    Meters,
    Shared,
    bills_by_meter,
    in_words,
    missing_days,
    shared_days,
)
from xlfuncs.tables.header_words import plain
from xlfuncs.workbooks.lists.ledger_lines import BILLED, Entry
from xlfuncs.workbooks.lists.ledger_netting import meter_of

_BILLED = re.compile(rf"\b{BILLED} (\d{{4}}-\d{{2}}-\d{{2}})")
_ESTIMATED = re.compile(r"\b(?:ge)?(?:estim|schatz|stimat|stima\b|schat)")


def replace_bills(
    entries: Sequence[tuple[int, Entry]], existing: Sequence[Entry]
) -> tuple[list[tuple[Entry, str]], list[str]]:
    """Proposes which of two bills for the same days is replaced: it comes in uncounted.

    Gives the entries of the ledger that are replaced, each with words, and words on missing days.
    """
    every = [*existing, *(entry for _, entry in entries)]
    names = [*(f"row {entry.get('row', '?')} of the ledger" for entry in existing),
             *(f"line {line}" for line, _ in entries)]  # fmt: skip
    known = len(existing)
    days = [entry["date"] for _, entry in entries]
    newest_first = bool(days) and days[0] > days[-1]
    replaced: list[tuple[Entry, str]] = []
    while True:
        meters = _meters(every)
        marked = False
        for bills in meters.values():
            for shared in shared_days(bills):
                of_file = min(*shared.one.rows, *shared.other.rows) >= known
                turned = newest_first and of_file
                gone, stays, sure = _which(shared, every, newest_first=turned)
                if max(*gone.rows, *stays.rows) < known:
                    continue  # both were in the ledger before
                words = f"{in_words(shared.days)}, are on {names[stays.rows[0]]} too"
                words = f"replaced by {names[stays.rows[0]]}? {words}" if sure else words
                for row in _with_charges(gone, every):
                    entry = every[row]
                    if entry["counted"] is not False:
                        entry["counted"] = False
                        entry["note"] = f"{words} {entry.get('note') or ''}".strip()
                        if row < known:
                            replaced.append((entry, f"{names[row]} is {words}"))
                marked = True
        if not marked:
            return replaced, list(_missing(meters, names, known))


def _meters(every: Sequence[Entry]) -> Meters:
    def column(name: str) -> list[str]:
        return [str(entry.get(name) or "") for entry in every]

    return bills_by_meter(
        np.array([entry["date"] for entry in every], dtype="datetime64[D]"),
        np.array([entry.get("period_start") or "NaT" for entry in every], dtype="datetime64[D]"),
        column("kind"), column("meter"),
        np.array([np.nan if entry.get("quantity") is None else entry["quantity"]
                  for entry in every], dtype=float),
        column("reference"),
        np.array([entry["counted"] is not False for entry in every], dtype=bool),
    )  # fmt: skip


def _which(
    shared: Shared, every: Sequence[Entry], *, newest_first: bool
) -> tuple[Bill, Bill, bool]:
    """The bill that is replaced, the one that stays, and whether the file shows it."""
    one, other = shared.one, shared.other
    estimated = [is_estimated([every[row] for row in bill.rows]) for bill in (one, other)]
    if estimated == [True, False]:
        return one, other, True
    if estimated == [False, True]:
        return other, one, True
    one_day, other_day = (_billed([every[row] for row in bill.rows]) for bill in (one, other))
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


def is_estimated(lines: Iterable[Entry]) -> bool:
    """Whether a bill's lines say that its reading was estimated."""
    words = " ".join(str(line.get(name) or "") for line in lines for name in ("note", "item"))
    return bool(_ESTIMATED.search(plain(words)))


def _billed(lines: Iterable[Entry]) -> str:
    """The day of a bill, as its lines note it."""
    found = (_BILLED.search(str(line.get("note") or "")) for line in lines)
    return max((match[1] for match in found if match), default="")


def _with_charges(bill: Bill, every: Sequence[Entry]) -> Iterator[int]:
    """The rows of a bill, and the fixed charges that stand on it."""
    yield from bill.rows
    of = every[bill.rows[0]]
    for row, entry in enumerate(every if bill.reference else ()):
        alike = meter_of(entry) == meter_of(of) and entry["date"] == of["date"]
        same = str(entry.get("reference") or "").strip().lower() == bill.reference
        if same and alike and entry.get("quantity") is None:
            yield row


def _missing(meters: Meters, names: Sequence[str], known: int) -> Iterator[str]:
    for (kind, meter), bills in meters.items():
        for bill, days in missing_days(bills):
            before = next(b for b in bills if b.after == days[0])
            if max(*bill.rows, *before.rows) >= known:
                of = f"{kind} of meter {meter}" if meter else kind
                yield f"{of}: {in_words(days)}, before {names[bill.rows[0]]}, are on no bill"
