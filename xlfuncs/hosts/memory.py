"""Answers that are kept while there is room for them.

Only the standard library: the file also travels in the Calc extension.
"""

from __future__ import annotations

from collections import OrderedDict
from typing import Any

ROOM = 50_000_000  # bytes
BYTES_A_CELL = 64


class Memory:
    """Answers by the bytes of their questions; those not asked for longest go first."""

    def __init__(self, room: int = ROOM) -> None:
        self._room = room
        self._taken = 0
        self._kept: OrderedDict[bytes, Any] = OrderedDict()

    def __len__(self) -> int:
        return len(self._kept)

    def __contains__(self, key: bytes) -> bool:
        return key in self._kept

    def __getitem__(self, key: bytes) -> Any:
        self._kept.move_to_end(key)
        return self._kept[key]

    def keep(self, key: bytes, answer: Any) -> None:
        """Keep a cell value, or rows of them."""
        self._kept[key] = answer
        self._taken += _size(key, answer)
        while self._taken > self._room:
            self._taken -= _size(*self._kept.popitem(last=False))


def _size(key: bytes, answer: Any) -> int:
    cells = len(answer) * len(answer[0]) if isinstance(answer, (list, tuple)) else 1
    return len(key) + BYTES_A_CELL * cells
