"""What else happens while water runs: fertiliser goes in, line ends are flushed, a tank falls.

Times in s, flows in m³/s, volumes in m³, lengths in m. Floats or arrays that broadcast.
"""

import numpy as np

from xlfuncs.calculations.arrays import Numbers

FLUSH_VELOCITY = 0.3048  # m/s, 1 ft/s at the open end (University of California, micromaintain)
STEPS = 400


def injection_flow(flow: Numbers, concentration: Numbers, strength: Numbers) -> Numbers:
    """Flow of stock that brings the water to a concentration in mg/L; `strength` by weight.

    Stock taken as dense as water; its own flow is not added to the water's.
    """
    return flow * concentration / (1e6 * strength)


def injection_times(run: Numbers, travel: Numbers) -> tuple[Numbers, Numbers, Numbers]:
    """Water before, injection, water after, of one run.

    Water first until the lines are full and even, and at the end until the last emitter has clean
    water: the time that water takes to it, each; NaN where less than that is left to inject.
    """
    inject = np.subtract(run, 2.0 * np.asarray(travel))
    return travel, np.where(inject >= travel, inject, np.nan), travel


def flush_flow(inside_diameter: Numbers, velocity: Numbers = FLUSH_VELOCITY) -> Numbers:
    """Flow that must leave an open line end."""
    return velocity * np.pi / 4.0 * np.asarray(inside_diameter) ** 2


def lines_flushed_at_once(
    supply: Numbers, lines: Numbers, line_flow: Numbers, end_flow: Numbers
) -> Numbers:
    """How many ends may stand open; all lines go on dripping meanwhile. 0: not even one."""
    spare = np.subtract(supply, np.multiply(lines, line_flow))
    return np.clip(np.floor(spare / end_flow + 1e-9), 0.0, lines)


def tank_level_after(
    area: Numbers, level: Numbers, lift: Numbers, flow: Numbers, seconds: Numbers,
    exponent: Numbers = 0.5, inflow: Numbers = 0.0
) -> Numbers:  # fmt: skip
    """Level of a tank of straight sides after a run, not below its floor.

    `flow` at the first level; it falls with the head (level and `lift`, the floor above the
    emitters) to the power of the emitter's exponent, friction left out. Runge-Kutta of 4th order.
    """
    head = np.maximum(np.add(level, lift), 1e-9)
    step = np.divide(seconds, STEPS)

    def fall(now: Numbers) -> Numbers:
        share = np.maximum(np.add(now, lift), 0.0) / head
        return (inflow - flow * share**exponent) / area

    now: Numbers = np.asarray(level, dtype=float)
    for _ in range(STEPS):
        a = fall(now)
        b = fall(now + step / 2.0 * a)
        c = fall(now + step / 2.0 * b)
        d = fall(now + step * c)
        now = np.maximum(now + step / 6.0 * (a + 2.0 * b + 2.0 * c + d), 0.0)
    return now
