"""Which server has the records of a file: a lock that ends with its process, in a file that tells about it.

SQLite's records have one server. PostgreSQL's, and those in memory, may have as many as there are.
"""

from __future__ import annotations

import contextlib
import os
import re
import socket
import sys
import time
from pathlib import Path
from typing import IO

import msgspec

from lubberline.errors import InputError
from lubberline.store import opening

ENDING = ".running"
# One who has just started has told nothing yet: so long it is waited for.
LONGEST_WAIT_S = 10.0
ANSWERS_WITHIN_S = 2.0
# Windows lets nobody read what is locked: the lock is on a byte far behind the text.
LOCKED_BYTE = 1 << 30
LONGEST_TOLD_BYTES = 10_000


class Running(msgspec.Struct, frozen=True):
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


class Claim:
    """Held by the one server of a file, from before it opens the records until it has closed them."""

    def __init__(self, path: Path, file: IO[bytes]) -> None:
        self._path, self._file = path, file

    def tell(self, running: Running) -> None:
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


def claim(address: str | None = None) -> Claim | Running | None:
    """Claims the records of an address for this process.

    Returns:
        The claim; or the server that has it; or None where there may be many, or where no lock can be made.

    Raises:
        InputError: as `opening.engine_for`, or a server starts or ends and does not say where it is.
    """
    engine = opening.engine_for(address)
    file = opening.file_of(engine.url)
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
            return Claim(path, held)
        told = _told(path)
        if told is not None and _answers(told):
            return told
        time.sleep(0.05)
    raise InputError(str(path), "another server has these records and does not say where", "end it first")


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


def _answers(told: Running) -> bool:
    """Whether there is a server where it is said to be: one that is ending may still hold the records."""
    try:
        socket.create_connection(("127.0.0.1", told.port), timeout=ANSWERS_WITHIN_S).close()
    except OSError:
        return False
    return True


def _told(path: Path) -> Running | None:
    try:
        with path.open("rb") as file:
            told = msgspec.json.decode(file.read(LONGEST_TOLD_BYTES), type=Running)
    except (OSError, msgspec.DecodeError):
        return None
    # It is opened in a browser.
    return told if re.fullmatch(r"http://127\.0\.0\.1:\d{1,5}/", told.address) else None
