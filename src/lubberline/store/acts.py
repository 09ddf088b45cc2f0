"""An act on the database: one transaction, tried again when it crossed another's, its faults in words."""

from __future__ import annotations

import random
import threading
import time
import weakref
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from typing import TypeVar

from sqlalchemy import Connection, Engine
from sqlalchemy.engine import URL
from sqlalchemy.exc import DataError, DBAPIError, IntegrityError, OperationalError
from sqlalchemy.exc import TimeoutError as NoConnection

from lubberline.errors import InputError
from lubberline.store.opening import shown

T = TypeVar("T")
# PostgreSQL's codes for transactions that met: deadlock, serialization, and a row that another just made
# or deleted. Whoever comes second finds what the first left and is right at the next try.
CROSSED = frozenset({"40001", "40P01", "23505", "23503"})
TRIES = 5
LONGEST_MESSAGE = 200


def read(engine: Engine, act: Callable[[Connection], T], *, whole: bool = False) -> T:
    """What an act finds.

    Args:
        engine: of the database.
        act: reads, and writes nothing.
        whole: of one moment, however many tables it reads.
    """
    with plainly(engine), engine.connect() as connection:
        connection.execution_options(reads=True)
        if whole and connection.dialect.name == "postgresql":
            connection.execution_options(isolation_level="REPEATABLE READ")
        return act(connection)


def write(engine: Engine, act: Callable[[Connection], T]) -> T:
    """What an act makes: kept when this returns, or nothing of it is.

    Raises:
        InputError: as the act does, or when the database cannot be reached or does not take it.
    """
    tries_left = TRIES
    with plainly(engine):
        while True:
            try:
                with _turn(engine), engine.begin() as connection:
                    return act(connection)
            except DBAPIError as error:
                tries_left -= 1
                if not tries_left or getattr(error.orig, "sqlstate", "") not in CROSSED:
                    raise
            time.sleep(random.uniform(0.01, 0.05))


_TURNS: weakref.WeakKeyDictionary[Engine, threading.Lock] = weakref.WeakKeyDictionary()
_FIRST = threading.Lock()


def _turn(engine: Engine) -> AbstractContextManager[object]:
    """One writer at a time for SQLite, in turn: left to its own lock, some would wait for seconds."""
    if engine.dialect.name != "sqlite":
        return nullcontext()
    with _FIRST:
        return _TURNS.setdefault(engine, threading.Lock())


def _said(error: DBAPIError, url: URL) -> str:
    """The first line of what a database says, without a password; later ones may quote rows."""
    lines = str(error.orig).splitlines() if error.orig else []
    line = lines[0] if lines else type(error).__name__
    secrets = [url.password, *(value for name, value in url.query.items() if "pass" in name)]
    for secret in secrets:
        if secret:
            line = line.replace(str(secret), "***")
    return line[:LONGEST_MESSAGE]


@contextmanager
def plainly(engine: Engine) -> Iterator[None]:
    """Turns what a database refuses into words without its password or anybody's record.

    Raises:
        InputError: no answer, no room, no right, a file that is none, or what does not fit together.
    """
    where = shown(engine.url)
    try:
        yield
    except NoConnection:
        raise InputError(where, "too many ask at once", "wait a moment and try again") from None
    except IntegrityError:
        raise InputError(
            where, "it does not fit what is kept", "load the page again, then try again"
        ) from None
    except (DataError, UnicodeEncodeError):
        raise InputError("what was sent", "it holds signs or numbers that are none", "plain text") from None
    except OperationalError as error:
        right = "start the database, or mend the address"
        if engine.dialect.name == "sqlite":
            right = "see that the folder is there and may be written to, and that the disk has room"
        raise InputError(where, _said(error, engine.url), right) from None
    except DBAPIError as error:
        right = "give an address whose user may make tables and write to them"
        if engine.dialect.name == "sqlite":
            right = "give a file that Lubberline made, or none"
        raise InputError(where, _said(error, engine.url), right) from None
