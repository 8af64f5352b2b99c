"""A copy that was made before: what it said, held against what the next one says."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from workbook_template.client_copy.facts import Facts
from workbook_template.client_copy.scheme import Conclusion, Offer, Scheme, attack
from workbook_template.client_copy.selling import Sold
from xlfuncs.errors import WorkbookError
from xlfuncs.tables.money.quotation import OPTIONS
from xlfuncs.workbooks.our_tables.read_inputs import Reading
from xlfuncs.workbooks.our_tables.table_cells import cell_value, named_cells
from xlfuncs.xlsx.contents import CellValue, Contents
from xlfuncs.xlsx.package import Package

NUMBER = "Quotation, revision"
_TABLES = (("Quotation", "Item", "Price"), ("Purchase", "Part", "Price"))

_ALIKE = 4  # columns that say what a row is and how much of it


@dataclass(frozen=True)
class Former:
    """The quotation's number with its revision, its totals, and the rows of each priced thing."""

    number: str = ""
    totals: tuple[float, ...] = ()
    rows: dict[str, list[tuple[CellValue, ...]]] = field(default_factory=dict)
    prices: dict[str, list[float]] = field(default_factory=dict)

    @classmethod
    def of(cls, content: Any) -> Former | None:
        """None for a file that is not there, or no copy with a quotation."""
        if content is None:
            return None
        try:
            contents = Contents(Package.open(content))
            read = {name: _rows(contents, name) for name, *_ in _TABLES}
        except (WorkbookError, OSError):
            return None
        named = {str(row[0]): row[1:] for row in read["Quotation"]}
        rows: dict[str, list[tuple[CellValue, ...]]] = defaultdict(list)
        prices: dict[str, list[float]] = defaultdict(list)
        for sheet, thing, price in _TABLES:
            heads: tuple[CellValue, ...] = ()
            for row in read[sheet]:
                if thing in row and price in row:
                    heads = row
                elif heads and isinstance(name := row[heads.index(thing)], str):
                    rows[name.lower()].append(row)
                    if isinstance(paid := row[heads.index(price)], float):
                        prices[name.lower()].append(paid)
        totals = tuple(v for v in named.get("Total", ()) if isinstance(v, float))
        number = next((str(v) for v in named.get(NUMBER, ()) if v), "")
        return cls(number, totals, rows, prices) if totals else None

    def differing(
        self, then: Former, offers: Iterable[Offer], scheme: Scheme
    ) -> tuple[list[Offer], list[Offer]]:
        """The prices of what differs, and what the same things were offered at then.

        Without a secret in the settings a part has another spread in each copy.
        """
        new, old = [], []
        for offer in offers:
            name = offer.part.lower()
            was, now = then.prices.get(name, []), self.prices.get(name, [])
            if then.rows.get(name) == self.rows.get(name) or not now:
                continue
            new.append(offer)
            before, after = ([row[:_ALIKE] for row in f.rows.get(name, [])] for f in (then, self))
            if before == after and len(was) == len(now) == 1 and was != now:
                again = offer.part if scheme.secret else f"{offer.part} before"
                low, high = scheme.room(was[0])
                old.append(replace(offer, part=again, low=low, high=high))
        return new, old


def _rows(contents: Contents, name: str) -> list[tuple[CellValue, ...]]:
    found: dict[int, dict[int, CellValue]] = defaultdict(dict)
    for cell in contents.scan(contents.sheet(name)).cells:
        found[cell.row][cell.column] = contents.value(cell)
    wide = max((max(row) for row in found.values()), default=0)
    return [tuple(row.get(c) for c in range(1, wide + 1)) for _, row in sorted(found.items())]


# --- what the consultant is told of the prices in a copy: their sums, and what they give away ---


def quoted(reading: Reading, facts: Facts) -> Iterator[str]:
    """What is asked for each option, beside what it costs by the workbook."""
    places = named_cells(reading.contents)
    for option in OPTIONS:
        name = f"option_{option.lower()}"
        price = facts.named(f"{name}_price")
        cost, own = (cell_value(reading.contents, places[n]) if n in places else None
                     for n in (f"{name}_cost", f"{name}_price"))  # fmt: skip
        if all(isinstance(v, float) and v for v in (price, cost, own)):
            told = f"{price:,.2f} before tax, {price / cost - 1:.1%} above its cost"
            yield f"Option {option}: {told}; exactly {own:,.2f} on your Quotation"


def attacks(
    sold: Sold, scheme: Scheme, now: Former | None, then: Former | None
) -> Iterator[Conclusion]:
    """By a reader of the copy; by those who know the costs of what differs in it, or since."""
    yield attack(sold.offers, scheme.spread, sold.markup)
    own = [offer for offer in sold.offers if offer.option in OPTIONS]
    known = {"the options differ": [own] if len({o.option for o in own}) > 1 else [[]]}
    if then and now:
        new, old = now.differing(then, sold.offers, scheme)
        known["it differs from the copy before"] = [new, [*new, *old]]
    for what, sets in known.items():
        if sets[0]:  # whichever tells more: the markup may have changed as well
            who = f"one who knows the costs of all by which {what},"
            yield max((attack(offers, scheme.spread, sold.markup, who=who, costs_known=True)
                       for offers in sets), key=lambda concluded: concluded.near)  # fmt: skip


def replaced(now: Former | None, then: Former | None) -> str:
    """A word where one number and revision stands for two prices."""
    if not (then and now) or then.number != now.number or then.totals == now.totals:
        return ""
    was, now_is = (" / ".join(f"{v:,.2f}" for v in f.totals) for f in (then, now))
    return (
        f"WARNING: {now.number or 'a quotation without a number'} was made with a total of {was}"
        f" before, and now has {now_is}: count Revision on Quoting up if that one was sent"
    )
