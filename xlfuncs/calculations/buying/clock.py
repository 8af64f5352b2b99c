"""One time limit for a search that is made of several."""

import time


class Clock:
    """Counts from its making; `part` is the limit (s) for one of the searches within."""

    def __init__(self, time_limit: float) -> None:
        self._deadline = time.monotonic() + time_limit

    def left(self) -> float:
        return max(0.0, self._deadline - time.monotonic())

    def late(self) -> bool:
        return self.left() <= 0.0

    def part(self, share: float) -> float:
        """That share of the time that is left."""
        return self.left() * min(1.0, share)
