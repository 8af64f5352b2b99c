"""What the entries of an export say about each other: periods, credits, entries made twice.

Entries are changed in place; what is not certain is asked, refused with its reason, or comes in
uncounted with a note, so that nothing counts twice and nothing goes without a word.
"""

import datetime as dt
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Any

from xlfuncs.catalogue.account_days import cents_adding_up
from xlfuncs.tables.header_words import either, plain, says
from xlfuncs.workbooks.lists.ledger.lines import Entry
from xlfuncs.workbooks.lists.numbers import UnsettledError
from xlfuncs.workbooks.lists.orders.columns import is_tax

METERED = ("water", "sewer", "electricity")  # whose bills go by days
SPREAD, SAME_USE = "is spread over", "for the same use"
READING, FIRST_DAY = "reading", "first day"
_DAY = dt.timedelta(days=1)
OVER_ALL = re.compile(either("delivery", "discount"))


def text_of(entry: Mapping[str, Any], name: str) -> str:
    """As texts of entries are compared."""
    return str(entry.get(name) or "").strip().lower()


def key_of(entry: Mapping[str, Any]) -> tuple[Any, ...]:
    """What makes two entries the same. Numbers are compared as they are written."""
    quantity = entry.get("quantity")
    texts = (text_of(entry, name) for name in ("kind", "item", "reference", "meter"))
    measured = None if quantity is None else round(float(quantity), 6)
    return str(entry["date"])[:10], measured, round(float(entry["amount"]), 6), *texts


def meter_of(entry: Mapping[str, Any]) -> tuple[str, str]:
    return text_of(entry, "kind"), text_of(entry, "meter")


# --- how periods are stated ----------------------------------------------------------------------


def settle_periods(
    entries: Sequence[tuple[int, Entry]], existing: Sequence[Entry], stated: str, heading: str
) -> str:
    """Brings each period's first day to the date of the reading before; says what settled it.

    `from` is the last reading's own day in some exports and the day after it in others: the next
    bill begins on the day that the one before it ends, or a day later.
    """
    if not any(entry["period_start"] for _, entry in entries):
        return ""
    habit, why = (stated, "as stated") if stated else _habit(entries, existing, heading)
    if habit == READING:
        return f"period_from {READING}, {why}: a bill's first day is the day after"
    for _, entry in entries:
        if entry["period_start"]:
            entry["period_start"] -= _DAY
    return f"period_from {FIRST_DAY}, {why}: the reading before is taken to be the day before it"


def _habit(
    entries: Sequence[tuple[int, Entry]], existing: Sequence[Entry], heading: str
) -> tuple[str, str]:
    ends: dict[tuple[str, str], dict[tuple[Any, Any], int]] = {}
    for line, entry in entries:
        if entry["period_start"] and entry["date"]:
            period = entry["date"], entry["period_start"]
            ends.setdefault(meter_of(entry), {}).setdefault(period, line)
    before: dict[tuple[str, str], set[dt.date]] = {}
    for entry in existing:
        if entry.get("period_start"):
            before.setdefault(meter_of(entry), set()).add(entry["date"])
    seen: dict[str, str] = {}
    for meter, periods in ends.items():
        for (last, _), (day, start) in pairwise(sorted(periods)):
            days = (start - last).days
            if day != last and days in (0, 1):
                line = periods[day, start]
                words = f"line {line} begins on {start}, the bill before it ends on {last}"
                seen.setdefault(FIRST_DAY if days else READING, words)
        first = min(start for _, start in periods)
        for habit, last in ((READING, first), (FIRST_DAY, first - _DAY)):
            if not seen and last in before.get(meter, ()):
                seen[habit] = f"it begins on {first}, the ledger's last bill ends on {last}"
    if len(seen) == 1:
        ((habit, words),) = seen.items()
        return habit, f"because {words}"
    question = "Is the first day of a period the day of the reading before, or the day after it?"
    if seen:
        raise UnsettledError(
            "period_from", f"{question} {'; but '.join(seen.values())}.", (FIRST_DAY, READING)
        )
    if says(heading, "reading"):
        return READING, f"by the heading {heading!r}"
    stated = [period for of_meter in ends.values() for period in of_meter]
    if stated and all(start.day == 1 and (day + _DAY).day == 1 for day, start in stated):
        return FIRST_DAY, "for it goes by whole months"
    raise UnsettledError("period_from", question, (FIRST_DAY, READING))


# --- credits and cancellations -------------------------------------------------------------------


def net_credits(
    entries: Sequence[tuple[int, Entry]], existing: Sequence[Entry], stated: str
) -> tuple[dict[int, str], list[str]]:
    """Takes the quantity back with the money; gives the lines that cannot be settled, and words.

    A credit with the amount of an entry takes that entry back, over the same days. `stated` says
    of the others whether goods came back, or only money.
    """
    refused: dict[int, str] = {}
    findings: list[str] = []
    taken: set[int] = set()
    bills: dict[int, tuple[Any, ...]] = {}
    by_amount: dict[tuple[str, float], list[tuple[int, Entry]]] = {}
    orders: dict[str, list[tuple[int, Entry]]] = {}
    credits = any(entry["amount"] < 0 for _, entry in entries)
    for number, entry in [*entries, *((0, entry) for entry in existing)] if credits else ():
        if entry["amount"] > 0:
            place = text_of(entry, "kind"), round(entry["amount"], 6)
            by_amount.setdefault(place, []).append((number, entry))
            orders.setdefault(text_of(entry, "reference"), []).append((number, entry))
    for line, entry in entries:
        if entry["amount"] >= 0:
            if (entry["quantity"] or 0) < 0:
                refused[line] = f"{entry['quantity']:g} for {entry['amount']:g}: one sign is wrong"
            elif entry["date"] is None:
                refused[line] = "has no date"
            continue
        alike = by_amount.get((text_of(entry, "kind"), round(-entry["amount"], 6)), [])
        alike = [c for c in alike if id(c[1]) not in taken and _may_take_back(entry, c[1])]
        bill = bills.get(line, (0, None))
        of_bill = [c for c in alike if order_of(c[1]) == bill[1]]
        alike = [c for c in of_bill if c[0] == bill[0]] or of_bill or alike
        own = orders.get(text_of(entry, "reference"), [])
        if back := [c for c in alike if c in own]:
            alike = back
        elif part := _part_taken(entry, own):
            findings.append(f"line {line} {part}")
            continue
        found = _meant(entry, [c for c in alike if c[0]] or alike)  # the file's line goes first
        if len(found) == 1:
            taken.add(id(other := found[0][1]))
            bills[line] = found[0][0], order_of(other)  # whose fixed charge the line takes back too
            _take_back(entry, other, _named(*found[0]))
            findings.append(f"line {line} {entry['note'].partition(';')[0]}")
        elif entry["date"] is None:
            lines = " and ".join(f"line {number}" for number, _ in found)
            refused[line] = "has no date, and " + (
                f"may take back {lines}" if lines else "no line that it takes back")  # fmt: skip
        else:
            if found:
                lines = " or ".join(f"line {n}" if n else "the ledger's" for n, _ in found)
                words = f"ine {line} may take back {lines}, and names neither"
                if not stated:
                    raise UnsettledError(
                        "credits", f"L{words}. Did only money come back?", ("money", "goods")
                    )
                if stated == "goods":
                    refused[line] = f"may take back {lines}, and names neither"
                    continue
                findings.append(f"l{words}: only its money is counted, as stated")
            if is_over_all(entry):
                entry["quantity"], entry["unit"] = None, ""
            elif (entry["quantity"] or 0) > 0 and not _is_bill(entry, entries):
                _by_word(line, entry, stated)
    return refused, findings


def _part_taken(credit: Entry, order: Sequence[tuple[int, Entry]]) -> str:
    """Takes back some of a line of the credit's own order, of the same item; says of which."""
    count, item = abs(credit["quantity"] or 0), plain(credit["item"])
    for number, other in order if text_of(credit, "reference") and count and credit["date"] else ():
        bought, name = other.get("quantity") or 0, plain(str(other.get("item") or ""))
        if name and name in item and bought > count and -credit["amount"] < other["amount"]:
            words = f"takes back {count:g} of {bought:g} of {_named(number, other)}"
            said = "" if credit["item"] == other["item"] else credit["item"]
            credit["quantity"], credit["item"] = -count, other["item"]
            credit["note"] = "; ".join(filter(None, [words, said, credit["note"]]))
            return words
    return ""


def _may_take_back(credit: Entry, other: Entry) -> bool:
    """Whether nothing says otherwise: the meter, and how much."""
    theirs, quantity = other.get("quantity"), credit["quantity"]
    same = quantity is None or (theirs is not None and abs(abs(quantity) - theirs) < 1e-6)
    meters = {m for m in (meter_of(credit)[1], meter_of(other)[1]) if m}
    early = credit["date"] is not None and credit["date"] < other["date"]
    return same and len(meters) < 2 and not early


def _meant(credit: Entry, alike: list[tuple[int, Entry]]) -> list[tuple[int, Entry]]:
    """The entry of the same period, or whose number is named, or the only one."""
    period = credit["period_start"], credit["date"]
    text = " ".join(str(credit.get(name) or "").lower() for name in ("reference", "item", "note"))
    for chosen in (
        [c for c in alike if credit["period_start"]
         and (c[1].get("period_start"), c[1]["date"]) == period],
        [c for c in alike if (ref := str(c[1].get("reference") or "").lower())
         and re.search(rf"(?<!\w){re.escape(ref)}(?!\w)", text)],
    ):  # fmt: skip
        if chosen:
            return chosen[:1]
    return alike[:1] if len({key_of(entry) for _, entry in alike}) == 1 else alike


def _named(line: int, entry: Entry) -> str:
    return f"line {line}" if line else f"{entry.get('reference') or 'an entry'} of the ledger"


def _take_back(credit: Entry, other: Entry, what: str) -> None:
    if other.get("quantity") is not None:
        credit["quantity"], credit["unit"] = -abs(other["quantity"]), other.get("unit") or ""
    words = f"takes back {what}"
    if other.get("period_start") or credit["date"] is None:  # over the days of what it takes back
        if credit["date"] not in (None, other["date"]):
            words += f", dated {credit['date']}"
        credit["date"], credit["period_start"] = other["date"], other.get("period_start")
    credit["note"] = "; ".join(filter(None, [words, credit["note"]]))


def _is_bill(credit: Entry, entries: Sequence[tuple[int, Entry]]) -> bool:
    """Whether it is a bill by meter, of less than nothing: no other is for its days."""
    period, meter = credit["period_start"], meter_of(credit)
    return bool(period and credit["kind"] in METERED) and not any(
        e is not credit and meter_of(e) == meter and e["period_start"]
        and e["period_start"] < credit["date"] and period < e["date"] for _, e in entries
    )  # fmt: skip


def _by_word(line: int, credit: Entry, stated: str) -> None:
    if not stated:
        said = ", ".join(filter(None, [f"Line {line}", credit["item"]]))
        said += f": {credit['amount']:g} for {credit['quantity']:g} {credit['unit']}".rstrip()
        goods = "goods (or water)" if credit["kind"] in METERED else "goods"
        question = f"{said}. Did {goods} come back, or only money?"
        raise UnsettledError("credits", question, ("goods", "money"))
    credit["quantity"] = -credit["quantity"] if stated == "goods" else None


def entered_twice(entries: Sequence[tuple[int, Entry]]) -> None:
    """Marks repeated lines, charges and all, as not counted; what was taken back may come again."""
    lines: dict[int, list[Entry]] = {}
    for line, entry in entries:
        lines.setdefault(line, []).append(entry)

    def loose(rows: list[Entry]) -> tuple[Any, ...]:
        return rows[0]["date"], meter_of(rows[0]), abs(round(sum(e["amount"] for e in rows), 6))

    allowed = Counter(loose(rows) for rows in lines.values() if rows[0]["amount"] < 0)
    first: dict[tuple[Any, ...], int] = {}
    for line, rows in lines.items():
        if (same := first.setdefault(tuple(map(key_of, rows)), line)) == line:
            continue
        if rows[0]["amount"] > 0 and allowed[loose(rows)] > 0:
            allowed[loose(rows)] -= 1
            rows = []  # bought once more
        for entry in rows:
            entry["counted"] = False
            entry["note"] = f"same as line {same}: entered twice? {entry['note']}".strip()


def is_over_all(entry: Entry) -> bool:
    words = plain(f"{entry['kind']} {entry.get('word', '')} {entry['item']}")
    return entry["quantity"] in (None, 1, -1) and bool(
        OVER_ALL.search(words) or is_tax(entry["item"])
    )


def over_lines(charge: Mapping[str, Any], goods: Sequence[Entry]) -> None:
    """Puts a charge over all on the lines of its order, in proportion to the amounts."""
    amounts = [e["amount"] for e in goods]
    for name in (name for name in ("amount", "tax") if charge[name] is not None):
        parts = parts_by(amounts, Decimal(str(charge[name])))
        for other, part in zip(goods, parts, strict=True):
            other[name] = float(Decimal(str(other[name] or 0)) + part)
            if name == "amount":
                said = f"{part} of it {charge['item'] or charge['kind']}"
                other["note"] = "; ".join(filter(None, [other["note"], said]))


def parts_by(amounts: Sequence[Any], whole: Decimal) -> list[Decimal]:
    """A sum in parts, to the cent, in proportion to amounts."""
    weights = [Fraction(str(amount)) for amount in amounts]
    total = sum(weights)
    return cents_adding_up([Fraction(whole) * w / total if total else Fraction(whole) / len(weights)
                            for w in weights], whole)  # fmt: skip


def order_of(entry: Mapping[str, Any]) -> tuple[str, Any]:
    return text_of(entry, "reference"), entry["date"]
