"""Whole designs from the tables and settings of a workbook, in the units of its system."""

from collections.abc import Mapping, Sequence
from math import nan
from typing import Any

import numpy as np

from xlfuncs.calculations.arrays import Floats
from xlfuncs.calculations.buying.basket import Order
from xlfuncs.calculations.buying.part_purchase import Offer, Stock
from xlfuncs.calculations.buying.parts_count import Rule
from xlfuncs.calculations.designs import question as asked
from xlfuncs.calculations.designs.mending import doubts, fault_words, mend_words, mended
from xlfuncs.calculations.designs.search import Found, Search, Solved
from xlfuncs.calculations.layout.beds import bed_area, emitter_flow_from_tape
from xlfuncs.calculations.quantity_words import width_words
from xlfuncs.calculations.supply.head_parts import HeadParts
from xlfuncs.calculations.timer.programs import day_list
from xlfuncs.catalogue.design_rows import DesignRow, Designs
from xlfuncs.catalogue.design_sources import AsRead, AsTyped, Given
from xlfuncs.errors import InputError
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.head_assembly import HEAD_PARTS, REGULATOR, REGULATORS
from xlfuncs.tables.garden.lines import LINES, PIPES
from xlfuncs.tables.money.parts import COUNTING_RULES, LINE, MAIN_LENGTH, MANIFOLD_LENGTH
from xlfuncs.tables.money.prices import ALREADY_HAVE, ORDERS, PRICES
from xlfuncs.units import from_base, to_base

_PLANTINGS = {
    "single row": "layout_single_row", "twin rows": "layout_twin_rows",
    "zigzag": "layout_zigzag", "broad cover": "layout_broad_cover",
}  # fmt: skip
_DAY = 86400.0
_MOST_FAILING = 6  # cheaper designs that fail and are told of


def whole_designs(given: Given | AsRead, time_limit: float = 10.0, front: bool = True) -> Designs:
    """The cheapest design that passes every check, others that are better in something, cheaper
    ones that fail. Raises InputError for what is missing or wrong."""
    reader = _Reader(AsTyped(given) if isinstance(given, Given) else given)
    question = reader.question()
    search = Search(question, time_limit)
    found = search.solve(front)
    rows = [
        reader.row("cheapest" if place == 0 else "other", question, solved)
        for place, solved in enumerate(found.front)
    ]
    if front:
        rows += _failing(reader, search, found)
    left_out = reader.source.left_out
    uncovered = [f"{bed.name}, {width_words(bed.width)} wide, is not served by"
                 f" {question.wanted.most_lines} lines" for bed in question.unserved]  # fmt: skip
    return Designs(rows, found.bound, found.designs, found.judged, found.some, left_out, uncovered)


def _failing(reader: "_Reader", search: Search, found: Found) -> list[DesignRow]:
    """The cheapest designs that fail, one a check and regulator, with what would mend them."""
    told: set[object] = set()
    rows: list[DesignRow] = []
    for solved in sorted(found.failing, key=lambda solved: solved.cost.total):
        breach, frame = solved.verdict.breach, solved.design.frame
        key = (breach.check if breach else "", frame.regulator)
        if breach is None or key in told or len(rows) >= _MOST_FAILING:
            continue
        told.add(key)
        cure = mend_words(solved, mended(search, solved))
        words = fault_words(search.question, solved.verdict)
        rows.append(reader.row("fails", search.question, solved, words, cure))
    return rows


class _Reader:
    """Makes a question of tables and settings, and rows of what is found."""

    def __init__(self, source: AsTyped | AsRead) -> None:
        self.source, self._system = source, source.system

    # --- reading ---

    def question(self) -> asked.Question:
        rules, offers = self._rules(), self._offers()
        priced = {offer.part for offer in offers}
        beds, lines = self._beds(), self._lines(rules, priced)
        pipes = self._pipes(priced)
        regulators = self._regulators()
        named = {rule.part for rule in rules}
        in_rules = {pipe.name for pipe in pipes} & named
        fed = any(row.get("manifold_pipe") for row in self.source.rows(BEDS))
        lengths = {rule.counted_by for rule in rules if rule.part in in_rules}
        if MAIN_LENGTH not in lengths:
            words = "no rule counts the main by its length under the name of a pipe on Pipes"
            raise InputError("CountingRules", words)
        buying = asked.Buying(
            rules, offers, self.source.setting("end_allowance"), self.source.setting("trimming"),
            int(self.source.setting("main_turns")), stock=self._stock(), orders=self._orders(),
        )  # fmt: skip
        return asked.Question(
            beds, lines, pipes, pipes if fed and MANIFOLD_LENGTH in lengths else [], regulators,
            self.source.flow, self.source.pressure, self._wanted(), buying,
        )  # fmt: skip

    def _needed(self, name: str) -> Any:
        value = self.source.setting(name)
        if value is None:
            raise InputError(name, "is not given yet")
        return value

    def _beds(self) -> list[asked.Bed]:
        keep, beds = bool(self.source.setting("keep_valves")), []
        for row in self.source.rows(BEDS):
            strips = float(row["strips"])
            beds.append(
                asked.Bed(
                    str(row["bed"]), row["length"], row["bed_top_width"] or
                    strips * row["strip_width"],
                    float(bed_area(row["length"], row["strip_width"], strips)), row["distance"],
                    row["elevation"], row["slope"], int(row["branch"]), row["branch_start"],
                    strips, row["strip_width"], bool(row["on"]),
                    str(row["valve"] or "") if keep else "",
                )
            )  # fmt: skip
        return beds

    def _lines(self, rules: Sequence[Rule], priced: set[str]) -> list[asked.Line]:
        lines = []
        for row in self.source.rows(LINES):
            name, kind = str(row["line"]), str(row["kind"])
            flow = row["emitter_flow"]
            if flow is None and row["flow_per_length"] is not None:
                flow = emitter_flow_from_tape(row["flow_per_length"], row["emitter_spacing"])
            counted = any(
                rule.counted_by == LINE and rule.only_line in ("", name, kind) for rule in rules
            )
            if flow is None:
                self.source.left_out.append(f"{name}: neither emitter flow nor flow per length")
            elif name not in priced:
                self.source.left_out.append(f"{name}: no roll of it on Prices")
            elif not counted:
                self.source.left_out.append(f"{name}: no counting rule is for it or its kind")
            else:
                lines.append(
                    asked.Line(
                        name, kind, row["emitter_spacing"], float(flow), row["rated_pressure"],
                        row["inside_diameter"], row["exponent"], row["cv"] or 0.0,
                        row["min_pressure"] or 0.0, _or_nan(row["max_pressure"]),
                    )
                )  # fmt: skip
        return lines

    def _pipes(self, priced: set[str]) -> list[asked.Pipe]:
        pipes = []
        for row in self.source.rows(PIPES):
            if row["pipe"] in priced:
                pipes.append(asked.Pipe(str(row["pipe"]), row["inside_diameter"]))
            else:
                self.source.left_out.append(f"{row['pipe']}: no roll of it on Prices")
        return pipes

    def _regulators(self) -> list[asked.Regulator]:
        """The head assembly as it is, or once with each of the regulators to compare."""
        parts = self.source.rows(HEAD_PARTS)
        dirty = self.source.setting("dirty_filters") is not False
        own = next((i for i, part in enumerate(parts) if part["kind"] == REGULATOR), None)
        others = self.source.rows(REGULATORS)
        if own is None or not others:
            return [asked.Regulator("", _head(parts, dirty))]
        return [
            asked.Regulator(str(other["regulator"]), _head(_replaced(parts, own, other), dirty))
            for other in others
        ]

    def _rules(self) -> list[Rule]:
        return [
            Rule(
                str(row["part"]), str(row["counted_by"]), row["each"], row["every"] or 0.0,
                row["spare_share"], int(row["least_spares"]), str(row["only_line"] or ""),
            )
            for row in self.source.rows(COUNTING_RULES)
        ]  # fmt: skip

    def _offers(self) -> list[Offer]:
        return [
            Offer(
                str(row["part"]), 0.0 if row["roll_length"] else row["pack"] or 1.0,
                row["roll_length"] or 0.0, row["price"], int(row["from_packs"]),
                str(row["currency"]), row["tax"], row["delivery"], shop=str(row["shop"] or ""),
            )
            for row in self.source.rows(PRICES)
        ]  # fmt: skip

    def _stock(self) -> list[Stock]:
        return [
            Stock(str(row["part"]), int(row["number"]), row["length"] or 0.0)
            for row in self.source.rows(ALREADY_HAVE)
        ]

    def _orders(self) -> list[Order]:
        return [
            Order(str(row["shop"]), row["delivery"], row["tax"]) for row in self.source.rows(ORDERS)
        ]

    def _wanted(self) -> asked.Wanted:
        times = self._days(self._needed("waterings_a_week"))
        depth = self._needed("weekly_depth") / times / self._needed("efficiency")
        most, stations = self.source.most_pressure, self.source.setting("stations")
        return asked.Wanted(
            depth, self._window(), self.source.wetted_width(), self.source.setting("wanted_share"),
            self.source.setting("wanted_uniformity"), self.source.setting("max_velocity"),
            self.source.setting("supply_share"),
            _or_nan(most),
            tuple(p for p, name in _PLANTINGS.items() if self.source.setting(name) is not False),
            _or_nan(self.source.setting("layout_row_gap")),
            stations=None if stations is None else int(stations),
        )  # fmt: skip

    def _days(self, times: float) -> int:
        """Waterings a week as the timer has them: on whole days, of those allowed."""
        return min(max(int(times + 0.5), 1),
                   sum(day_list(self.source.setting("allowed_days") or "")))  # fmt: skip

    def _window(self) -> float:
        """Seconds a day in which beds may be watered: the timer's window without the hose's."""
        longest = self.source.setting("longest_day") or _DAY
        start, end = self.source.setting("allowed_from"), self.source.setting("allowed_to")
        if start is None or end is None:
            return float(longest)
        window = (end - start) % _DAY or _DAY
        hose_from, hose_to = self.source.setting("hose_from"), self.source.setting("hose_to")
        if hose_from is not None and hose_to is not None:
            begins = (hose_from - start) % _DAY
            lasts = (hose_to - hose_from) % _DAY
            within = max(0.0, min(begins + lasts, window) - min(begins, window))
            window -= within + max(0.0, min(begins + lasts - _DAY, window))
        return float(min(longest, window))

    # --- back into units ---

    def row(
        self, kind: str, question: asked.Question, solved: Solved, fails: str = "", mends: str = ""
    ) -> DesignRow:
        design, verdict, frame = solved.design, solved.verdict, solved.design.frame
        lines = {}
        for width, option in enumerate(design.options):
            inset = from_base(question.coverage(width, option).inset, "width", self._system)
            top = from_base(question.widths[width], "width", self._system)
            lines[round(top, 6)] = (question.lines[option[0]].name, option[1], round(inset, 6))
        names = [bed.name for bed in question.beds]
        sets = tuple(
            tuple(name for name, own in zip(names, verdict.sets, strict=True) if own == i)
            for i in range(1, len(verdict.seconds) + 1)
        )
        area = sum(bed.area for bed in question.beds if bed.watered)
        per = to_base(1.0, "area", self._system)
        return DesignRow(
            kind, lines, question.mains[frame.main].name,
            "" if frame.manifold is None else question.manifolds[frame.manifold].name,
            question.regulators[frame.regulator].name, solved.cost.total,
            solved.cost.total / area * per, solved.cost.left_over_value, area,
            question.widths, sets,
            tuple(seconds / 60 for seconds in verdict.seconds),
            verdict.share, verdict.uniformity, fails, mends,
            () if fails else tuple(doubts(question, solved)),
        )  # fmt: skip


def _or_nan(value: Any) -> float:
    return nan if value is None else float(value)


def _replaced(
    parts: Sequence[dict[str, Any]], place: int, other: Mapping[str, Any]
) -> list[dict[str, Any]]:
    """The head assembly with another regulator in its place."""
    changed = {name: other[name] for name in REGULATORS.names if name in HEAD_PARTS.names}
    return [{**part, **changed} if i == place else part for i, part in enumerate(parts)]


def _head(parts: Sequence[Mapping[str, Any]], dirty: bool) -> HeadParts:
    def column(name: str) -> Floats:
        return np.array([_or_nan(part[name]) for part in parts])

    loss = np.array(
        [
            part["dirty_loss"] if dirty and part["dirty_loss"] is not None else part["loss"]
            for part in parts
        ],
        dtype=float,
    )
    return HeadParts(
        loss, column("loss_flow"), column("opening_loss"), column("preset"),
        column("least_flow"), column("greatest_flow"), column("least_inlet"),
    )  # fmt: skip
