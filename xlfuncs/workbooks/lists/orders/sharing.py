"""Sums of whole orders that stand on their lines, on each or on one: shared over the lines.

They are known by what the lines come to, with the delivery, the tax and the discounts of the order.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from itertools import combinations
from typing import Any

import numpy as np

from xlfuncs.tables.header_words import UnreadableError, says
from xlfuncs.tables.headers import Header
from xlfuncs.workbooks.lists.ledger.export import Export
from xlfuncs.workbooks.lists.ledger.figures import is_on_top
from xlfuncs.workbooks.lists.ledger.headings import EXPORTED, is_figure, is_price, money_places
from xlfuncs.workbooks.lists.ledger.lines import LineReader
from xlfuncs.workbooks.lists.ledger.netting import parts_by
from xlfuncs.workbooks.lists.lines import FileLine, is_date, shown
from xlfuncs.workbooks.lists.orders.columns import likely_kinds

_Figures = dict[int, Decimal]  # by the number of the line
_PRICED, _TAXED = -1, -2  # the places of quantity times price, of an amount with its tax
_DAYS = ("date", "bill_date", "period_start")
_MONEY = ("amount", "net", "tax", "fixed", "currency")
_TRIED = 60  # orders, to see what is the sum of what
_Way = tuple[int, int, tuple[int, ...]]  # the places of a sum, of the lines' own, of other parts


def with_orders_shared(reader: LineReader) -> LineReader:
    """The reader, of an export whose lines have their own parts of what their orders come to."""
    export = reader.export
    if "period_start" in export.headers or likely_kinds(export):
        return reader
    for place in _numbers(export):
        if (found := Sums(reader, place).shared()) is not None:
            return replace(reader, export=found)
    return reader


def _numbers(export: Export) -> Iterator[int]:
    """The place of the orders' numbers, or of what may be them: the same on lines in a row."""
    if "reference" in export.headers:
        yield export.headers["reference"][0].place
        return
    used = {header.place for found in export.headers.values() for header in found}
    for place, text in enumerate(export.head.cells):
        cells = [cell for line in export.below if (cell := line.cell(place)) is not None]
        runs = sum(one != other for one, other in zip(cells, [None, *cells], strict=False))
        numbered = all(is_figure(cell) for cell in cells) and not any(map(is_date, cells))
        if text is not None and place not in used and numbered and runs == len({*cells}):
            yield place


@dataclass(frozen=True)
class Sums:
    """The columns of money of an export beside its orders, by the place of their numbers."""

    reader: LineReader
    number: int

    @classmethod
    def of(cls, reader: LineReader) -> "Sums":
        """Beside its orders by the number that is known."""
        number = reader.export.headers.get("reference")
        return cls(reader, number[0].place if number else len(reader.export.head.cells))

    @cached_property
    def orders(self) -> list[list[FileLine]]:
        found: dict[str, list[FileLine]] = {}
        for line in self.reader.export.below:
            if number := shown(line.cell(self.number)).strip():
                found.setdefault(number, []).append(line)
        return [*found.values()]

    @cached_property
    def columns(self) -> dict[int, _Figures]:
        """The figures of what may be sums of money, what is taken off below nothing."""
        export = self.reader.export
        used = {h.place for name, found in export.headers.items() for h in found
                if name not in _MONEY} | {self.number}  # fmt: skip
        columns = {}
        for place in money_places(export.head, export.below):
            if place not in used and not is_price(self.text(place)):
                less = says(self.text(place), "discount")
                figures = self.figures(place)
                columns[place] = {n: -abs(x) if less else x for n, x in figures.items()}
        counts = self.figures(h[0].place) if (h := export.headers.get("quantity")) else {}
        for place, text in enumerate(export.head.cells if counts else ()):
            if is_price(str(text or "")):
                prices = self.figures(place)
                columns[_PRICED] = {n: counts[n] * prices[n] for n in counts if n in prices}
        taxes = [columns[h.place] for h in export.headers.get("tax", ()) if h.place in columns]
        net = columns.get(export.headers["net"][0].place) if "net" in export.headers else None
        if net and taxes and not any(map(self.is_of_orders, (net, *taxes))):
            columns[_TAXED] = {n: x + sum(tax.get(n, 0) for tax in taxes) for n, x in net.items()}
        return columns

    def figures(self, place: int) -> _Figures:
        found = {}
        for line in self.reader.export.below:
            try:
                figure = self.reader.figure(line.cell(place))
            except UnreadableError:
                continue
            if figure is not None:
                found[line.number] = figure
        return found

    def text(self, place: int) -> str:
        return str(self.reader.export.head.cell(place))

    def is_of_orders(self, figures: _Figures) -> bool:
        """Whether all lines of an order have the same figure, or but one has a figure."""
        long = [[figures.get(line.number) for line in lines]
                for lines in self.orders if len(lines) > 1]  # fmt: skip
        alike = all(len({*row}) == 1 or row.count(None) == len(row) - 1 for row in long)
        return alike and any(any(row) for row in long)

    @cached_property
    def of_orders(self) -> list[int]:
        return [place for place, figures in self.columns.items()
                if place >= 0 and self.is_of_orders(figures)]  # fmt: skip

    @cached_property
    def of_lines(self) -> list[int]:
        lines = [line.number for lines in self.orders for line in lines]
        return [place for place, figures in self.columns.items()
                if sum(bool(figures.get(number)) for number in lines) * 5 >= len(lines) * 4
                and place not in self.of_orders]  # fmt: skip

    @cached_property
    def sums(self) -> dict[int, list[float]]:
        """What each column comes to, order by order; what each line repeats, once."""

        def of(place: int, lines: list[FileLine]) -> float:
            figures = self.columns[place]
            found = [figures[line.number] for line in lines if line.number in figures]
            return float(sum(found[:1] if place in self.of_orders else found))

        return {place: [of(place, lines) for lines in self.orders] for place in self.columns}

    def not_made(
        self, whole: int, own: int, parts: tuple[int, ...], count: int | None = None
    ) -> list[int]:
        """Which of the first orders are not the sum of their lines and of parts of the order."""
        places = (own, *parts)
        return [i for i, lines in enumerate(self.orders[:count])
                if abs(self.sums[whole][i] - sum(self.sums[p][i] for p in places))
                > 0.011 + 0.005 * len(lines)]  # fmt: skip

    def ways(self, given: int) -> Iterator[_Way]:
        """What may be the sum of an order, with the lines' own amounts and the other parts of it,
        fewest parts first: the amount that is known, else one that is larger."""
        total = sum(self.sums.get(given, ()))
        for count in range(5):
            for whole in [given] if given in self.of_orders else self.of_orders:
                others = [place for place in self.of_orders if place != whole][:8]
                for own in self.of_lines:
                    more = sum(self.sums[whole]) > total and (count or own in (given, _TAXED))
                    if whole == given or more:
                        yield from ((whole, own, parts) for parts in combinations(others, count))

    def shared(self) -> Export | None:
        """The export with each order's sums shared; None where none stand on its lines."""
        if not self.of_orders:
            return None
        headers = self.reader.export.headers
        given = headers["amount" if "amount" in headers else "net"][0].place
        tried = len(self.orders[:_TRIED])
        made = [way for way in self.ways(given) if len(self.not_made(*way, tried)) * 5 <= tried]
        if made:
            most = max(sum(self.sums[whole]) for whole, *_ in made)
            way = next(way for way in made if sum(self.sums[way[0]]) == most)
            with_, off = " + ".join(map(self.text, way[2])), self.not_made(*way)
            words = f", with {with_}" * bool(with_)
            lines = ", ".join(str(self.orders[i][0].number) for i in off[:8])
            words += f"; they do not make it on line {lines}" * bool(off)
            return self._with(way, words)
        own = self.of_lines
        if given in self.of_orders and "reference" in headers and own and self._is_sure():
            return self._with((given, own[-1], ()), ", though these do not make it")
        if given in own and any(h.place in self.of_orders for h in headers.get("tax", ())):
            return self._with((given, given, ()), "")
        return None

    def is_apart(self, place: int) -> bool | None:
        """Whether what a column takes off is in no line's amount yet: other sums, or quantity times
        price, are the amount without it, or it stands once an order; None where nothing tells."""
        off = {n: float(x) for n, x in self.columns[place].items() if x}
        headers = self.reader.export.headers
        known = {h.place: name for name in _MONEY[:3] for h in headers.get(name, ())
                 if h.place in self.columns}  # fmt: skip
        own = [self.columns[p] for p, name in known.items() if name != "tax"]
        taxes = [self.columns[p] for p, name in known.items() if name == "tax"]
        own += [{n: x - sum(tax.get(n, 0) for tax in taxes) for n, x in a.items()} for a in own]
        others = [
            figures for p, figures in self.columns.items() if p not in (place, _TAXED, *known)
        ]

        def fit(bases: list[_Figures], *ways: Callable[[float, float], float]) -> bool:
            return any(
                sum(abs(way(float(base[n]), x) - float(amount[n])) <= 0.011
                    for n, x in off.items() if n in base and n in amount) * 5 >= 4 * len(off)
                for base in bases for amount in own if base is not amount for way in ways
            )  # fmt: skip

        if fit([*others, *own], lambda base, x: base + x, lambda base, x: base * (1 + x / 100)):
            return False
        if fit(others, lambda base, _: base) or place in self.of_orders:
            return True
        return None

    def _is_sure(self) -> bool:
        """Whether several orders have several lines, each order of one day."""
        headers = self.reader.export.headers
        days = [h.place for name in _DAYS for h in headers.get(name, ())][:1]
        long = [{line.cell(place) for line in lines for place in days} - {None}
                for lines in self.orders if len(lines) > 1]  # fmt: skip
        return len(long) > 1 and all(len(found) == 1 for found in long)

    def _with(self, way: _Way, words: str) -> Export:
        """The export with what orders come to in parts, by the lines' own amounts, and words on it;
        the day of an order may stand on one of its lines alone."""
        export, (whole, own, _) = self.reader.export, way
        headers = dict(export.headers)
        taxes = [h.place for h in headers.get("tax", ()) if h.place in self.of_orders]
        days = [h.place for name in _DAYS for h in headers.get(name, ())]
        cells: dict[tuple[int, int], Any] = {}
        for lines in self.orders:
            for place in {whole, *taxes} & {*self.of_orders}:
                cells |= self._parted(place, own, lines)
            for place in days:
                found = [day for line in lines if (day := line.cell(place)) is not None]
                cells |= {(line.number, place): found[0] for line in lines
                          if found and line.cell(place) is None}  # fmt: skip
        given = headers.pop("amount", None) or headers["net"]
        paid = "amount" if given is not headers.pop("net", None) else self._paid(way, taxes)
        headers[paid] = (Header(whole, self.text(whole), EXPORTED[paid]),)
        number = Header(self.number, self.text(self.number), EXPORTED["reference"])
        used = {p for p in (own, *self.of_orders) if p >= 0 and p not in (whole, *taxes)}
        headers = {"reference": (number,)} | headers
        headers["shared"] = tuple(Header(p, self.text(p), EXPORTED["amount"]) for p in used)
        made = {_PRICED: "quantity times price", _TAXED: "their amounts with tax"}
        by = made.get(own) or repr(self.text(own))
        said = " and ".join(repr(self.text(p)) for p in dict.fromkeys((whole, *taxes))
                            if p in self.of_orders)  # fmt: skip
        noted = f"{said}: of whole orders, shared over their lines by {by}{words}"
        noted = "; ".join(filter(None, [export.noted, noted]))
        below = [_with_cells(line, cells, len(export.head.cells)) for line in export.below]
        return replace(export, headers=headers, below=below, noted=noted)

    def _paid(self, way: _Way, taxes: list[int]) -> str:
        """Whether what orders come to was paid (amount), or a tax comes on top of it (net)."""
        whole, own, parts = way
        if own == _TAXED or {*taxes} & {*parts}:
            return "amount"
        if not taxes:
            return "net"
        if any(says(self.text(tax), "with tax") for tax in taxes):
            return "amount"
        table = 100 * np.array([self.sums[place] for place in (whole, *taxes)]).T
        stated = self.reader.stated
        on_top, _ = is_on_top(self.text(whole), set(), table[:, 0], table[:, 1:], stated)
        return "net" if on_top else "amount"

    def _parted(self, place: int, own: int, lines: list[FileLine]) -> dict[tuple[int, int], float]:
        """What an order's lines have of its figure in a column."""
        figures = self.columns[place]
        of_order = next((figures[n.number] for n in lines if n.number in figures), None)
        if of_order is None:
            return {}
        amounts = [self.columns[own].get(line.number, 0) for line in lines]
        parts = zip(lines, parts_by(amounts, of_order), strict=True)
        return {(line.number, place): float(part) for line, part in parts}


def _with_cells(line: FileLine, cells: dict[tuple[int, int], Any], width: int) -> FileLine:
    held = [cells.get((line.number, place), line.cell(place)) for place in range(width)]
    return line if line.blank else replace(line, cells=(*held, *line.cells[width:]))
