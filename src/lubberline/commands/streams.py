"""What the command line prints: to a reader who may go away, a disk that may be full, few characters.

The work goes on when nobody reads any more: what was asked for with `--out` is written. Characters that
the output cannot show are replaced.
"""

from __future__ import annotations

import codecs
import errno
import os
import sys
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any, TextIO, cast

PLAIN = "lubberline-plain"
_SIGNS = {"−": "-", "–": "-", "—": "-", "’": "'", "‘": "'", "“": '"', "”": '"', "°": " deg", "×": "x"}
# Windows says EINVAL where others say EPIPE.
_READER_GONE = (errno.EPIPE, errno.ESHUTDOWN, *((errno.EINVAL,) if sys.platform == "win32" else ()))


def _plain(error: UnicodeError) -> tuple[str | bytes, int]:
    """The nearest that is there: a letter without its accent, a sign's everyday form, else '?'."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    found = []
    for letter in error.object[error.start : error.end]:
        bare = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode()
        found.append(_SIGNS.get(letter) or bare or "?")
    return "".join(found), error.end


codecs.register_error(PLAIN, _plain)


class Output:
    """A text stream that never fails; what failed first stands in `fault`.

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
        """Whether the fault is only that nobody reads any more."""
        return self.fault is not None and self.fault.errno in _READER_GONE

    def write(self, text: str) -> int:
        """Write what can be written, and drop it after a fault."""
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
        """Hand on what is waiting."""
        if self.stream is not None and self.fault is None:
            try:
                self.stream.flush()
            except (OSError, ValueError) as error:
                self._fail(error)

    def _fail(self, error: OSError | ValueError) -> None:
        if self.fault is not None:
            return
        # A ValueError is that of a stream already closed.
        self.fault = error if isinstance(error, OSError) else OSError(errno.EBADF, "it is closed")
        if self.stream is not None:
            # What is still waiting in it would fail once more at the end of the process.
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
