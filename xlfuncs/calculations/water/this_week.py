"""What to give each bed this week: where its copies stand on a Monday, and the advice.

The rules were found in trials of many seasons and climates with errors drawn at random
(tests/trial): water every day, refill to somewhat below capacity, never take mean rain off in
advance, and rest after rain until the bed's store is well used. Depths in mm, gross ones as the
lines give them; a share of the readily available water of 1 is where stress begins.
"""

from dataclasses import dataclass

import numpy as np

from xlfuncs.calculations.arrays import Flags, Floats, Integers
from xlfuncs.calculations.water import garden_copies as copies
from xlfuncs.calculations.water.garden_copies import BedDays, Knowledge, quantile
from xlfuncs.calculations.water.soil_water import depletion_fraction

WEEK = 7
NEVER = 1e6  # mm of rain


@dataclass(frozen=True)
class Rules:
    """Shares of the readily available water, and of the copies whose wants are met."""

    refill_to: float = 0.3  # below capacity, so that rain finds room; less in a shallow store
    rest_until: float = 0.65
    worth_a_rest: float = 3.0  # mm of rain in a day
    by_hand: float = 0.8
    careful: float = 0.60  # share of the copies served, where the store is deep
    careful_shallow: float = 0.85  # where it holds next to nothing
    shallow: float = 2.5  # days of use, over which the one turns into the other


RULES = Rules()


@dataclass(frozen=True)
class WeekAdvice:
    """By bed; `depletion` and its bounds (one copy in ten is beyond each) as shares."""

    depletion: Floats
    low: Floats
    high: Floats
    rest: Integers  # days without water from this day on
    depth: Floats  # gross, each day after the rest
    by_hand: Floats  # gross, at once
    rests_after: Floats  # rain of a day that is worth a rest of 1, 2 ... 7 days; (beds, 7)
    store_days: Floats  # how long the readily available water lasts


@dataclass(frozen=True)
class _Copies:
    """The week of the copies: (beds, copies), days and weights of beds (beds,)."""

    use: Floats  # a day
    lost: Floats
    raw: Floats
    efficiency: Floats
    first: Integers  # day of the week from which the bed has a crop
    days: Integers  # with a crop
    weight: Floats


def advise(
    know: Knowledge, beds: BedDays, day: int, expected_et: Floats, lately: float,
    rules: Rules = RULES
) -> WeekAdvice:  # fmt: skip
    """What to do from `day` for a week; `expected_et` of its days. No rain is counted on.

    `lately`: rain of the last three days; where that was worth a rest, a bed that it reached rests.
    """
    week = _week(know, beds, day, expected_et)
    store = quantile(week.raw / week.use, week.weight, 0.5)
    more = rules.careful_shallow - rules.careful
    careful = rules.careful + more * np.exp(-store / rules.shallow)
    # A store of a day or two has no room to spare for rain.
    refill = rules.refill_to * np.clip((store - 1.0) / 2.0, 0.0, 1.0)[:, None] * week.raw
    rained = lately * beds.rain_share >= rules.worth_a_rest
    rest = _rest(week, refill, rained, careful, rules)
    days = np.maximum(week.days - (rest - week.first), 1)
    wanted = week.lost + week.days[:, None] * week.use - refill
    depth = quantile(wanted / week.efficiency, week.weight, careful) / days
    hand = _by_hand(week, careful, rules)
    waters = (week.days > 0) & (rest < WEEK)
    share = week.lost / week.raw
    middle, low, high = (quantile(share, week.weight, q) for q in (0.5, 0.1, 0.9))
    return WeekAdvice(
        middle, low, high, rest, np.where(waters, np.maximum(depth - hand / days, 0.0), 0.0),
        np.where(week.days > 0, hand, 0.0), _rests_after(week, beds, careful, rules), store,
    )  # fmt: skip


def _week(know: Knowledge, beds: BedDays, day: int, expected_et: Floats) -> _Copies:
    part = slice(day, day + WEEK)
    use = beds.use[part] * expected_et[: len(beds.use[part]), None]
    grows = beds.use[part] > 0.0
    days, first = grows.sum(axis=0), np.argmax(grows, axis=0)
    # A crop that is planted later in the week finds the bed as it was said to be.
    then = available = copies.available(beds, day + first)
    lost = np.where(
        (first > 0)[:, None], beds.start[:, None] * then, np.minimum(know.depletion, available)
    )
    daily = np.maximum((use.sum(axis=0) / np.maximum(days, 1))[:, None] * copies.use_factor, 1e-9)
    every = np.arange(len(days))
    fraction = depletion_fraction(beds.fraction[day + first, every][:, None], daily)
    efficiency = beds.efficiency[:, None] * copies.efficiency_factor
    return _Copies(daily, lost, fraction * available, efficiency, first, days, know.weight)


def _rest(week: _Copies, refill: Floats, rained: Flags, careful: Floats, rules: Rules) -> Integers:
    """Whole days until the bed nears `rest_until`, where it is wet enough for a rest."""
    room = np.floor(np.clip((rules.rest_until * week.raw - week.lost) / week.use, 0.0, WEEK))
    wet = rained[:, None] | (week.lost < 0.5 * refill)
    rest = quantile(np.where(wet, room, 0.0), week.weight, 1.0 - careful)
    return np.asarray(np.minimum(rest + week.first, WEEK), dtype=np.int64)


def _by_hand(week: _Copies, careful: Floats, rules: Rules) -> Floats:
    """What brings a bed that is nearly dry back at once, so that it need not wait for the week."""
    missing = (week.lost - 0.5 * week.raw) / week.efficiency
    dry = quantile(week.lost / week.raw, week.weight, careful) > rules.by_hand
    hand = quantile(missing, week.weight, careful)
    return np.where(dry & (week.first == 0), np.maximum(hand, 0.0), 0.0)


def _rests_after(week: _Copies, beds: BedDays, careful: Floats, rules: Rules) -> Floats:
    """Rain that a bed needs to rest 1 to 7 days; more than fills its store helps no further."""
    span = np.arange(1, WEEK + 1)[:, None, None] * week.use
    goal = rules.rest_until * week.raw
    caught = beds.rain_share[:, None] * copies.rain_factor
    helps = (span <= goal) & (caught > 0.0)
    rain = np.where(helps, (span + week.lost - goal) / np.maximum(caught, 1e-9), NEVER)
    enough = np.array([quantile(each, week.weight, careful) for each in rain]).T
    return np.asarray(np.maximum(enough, rules.worth_a_rest))


def probe_due(beds: BedDays, day: int, bed: int) -> bool:
    """Two weeks after planting and every four from then on; on the Monday that follows."""
    age = beds.age[day][bed]
    return bool(age >= 14 and (age - 14) % 28 < WEEK)


DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
SEEMS_OTHER = 0.15  # a use beyond what the table says that is worth a word
LOOK_AT_FLOW = 0.25


def weekday(day: np.datetime64, later: int = 0) -> str:
    return DAYS[(int(day.astype("datetime64[D]").astype(int)) + later + 3) % 7]


def often(every: int, days: str = "") -> str:
    if days:
        return f"on {days}"
    return "a day" if every == 1 else f"every {every} days"


def what_to_do(
    monday: np.datetime64, first: int, rest: int, minutes: float, often: str, by_hand: float
) -> str:
    """`first` day with a crop, `rest` in days; `minutes` of one watering, and at once by hand."""
    if first >= 7:
        return "no crop this week"
    water = f"{minutes:.0f} min {often}"
    if rest >= 7 or minutes < 0.5:
        words = "no water this week"
    elif first:
        words = f"off until it is planted on {weekday(monday, first)}, then {water}"
    elif rest:
        words = f"rest until {weekday(monday, rest)}, then {water}"
    else:
        words = water
    if by_hand >= 0.5:
        words += f"; {by_hand:.0f} min more at once, it is nearly dry"
    return words


def why(
    used: float, low: float, high: float, store_days: float, seems: float, read: bool, young: bool,
    flow: str = "", silent: int = 0
) -> str:  # fmt: skip
    """What the advice rests on: shares of the water that is easy to get, what readings say, whose
    `flow` it is, and how many weeks of the crop have no weather noted."""
    words = [f"{_share(used)} of its easy water used ({_share(low)} to {_share(high)})"]
    words.append(f"a full soil lasts {max(store_days, 0.5):.1f} days")
    if young:
        words.append("young: keep the top moist, split the minutes into two runs a day")
    if read and abs(seems - 1.0) > SEEMS_OTHER:
        than = "more than told" if seems > 1.0 else "less than told"
        words.append(f"seems to use {abs(seems - 1.0):.0%} {than}")
        if abs(seems - 1.0) > LOOK_AT_FLOW:
            words.append("measure its flow")
    if flow:
        words.append(flow)
    if silent:
        words.append(f"no weather noted in {silent} {'week' if silent == 1 else 'weeks'}, taken for"
                     " dry and as warm as the month")  # fmt: skip
    return "; ".join(words)


def odd_week(beyond: float) -> str:
    """What is said of a week that is so many K warmer than its month."""
    side = "above" if beyond > 0 else "below"
    return (
        f"{abs(beyond):.0f} °C ({1.8 * abs(beyond):.0f} °F) {side} the month's mean in the climate"
        " table: a slip, another week than meant, °C for °F or °F for °C? A unit may stand beside"
        " it, as 28 °C"
    )


def _share(value: float) -> str:
    return "over 150%" if value > 1.5 else f"{value:.0%}"
