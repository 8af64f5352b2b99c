"""Area, emitters and flow of a bed, and how deep its water stands. Base units (see units)."""

from typing import Any

import numpy as np

from xlfuncs.calculations.arrays import Flags, Floats, Number
from xlfuncs.calculations.water.soil_water import strip_application_rate

# A length that was converted from feet misses a whole spacing by its last digits; this much of a
# spacing is forgiven when emitters are counted.
COUNT_SLACK = 1e-9


def bed_area(length: Number, width: Number, strips: Number) -> Number:
    """Planted area (m²) of `strips` strips of one length and width (m)."""
    return length * width * strips


def volume_from_depth(area: Number, depth: Number) -> Number:
    """Volume (m³) of a water depth (mm) on an area (m²)."""
    return area * depth / 1000


def depth_from_volume(volume: Number, area: Number) -> Number:
    """Water depth (mm) that a volume (m³) gives on an area (m²)."""
    return volume / area * 1000


def emitter_count(length: Number, emitter_spacing: Number) -> Number:
    """Emitters on a lateral (m), the first one full spacing (m) from the inlet."""
    return np.floor(length / emitter_spacing + COUNT_SLACK)  # type: ignore[no-any-return]


def emitter_flow_from_tape(flow_per_length: Number, emitter_spacing: Number) -> Number:
    """Flow of one emitter (m³/s) of tape sold by flow per length (m²/s)."""
    return flow_per_length * emitter_spacing


def lateral_flow(length: Number, emitter_spacing: Number, emitter_flow: Number) -> Number:
    """Nominal flow of a lateral (m³/s): emitters times emitter flow."""
    return emitter_count(length, emitter_spacing) * emitter_flow


def bed_flow(
    length: Number, emitter_spacing: Number, emitter_flow: Number, laterals: Number
) -> Number:
    """Nominal flow of a bed (m³/s) with equal laterals."""
    return lateral_flow(length, emitter_spacing, emitter_flow) * laterals


def application_rate(flow: Number, area: Number) -> Number:
    """Depth over time (mm/h) of a flow (m³/s) spread on an area (m²)."""
    return flow / area * 3.6e6


def supply_flow(volume: Number, seconds: Number) -> Number:
    """Flow (m³/s) that fills a volume (m³) in a time (s)."""
    return volume / seconds


def run_seconds(
    area: Number, depth: Number, flow: Number, events: Number, efficiency: Number
) -> Number:
    """Time (s) of one watering: depth a week (mm) over the events, divided by efficiency."""
    return area * depth / 1000 / flow / events / efficiency


def depth_applied(area: Number, seconds: Number, flow: Number, efficiency: Number) -> Number:
    """Depth (mm) that stays useful of a flow (m³/s) over a time (s) on an area (m²)."""
    return flow * seconds * efficiency / area * 1000


# --- drip lines matched to a soil: emitters join up, no faster than the soil takes water in ---
# Base units: lengths m, emitter flow m³/s, rates mm/h.

JOINING_SHARE = 0.8  # emitter spacing over wetted diameter at which the wet circles join well
INTAKE_SLACK = 0.05  # no intake rate is known closer than that


def largest_emitter_spacing(wetted_width: Any) -> Any:
    """Emitter spacing (m) up to which the wet circles of width `wetted` (m) join."""
    return JOINING_SHARE * wetted_width


def largest_emitter_flow(intake_rate: Any, emitter_spacing: Any, wetted_width: Any) -> Any:
    """Emitter flow (m³/s) at which the wetted strip just takes in what the line gives."""
    return intake_rate / 3.6e6 * emitter_spacing * wetted_width


def line_advice(
    emitter_spacing: Floats, emitter_flow: Floats, wetted_width: float, intake_rate: float
) -> tuple[Floats, Floats, list[str], list[str]]:
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


def _best(rate: Floats, joins: Flags, suits: Flags) -> int:
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


# --- where beds lie on a map: the main runs straight up from the supply, beds stand across it ---
# The bed list knows distances along the pipe, not the compass. So the map is to scale along the
# pipes and the beds, and says nothing of bends: the main is straight, each branch is drawn as a
# line of its own beside the main, far enough that no two beds overlap. Lengths in m.

SAME_PLACE = 0.01  # m; beds closer than this along the pipe face each other


def bed_positions(
    distance: Floats, length: Floats, branch: Floats, gap: float, half_width: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """The inlet and far end of each bed's centre line, and where its pipe runs.

    `gap` is from the pipe to the head of a bed. Gives x of the inlet, x of the far end, y, and x
    of the pipe. The first of two beds at one place lies left (x below the pipe's), the second
    right; a bed alone at its place lies on the side of the one before it in the list, or across
    from it where the two would overlap by their `half_width`. Three at one place do not happen on
    a pipe; the third goes right again.
    """
    side = np.zeros(distance.size)
    pipe = np.zeros(distance.size)
    right_edge = 0.0
    for number in np.unique(branch):
        members = np.flatnonzero(branch == number)
        side[members] = _sides(distance[members], half_width[members])
        reach = length[members] + gap
        left = reach[side[members] < 0].max(initial=0.0)
        right = reach[side[members] > 0].max(initial=0.0)
        x = 0.0 if number == branch.min() else right_edge + left + 2 * gap
        pipe[members] = x
        right_edge = x + right
    near = pipe + side * gap
    return near, near + side * length, distance.copy(), pipe


def _sides(distance: Floats, half_width: Floats) -> Floats:
    """-1 for left, 1 for right, for the beds of one pipe in the order of the list."""
    side = np.zeros(distance.size)
    last = -1.0
    for i, at in enumerate(distance):
        faces = np.abs(distance - at) < SAME_PLACE
        touches = np.abs(distance - at) < half_width + half_width[i] - SAME_PLACE
        taken = side[faces | touches]
        if faces.sum() > 1:
            last = 1.0 if (taken == -1).any() else -1.0
        elif (taken == last).any():
            last = -last
        side[i] = last
    return side
