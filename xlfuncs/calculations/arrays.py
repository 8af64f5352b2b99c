"""The kinds of arrays that calculations take and give, and the numbers that broadcast with them."""

from typing import TypeAlias, TypeVar

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]
Integers = npt.NDArray[np.int64]
Texts = npt.NDArray[np.object_]
Dates = npt.NDArray[np.datetime64]
Numbers: TypeAlias = float | Floats
Number = TypeVar("Number", float, Floats)  # a float gives a float, an array an array
