"""Messages on the screen, and the exception that ends a run with a message."""

from __future__ import annotations

import contextlib
import os
import sys

BAR_WIDTH = 24


class Stop(Exception):  # noqa: N818 (not an error in the program: a message for the user)
    """Ends the run: what went wrong, and what to do about it."""


def say(text: str) -> None:
    """Print one line at once, even if the output is a file."""
    show(text + "\n")


def show(text: str) -> None:
    """Print at once; if the output is closed or cannot be written, the work continues."""
    out = sys.stdout
    if out is None:
        return
    encoding = out.encoding or "utf-8"
    try:
        out.write(text.encode(encoding, "replace").decode(encoding))
        out.flush()
    except OSError:
        # The rest of the buffer would fail again at the end.
        with contextlib.suppress(OSError, ValueError):
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, out.fileno())
            os.close(nowhere)


def megabytes(count: int) -> str:
    """A number of bytes for people."""
    return f"{count / 1e6:.0f} MB" if count >= 1_000_000 else f"{count / 1e3:.0f} kB"


class Progress:
    """A bar on a terminal; elsewhere a line for every tenth part."""

    def __init__(self, total: int) -> None:
        self.total = max(total, 1)
        self.tenth = -1
        self.on_terminal = sys.stdout is not None and sys.stdout.isatty()

    def show(self, done: int, what: str) -> None:
        """Show `done` of the total bytes, and the file being downloaded."""
        share = min(done / self.total, 1.0)
        text = f"{megabytes(min(done, self.total))} of {megabytes(self.total)}"
        if self.on_terminal:
            bar = "#" * int(share * BAR_WIDTH)
            show(f"\r  [{bar:-<{BAR_WIDTH}}] {text}  {what[:30]:<30}")
        elif int(share * 10) > self.tenth:
            self.tenth = int(share * 10)
            say(f"  {text}  {what}")

    def end(self, what: str) -> None:
        """Fill the bar and go to the next line."""
        self.show(self.total, what)
        if self.on_terminal:
            say("")
