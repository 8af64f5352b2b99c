"""A timer's program for sets of beds on one supply.

A program of an irrigation timer has a list of start times and of days; at each start it opens its
stations one after another, each for its own minutes times the seasonal percentage. So sets that
share their days and their number of cycles share a program. Times are in s.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from xlfuncs.calculations.timer.weekly_schedule import (
    DAY,
    AllowedHours,
    WeeklySchedule,
    clock_overlap,
    clock_text,
)
from xlfuncs.errors import InputError

DAY_NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
ROUNDING_WORTH_A_NOTE = 0.10  # common practice, no published source


@dataclass(frozen=True)
class Timer:
    """What a timer can do; times in s, the seasonal percentage as a ratio."""

    stations: int
    programs: int
    starts: int  # a program and day
    step: int = 60
    longest_run: int = 4 * 3600
    percentage: float = 1.0


@dataclass(frozen=True)
class WateringSet:
    """What one set needs: seconds a watering, waterings a week, cycles a watering."""

    row: int
    seconds: float
    waterings: int
    cycles: int = 1

    @property
    def weekly(self) -> float:
        return self.seconds * self.waterings


@dataclass
class SetProgram:
    """What to enter for a set, and what comes of it."""

    station: int = 0  # 0: no station, opened by hand
    program: str = ""
    days: tuple[int, ...] = ()
    starts: tuple[int, ...] = ()  # clock times of the program
    opens: tuple[int, ...] = ()  # clock times of the set itself
    entered: int = 0  # s a start, before the seasonal percentage
    runs: float = 0.0  # s a start, after it
    notes: list[str] = field(default_factory=list)

    @property
    def weekly(self) -> float:
        return self.runs * len(self.starts) * len(self.days)


@dataclass(frozen=True)
class _Group:
    """Sets that share a program: its waterings a week and cycles a watering."""

    waterings: int
    cycles: int
    sets: tuple[WateringSet, ...]

    def entered(self, item: WateringSet, timer: Timer) -> int:
        """Seconds to enter for a set, to the timer's step, at least one and at most its longest."""
        wanted = item.weekly / (self.waterings * self.cycles) / timer.percentage
        steps = max(1, math.floor(wanted / timer.step + 0.5))
        return min(steps * timer.step, timer.longest_run // timer.step * timer.step)


def timer_program(
    sets: Sequence[WateringSet],
    timer: Timer,
    hours: AllowedHours,
    soak: int = 0,
    hose: tuple[int, int] | None = None,
) -> list[SetProgram]:
    """The program of every set, in the order given; those beyond the stations are by hand.

    Runs never overlap and never leave the allowed hours. Where a week does not fit, the later sets
    of a program are left out and their note says so. `soak` is the least pause between the cycles
    of one set; `hose` a daily span of clock times in which a hose takes water too.
    Raises InputError where there is nothing to plan with.
    """
    if not any(hours.days):
        raise InputError("allowed_days", "names no day of the week")
    results = [SetProgram() for _ in sets]
    on_timer = [item for item in sets[: timer.stations] if item.weekly > 0.0]
    schedule = WeeklySchedule(hours)
    queue = _merge(_groups(on_timer, timer, hours), timer)
    used = 0
    while queue:
        group = queue.pop(0)
        placed, left = _place(group, timer, schedule, soak)
        if placed:
            _write(placed, used, timer, schedule, results)
            used += 1
        if left and not placed:
            _does_not_fit(left[:1], hours, results)
            left = left[1:]
        if left and used + len(queue) < timer.programs:
            queue.append(replace(group, sets=left))
        else:
            _does_not_fit(left, hours, results)
    for item, result in zip(sets, results, strict=True):
        _finish(item, result, timer, hose)
    return results


def _groups(sets: Sequence[WateringSet], timer: Timer, hours: AllowedHours) -> list[_Group]:
    """Sets by waterings a week and cycles, with more cycles where a run would be too long."""
    groups: dict[tuple[int, int], list[WateringSet]] = {}
    for item in sets:
        waterings = min(item.waterings, sum(hours.days))
        at_once = item.weekly / waterings / timer.percentage
        cycles = max(item.cycles, math.ceil(at_once / timer.longest_run - 1e-9))
        groups.setdefault((waterings, min(cycles, timer.starts)), []).append(item)
    return [_Group(*key, tuple(members)) for key, members in groups.items()]


def _merge(groups: list[_Group], timer: Timer) -> list[_Group]:
    """As many groups as programs: the two most alike become one, with the more frequent watering.

    A set that is watered more often gets less each time, so its week stays the same.
    """
    groups = list(groups)
    while len(groups) > timer.programs:
        pairs = [(a, b) for i, a in enumerate(groups) for b in groups[i + 1 :]]
        a, b = min(
            pairs,
            key=lambda p: abs(p[0].waterings - p[1].waterings) + abs(p[0].cycles - p[1].cycles),
        )
        groups = [group for group in groups if group is not a and group is not b]
        members = tuple(sorted(a.sets + b.sets, key=lambda item: item.row))
        groups.append(_Group(max(a.waterings, b.waterings), max(a.cycles, b.cycles), members))
    # The longest day's work first: it is the hardest to place.
    return sorted(groups, key=lambda g: -sum(s.weekly for s in g.sets) / g.waterings)


@dataclass(frozen=True)
class _Placed:
    group: _Group
    days: tuple[int, ...]
    offsets: tuple[int, ...]


def _place(
    group: _Group, timer: Timer, schedule: WeeklySchedule, soak: int
) -> tuple[_Placed | None, tuple[WateringSet, ...]]:
    """The group on its best days, without the later sets if all do not fit; and those left out."""
    for size in range(len(group.sets), 0, -1):
        part = replace(group, sets=group.sets[:size])
        runs = [math.ceil(part.entered(s, timer) * timer.percentage) for s in part.sets]
        length, gap = sum(runs), max(sum(runs), max(runs) + soak)
        fits = [
            (offsets, days)
            for days in schedule.hours.day_patterns(group.waterings)
            if (offsets := _starts(schedule, days, length, gap, group.cycles))
        ]
        if fits:
            offsets, days = min(fits, key=lambda fit: (fit[0][-1], fit[1]))
            for offset in offsets:
                schedule.take(days, offset, length)
            return _Placed(part, days, offsets), group.sets[size:]
    return None, group.sets


def _starts(
    schedule: WeeklySchedule, days: tuple[int, ...], length: int, gap: int, cycles: int
) -> tuple[int, ...] | None:
    """Offsets of all cycles, each `gap` or more after the last; None where they do not fit."""
    offsets: list[int] = []
    earliest = 0
    for _ in range(cycles):
        offset = schedule.first_fit(days, earliest, length)
        if offset is None:
            return None
        offsets.append(offset)
        earliest = offset + gap
    return tuple(offsets)


def _write(
    placed: _Placed, number: int, timer: Timer, schedule: WeeklySchedule, results: list[SetProgram]
) -> None:
    starts = tuple(schedule.clock(offset) for offset in placed.offsets)
    before = 0
    for item in placed.group.sets:
        entered = placed.group.entered(item, timer)
        result = results[item.row]
        result.program = chr(ord("A") + number)
        result.days, result.starts = placed.days, starts
        result.opens = tuple((start + before) % DAY for start in starts)
        result.entered, result.runs = entered, entered * timer.percentage
        before += math.ceil(result.runs)


def _does_not_fit(
    sets: Sequence[WateringSet], hours: AllowedHours, results: list[SetProgram]
) -> None:
    between = f"between {clock_text(hours.opens)} and {clock_text(hours.closes)}"
    for item in sets:
        minutes = round(item.weekly / 60)
        results[item.row].notes.append(f"{minutes} min a week do not fit {between}: no water")


def _finish(
    item: WateringSet, result: SetProgram, timer: Timer, hose: tuple[int, int] | None
) -> None:
    """The station and the remarks on one set."""
    if item.row >= timer.stations:
        result.notes.append("more sets than stations: open by hand while the timer rests")
        result.entered, result.runs = round(item.seconds), item.seconds
        return
    result.station = item.row + 1
    if not result.program:
        return
    change = result.weekly / item.weekly - 1.0
    if abs(change) > ROUNDING_WORTH_A_NOTE:
        result.notes.append(f"the timer's steps and limits give {change:+.0%} water")
    if (len(result.days), len(result.starts)) != (item.waterings, item.cycles):
        result.notes.append(
            f"watered {len(result.days)} days in {len(result.starts)} cycles, "
            f"asked for {item.waterings} in {item.cycles}"
        )
    length = math.ceil(result.runs)
    if hose and any(
        clock_overlap(start, length, hose[0], (hose[1] - hose[0]) % DAY) for start in result.opens
    ):
        result.notes.append("the hose runs meanwhile and takes pressure and flow")


def day_list(text: str) -> tuple[bool, ...]:
    """Which days a text such as 'Mon Wed Fri' or 'Mon, Thu' names; empty names all."""
    words = text.replace(",", " ").split()
    unknown = [word for word in words if word[:3].title() not in DAY_NAMES]
    if unknown:
        raise InputError("allowed_days", f"{unknown[0]!r} is not a day; use {' '.join(DAY_NAMES)}")
    named = {word[:3].title() for word in words}
    return tuple(not named or day in named for day in DAY_NAMES)


def days_text(days: Sequence[int]) -> str:
    return "every day" if len(days) == 7 else " ".join(DAY_NAMES[day] for day in days)


def starts_text(starts: Sequence[int]) -> str:
    return ", ".join(clock_text(start) for start in starts)
