"""Words beside a pressure that is outside the working range of its line."""

import numpy as np

from xlfuncs.calculations.arrays import Floats, Texts
from xlfuncs.calculations.pressure.properties import Number

DRY = "some emitters dry"
BELOW = "extrapolated: below the line's least pressure"
ABOVE = "above the line's greatest pressure"


def pressure_remarks(
    lowest: Floats, highest: Floats, least: Number, greatest: Number, driest_flow: Floats
) -> Texts:
    """One remark a row, the gravest first; empty where all is within the range.

    Unknown limits are NaN; a row without water (lowest pressure NaN) has no remark.
    """
    watered = ~np.isnan(lowest)
    words: Texts = np.full(lowest.shape, "", dtype=object)
    words[watered & (highest > greatest)] = ABOVE
    words[watered & (lowest < least)] = BELOW
    words[watered & (driest_flow <= 0)] = DRY
    return words
