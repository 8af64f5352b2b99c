"""Answers that are kept while there is room for them.

Only the standard library: the file also travels in the Calc extension.
"""

import marshal
from collections import OrderedDict
from collections.abc import Callable
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

    def answer(self, question: tuple[Any, ...], compute: Callable[[], Any]) -> Any:
        """A cell value or rows of them, as kept for the name and arguments of a call, or computed.

        Where `compute` raises, nothing is kept.
        """
        key = _key(question)
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key]
        answer = compute()
        self._kept[key] = answer
        self._taken += _size(key, answer)
        while self._taken > self._room:
            self._taken -= _size(*self._kept.popitem(last=False))
        return answer


def _key(question: Any) -> bytes:
    """The same bytes for the same question only; in version 2, equal values are written alike."""
    try:
        return marshal.dumps(question, 2)
    except ValueError:  # an error or a date among the arguments
        return marshal.dumps(_as_bytes(question), 2)


def _as_bytes(value: Any) -> Any:
    """What is no number, text or yes and no as bytes, which no cell value is."""
    if isinstance(value, (list, tuple)):
        return [_as_bytes(item) for item in value]
    return value if type(value) in _PLAIN else repr(value).encode()


_PLAIN = (float, int, str, bool, type(None))


def _size(key: bytes, answer: Any) -> int:
    cells = len(answer) * len(answer[0]) if isinstance(answer, (list, tuple)) else 1
    return len(key) + BYTES_A_CELL * cells
