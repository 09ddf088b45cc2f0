"""Transactions: one per action, repeated after a conflict, with errors in words and notices of changes."""

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
# A disk without space for the write-ahead log or its index.
SQLITE_NO_ROOM = frozenset({sqlite3.SQLITE_IOERR_SHMSIZE, sqlite3.SQLITE_IOERR_WRITE})
# PostgreSQL's codes (its manual, appendix A), the longest match first.
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
    # Transactions that kept conflicting however often they were repeated.
    "40": "busy",
}


def code_of(error: BaseException) -> UnavailableCode | None:
    """The code of a database error that is an outage; None for any other."""
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
        # No server, or none that accepts connections: a refused connection has no code.
        return "unreachable"
    return next((POSTGRESQL_CODES[state[:n]] for n in (5, 2) if state[:n] in POSTGRESQL_CODES), None)


P = ParamSpec("P")
T = TypeVar("T")
# PostgreSQL's codes for conflicts: deadlock, serialization, and a row that another just made
# or deleted. The second transaction succeeds at the next try.
CROSSED = frozenset({"40001", "40P01", "23505", "23503"})
TRIES = 5
LONGEST_MESSAGE = 200
# A turn takes milliseconds: after this long, the queue is not getting shorter.
LONGEST_TURN_S = 15.0
LOOKS_EVERY_S = 0.2


def _nothing(_: object) -> tuple[str, ...]:
    return ()


class Transactions:
    """Access to the records of one database, one transaction per action.

    Attributes:
        engine: of the database.
        changes: notices of changes, by topics: 'sitting:ID', 'people', 'log:AIRCRAFT', 'settings', and '*'
            for everything.
    """

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self.changes = changes_of(engine)

    def read(self, act: Callable[[Connection], T], *, whole: bool = False) -> T:
        """The result of a reading action.

        Args:
            act: reads, and writes nothing.
            whole: whether all tables are read at the same moment.

        Raises:
            InputError: from the action.
            Unavailable: the records cannot be read at the moment.
        """
        reading = outages_of(self.engine).reading
        with reading.watched(), plainly(self.engine), self.engine.connect() as connection:
            connection.execution_options(reads=True)
            if whole and connection.dialect.name == "postgresql":
                connection.execution_options(isolation_level="REPEATABLE READ")
            return act(connection)

    def write(self, act: Callable[[Connection], T], topics: Callable[[T], Iterable[str]] = _nothing) -> T:
        """The result of a writing action: committed and notified when this returns, or without any effect.

        Args:
            act: the action.
            topics: the topics to notify, from the action's result.

        Raises:
            InputError: from the action, or when it does not fit the records.
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
    """The actions of one module on the records, one transaction each; a school has one service per module.

    Its methods are the module's functions on a connection, made by `reads` and `writes`.
    """

    def __init__(self, transactions: Transactions) -> None:
        self.transactions = transactions


def reads(
    act: Callable[Concatenate[Connection, P], T], *, whole: bool = False
) -> Callable[Concatenate[Service, P], T]:
    """A reading method: the action on a connection, in its own transaction.

    Args:
        act: reads, and writes nothing.
        whole: whether all tables are read at the same moment.
    """

    @wraps(act)
    def method(service: Service, /, *given: P.args, **named: P.kwargs) -> T:
        return service.transactions.read(lambda connection: act(connection, *given, **named), whole=whole)

    return method


def writes(
    act: Callable[Concatenate[Connection, P], T], topic: str = "", *, each: str = ""
) -> Callable[Concatenate[Service, P], T]:
    """A writing method: the action on a connection, in its own transaction, with a notice.

    Args:
        act: the action.
        topic: topic to notify, with names of the action's arguments in braces, or `done` for its result:
            'sitting:{answer.sitting}'; none by default.
        each: the argument that lists several things, each named `one` in the topic.
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
    """One writer at a time for SQLite, in turn: with its own lock, some would wait for seconds.

    Raises:
        Unavailable: an outage began during the wait, or the queue is too long.
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
    """The first line of a database's error, without a password; later lines may quote rows."""
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
    """Turns database errors into messages without passwords or records.

    Args:
        engine: of the database.
        opening: whether it is being opened: then an invalid file or address is the user's error and
            is named. Later it is an outage, and only the log names it.

    Raises:
        InputError: inconsistent data; when opening, an invalid file, or no permission.
        Unavailable: no answer, no space, no permission, or too many requests.
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
