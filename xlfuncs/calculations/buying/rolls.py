"""The simple answer to how many rolls: by total length."""

import numpy as np

from xlfuncs.calculations.arrays import Number
from xlfuncs.calculations.layout.beds import COUNT_SLACK


def rolls_needed(total_length: Number, roll_length: Number, allowance: Number) -> Number:
    """Whole rolls (m) for a total length (m) and an allowance (ratio) on top of it."""
    return np.ceil(total_length * (1 + allowance) / roll_length - COUNT_SLACK)  # type: ignore[no-any-return]
