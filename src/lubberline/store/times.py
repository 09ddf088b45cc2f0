"""Times as they are kept: UTC as text, with seconds and 'Z', by a clock that runs evenly.

The machine's clock is set by people and by the network, forwards and back. What is decided by a time (how
long a paper still runs, how long a code holds) must not move with it: the clock of the records starts at
what the machine's shows and then goes by the time since the machine was started. When it may follow the
machine's again is `server`'s to say.
"""

import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime

FORM = "%Y-%m-%dT%H:%M:%SZ"


def _since_start_s() -> float:
    """Seconds that nobody sets, those asleep among them."""
    if sys.platform == "linux":
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    if sys.platform == "darwin":
        # The one of the two that goes on while the machine sleeps.
        return time.clock_gettime(time.CLOCK_MONOTONIC)
    return time.monotonic()


class Clock:
    """Seconds since 1970 that run evenly.

    Args:
        wall: the machine's clock, seconds since 1970.
        steady: seconds that nobody sets.
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
        """From now on it shows this."""
        self._ahead_s = now_s - self._steady()

    def not_before(self, now_s: float) -> None:
        """It shows this where it showed less."""
        self._ahead_s += max(0.0, now_s - self.now_s())


CLOCK = Clock()


def now() -> datetime:
    """This moment by the clock of the records."""
    return datetime.fromtimestamp(CLOCK.now_s(), UTC)


def now_utc() -> str:
    """This moment as it is kept."""
    return stamped(now())


def stamped(at: datetime) -> str:
    """A moment as it is kept."""
    return at.astimezone(UTC).strftime(FORM)


def is_time(text: str) -> bool:
    """Whether a text is a time as it is kept."""
    try:
        return datetime.strptime(text, FORM).strftime(FORM) == text
    except ValueError:
        return False


def now_ms() -> int:
    """This moment, in milliseconds since 1970: from which a device counts on by its own clock."""
    return round(CLOCK.now_s() * 1000.0)


def seconds_between(earlier_utc: str, later_utc: str) -> float:
    """How long it is from one kept time to another."""
    earlier, later = (datetime.fromisoformat(one) for one in (earlier_utc, later_utc))
    return (later - earlier).total_seconds()
