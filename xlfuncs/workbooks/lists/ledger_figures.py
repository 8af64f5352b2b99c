"""Columns of figures of an export: use by its unit, money by what it adds up to."""

import re
from collections.abc import Sequence
from itertools import combinations
from typing import Any

import numpy as np

from xlfuncs.tables.header_words import UnreadableError, either, plain, says, words_of
from xlfuncs.tables.headers import Header, unit_in
from xlfuncs.workbooks.lists.headers import HeaderReading
from xlfuncs.workbooks.lists.ledger_headings import EXPORTED, holds, is_figure
from xlfuncs.workbooks.lists.lines import FileLine, Measured, is_date
from xlfuncs.workbooks.lists.numbers import UnsettledError, decimal_mark, read_number

# --- use, by its unit -----------------------------------------------------------------------------

# Figures in a unit that are no use: registers, averages, prices, what was fed in or used elsewhere.
_NO_USE = re.compile(rf"[€$£/%]|{either('no use', 'price')}")
_SEWER = re.compile("|".join(words_of("kind sewer")))


def uses(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> tuple[Header, ...]:
    """The headings of figures in m³, kWh or the like that are the quantity, where no other is: of
    several the one that is the sum of the others, or all, as tariffs of one meter."""
    texts = {place: text for place, text in found.unused.items()
             if unit_in(text) and not _NO_USE.search(plain(text))
             and holds(head, text, below, is_figure)}  # fmt: skip
    if "quantity" in found.headers or not texts:
        return ()
    fresh = {p: t for p, t in texts.items() if not _SEWER.search(plain(t))}
    texts = fresh or texts
    if len({unit_in(text).lower() for text in texts.values()}) > 1:
        words = f"{' and '.join(map(repr, texts.values()))} may both be the quantity. Which is it?"
        raise UnsettledError("quantity", words, tuple(texts.values()), under="columns")
    figures = in_cents(below, tuple(texts))
    whole = [place for i, place in enumerate(texts) if len(texts) > 2 and figures is not None
             and parts_of(figures, i) == tuple(j for j in range(len(texts)) if j != i)]  # fmt: skip
    return tuple(
        Header(
            place, texts[place], EXPORTED["quantity"], odd_unit=unit_in(texts[place], counted=True)
        )
        for place in whole or texts
    )


# --- money, by what its figures add up to ---------------------------------------------------------

# Headings of figures that are no sums of money, and of sums that are not paid for the line.
_NO_SUM = re.compile(rf"(?<!\d)(?<!\d )%|{either('no sum')}")
_LINES = 200  # that are added up to see what is the sum of what


def in_cents(below: Sequence[FileLine], places: Sequence[int]) -> np.ndarray | None:
    """The figures of columns, a row a line that has two or more; None where they cannot be told."""
    cells = [[line.cell(place) for place in places] for line in below[:_LINES]]
    texts = [(0, cell) for row in cells for cell in row if isinstance(cell, str)]
    try:
        settled = decimal_mark("", texts)
    except UnsettledError:
        return None
    mark = settled.value if settled else "."

    def cents(cell: Any) -> float:
        cell = cell.value if isinstance(cell, Measured) else cell
        if isinstance(cell, str):
            try:
                cell = float(read_number(cell, mark))
            except UnreadableError:
                return np.nan
        return round(cell * 100, 3) if isinstance(cell, (int, float)) else np.nan

    table = np.array([[cents(cell) for cell in row] for row in cells], dtype=float)
    filled = table[(~np.isnan(table)).sum(axis=1) > 1] if table.size else table
    return np.array(np.nan_to_num(filled))


def parts_of(figures: np.ndarray, whole: int) -> tuple[int, ...]:
    """The fewest other columns that add up to a column on nearly every line; () where none do."""
    lines = figures[figures[:, whole] != 0]
    others = [i for i in range(figures.shape[1]) if i != whole and lines[:, i].any()][:9]
    sizes = range(2, min(len(others), 7) + 1)
    every = [parts for count in sizes for parts in combinations(others, count) if len(lines)]
    right = [(np.abs(lines[:, list(parts)].sum(axis=1) - lines[:, whole]) <= 1.01).mean()
             for parts in every]  # fmt: skip
    best = max(right, default=0)
    return every[right.index(best)] if best >= 0.8 else ()


def money_places(head: FileLine, below: Sequence[FileLine]) -> list[int]:
    """The places of columns of figures that may be sums of money."""
    return [place for place, text in enumerate(head.cells)
            if isinstance(text, str) and not _NO_SUM.search(plain(text)) and not unit_in(text)
            and holds(head, text, below[:_LINES], is_figure)
            and not holds(head, text, below[:_LINES], is_date)]  # fmt: skip


def money_left(export: Any) -> tuple[list[int], set[int]]:
    """The columns of money that nothing is read from, and those that are in the amount by sums."""
    places = money_places(export.head, export.below)
    used = {h.place for heads in export.headers.values() for h in heads}
    figures = in_cents(export.below, places)
    inside: set[int] = set()
    texts = {place: str(export.head.cell(place)) for place in places}
    cents = (figures % 100 != 0).any(axis=0) if figures is not None and len(figures) else []
    left = [place for place, odd in zip(places, cents, strict=False)
            if place not in used and (odd or says(texts[place], "delivery"))
            and not says(texts[place], "of before", "no use", "price")]  # fmt: skip
    heads = export.headers.get("amount") or export.headers.get("net", ())
    whole = [h.place for h in heads if h.place in places and figures is not None and len(figures)]
    while whole and figures is not None:
        new = {places[i] for i in parts_of(figures, places.index(whole.pop()))} - inside
        whole += new
        inside |= new
    return left, inside


def fixed_in(export: Any) -> str:
    """What the fixed charges are a part of by sums: the amount before tax (net), or the gross."""
    if "fixed" not in export.headers:
        return ""
    inside = money_left(export)[1]
    places = {name: h[0].place for name, h in export.headers.items()}
    before = "net" in places or places.get("tax") in inside
    return "" if places["fixed"] not in inside else "net" if before else "gross"


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
    free = [i for i, text in enumerate(texts) if not says(text, "of before", "price")]

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
        ways = [
            [i for i in pool if re.search(r"\b(?:current|new)\b", plain(texts[i]))],
            [i for i in pool if parts[i] and i not in inner],
            _by_price(found, head, below, pool, places),
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
    on_top = "tax" in found.headers and "net" not in found.headers and _is_before_tax(
        texts[amount], places, figures, amount, found.headers["tax"][0].place)  # fmt: skip
    if said and places[amount] == said[0].place and not on_top:
        return {}
    return {"net" if on_top else "amount": texts[amount]}


def _by_price(
    found: HeaderReading, head: FileLine, below: Sequence[FileLine], pool: list[int],
    places: list[int],
) -> list[int]:  # fmt: skip
    """The column that is the quantity times one of the prices."""
    counts = [h.place for h in found.headers.get("quantity", ())][:1]
    prices = [place for place, text in enumerate(head.cells)
              if says(str(text or ""), "price")]  # fmt: skip
    table = in_cents(below, [*places, *prices, *counts]) if counts and prices else None
    if table is None:
        return []
    made = table[:, len(places) : -1] * table[:, -1:] / 100
    return [i for i in pool if any((np.abs(made[:, k] - table[:, i]) <= 1.01).mean() >= 0.9
                                   for k in range(made.shape[1]))]  # fmt: skip


def _is_before_tax(
    heading: str, places: list[int], figures: np.ndarray, amount: int, tax: int
) -> bool:
    """Whether the tax comes on top of an amount: by its word, or by the rates, where the tax is a
    round part of the amount, and not of what is left of it without the tax."""
    if says(heading, "before tax"):
        return True
    if tax not in places or says(heading, "with tax"):
        return False
    lines = figures[np.abs(figures[:, places.index(tax)]) >= 50]
    paid, taxes = lines[:, amount], lines[:, places.index(tax)]

    def round_rates(base: np.ndarray) -> bool:
        with np.errstate(divide="ignore", invalid="ignore"):
            rates = np.nan_to_num(np.round(taxes / base * 2000) / 2000, posinf=0, neginf=0)
        return bool((np.abs(base * rates - taxes) <= 1.01).mean() >= 0.9)

    return len(lines) > 1 and round_rates(paid) and not round_rates(paid - taxes)
