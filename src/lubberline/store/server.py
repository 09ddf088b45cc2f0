"""The server of the records: its lock, and its background work.

SQLite's records have one server, with a lock that ends with its process, in a file that describes it.
PostgreSQL's, and those in memory, may have any number. A server watches for changes by
other programs, and maintains the file and the clock.
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
# Times are stored to the second; larger shifts are logged.
FOLLOWED_S = 1.0
TOLD_S = 60.0
ENDING = ".running"
# How long to wait for a server that has just started to describe itself.
LONGEST_WAIT_S = 10.0
ANSWERS_WITHIN_S = 2.0
# Windows allows no reading of locked bytes: the lock is on a byte far behind the text.
LOCKED_BYTE = 1 << 30
LONGEST_TOLD_BYTES = 10_000


def _last_running(connection: Connection) -> str:
    """The latest stored time of students now sitting a paper with a time limit; '' if there are none."""
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
    """The common clock of these records' servers: PostgreSQL's, or this machine's for a file."""
    if connection.dialect.name == "postgresql":
        return float(connection.execute(text("select extract(epoch from clock_timestamp())")).scalar_one())
    return times.CLOCK.wall_s()


def set_clock(transactions: Transactions, *, starts: bool = False) -> None:
    """Sets the clock of the records to the machine's, unless somebody is sitting a paper with a time limit.

    In that case, it only moves forward to the last stored time: a machine
    restarted with its clock set back does not give them more time.

    Args:
        transactions: of the records.
        starts: whether they are being opened, when servers of one PostgreSQL always use its clock.
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
    """The background thread of a server."""

    def __init__(self, transactions: Transactions) -> None:
        super().__init__(name="watch", daemon=True)
        self._transactions = transactions
        self._stop_asked = threading.Event()

    def run(self) -> None:
        """Checks for changes every half second, the bin at the start and hourly, the rest every minute."""
        settled_s, binned_s = time.monotonic(), -math.inf
        while not self._stop_asked.wait(LOOK_S):
            with contextlib.suppress(InputError, Unavailable, SQLAlchemyError, OSError):
                self._transactions.changes.look()
                if time.monotonic() - settled_s > SETTLE_S:
                    settled_s = time.monotonic()
                    set_clock(self._transactions)
                    # Emptied as well, as after a deletion during a read it still has the deleted data.
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
    """The lock of a file's one server, from before opening the records until after closing them."""

    def __init__(self, path: Path, file: IO[bytes]) -> None:
        self._path, self._file = path, file

    def tell(self, running: RunningServer) -> None:
        """Describes the running server, for anyone starting another."""
        self._file.seek(0)
        self._file.truncate()
        self._file.write(msgspec.json.encode(running))
        self._file.flush()

    def release(self) -> None:
        """Releases the lock; the file is removed first, if the system allows that for an open file."""
        with contextlib.suppress(OSError):
            if sys.platform != "win32":
                self._path.unlink(missing_ok=True)
            self._file.close()


def take_lock(address: str | None = None) -> ServerLock | RunningServer | None:
    """Locks the records of an address for this process.

    Returns:
        The lock; or the server that has it; or None if there may be many, or no lock is possible.

    Raises:
        InputError: as `engines.engine_for`, or a server at an unknown address is starting or stopping.
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
            # A read-only folder, or a network drive without locks.
            return None
        if held is not None:
            # The description of a killed server must not be taken for this one's.
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
    """Checks the owner, as others could put a file with this name into a shared folder.

    Raises:
        OSError: it belongs neither to this user nor to the owner of the records.
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
    """Whether the locked file still has its name; a server that has just ended removes it."""
    try:
        return os.path.samestat(path.stat(), os.fstat(file.fileno()))
    except FileNotFoundError:
        return False


def _answers(told: RunningServer) -> bool:
    """Whether the server described really runs; one that is stopping may still have the lock."""
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
