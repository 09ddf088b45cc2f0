"""Outages of the records: detected once, then reported at once until a try succeeds.

During an outage each try lasts until its time limit. If every request tried, they would use all
threads of a server, and pages that need no records would hang too. So one at a time tries; the others
get the result of the last try.
"""

import threading
import weakref
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Engine

from lubberline.errors import InputError, Unavailable, UnavailableCode

WORDS: dict[UnavailableCode, tuple[str, str]] = {
    "unreachable": ("the records cannot be reached", "check that their database is running, then try again"),
    "locked": ("another program has locked the records", "wait until it has finished, then try again"),
    "full": ("the disk that holds the records is full", "free some space on it, then try again"),
    "read-only": ("the records cannot be written to", "give the program write permission, then try again"),
    "connections": ("all connections to the records are in use", "wait a moment, then try again"),
    "busy": ("the records are too busy", "wait a moment, then try again"),
}


def unavailable(code: UnavailableCode) -> Unavailable:
    """The exception for a code."""
    return Unavailable(code, *WORDS[code])


class Outage:
    """The state of one kind of action, reading or writing.

    Attributes:
        code: of the outage; None for none.
    """

    def __init__(self) -> None:
        self.code: UnavailableCode | None = None
        self._lock = threading.Lock()
        self._tried = False

    @contextmanager
    def watched(self) -> Iterator[bool]:
        """Wraps an action; returns whether this is the one that tries during an outage.

        Raises:
            Unavailable: there is an outage, and another action is trying.
        """
        tries = self._may_try()
        try:
            yield tries
        except Unavailable as error:
            self.code = error.code
            raise
        except InputError:
            # A refusal ends an outage, except for a full disk.
            if self.code != "full":
                self.code = None
            raise
        else:
            self.code = None
        finally:
            if tries:
                self._tried = False

    def check(self, tries: bool) -> None:
        """Checks for an outage after an action had to wait.

        Args:
            tries: as returned by `watched`.

        Raises:
            Unavailable: there is one, and this is not the action that tries.
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
    """The outages of one database, and the queue of writers for a SQLite file."""

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
