"""Columns of figures of an export: use by its unit, money by what it adds up to."""

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from xlfuncs.tables.header_words import either, names_of, plain, says, words_of
from xlfuncs.tables.headers import Header, unit_in
from xlfuncs.workbooks.lists.headers import Found, HeaderReading
from xlfuncs.workbooks.lists.ledger.headings import (
    EXPORTED,
    holds,
    is_figure,
    is_price,
    money_places,
)
from xlfuncs.workbooks.lists.lines import FileLine, in_cents, parts_of
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import UnsettledError

# --- use, by its unit -----------------------------------------------------------------------------

# Figures in a unit that are no use: registers, averages, prices, what was fed in or used elsewhere.
_NO_USE = re.compile(rf"[€$£/%]|{either('no use', 'price')}")
_SEWER = re.compile("|".join(words_of("kind sewer")))


def uses(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> tuple[Header, ...]:
    """The headings of figures in m³, kWh or the like that are the quantity, where no other is: of
    several the one that is the sum of the others, or all, as tariffs of one meter."""
    taken = {h.place: h.text for h in found.headers.get("quantity", ())}
    if not all(map(_by_tariff, taken.values())):
        return ()
    texts = {place: text for place, text in sorted({**found.unused, **taken}.items())
             if _use_in(text) and not _NO_USE.search(plain(text))
             and holds(head, text, below, is_figure)}  # fmt: skip
    fresh = {p: t for p, t in texts.items() if not _SEWER.search(plain(t))}
    texts = fresh or texts
    if len({_use_in(text).lower() for text in texts.values()}) > 1:
        words = f"{' and '.join(map(repr, texts.values()))} may both be the quantity. Which is it?"
        raise UnsettledError("quantity", words, tuple(texts.values()), under="columns")
    figures = in_cents(below, tuple(texts))
    whole = [place for i, place in enumerate(texts) if len(texts) > 2 and figures is not None
             and parts_of(figures, i) == tuple(j for j in range(len(texts)) if j != i)]  # fmt: skip
    return tuple(
        Header(place, texts[place], EXPORTED["quantity"], odd_unit=_use_in(texts[place]))
        for place in whole or texts
    )


def _use_in(text: str) -> str:
    """The unit of a use that a heading names; kWh of one by a tariff, as `Night units`."""
    return unit_in(text, counted=True) or "kWh" * _by_tariff(text)


def _by_tariff(text: str) -> bool:
    use = re.sub(either("tariff"), "", plain(text)).strip()
    return use != plain(text) and any(use in words for words in names_of(EXPORTED["quantity"]))


def is_sewer(item: str) -> bool:
    """Whether an item names sewer, and no water beside it."""
    rest = _SEWER.sub("", plain(item))
    return rest != plain(item) and not says(rest, "kind water")


# --- money, by what its figures add up to ---------------------------------------------------------


def money_left(export: Any) -> tuple[list[int], set[int]]:
    """The columns of money that nothing is read from, and those that are in the amount by sums."""
    places = money_places(export.head, export.below)
    used = {h.place for heads in export.headers.values() for h in heads}
    figures = in_cents(export.below, places)
    inside: set[int] = set()
    texts = {place: str(export.head.cell(place)) for place in places}
    cents = (figures % 100 != 0).any(axis=0) if figures is not None and len(figures) else []
    left = [place for place, odd in zip(places, cents, strict=False)
            if place not in used and (odd or says(texts[place], "delivery", "discount"))
            and not (says(texts[place], "of before", "no use") or is_price(texts[place]))
    ]  # fmt: skip
    heads = export.headers.get("amount") or export.headers.get("net", ())
    heads = (*heads, *export.headers.get("tax", ()))
    whole = [h.place for h in heads if h.place in places and figures is not None and len(figures)]
    table, made = _priced(export.headers, export.head, export.below, places)
    for column in map(places.index, whole if len(table) else ()):  # none that is the whole itself
        made = made[:, (np.abs(made - table[:, [column]]) <= 1.01).mean(axis=0) < 0.8]
    priced, first = np.hstack([made, table]) if len(table) else figures, made.shape[1]
    while whole and priced is not None:
        parts = parts_of(priced, first + places.index(whole.pop()))
        new = {places[i - first] for i in parts if i >= first} - inside
        whole += new
        inside |= new
    return left, inside


def fixed_inside(export: Any) -> tuple[Any, str]:
    """The export, of its fixed charges those that are in the amount by sums, if any is; and what
    they are a part of: the amount before tax (net), or the gross."""
    heads = export.headers
    inside = money_left(export)[1] if "fixed" in heads else set()
    if not (fixed := tuple(h for h in heads.get("fixed", ()) if h.place in inside)):
        return export, ""
    before = "net" in heads or any(h.place in inside for h in heads.get("tax", ()))
    return replace(export, headers={**heads, "fixed": fixed}), "net" if before else "gross"


def by_sums(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> dict[str, str]:
    """The amount, where no heading or several say it, by what adds up: the sum of others that is
    in no other sum, quantity times price, the one column of money. A balance of before is in
    none. An amount with tax on top of it, by the rates, is a net one."""
    said = found.headers.get("amount")
    other = {h.place for name, heads in found.headers.items() for h in heads
             if name not in ("amount", "net", "tax", "fixed")}  # fmt: skip
    places = [place for place in money_places(head, below) if place not in other]
    texts = [str(head.cell(place)) for place in places]
    figures = in_cents(below, places)
    if figures is None or not len(figures):
        return {}
    parts = {i: parts_of(figures, i) for i in range(len(places))}
    free = [i for i, text in enumerate(texts) if not (says(text, "of before") or is_price(text))]

    def without_balance(i: int) -> int:
        now = [j for j in parts[i] if j in free]
        return now[0] if len(now) == 1 and len(parts[i]) > 1 else i

    taken = {h.place for name in ("tax", "fixed", "net") for h in found.headers.get(name, ())}
    if said:
        chosen = [i for i, place in enumerate(places) if place == said[0].place]
    else:
        rivals = found.rivals.get("amount", ())
        pool = [i for i in free if places[i] not in taken and (not rivals or texts[i] in rivals)]
        inner = {j for i in pool for j in parts[i]}
        odd = (figures % 100 != 0).any(axis=0)
        likely = [i for i in pool
                  if not says(texts[i], "delivery") and odd[i] == odd.any()]  # fmt: skip
        table, made = _priced(found.headers, head, below, places)
        ways = [
            [i for i in pool if re.search(r"\b(?:current|new)\b", plain(texts[i]))],
            [i for i in pool if parts[i] and i not in inner],
            [i for i in pool if any((np.abs(made - table[:, [i]]) <= 1.01).mean(axis=0) >= 0.9)],
            pool[:1] if all((figures[:, i] == figures[:, pool[0]]).all() for i in pool) else [],
        ]
        if not rivals:
            ways += [[i for i in likely if says(texts[i], "amount")], likely]
        chosen = next((way for way in ways if len(way) == 1), [])
    if len(chosen) != 1:
        return {}
    amount = without_balance(chosen[0])
    if not said and "net" in found.headers:  # which is enough, unless it is a part of what is paid
        net = [i for i, place in enumerate(places) if place == found.headers["net"][0].place]
        return {"amount": texts[amount], "net": ""} if {*net} & {*parts[amount]} else {}
    taxes = {h.place for h in found.headers.get("tax", ())}
    wholes = [i for i in free if said and amount in parts[i] and "net" not in found.headers]
    larger = [i for i in wholes if taxes & {places[j] for j in parts[i]}]
    if len(larger) == 1:  # it and the tax are what was paid
        return {"amount": texts[larger[0]], "net": texts[amount]}
    for i in wholes:  # it and what is taken off
        others = [j for j in parts[i] if j != amount]
        if says(texts[i], "to pay") and {*others} <= {*free} and (figures[:, others] <= 0).all():
            return {"amount": texts[i]}
    return {} if said and places[amount] == said[0].place else {"amount": texts[amount]}


def _priced(
    headers: Found, head: FileLine, below: Sequence[FileLine], places: Sequence[int]
) -> tuple[np.ndarray, np.ndarray]:
    """The figures of columns, and beside them the quantity times each of the prices."""
    counts = [h.place for h in headers.get("quantity", ())][:1]
    prices = [i for i, text in enumerate(head.cells) if counts and is_price(str(text or ""))]
    table = in_cents(below, [*places, *prices, *counts])
    if table is None or not len(table):
        return np.empty((0, len(places))), np.empty((0, 0))
    at = len(places)
    return table[:, :at], table[:, at : at + len(prices)] * table[:, -1:] / 100


# --- taxes, in the amount or on top of it ---------------------------------------------------------

INCLUDED, ON_TOP = "included", "on top"
_PRICED = -1  # the place of quantity times price


def _parts_named(
    headers: Found, head: FileLine, below: Sequence[FileLine], *names: str
) -> tuple[set[int], np.ndarray]:
    """The places of the columns that add up to the one of the first name, those of other names
    looked at first, quantity times price beside them; and the figures of all named."""
    named = [h.place for name in names for h in headers.get(name, ())]
    apart = {*named, *(h.place for h in headers.get("quantity", ())[:1])}
    others = [p for p in money_places(head, below) if p not in apart]
    others = [p for p in others if not is_price(str(head.cell(p)))]
    table, made = _priced(headers, head, below, [*named, *others])
    if len(table) and any((np.abs(made - table[:, :1]) <= 1.01).mean(axis=0) >= 0.8):
        return {_PRICED}, table[:, : len(named)]
    places = [*named, *[_PRICED] * made.shape[1], *others]
    figures = np.hstack([table[:, : len(named)], made, table[:, len(named) :]])
    parts = parts_of(figures, 0) if len(table) else ()
    return {places[i] for i in parts}, table[:, : len(named)]


def with_taxes(
    found: HeaderReading, head: FileLine, below: Sequence[FileLine], stated: ListMapping
) -> tuple[Found, str]:
    """The headings, those of the tax without its rates and parts, the amount as a net one where the
    tax comes on top of it; and what is said of it."""
    headers = dict(found.headers)
    if "tax" not in headers:
        return _by_rates(headers, head, stated)
    paid, both = "amount" if "amount" in headers else "net", {"amount", "net"} <= headers.keys()
    taxes = headers["tax"]
    parts, figures = _parts_named(headers, head, below, paid, "tax", "net")
    sums = figures[:, 1 : 1 + len(taxes)]
    inside = [i for i, h in enumerate(taxes) if h.place in parts]
    whole = [i for i in range(len(taxes)) if len(sums) and len(parts_of(sums, i)) > 1]
    amounts = [i for i in range(len(taxes)) if not _are_rates(sums[:, i] / 100)]
    kept = inside or (whole if len(whole) == 1 else amounts or range(len(taxes)))
    headers["tax"] = tuple(taxes[i] for i in kept)
    names, heading = " + ".join(repr(taxes[i].text) for i in kept), headers[paid][0].text
    if both or paid == "net" or not sums.any():
        return headers, f"tax: {names}" if len(taxes) > 1 else ""
    on_top, why = is_on_top(heading, parts, figures[:, 0], sums[:, [*kept]], stated)
    why = "it adds up" if inside else why
    if "tax" not in stated.values and any(says(h.text, "with tax") for h in headers["tax"]):
        on_top, why = False, "by its heading"
    if not why:
        words = f"Is the tax, {names}, included in {heading!r}, or does it come on top?"
        raise UnsettledError("tax", words, (INCLUDED, ON_TOP), under="values")
    if on_top and not inside:
        headers["net"] = headers.pop("amount")
    return headers, f"tax: {names}, {'on top of' if 'net' in headers else 'in'} {heading!r}: {why}"


def _by_rates(headers: Found, head: FileLine, stated: ListMapping) -> tuple[Found, str]:
    """The headings where a column says the rate of a tax and none the tax: in the amount, unless
    its heading, or that of the price, says before tax."""
    if "tax_rate" not in headers or "net" in headers or "amount" not in headers:
        return headers, ""
    (rate, heading), where = (headers[name][0].text for name in ("tax_rate", "amount")), "in"
    prices = [str(text) for text in head.cells if is_price(str(text or ""))]
    said = [
        text for text in (heading, *prices) if says(text, "before tax") != says(text, "with tax")
    ]
    given = stated.values.get("tax")
    if given == ON_TOP or (not given and said and says(said[0], "before tax")):
        headers, where = {**headers, "net": headers["amount"]}, "on top of"
        headers.pop("amount")
    other = "" if said or given else ' (else --tax "on top")'
    return headers, f"tax: by {rate!r}, {where} {heading!r}{other}"


def _are_rates(figures: np.ndarray) -> bool:
    """Whether figures are rates of taxes, 19 and 7 or 0.19 and 0.07, rather than taxes."""
    rates = np.unique(figures[figures != 0])
    few = len(rates) < 4 and np.count_nonzero(figures) > 1
    return bool(few and ((rates < 1).all() or ((rates % 1 == 0).all() and rates.max() <= 30)))


def beside_net(export: Any) -> list[int]:
    """The places of what the amount has beside the net one and the tax: a deposit, a levy."""
    if not {"amount", "net"} <= export.headers.keys():
        return []
    known = {h.place for name in ("amount", "net", "tax") for h in export.headers.get(name, ())}
    parts, _ = _parts_named(export.headers, export.head, export.below, "amount", "net", "tax")
    return sorted(parts - known) if export.headers["net"][0].place in parts else []


def is_on_top(
    heading: str, parts: set[int], paid: np.ndarray, taxes: np.ndarray, stated: ListMapping
) -> tuple[bool, str]:
    """Whether the tax comes on top of what a heading says was paid, and what tells; '' if nothing
    does. A rate of a tax is a round part of the amount before it."""
    if given := stated.values.get("tax"):
        return given == ON_TOP, "as stated"
    if says(heading, "before tax") != says(heading, "with tax"):
        return says(heading, "before tax"), "by its heading"
    counted = np.abs(taxes) >= 50
    more = _decimals(taxes, paid - taxes.sum(axis=1)) - _decimals(taxes, paid)
    odds = more[counted].mean() if counted.any() else 0
    if abs(odds) >= (0.7 if counted.sum() > 1 else 2):
        return bool(odds > 0), "by its rate"
    if parts:
        return True, "it adds up without"
    if says(heading, "to pay") or "amount" in stated.columns:
        return False, "by its heading"
    return False, ""


def _decimals(taxes: np.ndarray, base: np.ndarray) -> np.ndarray:
    """How many decimals the rates of taxes have, in percent, as parts of a base; 4 for more."""
    whole = np.where(base == 0, np.inf, base)[:, np.newaxis]
    rates, least = 100 * taxes / whole, 51 / np.abs(whole)
    found = np.full(taxes.shape, 4)
    for places in (3, 2, 1, 0):
        found[np.abs(np.round(rates, places) - rates) <= least] = places
    return found
