"""Cycle and soak under drip lines: how long a line may run before water passes the roots or ponds.

The rate that counts is the one over the strip of soil that a line wets, not the mean over the
bed: a strip of 12 in under a tape takes three times the rate of a 36 in bed. Likewise the store is
that of the wetted root zone. Flow per length in m²/s, widths in m, depths in mm, rates in mm/h,
times in s.
"""

import numpy as np

from xlfuncs.calculations.water.solar_radiation import Numbers

MM_PER_HOUR = 3.6e6  # of 1 m/s
SURFACE_STORAGE = 5.0  # mm that may stand beside a line; common practice, no published source


def strip_application_rate(flow_per_length: Numbers, wetted_width: Numbers) -> Numbers:
    """Rate at which a line waters the strip that it wets, in mm/h."""
    return MM_PER_HOUR * np.divide(flow_per_length, wetted_width)


def max_cycle_seconds(
    flow_per_length: Numbers,
    wetted_width: Numbers,
    soil_storage: Numbers,
    intake_rate: Numbers = np.inf,
    surface_storage: Numbers = SURFACE_STORAGE,
) -> Numbers:
    """Longest run in one go: until the wetted root zone is full or water stands on the surface.

    `soil_storage` is the depletion that the wetted root zone may take up (its allowable depletion,
    watered on the day it is due). Above the soil's long-term `intake_rate` the surplus first fills
    `surface_storage`, the depth that may stand in hollows and beside the line. Conservation of
    water; without a limit of intake only the storage counts.
    """
    rate = np.asarray(strip_application_rate(flow_per_length, wetted_width), dtype=float)
    until_full = 3600.0 * soil_storage / rate
    surplus = rate - intake_rate
    ponds = surplus > 0.0
    until_ponded = np.where(
        ponds, 3600.0 * np.asarray(surface_storage) / np.where(ponds, surplus, 1.0), np.inf
    )
    return np.minimum(until_full, until_ponded)


def cycles_needed(seconds: Numbers, max_cycle: Numbers) -> Numbers:
    """Into how many equal runs a watering is split so that none is longer than `max_cycle`."""
    # A watering of just the allowed length is one run, whatever the last bit of the division.
    return np.maximum(np.ceil(np.divide(seconds, max_cycle) - 1e-9), 1.0)


def soak_seconds(surface_storage: Numbers, intake_rate: Numbers) -> Numbers:
    """Pause until the water that stands on the surface has soaked in."""
    return 3600.0 * np.divide(surface_storage, intake_rate)
