"""The terminal of a command: a reader that may go away, a full disk, missing characters; progress.

The work continues when nobody reads any more, so the files of `--out` are written. Characters that the
output cannot show are replaced. Progress of long work is a bar on a terminal, and an occasional line
elsewhere; short work shows none.
"""

import codecs
import errno
import os
import sys
import threading
import time
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, TextIO, cast

from lubberline.compiled import HOW_LONG

PLAIN = "lubberline-plain"
_SIGNS = {"−": "-", "–": "-", "—": "-", "’": "'", "‘": "'", "“": '"', "”": '"', "°": " deg", "×": "x"}
# Windows says EINVAL where others say EPIPE.
_READER_GONE = (errno.EPIPE, errno.ESHUTDOWN, *((errno.EINVAL,) if sys.platform == "win32" else ()))
AFTER_S = 2.0
EVERY_S = 10.0
BAR_EVERY_S = 0.2
BAR_WIDTH = 30
COMPILING = f"Compiling the engine ({HOW_LONG})"


def _plain(error: UnicodeError) -> tuple[str | bytes, int]:
    """The nearest available character: a letter without its accent, a plain form of a symbol, or '?'."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    found = []
    for letter in error.object[error.start : error.end]:
        bare = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode()
        found.append(_SIGNS.get(letter) or bare or "?")
    return "".join(found), error.end


codecs.register_error(PLAIN, _plain)


class Output:
    """A text stream that never fails; `fault` has the first failure.

    Attributes:
        stream: where it is written to.
        fault: why it could not be written to.
        before: called before each writing.
    """

    def __init__(self, stream: TextIO | None) -> None:
        self.stream = stream
        self.before: Callable[[], None] | None = None
        self.fault: OSError | None = None

    @property
    def reader_is_gone(self) -> bool:
        """Whether the fault is only that the reader has gone away."""
        return self.fault is not None and self.fault.errno in _READER_GONE

    def write(self, text: str) -> int:
        """Write the text, or drop it after a fault."""
        if self.before:
            self.before()
        if self.stream is None:
            self._fail(OSError(errno.EBADF, "it is closed"))
        elif self.fault is None:
            encoding = getattr(self.stream, "encoding", None) or "utf-8"
            shown = text.encode(encoding, PLAIN).decode(encoding)
            try:
                self.stream.write(shown)
            except (OSError, ValueError) as error:
                self._fail(error)
        return len(text)

    def flush(self) -> None:
        """Flush the stream."""
        if self.stream is not None and self.fault is None:
            try:
                self.stream.flush()
            except (OSError, ValueError) as error:
                self._fail(error)

    def _fail(self, error: OSError | ValueError) -> None:
        if self.fault is not None:
            return
        # A stream that is already closed raises ValueError.
        self.fault = error if isinstance(error, OSError) else OSError(errno.EBADF, "it is closed")
        if self.stream is not None:
            # The rest of its buffer would fail again at the end of the process.
            with suppress(OSError, ValueError):
                nowhere = os.open(os.devnull, os.O_WRONLY)
                os.dup2(nowhere, self.stream.fileno())
                os.close(nowhere)

    def __getattr__(self, name: str) -> Any:
        return getattr(self.stream, name)

    def isatty(self) -> bool:
        """Whether a person looks at it."""
        return self.stream is not None and self.stream.isatty()


@contextmanager
def guarded() -> Iterator[tuple[Output, Output]]:
    """Standard output and standard error guarded, as long as this lasts."""
    before = sys.stdout, sys.stderr
    out, err = Output(sys.stdout), Output(sys.stderr)
    sys.stdout, sys.stderr = cast(TextIO, out), cast(TextIO, err)
    try:
        yield out, err
    finally:
        out.flush()
        err.flush()
        sys.stdout, sys.stderr = before


def compiling_s() -> float | None:
    """Seconds for which the engine has been compiled so far; None while nothing is compiled."""
    # Only commands that fly bring the compiler in, and this must not do it for the others.
    compiler = sys.modules.get("lubberline.compiler")
    spent_s: float | None = getattr(compiler, "compiling_s", lambda: None)()
    return spent_s


class Progress:
    """Shown by a separate thread, so that it continues during compiled work."""

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
        """Name the next work; returns the function to report progress (done, total)."""
        self._words, self._done, self._total = words, 0, 0
        return self.show

    def show(self, done: int, total: int) -> None:
        """Report how much is done."""
        self._done, self._total = done, total

    def start(self) -> None:
        """Start showing it."""
        self._thread.start()

    def end(self) -> None:
        """Remove the bar and stop showing progress."""
        self._ended.set()
        self.clear()

    def clear(self) -> None:
        """Remove the bar, to make room for a line of output."""
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
        spent_s = compiling_s()
        if spent_s is not None:
            return f"{COMPILING}: {spent_s:.0f} s so far"
        if not self._total:
            return f"{self._words}: {now_s - self._began_s:.0f} s so far"
        filled = round(BAR_WIDTH * self._done / self._total)
        bar = f" [{'#' * filled}{'.' * (BAR_WIDTH - filled)}]" if with_bar else ""
        return f"{self._words}:{bar} {self._done} of {self._total}"


def say_written(written: Iterable[Path], cautions: Iterable[str] = ()) -> None:
    """Print which files a command wrote, and the caution."""
    for path in written:
        print(f"wrote {path}")
    if cautions:
        print("\n" + " ".join(cautions))
