"""Delivery and discounts over the lines of an order, and orders that the ledger has in part."""

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from itertools import compress
from typing import Any

from xlfuncs.tables.header_words import says
from xlfuncs.workbooks.lists.ledger import netting
from xlfuncs.workbooks.lists.ledger.lines import Entry

_ALONE = "\0"  # before the line of an entry without the number of an order


def spread_over(entries: Sequence[tuple[int, Entry]]) -> dict[int, str]:
    """Spreads delivery and discounts over the lines of their order, in proportion to the amounts.

    Gives the lines that were spread, with the words on it; one whose order has no goods stays.
    """
    goods_of = [(line, entry) for line, entry in entries
                if entry["counted"] and entry["kind"] not in netting.METERED]  # fmt: skip
    told: dict[int, str] = {}
    for (reference, _), lines in by_order(goods_of).items():
        beside = [charge for _, e in lines for charge in e.pop("beside", ())]
        if len(lines) == 1 and not beside:
            continue
        of_all = [netting.is_over_all(e) for _, e in lines]
        over = [*compress(lines, of_all)]
        goods = [e for (_, e), no in zip(lines, of_all, strict=True) if not no and e["amount"] > 0]
        goods = goods or [e for _, e in lines[:1] if beside]
        listed = ", ".join(str(line) for line, e in lines if any(e is other for other in goods))
        for line, entry in over if goods and not reference.startswith(_ALONE) else ():
            what = f"{entry['amount']:.2f}, {entry['item'] or 'delivery or discount'}"
            told[line] = f"{netting.SPREAD} line {listed} of {reference}: {what}"
            beside.append(entry)
        for charge in beside:
            netting.over_lines(charge, goods)
    return told


def with_use_once(entries: Sequence[tuple[int, Entry]]) -> dict[int, str]:
    """Puts charges for a use that other lines of their bill have already, as that of the network
    beside the energy, on these lines; those whose quantity is what the lines before come to in
    every bill (of one bill, if it is no step of the use: `Tier 2`). Gives the lines that were
    spread, with the words on it."""
    bills: dict[tuple[Any, ...], list[tuple[int, Entry]]] = {}
    for line, e in entries:
        if e["counted"] and e["kind"] in netting.METERED and e["item"] and e["quantity"]:
            bill = netting.meter_of(e), e["reference"], e["date"], e["period_start"]
            bills.setdefault(bill, []).append((line, e))
    alike: dict[str, list[bool]] = {}
    for _ in range(9):  # an item that is found to repeat is not among the lines before others
        again = [
            item
            for item, all_of in alike.items()
            if all(all_of) and (len(all_of) > 1 or not says(item, "step of use", "tariff"))
        ]
        seen: dict[str, list[bool]] = {}
        for lines in bills.values():
            use = 0.0
            for _, e in lines:
                if use:
                    seen.setdefault(e["item"], []).append(abs(use - e["quantity"]) < 1e-6)
                use += 0 if e["item"] in again else e["quantity"]
        if seen == alike:
            break
        alike = seen
    told = {}
    for lines in bills.values():
        own = [e for _, e in lines if e["item"] not in again]
        listed = ", ".join(str(line) for line, e in lines if e["item"] not in again)
        for line, e in lines if own else ():
            if e["item"] in again:
                told[line] = f"{netting.SPREAD} line {listed}, {netting.SAME_USE}: {e['item']}"
                netting.over_lines(e, own)
    return told


def by_order(
    entries: Iterable[tuple[int, Entry]],
) -> dict[tuple[str, dt.date], list[tuple[int, Entry]]]:
    """Entries by the number and the day of their order; one without a number is alone."""
    orders: dict[tuple[str, dt.date], list[tuple[int, Entry]]] = {}
    for line, entry in entries:
        order = entry["reference"] or f"{_ALONE}{line}", entry["date"]
        orders.setdefault(order, []).append((line, entry))
    return orders


def orders_grown(
    read: Sequence[tuple[int, Entry]], known: Mapping[int, str], of_orders: set[tuple[str, Any]],
    existing: Sequence[Entry],
) -> set[int]:  # fmt: skip
    """The lines of orders that the ledger has in part, or without some of their delivery."""
    order_of = netting.order_of
    notes: dict[tuple[str, Any], str] = {}
    there = {order_of(entry) for number, entry in read if number in known} & of_orders
    if not there:
        return set()
    for entry in existing:
        notes[order_of(entry)] = f"{notes.get(order_of(entry), '')} {entry.get('note')}"

    def is_new(number: int, entry: Entry) -> bool:
        parts = re.findall(r" of it [^;]+", entry["note"])
        had = notes.get(order_of(entry), "")
        return number not in known or any(part not in had for part in parts)

    grown = {order_of(e) for number, e in read if order_of(e) in there and is_new(number, e)}
    return {number for number, entry in read if order_of(entry) in grown}


def replaced_orders(
    grown: set[tuple[str, Any]], existing: Sequence[Entry]
) -> list[tuple[Entry, str]]:
    """The ledger's rows of orders that come in anew, as a longer file has them: not counted."""
    replaced = []
    for entry in existing:
        if netting.order_of(entry) in grown and entry["counted"] is not False:
            entry["counted"] = False
            words = f"replaced: order {entry['reference']} comes in anew, with what was added to it"
            entry["note"] = "; ".join(filter(None, [words, entry.get("note")]))
            replaced.append((entry, f"row {entry.get('row', '?')} is {words}"))
    return replaced
