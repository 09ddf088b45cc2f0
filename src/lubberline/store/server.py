"""The server that has the records: its lock, and what it sees to while it runs.

SQLite's records have one server, by a lock that ends with its process, in a file that tells about it.
PostgreSQL's, and those in memory, may have as many as there are. While it runs, a server sees to news from
other programs, to the one file, and to the clock.
"""

import contextlib
import logging
import math
import os
import re
import socket
import sys
import threading
import time
from datetime import datetime
from pathlib import Path
from typing import IO

import msgspec
from sqlalchemy import Connection, func, select, text
from sqlalchemy.exc import SQLAlchemyError

from lubberline.errors import InputError, Unavailable
from lubberline.store import times
from lubberline.store.bin.deletion import Bin
from lubberline.store.database import Transactions, engines, tables

LOG = logging.getLogger(__name__)
LOOK_S = 0.5
SETTLE_S = 60.0
LOOK_INTO_BIN_S = 3600.0
# Less than a second is how exactly times are kept; so much more is worth telling.
FOLLOWED_S = 1.0
TOLD_S = 60.0
ENDING = ".running"
# One who has just started has told nothing yet: so long it is waited for.
LONGEST_WAIT_S = 10.0
ANSWERS_WITHIN_S = 2.0
# Windows lets nobody read what is locked: the lock is on a byte far behind the text.
LOCKED_BYTE = 1 << 30
LONGEST_TOLD_BYTES = 10_000


def _last_running(connection: Connection) -> str:
    """The latest moment that is kept of those who sit a paper with a time limit now; '' where nobody does."""
    sat, place, sent = tables.sittings.c, tables.places.c, tables.sendings.c
    running = (sat.minutes > 0.0) & (sat.closed_utc == "") & ~sat.on_paper & (place.ended_utc == "")
    joined = tables.sittings.join(tables.places, place.sitting == sat.id)
    began = connection.execute(select(func.max(place.began_utc)).select_from(joined).where(running))
    answered = connection.execute(
        select(func.max(sent.answered_utc)).where(
            sent.sitting.in_(select(sat.id).select_from(joined).where(running))
        )
    )
    return max(began.scalar() or "", answered.scalar() or "")


def _wall_s(connection: Connection) -> float:
    """What all servers of these records go by: PostgreSQL's clock, or this machine's for a file."""
    if connection.dialect.name == "postgresql":
        return float(connection.execute(text("select extract(epoch from clock_timestamp())")).scalar_one())
    return times.CLOCK.wall_s()


def set_clock(transactions: Transactions, *, starts: bool = False) -> None:
    """Lets the clock of the records follow the machine's, unless somebody sits a paper with a time limit.

    While somebody does, it only ever goes ahead to the last moment that is kept of them: a machine that
    comes back with its clock set back does not give them more time.

    Args:
        transactions: of the records.
        starts: at their opening, when servers of one PostgreSQL take its clock whatever goes on.
    """

    def look(connection: Connection) -> tuple[float, str]:
        return _wall_s(connection), _last_running(connection)

    wall_s, last_utc = transactions.read(look)
    apart_s = wall_s - times.CLOCK.now_s()
    if not last_utc or (starts and transactions.engine.dialect.name == "postgresql"):
        if abs(apart_s) > TOLD_S:
            LOG.warning("The machine's clock was changed: times in the records shift by %.0f s.", apart_s)
        if abs(apart_s) > FOLLOWED_S:
            times.CLOCK.follow(wall_s)
    if last_utc:
        times.CLOCK.not_before(datetime.fromisoformat(last_utc).timestamp())


class Watch(threading.Thread):
    """Beside a server until it ends."""

    def __init__(self, transactions: Transactions) -> None:
        super().__init__(name="watch", daemon=True)
        self._transactions = transactions
        self._stop_asked = threading.Event()

    def run(self) -> None:
        """Looks for news every half second, every minute to the rest, at first and every hour to the bin."""
        settled_s, binned_s = time.monotonic(), -math.inf
        while not self._stop_asked.wait(LOOK_S):
            with contextlib.suppress(InputError, Unavailable, SQLAlchemyError, OSError):
                self._transactions.changes.look()
                if time.monotonic() - settled_s > SETTLE_S:
                    settled_s = time.monotonic()
                    set_clock(self._transactions)
                    # Emptied, too: after a deletion for good while somebody read, it holds who was deleted.
                    engines.checkpoint(self._transactions.engine, wait_s=0.0)
                if time.monotonic() - binned_s > LOOK_INTO_BIN_S:
                    binned_s = time.monotonic()
                    Bin(self._transactions).look()

    def stop(self) -> None:
        """Ends it."""
        self._stop_asked.set()
        self.join(3.0)


class RunningServer(msgspec.Struct, frozen=True):
    """A server that runs.

    Attributes:
        address: of its first page on this machine.
        pid: its process.
        since_utc: when it started.
        port: where it listens.
        lan: whether the students' side is open to the local network.
        behind: the HTTPS proxy before it; '' without one.
    """

    address: str
    pid: int
    since_utc: str
    port: int
    lan: bool = False
    behind: str = ""


class ServerLock:
    """Held by the one server of a file, from before it opens the records until it has closed them."""

    def __init__(self, path: Path, file: IO[bytes]) -> None:
        self._path, self._file = path, file

    def tell(self, running: RunningServer) -> None:
        """Says to whoever starts another server what is running."""
        self._file.seek(0)
        self._file.truncate()
        self._file.write(msgspec.json.encode(running))
        self._file.flush()

    def release(self) -> None:
        """Lets go. The file goes first, where the system takes away a file that is open."""
        with contextlib.suppress(OSError):
            if sys.platform != "win32":
                self._path.unlink(missing_ok=True)
            self._file.close()


def take_lock(address: str | None = None) -> ServerLock | RunningServer | None:
    """Claims the records of an address for this process.

    Returns:
        The claim; or the server that has it; or None where there may be many, or where no lock can be made.

    Raises:
        InputError: as `engines.engine_for`, or a server starts or ends and does not say where it is.
    """
    engine = engines.engine_for(address)
    file = engines.file_of(engine.url)
    engine.dispose()
    if file is None or not file.parent.is_dir():
        return None
    path = file.with_name(file.name + ENDING)
    ends_s = time.monotonic() + LONGEST_WAIT_S
    while time.monotonic() < ends_s:
        try:
            held = _locked(path)
        except OSError:
            # A folder that cannot be written to, or a network drive without locks.
            return None
        if held is not None:
            # What a server that was killed told must not be read as this one's.
            held.truncate(0)
            return ServerLock(path, held)
        told = _told(path)
        if told is not None and _answers(told):
            return told
        time.sleep(0.05)
    raise InputError(
        str(path), "another server has these records open at an unknown address", "stop it first"
    )


def _locked(path: Path) -> IO[bytes] | None:
    """The file with its lock, or None when another process has it."""
    flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)
    file = os.fdopen(os.open(path, flags, 0o600), "r+b")
    try:
        _check_owner(path, file)
        if _lock(file) and _is_still(path, file):
            return file
    except OSError:
        file.close()
        raise
    file.close()
    return None


def _check_owner(path: Path, file: IO[bytes]) -> None:
    """In a folder that others may write to, one of them may have put a file there by this name.

    Raises:
        OSError: it is neither this user's nor of whoever has the records.
    """
    if sys.platform != "win32":
        records = path.with_name(path.name.removesuffix(ENDING))
        owners = {os.geteuid(), *([records.stat().st_uid] if records.exists() else [])}
        if os.fstat(file.fileno()).st_uid not in owners:
            raise PermissionError(str(path))


def _lock(file: IO[bytes]) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            file.seek(LOCKED_BYTE)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    return True


def _is_still(path: Path, file: IO[bytes]) -> bool:
    """Whether the file that was locked still has its name: whoever ended just now took it away."""
    try:
        return os.path.samestat(path.stat(), os.fstat(file.fileno()))
    except FileNotFoundError:
        return False


def _answers(told: RunningServer) -> bool:
    """Whether there is a server where it is said to be: one that is ending may still hold the records."""
    try:
        socket.create_connection(("127.0.0.1", told.port), timeout=ANSWERS_WITHIN_S).close()
    except OSError:
        return False
    return True


def _told(path: Path) -> RunningServer | None:
    try:
        with path.open("rb") as file:
            told = msgspec.json.decode(file.read(LONGEST_TOLD_BYTES), type=RunningServer)
    except (OSError, msgspec.DecodeError):
        return None
    # It is opened in a browser.
    return told if re.fullmatch(r"http://127\.0\.0\.1:\d{1,5}/", told.address) else None
