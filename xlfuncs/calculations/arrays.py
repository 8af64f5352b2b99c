"""The kinds of arrays that calculations take and give, and the numbers that broadcast with them."""

from collections.abc import Iterable
from dataclasses import fields
from typing import Any, TypeAlias, TypeVar

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
_Kind = TypeVar("_Kind")


def records(kind: type[_Kind], *columns: Iterable[Any]) -> list[_Kind]:
    """One of a dataclass for each row of the columns of its first fields, in plain numbers."""
    plain = [c.tolist() if isinstance(c, np.ndarray) else list(c) for c in columns]
    for place, (field, column) in enumerate(zip(fields(kind), plain, strict=False)):  # type: ignore[arg-type]
        if field.type in (int, float, bool):
            plain[place] = [field.type(value) for value in column]
    return [kind(*row) for row in zip(*plain, strict=True)]
