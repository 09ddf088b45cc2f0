"""How far long work is: a bar on a terminal, a line now and then elsewhere, nothing for short work."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable

from lubberline.commands.streams import Output

AFTER_S = 2.0
EVERY_S = 10.0
BAR_EVERY_S = 0.2
BAR_WIDTH = 30
COMPILING = "Compiling the engine, which takes up to a minute"


def compiling_since_s() -> float | None:
    """When compiling began, on the monotonic clock; None while nothing is compiled."""
    # Only commands that fly import the engine, and this must not do it for the others.
    engine = sys.modules.get("lubberline.compiled")
    since: float | None = getattr(engine, "compiling_since_s", lambda: None)()
    return since


class Progress:
    """Shown by a thread of its own, so that it goes on while compiled work is under way."""

    def __init__(self, stream: Output, words: str, clock: Callable[[], float] = time.monotonic) -> None:
        self._stream = stream
        self._clock = clock
        self._words = words
        self._done = self._total = 0
        self._began_s = clock()
        self._told_s: float | None = None
        self._bar = ""
        self._lock = threading.RLock()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def stage(self, words: str) -> Callable[[int, int], None]:
        """Name the work that comes next; returns what is told (done, of how many)."""
        self._words, self._done, self._total = words, 0, 0
        return self.show

    def show(self, done: int, total: int) -> None:
        """So much is done."""
        self._done, self._total = done, total

    def start(self) -> None:
        """Begin to show it."""
        self._thread.start()

    def end(self) -> None:
        """Take the bar away; nothing more is shown."""
        self._ended.set()
        self.clear()

    def clear(self) -> None:
        """Take the bar away, for a line of output to stand in its place."""
        with self._lock:
            if self._bar:
                blank = " " * len(self._bar)
                self._bar = ""
                self._stream.write(f"\r{blank}\r")
                self._stream.flush()

    def _run(self) -> None:
        while not self._ended.wait(BAR_EVERY_S):
            self.tick()

    def tick(self) -> None:
        """Show it as it is now, if it is time."""
        now_s = self._clock()
        if now_s - self._began_s < AFTER_S:
            return
        with self._lock:
            if self._ended.is_set():
                return
            if self._stream.isatty():
                line = self._line(now_s, with_bar=True)
                self._stream.write(f"\r{line:<{len(self._bar)}}")
                self._stream.flush()
                self._bar = line
            elif self._told_s is None or now_s - self._told_s >= EVERY_S:
                self._told_s = now_s
                self._stream.write(self._line(now_s, with_bar=False) + "\n")
                self._stream.flush()

    def _line(self, now_s: float, *, with_bar: bool) -> str:
        since_s = compiling_since_s()
        if since_s is not None:
            return f"{COMPILING}: {max(0.0, now_s - since_s):.0f} s so far"
        if not self._total:
            return f"{self._words}: {now_s - self._began_s:.0f} s so far"
        filled = round(BAR_WIDTH * self._done / self._total)
        bar = f" [{'#' * filled}{'.' * (BAR_WIDTH - filled)}]" if with_bar else ""
        return f"{self._words}:{bar} {self._done} of {self._total}"
