"""Files while they are written: under a temporary name until they are complete, removed if they never are.

`part_of` gives that name; `moving` protects the moment in which complete files are moved into place from
interruption; `remove_parts` is for a process that has to end at once.
"""

import errno
import secrets
import shutil
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType
from typing import Protocol
from weakref import WeakSet

from lubberline.errors import InputError

_REASONS = {
    errno.ENOSPC: ("the disk is full", "free some space there, or name a place on another disk"),
    errno.EDQUOT: (
        "your share of the disk is used up",
        "free some space there, or name a place on another disk",
    ),
    errno.EROFS: ("it is on a read-only disk", "name a place that you may write to"),
    errno.EACCES: ("cannot be written to", "name a place that you may write to"),
    errno.EPERM: ("cannot be written to", "name a place that you may write to"),
    errno.ENOTDIR: ("is under a file", "name a folder to write to"),
    errno.ENAMETOOLONG: ("the name is too long", "name a shorter one"),
}
_parts: set[Path] = set()
_moving = threading.Lock()
# Whole files have taken their places: a command's last step but for what it prints.
in_place = threading.Event()


class Closable(Protocol):
    """Something with a file that is complete once it is closed."""

    def close(self) -> None:
        """Completes the file."""


_open: WeakSet[Closable] = WeakSet()
# Another thread may just have begun a file.
_TRIES = 3


def refusal(path: Path | str, error: OSError) -> InputError:
    """The error for a file or folder that cannot be written."""
    wrong, right = _REASONS.get(
        error.errno or 0, (error.strerror or "cannot be written to", "name a place that you may write to")
    )
    return InputError(str(path), wrong[:1].lower() + wrong[1:], right)


@contextmanager
def part_of(path: Path) -> Iterator[Path]:
    """A temporary name in the same folder for what is incomplete; leftovers are removed at the end."""
    part = path.with_name(f".{path.name[:200]}.{secrets.token_hex(4)}.part")
    _parts.add(part)
    try:
        yield part
    finally:
        _remove(part)
        _parts.discard(part)


def _remove(part: Path) -> None:
    with suppress(OSError):
        if part.is_dir():
            shutil.rmtree(part, ignore_errors=True)
        else:
            part.unlink(missing_ok=True)


def write_whole(path: Path, data: bytes) -> None:
    """Write a file completely or not at all.

    Raises:
        OSError: it cannot be written; the earlier file stays.
    """
    with part_of(path) as part:
        part.write_bytes(data)
        part.replace(path)


def check_writable(folder: Path) -> None:
    """Check that a folder, existing or new, can be written to.

    Raises:
        InputError: it is a file or under one, or cannot be written to.
    """
    try:
        if folder.exists() and not folder.is_dir():
            raise InputError(str(folder), "is a file", "name a folder to write to")
        at = folder.absolute()
        while not at.exists():
            at = at.parent
        with part_of(at / "tried") as part:
            part.mkdir()
    except OSError as error:
        raise refusal(folder, error) from None


@contextmanager
def moving() -> Iterator[None]:
    """A moment that an interruption waits for: complete files are moved into place."""
    asked: list[int] = []

    def note(number: int, _: FrameType | None) -> None:
        asked.append(number)

    in_main = threading.current_thread() is threading.main_thread()
    numbers = (signal.SIGINT, signal.SIGTERM) if in_main else ()
    with _moving:
        before = {number: signal.signal(number, note) for number in numbers}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler or signal.SIG_DFL)
        if in_main:
            in_place.set()
    for heard in asked:
        signal.raise_signal(heard)


def close_at_end(records: Closable) -> None:
    """Have it closed if the process has to end at once, as long as it is in use."""
    _open.add(records)


def close_records() -> None:
    """Close everything given to `close_at_end`; for a process about to end."""
    for one in list(_open):
        with suppress(Exception):
            one.close()


def remove_parts(wait_s: float) -> None:
    """Remove all incomplete files, after a move in progress has ended; for a process about to end."""
    held = _moving.acquire(timeout=wait_s)
    for _ in range(_TRIES):
        for part in list(_parts):
            _remove(part)
    if held:
        _moving.release()
