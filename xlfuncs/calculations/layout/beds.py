"""Area, emitters and flow of a bed, and how deep its water stands. Base units (see units)."""

from typing import TypeVar

import numpy as np
import numpy.typing as npt

Number = TypeVar("Number", float, npt.NDArray[np.float64])

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
