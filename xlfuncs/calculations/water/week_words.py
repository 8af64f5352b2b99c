"""The advice for a week in words, bed by bed."""

import numpy as np

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
    flow: str = "", silent: int = 0,
) -> str:  # fmt: skip
    """What the advice rests on: shares of the water that is easy to get, what readings say, whose
    `flow` it is, and how many weeks of the crop have no weather noted."""
    words = [f"{_share(used)} of its easy water used ({_share(low)} to {_share(high)})"]
    words.append(f"the store lasts {max(store_days, 0.5):.1f} days")
    if young:
        words.append("young: keep the top moist, split the minutes into two runs a day")
    if read and abs(seems - 1.0) > SEEMS_OTHER:
        other = f"{abs(seems - 1.0):.0%}".replace("%", " %")
        words.append(f"seems to use {other} {'more' if seems > 1.0 else 'less'} than told")
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
    return "over 150 %" if value > 1.5 else f"{value:.0%}".replace("%", " %")
