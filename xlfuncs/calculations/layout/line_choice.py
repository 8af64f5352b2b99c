"""Drip lines matched to a soil: emitters that join up, and no faster than the soil takes water in.

Base units: lengths m, emitter flow m³/s, rates mm/h.
"""

from typing import Any

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.water.cycle_and_soak import strip_application_rate

Array = npt.NDArray[np.float64]

JOINING_SHARE = 0.8  # emitter spacing over wetted diameter at which the wet circles join well
INTAKE_SLACK = 0.05  # no intake rate is known closer than that


def largest_emitter_spacing(wetted_width: Any) -> Any:
    """Emitter spacing (m) up to which the wet circles of width `wetted` (m) join."""
    return JOINING_SHARE * wetted_width


def largest_emitter_flow(intake_rate: Any, emitter_spacing: Any, wetted_width: Any) -> Any:
    """Emitter flow (m³/s) at which the wetted strip just takes in what the line gives."""
    return intake_rate / 3.6e6 * emitter_spacing * wetted_width


def line_advice(
    emitter_spacing: Array, emitter_flow: Array, wetted_width: float, intake_rate: float
) -> tuple[Array, Array, list[str], list[str]]:
    """For each line: rate over the wetted strip (mm/h), its share of the intake rate, one word
    of advice, and the reason.

    Recommended is the line that waters fastest among those that suit, for short runs keep water
    in reach of roots; where none suits, the slowest among those whose emitters join.
    """
    rate = np.asarray(strip_application_rate(emitter_flow / emitter_spacing, wetted_width))
    share = rate / intake_rate
    joins = emitter_spacing <= largest_emitter_spacing(wetted_width) * (1 + 1e-9)
    suits = joins & (share <= 1 + INTAKE_SLACK)
    best = _best(rate, joins, suits)
    advice, reasons = [], []
    for i in range(rate.size):
        advice.append(_advice(bool(joins[i]), bool(suits[i]), i == best))
        reasons.append(_reason(bool(joins[i]), float(share[i]), i == best, bool(suits.any())))
    return rate, share, advice, reasons


def _best(rate: Array, joins: npt.NDArray[np.bool_], suits: npt.NDArray[np.bool_]) -> int:
    """The recommended line, -1 where no line's emitters join."""
    if suits.any():
        return int(np.argmax(np.where(suits, rate, -np.inf)))
    return int(np.argmin(np.where(joins, rate, np.inf))) if joins.any() else -1


def _advice(joins: bool, suits: bool, best: bool) -> str:
    if best:
        return "recommended"
    if suits:
        return "ok"
    return "too fast" if joins else "too far apart"


def _reason(joins: bool, share: float, best: bool, any_suits: bool) -> str:
    if not joins:
        return f"emitters are farther apart than {JOINING_SHARE:.0%} of the wetted width: dry gaps"
    if share > 1 + INTAKE_SLACK:
        words = f"gives {share:.3g} times what the wetted strip takes in: water ponds"
        return words + "; the slowest on offer, run it in cycles" if best else words
    words = f"gives {share:.0%} of what the wetted strip takes in, and the wet spots join"
    return words + "; the fastest that suits" if best and any_suits else words
