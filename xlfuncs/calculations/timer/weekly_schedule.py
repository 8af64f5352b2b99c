"""One supply's week as a circle of seconds: which runs are taken and where the next one fits.

A timer program has one list of start times and one list of days, so a start is tried on all its
days at once. Clock times are seconds after midnight; day 0 is Monday.
"""

from dataclasses import dataclass, field

DAY = 86400
WEEK = 7 * DAY


@dataclass(frozen=True)
class AllowedHours:
    """When water may run: from one clock time to another, over midnight if the second is earlier.

    A run that goes past midnight needs both days. Equal times mean the whole day.
    """

    opens: int
    closes: int
    days: tuple[bool, ...] = (True,) * 7

    @property
    def length(self) -> int:
        return (self.closes - self.opens) % DAY or DAY

    def day_patterns(self, count: int) -> list[tuple[int, ...]]:
        """The ways to spread `count` waterings evenly over the allowed days."""
        allowed = [day for day in range(7) if self.days[day]]
        ways = {
            tuple(
                sorted(
                    allowed[(i * len(allowed) // count + turn) % len(allowed)] for i in range(count)
                )
            )
            for turn in range(len(allowed))
        }
        return sorted(ways)


def longest_gap(count: int, allowed: AllowedHours) -> int:
    """Most days between two waterings, for as many a week on the best of the allowed days.

    Three a week on any day leave a gap of 3 days, not 7/3.
    """
    patterns = allowed.day_patterns(min(count, sum(allowed.days)))
    return min(
        max((later - day - 1) % 7 + 1 for day, later in zip(days, days[1:] + days[:1], strict=True))
        for days in patterns
    )


@dataclass
class WeeklySchedule:
    """The runs placed so far; never two at once, never outside the allowed hours."""

    hours: AllowedHours
    taken: list[tuple[int, int]] = field(default_factory=list)  # start in the week, length

    def first_fit(self, days: tuple[int, ...], earliest: int, length: int) -> int | None:
        """The first offset from the opening time, on a whole minute, at which a run fits."""
        offset = -(-earliest // 60) * 60
        while offset + length <= self.hours.length:
            push = max(self._push(day, offset, length) for day in days)
            if push == 0:
                return offset
            offset = -(-(offset + push) // 60) * 60
        return None

    def take(self, days: tuple[int, ...], offset: int, length: int) -> None:
        self.taken += [(self._start(day, offset), length) for day in days]

    def clock(self, offset: int) -> int:
        return (self.hours.opens + offset) % DAY

    def _start(self, day: int, offset: int) -> int:
        return day * DAY + self.clock(offset)

    def _push(self, day: int, offset: int, length: int) -> int:
        """By how much a run must be put off on this day; 0 where it fits."""
        start = self._start(day, offset)
        to_midnight = DAY - self.clock(offset)
        if length > to_midnight and not self.hours.days[(day + 1) % 7]:
            return to_midnight
        for other, other_length in self.taken:
            since, until = (start - other) % WEEK, (other - start) % WEEK
            if since < other_length:
                return other_length - since
            if until < length:
                return until + other_length
        return 0


def clock_text(seconds: float) -> str:
    """A clock time as 05:30."""
    minutes = round(seconds / 60) % 1440
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def clock_overlap(start: int, length: int, other: int, other_length: int) -> bool:
    """Whether two daily spans share a moment; either may run over midnight."""
    return (start - other) % DAY < other_length or (other - start) % DAY < length
