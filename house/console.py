"""What is said on the screen, and the one exception that ends a run with a plain sentence."""

from __future__ import annotations

import sys

BAR_WIDTH = 24


class Stop(Exception):  # noqa: N818 (not an error in the program: a sentence for the person)
    """Ends the run: what went wrong, and what to do about it."""


def say(text: str) -> None:
    """Print one line at once, also where the output is a file."""
    print(text, flush=True)


def megabytes(count: int) -> str:
    """Bytes as a person reads them."""
    return f"{count / 1e6:.0f} MB" if count >= 1_000_000 else f"{count / 1e3:.0f} kB"


class Progress:
    """A bar on a terminal; elsewhere a line for every tenth part."""

    def __init__(self, total: int) -> None:
        self.total = max(total, 1)
        self.tenth = -1
        self.on_terminal = sys.stdout.isatty()

    def show(self, done: int, what: str) -> None:
        """Show `done` of the total bytes, and what is being fetched."""
        share = min(done / self.total, 1.0)
        text = f"{megabytes(min(done, self.total))} of {megabytes(self.total)}"
        if self.on_terminal:
            bar = "#" * int(share * BAR_WIDTH)
            print(f"\r  [{bar:-<{BAR_WIDTH}}] {text}  {what[:30]:<30}", end="", flush=True)
        elif int(share * 10) > self.tenth:
            self.tenth = int(share * 10)
            say(f"  {text}  {what}")

    def end(self, what: str) -> None:
        """Fill the bar and go to the next line."""
        self.show(self.total, what)
        if self.on_terminal:
            print(flush=True)
