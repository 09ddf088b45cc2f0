"""An outage of the records: found once, then told at once until one try has come through.

While a database is away each try takes as long as its patience. If every request tried, they would take all
threads of a server, and pages that need no records would hang, too. So one at a time tries, and the others
are told what the last try found.
"""

import threading
import weakref
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Engine

from lubberline.errors import InputError, Unavailable, UnavailableCode

WORDS: dict[UnavailableCode, tuple[str, str]] = {
    "unreachable": ("the records cannot be reached", "see that their database runs, then try again"),
    "locked": ("another program holds the records", "wait until it has finished, then try again"),
    "full": ("the disk that holds the records is full", "make room on it, then try again"),
    "read-only": ("the records cannot be written to", "give the program the right to write, then try again"),
    "connections": ("all connections to the records are taken", "wait a moment, then try again"),
    "busy": ("the records are too busy", "wait a moment, then try again"),
}


def unavailable(code: UnavailableCode) -> Unavailable:
    """What to raise for a code."""
    return Unavailable(code, *WORDS[code])


class Outage:
    """Whether one kind of act, reading or writing, is away at the moment.

    Attributes:
        code: what is the matter; None when nothing is.
    """

    def __init__(self) -> None:
        self.code: UnavailableCode | None = None
        self._lock = threading.Lock()
        self._tried = False

    @contextmanager
    def watched(self) -> Iterator[bool]:
        """Around an act; gives whether this is the one that tries while the others are told.

        Raises:
            Unavailable: the records are away, and another act is trying them.
        """
        tries = self._may_try()
        try:
            yield tries
        except Unavailable as error:
            self.code = error.code
            raise
        except InputError:
            # A refusal is an answer; only a disk that is full may still give it.
            if self.code != "full":
                self.code = None
            raise
        else:
            self.code = None
        finally:
            if tries:
                self._tried = False

    def check(self, tries: bool) -> None:
        """Asked by an act that had to wait: the records may be away by now.

        Args:
            tries: as `watched` gave it.

        Raises:
            Unavailable: they are, and this is not the act that tries them.
        """
        code = self.code
        if code is not None and not tries:
            raise unavailable(code)

    def _may_try(self) -> bool:
        with self._lock:
            if self.code is None:
                return False
            if self._tried:
                raise unavailable(self.code)
            self._tried = True
            return True


class Outages:
    """The outages of one database, and the turn of those who write to a SQLite file."""

    def __init__(self) -> None:
        self.reading = Outage()
        self.writing = Outage()
        self.turn = threading.Lock()


_KNOWN: weakref.WeakKeyDictionary[Engine, Outages] = weakref.WeakKeyDictionary()
_FIRST = threading.Lock()


def outages_of(engine: Engine) -> Outages:
    """The outages of an engine's database."""
    with _FIRST:
        return _KNOWN.setdefault(engine, Outages())
