"""What takes long to work out, kept by the digest of what it was worked out from."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any, TypeVar

T = TypeVar("T")
MOST = 60


class Kept:
    """The last results; whoever asks for one that is being worked out waits for it."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._found: OrderedDict[Hashable, Any] = OrderedDict()
        self._locks: dict[Hashable, threading.Lock] = {}
        self._lock = threading.Lock()

    def get(self, key: Hashable, work: Callable[[], T]) -> T:
        """The result under a key; worked out in the thread of the first who asks, never in the loop's."""
        with self._lock:
            own = self._locks.setdefault(key, threading.Lock())
        with own:
            with self._lock:
                if key in self._found:
                    self._found.move_to_end(key)
                    found: T = self._found[key]
                    return found
            made = work()
            with self._lock:
                self._found[key] = made
                self._locks.pop(key, None)
                while len(self._found) > self._most:
                    self._found.popitem(last=False)
            return made


KEPT = Kept()
