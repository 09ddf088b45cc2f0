"""How often something may be tried: by one device, and by all together."""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable

from lubberline.web.refusals import Refused

GREATEST_REMEMBERED = 4096


class Bucket:
    """What may still be done; it comes back with time.

    Args:
        room: how much of it at once.
        per_s: how much comes back in a second.
        now_s: by the clock that later calls go by.
    """

    def __init__(self, room: float, per_s: float, now_s: float) -> None:
        self._room, self._per_s = room, per_s
        self._left, self._at_s = room, now_s

    def left(self, now_s: float) -> float:
        """How much there is now."""
        self._left = min(self._room, self._left + (now_s - self._at_s) * self._per_s)
        self._at_s = now_s
        return self._left

    def take(self, now_s: float) -> None:
        """Takes one, though there may be none left."""
        self._left = self.left(now_s) - 1.0


class Tries:
    """A limit on tries that may fail.

    Args:
        each: tries at once of one device.
        each_per_min: how many of them come back in a minute.
        together: tries at once of all devices.
        together_per_min: how many of them come back in a minute.
    """

    def __init__(
        self,
        each: float,
        each_per_min: float,
        together: float,
        together_per_min: float,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._each, self._each_per_s = each, each_per_min / 60.0
        self._clock = clock
        self._lock = threading.Lock()
        self._all = Bucket(together, together_per_min / 60.0, clock())
        self._own: OrderedDict[str, Bucket] = OrderedDict()
        self._seen: OrderedDict[tuple[str, str], None] = OrderedDict()

    def check(self, address: str) -> None:
        """Lets a try through, the right ones too, only while there are tries left.

        Raises:
            Refused: with 429 when there is none left.
        """
        with self._lock:
            now_s = self._clock()
            own = self._own.get(address, self._all)
            left = min(self._all.left(now_s), own.left(now_s))
        if left < 1.0:
            raise Refused(429, "tries", "too many wrong tries", "wait a minute, then try again")

    def failed(self, address: str, what: str = "") -> None:
        """Counts a try that was wrong.

        Args:
            address: of whoever tried.
            what: was tried: the same from the same address counts once, for it teaches nobody anything;
                with '' each counts.
        """
        with self._lock:
            if what and self._knows(address, what):
                return
            now_s = self._clock()
            own = self._own.pop(address, None) or Bucket(self._each, self._each_per_s, now_s)
            self._own[address] = own
            own.take(now_s)
            self._all.take(now_s)
            while len(self._own) > GREATEST_REMEMBERED:
                self._own.popitem(last=False)

    def _knows(self, address: str, what: str) -> bool:
        tried = (address, what)
        known = tried in self._seen
        self._seen[tried] = None
        self._seen.move_to_end(tried)
        while len(self._seen) > GREATEST_REMEMBERED:
            self._seen.popitem(last=False)
        return known
