"""Transactions: one an act, tried again when it crossed another's, its faults in words, its news told."""

import random
import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import wraps
from inspect import signature
from typing import Concatenate, ParamSpec, TypeVar

from sqlalchemy import Connection, Engine
from sqlalchemy.engine import URL
from sqlalchemy.exc import (
    DataError,
    DBAPIError,
    IntegrityError,
    InterfaceError,
    OperationalError,
    SQLAlchemyError,
)
from sqlalchemy.exc import TimeoutError as NoConnection

from lubberline.errors import InputError, UnavailableCode
from lubberline.store.database.changes import changes_of
from lubberline.store.database.engines import shown
from lubberline.store.database.outage import Outages, outages_of, unavailable

# SQLite's primary result codes (sqlite.org/rescode.html); the extended ones have them in their low byte.
SQLITE_CODES: dict[int, UnavailableCode] = {
    sqlite3.SQLITE_BUSY: "locked",
    sqlite3.SQLITE_LOCKED: "locked",
    sqlite3.SQLITE_PROTOCOL: "locked",
    sqlite3.SQLITE_FULL: "full",
    sqlite3.SQLITE_READONLY: "read-only",
    sqlite3.SQLITE_NOMEM: "busy",
}
# A disk without room for the index of the write-ahead file, or for that file itself.
SQLITE_NO_ROOM = frozenset({sqlite3.SQLITE_IOERR_SHMSIZE, sqlite3.SQLITE_IOERR_WRITE})
# PostgreSQL's codes (its manual, appendix A), the longest that fits first.
POSTGRESQL_CODES: dict[str, UnavailableCode] = {
    "25006": "read-only",
    "53100": "full",
    "53300": "connections",
    "53": "busy",
    "55P03": "locked",
    "55006": "locked",
    "57014": "busy",
    "57": "unreachable",
    "58": "unreachable",
    "08": "unreachable",
    # Transactions that met again and again, however often they were tried.
    "40": "busy",
}


def code_of(error: BaseException) -> UnavailableCode | None:
    """What an error of the database means that is nobody's fault; None for any other."""
    if isinstance(error, NoConnection):
        return "connections"
    if not isinstance(error, DBAPIError):
        return None
    if isinstance(error.orig, sqlite3.Error):
        extended = getattr(error.orig, "sqlite_errorcode", 0)
        return "full" if extended in SQLITE_NO_ROOM else SQLITE_CODES.get(extended & 0xFF)
    if error.connection_invalidated:
        return "unreachable"
    state = getattr(error.orig, "sqlstate", None) or ""
    if not state and isinstance(error, OperationalError | InterfaceError):
        # No server, or one that let nobody in: a connection that is refused has no code of its own.
        return "unreachable"
    return next((POSTGRESQL_CODES[state[:n]] for n in (5, 2) if state[:n] in POSTGRESQL_CODES), None)


P = ParamSpec("P")
T = TypeVar("T")
# PostgreSQL's codes for transactions that met: deadlock, serialization, and a row that another just made
# or deleted. Whoever comes second finds what the first left and is right at the next try.
CROSSED = frozenset({"40001", "40P01", "23505", "23503"})
TRIES = 5
LONGEST_MESSAGE = 200
# A turn takes milliseconds: whoever waits for so long is in a queue that gets no shorter.
LONGEST_TURN_S = 15.0
LOOKS_EVERY_S = 0.2


def _nothing(_: object) -> tuple[str, ...]:
    return ()


class Transactions:
    """The way to the records of one database, a transaction an act.

    Attributes:
        engine: of the database.
        changes: news of what changed, by topics: 'sitting:ID', 'people', 'log:AIRCRAFT', 'settings', and '*'
            for everything.
    """

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self.changes = changes_of(engine)

    def read(self, act: Callable[[Connection], T], *, whole: bool = False) -> T:
        """What an act finds.

        Args:
            act: reads, and writes nothing.
            whole: of one moment, however many tables it reads.

        Raises:
            InputError: as the act does.
            Unavailable: the records cannot be read at the moment.
        """
        reading = outages_of(self.engine).reading
        with reading.watched(), plainly(self.engine), self.engine.connect() as connection:
            connection.execution_options(reads=True)
            if whole and connection.dialect.name == "postgresql":
                connection.execution_options(isolation_level="REPEATABLE READ")
            return act(connection)

    def write(self, act: Callable[[Connection], T], topics: Callable[[T], Iterable[str]] = _nothing) -> T:
        """What an act makes: kept when this returns, and told then, or nothing of it is.

        Args:
            act: what is done.
            topics: of what the act gave, what is news then.

        Raises:
            InputError: as the act does, or when it does not fit what is kept.
            Unavailable: the records cannot be written to at the moment.
        """

        def told(connection: Connection) -> tuple[T, list[str]]:
            done = act(connection)
            named = sorted(topics(done))
            for topic in named:
                self.changes.within(connection, topic)
            return done, named

        done, named = self._written(told)
        for topic in named:
            self.changes.after(topic)
        return done

    def _written(self, act: Callable[[Connection], T]) -> T:
        tries_left = TRIES
        outages = outages_of(self.engine)
        with outages.writing.watched() as tries, plainly(self.engine):
            while True:
                try:
                    with _turn(self.engine, outages, tries), self.engine.begin() as connection:
                        return act(connection)
                except DBAPIError as error:
                    tries_left -= 1
                    if not tries_left or getattr(error.orig, "sqlstate", "") not in CROSSED:
                        raise
                time.sleep(random.uniform(0.01, 0.05))


class Service:
    """What one module does with the records, a transaction each; a school has one of each module's.

    Its methods are the module's functions on a connection, made by `reads` and `writes`.
    """

    def __init__(self, transactions: Transactions) -> None:
        self.transactions = transactions


def reads(
    act: Callable[Concatenate[Connection, P], T], *, whole: bool = False
) -> Callable[Concatenate[Service, P], T]:
    """A method that reads: the act on a connection, in a transaction of its own.

    Args:
        act: reads, and writes nothing.
        whole: of one moment, however many tables it reads.
    """

    @wraps(act)
    def method(service: Service, /, *given: P.args, **named: P.kwargs) -> T:
        return service.transactions.read(lambda connection: act(connection, *given, **named), whole=whole)

    return method


def writes(
    act: Callable[Concatenate[Connection, P], T], topic: str = "", *, each: str = ""
) -> Callable[Concatenate[Service, P], T]:
    """A method that writes: the act on a connection, in a transaction of its own, and the news of it.

    Args:
        act: what is done.
        topic: what is news then, with names of the act's arguments in braces, or `done` for what it gave:
            'sitting:{answer.sitting}'; nothing without it.
        each: the argument that lists many, of each of which the topic tells as `one`.
    """
    form = signature(act)

    @wraps(act)
    def method(service: Service, /, *given: P.args, **named: P.kwargs) -> T:
        arguments = form.bind(None, *given, **named).arguments

        def topics(done: T) -> set[str]:
            listed = arguments[each] if each else (None,) if topic else ()
            return {topic.format(**arguments, done=done, one=one) for one in listed}

        return service.transactions.write(lambda connection: act(connection, *given, **named), topics)

    return method


@contextmanager
def _turn(engine: Engine, outages: Outages, tries: bool) -> Iterator[None]:
    """One writer at a time for SQLite, in turn: left to its own lock, some would wait for seconds.

    Raises:
        Unavailable: the records went away while others were before this one, or too many are.
    """
    if engine.dialect.name != "sqlite":
        yield
        return
    ends_s = time.monotonic() + LONGEST_TURN_S
    while not outages.turn.acquire(timeout=LOOKS_EVERY_S):
        outages.writing.check(tries)
        if time.monotonic() > ends_s:
            raise unavailable("busy")
    try:
        outages.writing.check(tries)
        yield
    finally:
        outages.turn.release()


def _said(error: SQLAlchemyError, url: URL) -> str:
    """The first line of what a database says, without a password; later ones may quote rows."""
    original = getattr(error, "orig", None)
    lines = str(original).splitlines() if original else []
    line = lines[0] if lines else type(error).__name__
    secrets = [url.password, *(value for name, value in url.query.items() if "pass" in name)]
    for secret in secrets:
        if secret:
            line = line.replace(str(secret), "***")
    return line[:LONGEST_MESSAGE]


@contextmanager
def plainly(engine: Engine, *, opening: bool = False) -> Iterator[None]:
    """Turns what a database refuses into words without its password or anybody's record.

    Args:
        engine: of the database.
        opening: whether it is being opened: then a file or address that is none is the asker's fault, and
            is named. Later it is nobody's, and only a note for the terminal names it.

    Raises:
        InputError: what does not fit together; when opening, a file that is none, or no right to it.
        Unavailable: no answer, no room, no right, or too many ask.
    """
    try:
        yield
    except IntegrityError:
        raise InputError(
            "records", "it does not fit the records", "reload the page, then try again"
        ) from None
    except (DataError, UnicodeEncodeError):
        raise InputError("what was sent", "it has invalid characters or numbers", "use plain text") from None
    except (DBAPIError, NoConnection) as error:
        code = code_of(error)
        where, said = shown(engine.url), _said(error, engine.url)
        if code is None and opening:
            right = "give an address whose user may create tables and write to them"
            if engine.dialect.name == "sqlite":
                right = "give a file made by Lubberline, or none, in a writable folder"
            raise InputError(where, said, right) from None
        found = unavailable(code or "unreachable")
        found.add_note(f"{where}: {said}")
        raise found from None
