"""Whether a SQLite file is whole, asked when it is opened, and what to do when it is not.

What can be noticed: pages that contradict one another, indexes that miss rows, references to nothing, tables
or columns that are not there, and values that no act of the program writes. A changed letter within a name
cannot: SQLite keeps no digests of what stands in a cell. A backup does.
"""

from __future__ import annotations

import sqlite3
import time
from pathlib import Path

from sqlalchemy import Connection, Engine, select
from sqlalchemy.exc import DatabaseError

from lubberline.errors import InputError
from lubberline.store import copies, tables
from lubberline.store.checking import check_records
from lubberline.store.opening import file_of

# The words at the head of every SQLite file (sqlite.org/fileformat2.html, 1.3.1).
MAGIC = b"SQLite format 3\0"
# Above this the rows are not looked at one by one at each opening.
MOST_BYTES_READ = 20_000_000
BEING_MADE_S = 2.0
# Primary result codes (sqlite.org/rescode.html): the file contradicts itself or its schema.
DAMAGE = frozenset(
    {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT, sqlite3.SQLITE_ERROR}
)
_OF_THE_FILE = (DatabaseError, sqlite3.DatabaseError)


def check_file(path: Path) -> None:
    """Whether a file can be a database, before it is opened as one; a file that is not there can.

    Raises:
        InputError: a folder, an empty file, or a file of another kind.
    """
    if path.is_dir():
        raise InputError(str(path), "it is a folder", "give the path of a file in it")
    ends_s = time.monotonic() + BEING_MADE_S
    while True:
        try:
            with path.open("rb") as file:
                head = file.read(len(MAGIC))
        except OSError:
            # Not there, or not to be read: opening it says which.
            return
        if head or time.monotonic() > ends_s:
            break
        # Another start may be making it at this moment.
        time.sleep(0.05)
    if not head:
        right = f"if there never were any records in it, delete it; else {_to_do(path, None)}"
        raise InputError(str(path), "the file is empty: the records that were in it are gone", right)
    if head != MAGIC:
        right = f"give a file that Lubberline made; if this was one, {_to_do(path, None)}"
        raise InputError(str(path), "the file is not a SQLite database", right)


def check_whole(engine: Engine) -> None:
    """Whether a file's pages, indexes and references fit together; nothing for PostgreSQL and in memory.

    Raises:
        InputError: they do not; says what to do.
    """
    path = file_of(engine.url)
    if path is None or not path.exists():
        return
    check_file(path)
    try:
        with engine.connect() as connection:
            connection.execution_options(reads=True)
            said = connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar_one()
            torn = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
    except (*_OF_THE_FILE, UnicodeDecodeError) as error:
        if not _is_damage(error):
            raise
        raise _damaged(engine, path, str(getattr(error, "orig", error))) from None
    if said != "ok":
        raise _damaged(engine, path, str(said))
    if torn is not None:
        raise _damaged(engine, path, f"a row of {torn[0]} belongs to nothing")


def check_tables(engine: Engine) -> None:
    """Whether a file at this program's step has its tables and columns, and rows such as it writes.

    Raises:
        InputError: it has not; names what, and says what to do.
    """
    path = file_of(engine.url)
    if path is None:
        return
    try:
        with engine.connect() as connection:
            connection.execution_options(reads=True)
            _check_columns(connection)
            if path.stat().st_size <= MOST_BYTES_READ:
                check_records(connection)
            else:
                # Far quicker: every row is read, none is looked at.
                for table in tables.IN_ORDER:
                    for _ in connection.execute(select(table)):
                        pass
    except InputError as error:
        raise _damaged(engine, path, f"{error.where}: {error.wrong}") from None
    except (*_OF_THE_FILE, UnicodeDecodeError) as error:
        if not _is_damage(error):
            raise
        raise _damaged(engine, path, str(getattr(error, "orig", error))) from None


def _is_damage(error: Exception) -> bool:
    """Whether the file is at fault, and not its lock or its disk: by the driver's code, which it gives.

    It gives none where a text is not UTF-8, be it in a cell or in the words of an error itself.
    """
    code = getattr(getattr(error, "orig", error), "sqlite_errorcode", None)
    return code is None or code & 0xFF in DAMAGE


def _check_columns(connection: Connection) -> None:
    for table in tables.IN_ORDER:
        rows = connection.exec_driver_sql(f'PRAGMA table_info("{table.name}")').all()
        found = {row[1]: (str(row[2]).upper(), bool(row[3])) for row in rows}
        if not found:
            raise InputError(table.name, "the table is missing", "")
        for column in table.columns:
            if column.name not in found:
                raise InputError(f"{table.name}, {column.name}", "the column is missing", "")
            kind, needed = found.pop(column.name)
            wanted = column.type.compile(connection.dialect).upper()
            if kind != wanted or (needed != (not column.nullable) and not column.primary_key):
                raise InputError(f"{table.name}, {column.name}", f"the column is of kind '{kind[:20]}'", "")
        if found:
            raise InputError(f"{table.name}, {next(iter(found))[:40]}", "an unknown column", "")


def _damaged(engine: Engine, path: Path, said: str) -> InputError:
    line = " ".join(said.split())[:160]
    kept = copies.kept(engine)
    return InputError(str(path), f"the file is damaged ({line})", _to_do(path, kept[-1] if kept else None))


def _to_do(path: Path, copy: Path | None) -> str:
    """What to do with a file that is damaged."""
    aside = f"move it aside (with {path.name}-wal beside it), then bring your last backup back"
    other = f", or rename its copy {copy.name} to {path.name}" if copy else ""
    return f"{aside}: lubberline records restore BACKUP --yes{other}"
