"""A copy that was made before: what it said, held against what the next one says."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from workbook_template.client_copy.attack import Offer
from workbook_template.client_copy.scheme import Scheme
from xlfuncs.errors import WorkbookError
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
