"""What a design costs: bounds that are quick to know, then its true purchase."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from functools import cache, lru_cache
from math import inf
from typing import NamedTuple

import numpy as np

from xlfuncs.calculations.buying.basket import basket
from xlfuncs.calculations.buying.packs import cheapest_packs
from xlfuncs.calculations.buying.part_purchase import Need, Offer, full_price
from xlfuncs.calculations.buying.parts_count import FedBed, Rule, parts_count
from xlfuncs.calculations.buying.roll_fit import cut_length
from xlfuncs.calculations.designs.question import Design, Frame, Option, Question
from xlfuncs.errors import InputError

_OF_LINES = ("line", "line length")
"""What rules count that depends on the lines chosen, width by width."""


class Cost(NamedTuple):
    """Money with tax and delivery; nothing buys the same for less than `bound`."""

    total: float
    bound: float
    left_over: float = 0.0
    left_over_value: float = 0.0


class Costs:
    """Prices designs; every purchase of a part is made once."""

    def __init__(self, question: Question) -> None:
        self._question, self._buying = question, question.buying
        self._offers: dict[str, list[Offer]] = defaultdict(list)
        for offer in question.buying.offers:
            self._offers[offer.part].append(offer)
        self._mains = {pipe.name for pipe in question.mains} | {
            pipe.name for pipe in question.manifolds
        }
        self._regulators = {regulator.name for regulator in question.regulators}
        self._least: dict[tuple[str, float, bool], float] = {}
        self.rules, self.cut = cache(self._rules), cache(self._cut)
        self._basket = cache(self._bought)
        self.fed = lru_cache(maxsize=64)(self._fed)

    # --- what is needed ---

    def _rules(self, frame: Frame) -> list[Rule]:
        """The counting rules with the pipes and the regulator of the frame in their places."""
        question = self._question
        main = question.mains[frame.main].name
        manifold = None if frame.manifold is None else question.manifolds[frame.manifold].name
        regulator = question.regulators[frame.regulator].name
        found = []
        for rule in self._buying.rules:
            part = rule.part
            if part in self._mains and rule.counted_by == "main length":
                part = main
            elif part in self._mains and rule.counted_by == "manifold length":
                part = manifold or part
            elif part in self._regulators:
                part = regulator
            found.append(replace(rule, part=part))
        return found

    def _cut(self, line: int) -> list[float]:
        """The length (m) to cut of this line for each bed."""
        spacing, ends = self._question.lines[line].emitter_spacing, self._buying.end_allowance
        return [float(cut_length(bed.length, spacing, ends)) for bed in self._question.beds]

    def needs(self, design: Design, sets: Sequence[int]) -> list[Need]:
        """All that the design needs, with the set of each bed (0: none)."""
        with_manifold = design.frame.manifold is not None
        beds, pieces = self.fed(design.options, with_manifold, tuple(sets))
        rules = self.rules(design.frame)
        counts = parts_count(
            beds, rules, self._buying.trimming, self._buying.turns,
            stations=self._question.wanted.stations or 0,
        )  # fmt: skip
        needs = [
            Need(rule.part, 1, count.length, True)
            if count.length
            else Need(rule.part, count.number + count.spares)
            for rule, count in zip(rules, counts, strict=True)
            if count.length or count.number + count.spares
        ]
        return needs + pieces

    def _fed(
        self, options: Sequence[Option], with_manifold: bool, sets: Sequence[int]
    ) -> tuple[list[FedBed], list[Need]]:
        """The beds as parts are counted from them, and the pieces of line that lie in them."""
        question, beds, pieces = self._question, [], []
        for row, bed in enumerate(question.beds):
            line, number = options[question.width_of[row]]
            kind, length = question.lines[line], self.cut(line)[row]
            beds.append(
                FedBed(
                    number, length, bed.distance, bed.branch, bed.branch_start,
                    bed.width if with_manifold else 0.0,
                    str(sets[row] or ""), kind.name, kind.kind,
                )
            )  # fmt: skip
            pieces.append(Need(kind.name, number, length))
        return beds, pieces

    # --- what it costs ---

    def true(self, needs: Sequence[Need]) -> Cost:
        """The cheapest purchase as `basket` makes it: part by part, unless shops charge an order,
        which one pays for all that is bought there."""
        if self._buying.orders:
            return self._basket(tuple(needs))
        costs = [self._basket(tuple(of_part)) for of_part in _by_part(needs).values()]
        return Cost(*map(sum, zip(*costs, strict=True)))

    def _bought(self, needs: tuple[Need, ...]) -> Cost:
        parts = {need.part for need in needs}
        offers = [offer for part in parts for offer in self._offers[part]]
        stock = [item for item in self._buying.stock if item.part in parts]
        limit, orders = self._buying.time_limit, self._buying.orders
        try:
            lines = basket(needs, offers, inf, limit, stock, orders)
        except InputError:  # no price, or a piece longer than every roll
            return Cost(inf, inf)
        total = float(sum(line.total for line in lines))
        proven = not any("best found" in line.note for line in lines)
        return Cost(
            total, total if proven else min(total, self.bound(needs)),
            sum(line.left_over for line in lines), float(sum(line.spare_money for line in lines)),
        )  # fmt: skip

    def bound(self, needs: Sequence[Need]) -> float:
        """A cost that no purchase is below: pieces as if rolls could be joined end to end."""
        return sum(self.least(tuple(of_part)) for of_part in _by_part(needs).values())

    def least(self, needs: tuple[Need, ...]) -> float:
        by_length = any(need.length for need in needs)
        total = sum(need.number * (need.length if by_length else 1) for need in needs)
        key = (needs[0].part, round(total, 6), by_length)
        if key not in self._least:
            self._least[key] = self._joined(needs[0].part, total, by_length)
        return self._least[key]

    def _joined(self, part: str, total: float, by_length: bool) -> float:
        total -= self._in_store(part, by_length)
        if total <= 0:
            return 0.0
        offers = [o for o in self._offers[part] if bool(o.roll_length) == by_length]
        if not offers or any(np.isnan(offer.price) for offer in offers):
            return inf
        plan = cheapest_packs(
            total,
            [offer.roll_length if by_length else offer.pack for offer in offers],
            [full_price(offer) for offer in offers],
            [offer.from_packs for offer in offers],
        )
        return plan.bound * (1 - 1e-9) - 0.005 * len(offers)  # each line is rounded to the cent

    def _in_store(self, part: str, by_length: bool) -> float:
        """How much of it is there: pieces, or m of line."""
        own = (s for s in self._buying.stock if s.part == part and bool(s.length) == by_length)
        return sum(item.number * (item.length if by_length else 1) for item in own)

    # --- bounds that add up width by width ---

    def per_unit(self, part: str, by_length: bool) -> float:
        """The least that a piece or a metre of a part costs in any offer."""
        offers = [o for o in self._offers[part] if bool(o.roll_length) == by_length]
        sizes = [offer.roll_length if by_length else offer.pack for offer in offers]
        each = [full_price(offer) / size for offer, size in zip(offers, sizes, strict=True)]
        return min(each, default=inf)

    def of_width(self, width: int, option: Option) -> float:
        """What lines and their own parts cost at least in the beds of one width."""
        line, number = option
        rows = [row for row, own in enumerate(self._question.width_of) if own == width]
        metres = sum(self.cut(line)[row] for row in rows) * number
        kind = self._question.lines[line]
        cost = metres * self.per_unit(kind.name, True)
        for rule in self._buying.rules:
            if rule.counted_by in _OF_LINES and rule.only_line in ("", kind.name, kind.kind):
                base = metres if rule.counted_by == "line length" else number * len(rows)
                if rule.counted_by == "line length" and not rule.every:
                    cost += base * self.per_unit(rule.part, True)
                else:
                    count = base / (rule.every or 1.0) * rule.each * (1 + rule.spare_share)
                    cost += count * self.per_unit(rule.part, False) if count else 0.0
        return cost

    def of_frame(self, design: Design, sets: Sequence[int]) -> float:
        """What all else costs at least: mains, manifolds, head assembly, what beds need."""
        dependent = {
            rule.part
            for rule in self._buying.rules
            if rule.counted_by in _OF_LINES or rule.only_line
        }
        kinds = {line.name for line in self._question.lines}
        needs = [
            need for need in self.needs(design, sets)
            if need.part not in dependent and need.part not in kinds
        ]  # fmt: skip
        # of_width prices all that is needed; what is in store was bought already
        there = {s.part for s in self._buying.stock} & (dependent | kinds)
        saved = sum(
            amount * self.per_unit(part, by_length)
            for part in there
            for by_length in (True, False)
            if (amount := self._in_store(part, by_length)) and self._offers[part]
        )
        return self.bound(needs) - saved


def _by_part(needs: Sequence[Need]) -> dict[str, list[Need]]:
    found: dict[str, list[Need]] = defaultdict(list)
    for need in needs:
        found[need.part].append(need)
    return found
