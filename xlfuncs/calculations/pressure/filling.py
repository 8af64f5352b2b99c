"""The water that lines and manifolds hold, and how long they take to fill before they water."""

from typing import Any

import numpy as np

FILLING_SHARE = 0.2  # of a run; above it uneven filling shows: common practice, no published source


def pipe_volume(length: Any, inside_diameter: Any, pipes: Any = 1.0) -> Any:
    """Volume (m³) inside pipes of a length and inside diameter (m)."""
    return np.pi / 4 * inside_diameter * inside_diameter * length * pipes


def fill_seconds(
    filling_flow: Any, lateral_length: Any, laterals: Any, lateral_diameter: Any,
    manifold_length: Any = 0.0, manifold_diameter: Any = 0.0,
) -> Any:  # fmt: skip
    """Time (s) until empty laterals and their manifold are full at a constant flow (m³/s).

    Assumes that they have drained wholly, that the air gets out, and that emitters give little
    until the line is under pressure; what they do give makes it longer.
    """
    held = pipe_volume(lateral_length, lateral_diameter, laterals)
    return (held + pipe_volume(manifold_length, manifold_diameter)) / filling_flow
