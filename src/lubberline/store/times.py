"""Times as stored: UTC as text, with seconds and 'Z', from a clock that runs evenly.

The machine's clock may be set forwards and back, by people and by the network. Anything decided by time (how
long a paper runs, how long a code is valid) must not move with it: the clock of the records starts at
the machine's and then counts the time since the machine was started. `server` decides when it may follow the
machine's again.
"""

import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime

FORM = "%Y-%m-%dT%H:%M:%SZ"


def _since_start_s() -> float:
    """Steady seconds, including sleep."""
    if sys.platform == "linux":
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    if sys.platform == "darwin":
        # The one of the two that continues during sleep.
        return time.clock_gettime(time.CLOCK_MONOTONIC)
    return time.monotonic()


class Clock:
    """Seconds since 1970 that run evenly.

    Args:
        wall: the machine's clock, seconds since 1970.
        steady: a clock that is never set.
    """

    def __init__(
        self, wall: Callable[[], float] = time.time, steady: Callable[[], float] = _since_start_s
    ) -> None:
        self.wall_s = wall
        self._steady = steady
        self.follow(wall())

    def now_s(self) -> float:
        """This moment."""
        return self._steady() + self._ahead_s

    def follow(self, now_s: float) -> None:
        """Sets the clock."""
        self._ahead_s = now_s - self._steady()

    def not_before(self, now_s: float) -> None:
        """Sets the clock forwards, never back."""
        self._ahead_s += max(0.0, now_s - self.now_s())


CLOCK = Clock()


def now() -> datetime:
    """This moment by the clock of the records."""
    return datetime.fromtimestamp(CLOCK.now_s(), UTC)


def now_utc() -> str:
    """This moment as stored."""
    return stamped(now())


def stamped(at: datetime) -> str:
    """A moment as stored."""
    return at.astimezone(UTC).strftime(FORM)


def is_time(text: str) -> bool:
    """Whether a text is a stored time."""
    try:
        return datetime.strptime(text, FORM).strftime(FORM) == text
    except ValueError:
        return False


def now_ms() -> int:
    """This moment, in milliseconds since 1970: from which a device continues with its own clock."""
    return round(CLOCK.now_s() * 1000.0)


def seconds_between(earlier_utc: str, later_utc: str) -> float:
    """The seconds from one stored time to another."""
    earlier, later = (datetime.fromisoformat(one) for one in (earlier_utc, later_utc))
    return (later - earlier).total_seconds()
