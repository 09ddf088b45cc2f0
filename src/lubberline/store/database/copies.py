"""The program's own copies of the records: made before a restore, and before an upgrade of the tables.

They are next to a SQLite file, or in the user's data folder for PostgreSQL. Only their owner can read them.
Records in memory have none.
"""

import gzip
import os
import re
import sqlite3
import zlib
from contextlib import closing
from pathlib import Path

from sqlalchemy import Engine

from lubberline.errors import InputError
from lubberline.store.database import engines
from lubberline.unfinished import part_of

_NAMED = r"\.before-(step-\d{4}|restore-\d{8}-\d{6})(-\d+)?\.(sqlite3|backup)"
_CHUNK_BYTES = 1 << 20


def _holds(path: Path, sought: bytes) -> bool:
    before = b""
    is_backup = re.search(r"\.backup(\.[0-9a-f]{8}\.part)?$", path.name)
    try:
        with gzip.open(path) if is_backup else path.open("rb") as file:
            while chunk := file.read(_CHUNK_BYTES):
                if sought in before + chunk:
                    return True
                before = chunk[-len(sought) :]
    except (OSError, EOFError, zlib.error):
        # A copy that cannot be read might contain them.
        return True
    return False


def copy_file(source: Path, path: Path) -> None:
    """Copies a SQLite database, with the contents of its write-ahead log.

    Raises:
        InputError: it cannot be written; nothing is left of it then.
    """
    try:
        with part_of(path) as part:
            os.close(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
            with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(part)) as new:
                old.backup(new)
                # A separate file, complete without a write-ahead log.
                new.execute("PRAGMA journal_mode=DELETE")
            part.replace(path)
    except (OSError, sqlite3.Error) as error:
        right = "free some space there, or make it writable for this user; nothing was changed"
        raise InputError(str(path), f"the copy cannot be written ({error})", right) from None


class Copies:
    """The copies of one database."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def _beside(self) -> Path | None:
        """The start of the copies' names, with the folder; None for records in memory."""
        url = self._engine.url
        if url.get_backend_name() == "sqlite":
            file = engines.file_of(url)
            return file and file.with_suffix("")
        named = re.sub(r"[^A-Za-z0-9.-]+", "-", f"{url.host or 'local'}-{url.port or 5432}-{url.database}")
        return engines.data_folder() / named

    def new_path(self, why: str, ending: str) -> Path | None:
        """A free name for a copy, in an existing folder; None for records in memory.

        Args:
            why: the occasion, 'step-0004' or 'restore-20260501-102000'.
            ending: of the file, 'sqlite3' or 'backup'.

        Raises:
            InputError: the folder does not exist and cannot be created.
        """
        stem = self._beside()
        if stem is None:
            return None
        engines.make_folder(stem.parent)
        names = [
            f"{stem.name}.before-{why}{more}.{ending}" for more in ("", *(f"-{n}" for n in range(2, 1000)))
        ]
        return next(path for name in names if not (path := stem.with_name(name)).exists())

    def kept(self) -> tuple[Path, ...]:
        """The existing copies, the newest last."""
        return self._named("{}" + _NAMED)

    def _named(self, pattern: str) -> tuple[Path, ...]:
        stem = self._beside()
        if stem is None or not stem.parent.is_dir():
            return ()
        named = re.compile(pattern.replace("{}", re.escape(stem.name), 1))
        found = [path for path in stem.parent.iterdir() if named.fullmatch(path.name) and path.is_file()]
        return tuple(sorted(found, key=lambda path: (path.stat().st_mtime, path.name)))

    def holding(self, id: str) -> tuple[Path, ...]:
        """The copies that contain an id of the records in their bytes, even of a deleted row.

        This includes incomplete copies left by a killed process.
        """
        parts = self._named(r"\.{}" + _NAMED + r"\.[0-9a-f]{8}\.part")
        return tuple(path for path in (*self.kept(), *parts) if _holds(path, id.encode()))
