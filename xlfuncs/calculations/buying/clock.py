"""The time limit of a search, counted in work done: the same question has the same answer."""

import time
from copy import copy
from typing import Self

# Of the limit is counted out in work, so that a slower machine than the one on which the steps
# were timed still keeps to it.
PACE = 0.5


class Clock:
    """Counts from its making. Each step of a search spends what it takes on a common machine, by
    its size; time that passes counts for nothing, so that a busy machine finds the same.

    As a guard against steps that take longer than counted, all is over too when this thread has
    had the processor for `time_limit` s.
    """

    def __init__(self, time_limit: float) -> None:
        self._spent = [0.0]  # s; together with all its parts
        self._end = PACE * time_limit
        self._guard = time.thread_time() + time_limit

    @classmethod
    def of(cls, limit: "float | Clock") -> "Clock":
        """A limit in seconds from now on, or a clock that runs already."""
        return limit if isinstance(limit, Clock) else Clock(limit)

    def spend(self, seconds: float) -> None:
        self._spent[0] += seconds

    def left(self) -> float:
        if time.thread_time() > self._guard:
            return 0.0
        return max(0.0, self._end - self._spent[0])

    def late(self) -> bool:
        return self.left() <= 0.0

    def part(self, share: float) -> Self:
        """A clock for one of the searches within, with that share of what is left."""
        part = copy(self)
        part._end = self._spent[0] + self.left() * min(1.0, share)
        return part
