"""Whether a design waters every bed: each bed alone, then dealt into sets, then the hours."""

import itertools
from collections.abc import Sequence
from functools import cache, cached_property, lru_cache
from math import inf, pi

import numpy as np

from xlfuncs.calculations.arrays import Floats
from xlfuncs.calculations.designs.dealing import HOURS, THOROUGH, Dealing
from xlfuncs.calculations.designs.question import Design, Frame, Option, Question
from xlfuncs.calculations.designs.set_bounds import least_head
from xlfuncs.calculations.designs.verdicts import Verdict
from xlfuncs.calculations.pressure.bed_lists import Beds
from xlfuncs.calculations.pressure.drip_systems import Delivery
from xlfuncs.calculations.pressure.networks import Supply
from xlfuncs.calculations.pressure.set_checks import Breach, Group, Limits, SetChecks
from xlfuncs.calculations.pressure.set_search import least_number
from xlfuncs.calculations.pressure.watering_sets import beds_by_valve
from xlfuncs.calculations.supply.head_parts import head_pressures, working_flows
from xlfuncs.calculations.supply.supplies import supply_from_curve

_OF_BED = {
    "distance": "distance", "elevation": "elevation", "slope": "slope", "branch": "branch",
    "branch_start": "branch_start", "lateral_length": "length",
}  # fmt: skip
_OF_LINE = {
    "emitter_spacing": "emitter_spacing", "rated_flow": "emitter_flow", "exponent": "exponent",
    "rated_pressure": "rated_pressure", "min_pressure": "min_pressure",
    "lateral_diameter": "diameter",
}  # fmt: skip
_MOST_KEPT = 50_000  # beds of groups that are remembered for other designs, a frame
_AS_A_SOLUTION = 5  # guesses of what many sets do, which take about as long


class Judge:
    """Judges designs; each bed with its own lines is solved alone once for a frame. `solutions`
    counts how often the pipes were solved, guesses with them."""

    def __init__(self, question: Question) -> None:
        self.question, self.solutions = question, 0
        self._columns = {column: _each(question.beds, name) for column, name in _OF_BED.items()}
        self._watered = np.array([bed.watered for bed in question.beds])
        self._volume = np.array([bed.area for bed in question.beds]) * question.wanted.depth / 1000
        self.beds = lru_cache(maxsize=8)(self._beds)  # a design is asked about step by step
        self.supply, self.with_lines = cache(self._supply), cache(self._with_lines)
        self.most_of = cache(self._most_of)
        self._alone: dict[tuple[int, Option, Frame], tuple[Breach | None, Delivery | None]] = {}
        # Groups in designs of a frame: those with the same lines in them get the same in others.
        self._others: dict[Frame, dict[tuple[Group, tuple[Option, ...]], Delivery]] = {}
        self._dead: dict[tuple[int, Option, Frame], Breach] = {}
        reach = self._columns["distance"] + self._columns["lateral_length"]
        self._worst_first = [
            int(row) for row in np.argsort(-reach, kind="stable") if self._watered[row]
        ]

    # --- what the pressure room needs ---

    def _supply(self, regulator: int) -> tuple[Supply, float, float, float]:
        """Behind the head assembly: its curve, the flows that all parts work with, the most
        pressure where more than the curve's can occur."""
        question = self.question
        head, flow = question.regulators[regulator].head, question.flow
        least, greatest = working_flows(head, flow, question.pressure)
        behind, most = question.pressure, question.wanted.most_pressure
        if head.loss.size:
            behind = head_pressures(head, flow, question.pressure).behind[-1]
            still = head_pressures(head, np.zeros(1), np.array([most]))
            most = np.nan if np.isnan(most) else float(still.behind[-1, 0])
        return supply_from_curve(flow, behind, float(behind.max())), least, greatest, most

    def _beds(self, design: Design) -> Beds:
        question, frame = self.question, design.frame
        options = [design.options[width] for width in question.width_of]
        lines = [question.lines[line] for line, _ in options]
        numbers = np.array([number for _, number in options], dtype=np.intp)
        manifold = None if frame.manifold is None else question.manifolds[frame.manifold].diameter
        return Beds.of(
            **self._columns, **{column: _each(lines, name) for column, name in _OF_LINE.items()},
            laterals=numbers, main_diameter=question.mains[frame.main].diameter,
            is_open=self._watered, manifold_diameter=np.nan if manifold is None else manifold,
            lateral_spacing=np.array([bed.width for bed in question.beds]) / numbers,
        )  # fmt: skip

    def checks(self, design: Design) -> SetChecks:
        question, wanted = self.question, self.question.wanted
        supply, least, greatest, most = self.supply(design.frame.regulator)
        lines = [question.lines[design.options[width][0]] for width in question.width_of]
        limits = Limits(
            wanted.share, wanted.uniformity, wanted.velocity,
            _each(lines, "min_pressure"), _each(lines, "max_pressure"), _each(lines, "variation"),
            question.open_flow, wanted.supply_share, least, greatest, most,
        )  # fmt: skip
        checks = SetChecks(self.beds(design), supply, limits)
        for row, option in enumerate(design.options[width] for width in question.width_of):
            _, got = self._alone.get((row, option, design.frame), (None, None))
            if got is not None:
                checks.solved[(row,)] = got
        return checks

    # --- bounds ---

    def capacity(self, design: Design) -> float:
        """The nominal flow (m3/s) that no passing set exceeds: every bed of it gets its share, so
        it is at most what can be delivered over that share."""
        wanted = self.question.wanted
        usable = wanted.supply_share * self.question.open_flow
        return min(usable, self._greatest_set_flow(design) / wanted.share)

    def _greatest_set_flow(self, design: Design) -> float:
        """The flow (m3/s) that no passing set exceeds: by the supply, the head assembly, the
        velocity where the main begins, and the pressure that the easiest bed needs there."""
        heads = (head for _, head in self._by_bed(design))
        easiest = min(itertools.compress(heads, self._watered))
        return self.most_of(design.frame, easiest)

    def _most_of(self, frame: Frame, head: float) -> float:
        wanted = self.question.wanted
        supply, _, greatest, _ = self.supply(frame.regulator)
        main = self.question.mains[frame.main].diameter
        usable = wanted.supply_share * self.question.open_flow
        most = min(usable, greatest, wanted.velocity * pi / 4 * main**2)
        return _most_flow(supply, head, most)

    def least_sets(self, design: Design) -> int:
        nominal = [flow for flow, _ in self._by_bed(design)]
        sizes = [sum(nominal[row] for row in rows) for rows in self.blocks]
        return max(1, least_number(sizes, self.capacity(design)))

    def _by_bed(self, design: Design) -> list[tuple[float, float]]:
        """Nominal flow (m3/s) and least head (m) of each bed, whatever the pipes."""
        return [self.with_lines(design.options[width])[row]
                for row, width in enumerate(self.question.width_of)]  # fmt: skip

    def _with_lines(self, option: Option) -> list[tuple[float, float]]:
        """The same where these lines lie in every bed."""
        question = self.question
        beds = self._beds(Design((option,) * len(question.widths), question.frames[0]))
        head = least_head(beds, question.wanted.share)
        return list(zip(beds.nominal_flow.tolist(), head.tolist(), strict=True))

    @cached_property
    def blocks(self) -> list[Group]:
        blocks = beds_by_valve([bed.block for bed in self.question.beds])
        watered = (tuple(int(r) for r in rows if self._watered[r]) for rows in blocks)
        return [rows for rows in watered if rows]

    # --- the verdict ---

    def dead(self, design: Design) -> Breach | None:
        """A breach that is known already from another design with the same lines in a bed."""
        for width, option in enumerate(design.options):
            if (width, option, design.frame) in self._dead:
                return self._dead[width, option, design.frame]
        return None

    def alone(self, design: Design) -> Breach | None:
        """What the first bed breaks that fails even alone; those that are far and long first."""
        frame, width_of = design.frame, self.question.width_of
        known = self.dead(design)
        if known is not None:
            return known
        own = {row: (row, design.options[width_of[row]], frame) for row in self._worst_first}
        new = [row for row, key in own.items() if key not in self._alone]
        checks = self.checks(design) if new else None
        for row, key in own.items():
            if key not in self._alone:
                assert checks is not None
                breach = checks.first((row,))
                if breach is None and row == new[0]:  # else the others are not asked
                    checks.prepare((r,) for r in new[1:])
                self.solutions += 1
                self._alone[key] = (breach, checks.solved.get((row,)))
            fails = self._alone[key][0]
            if fails is not None:
                fails = Breach(fails.check, row, fails.value, fails.limit, fails.pipe)
                self._dead[width_of[row], key[1], frame] = fails
                return fails
        return None

    def judge(self, design: Design, effort: int = THOROUGH) -> Verdict:
        breach = self.alone(design) or self._volume_bound(design)
        if breach is not None:
            return Verdict(breach)
        checks = self.checks(design)
        dealing = Dealing(
            checks, self._volume, self.question.wanted, self._greatest_set_flow(design),
            self.blocks, self.capacity(design),
        )  # fmt: skip
        known = len(checks.solved)
        options = [design.options[width] for width in self.question.width_of]
        others = self._others.setdefault(design.frame, {})
        checks.ahead |= {group: got for (group, own), got in others.items()
                         if own == tuple(options[row] for row in group)}  # fmt: skip
        verdict = self._in_sets(checks, dealing, effort)
        if len(others) * len(options) > _MOST_KEPT:
            others.clear()
        for group, got in (checks.ahead | checks.solved).items():
            others[group, tuple(options[row] for row in group)] = got
        self.solutions += len(checks.solved) - known + dealing.guesses // _AS_A_SOLUTION
        return verdict

    def _volume_bound(self, design: Design) -> Breach | None:
        """No sets can water in less than the volume over the most that can flow."""
        wanted = self.question.wanted
        volume = float(self._volume[self._watered].sum())
        seconds = volume / self._greatest_set_flow(design)
        return Breach(HOURS, None, seconds, wanted.hours) if seconds > wanted.hours else None

    def _in_sets(self, checks: SetChecks, dealing: Dealing, effort: int) -> Verdict:
        dealt = dealing.dealt(effort)
        sets = np.zeros(len(self.question.beds), dtype=int)
        share = uniformity = inf
        for number, group in enumerate(dealt.groups, start=1):
            got, members = checks.delivery(group), list(group)
            sets[members] = number
            share = min(share, float(got.share[members].min()))
            uniformity = min(uniformity, float(checks.uniformity(got)[members].min()))
        return Verdict(
            dealt.breach, tuple(int(n) for n in sets) if dealt.groups else (), dealt.fewest,
            tuple(dealing.seconds(group) for group in dealt.groups), share, uniformity,
            dealt.proven, dealt.kept,
        )  # fmt: skip


def _each(of: Sequence[object], name: str) -> Floats:
    return np.array([getattr(one, name) for one in of])


def _most_flow(supply: Supply, head: float, most: float) -> float:
    """The greatest flow up to `most` at which the supply still gives this head (m)."""
    if supply(0.0)[0] < head:
        return 0.0
    if most < inf and supply(most)[0] >= head:
        return most
    low, high = 0.0, min(most, 1.0)
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if supply(middle)[0] >= head else (low, middle)
    return high
