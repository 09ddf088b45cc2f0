"""One file with all records, the same whichever database they are in: compressed JSON lines with a digest.

The first line has the kind of file and the step of the tables; each further line is a row, or one of the
school's own files; the last is the digest of all lines before it, to detect an incomplete or changed file.

When it is read, the rows first go into a separate database, at the step at which they were written. What
does not fit (an unknown column, a number instead of a text, an answer without a student) is refused
before the school's records are touched, and an old backup is upgraded by the same steps as
an old database.
"""

import gzip
import hashlib
import os
import re
import shutil
import tempfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import msgspec
from sqlalchemy import Column, Connection, Engine, LargeBinary, MetaData, Table, Text, inspect, select, text

from lubberline.errors import InputError
from lubberline.store.bin import belongings, contents
from lubberline.store.database import Copies, plainly, sqlite_engine, tables
from lubberline.store.integrity import check_records, fits
from lubberline.store.inventory import counts
from lubberline.store.migrations import migrate, newest, steps
from lubberline.store.settings import OF_THIS_PLACE
from lubberline.store.times import now
from lubberline.unfinished import part_of, refusal, write_whole

KIND = "lubberline records"
MOST_BYTES = 2_000_000_000
MOST_IN_MEMORY_BYTES = 5_000_000
# A thing in the bin is one row, and its JSON is a text within JSON.
LONGEST_LINE = 2 * contents.LONGEST_ROWS
ROWS_AT_ONCE = 500
# Of the school's folder; with unsaved changes in a folder 'drafts' of each.
OWN_FOLDERS = ("lessons", "scenes", "items", "words")
OWN_FILES = "own files"
_OWN_NAME = re.compile(
    rf"(?:{'|'.join(OWN_FOLDERS)})/(?:drafts/)?[^./\\\\:\x00-\x1f][^/\\\\:\x00-\x1f]{{0,200}}"
)
_STAGED_FILES = Table("own_files", MetaData(), Column("name", Text), Column("data", LargeBinary))
RIGHT = "give an unchanged file written by 'lubberline records backup'"


def _rows(connection: Connection, table: Table) -> Iterator[dict[str, Any]]:
    order = list(table.primary_key.columns) or list(table.columns)[:3]
    found = select(table).order_by(*order)
    if table is tables.settings:
        found = found.where(table.c.name.not_in(OF_THIS_PLACE))
    for row in connection.execute(found).mappings():
        yield {str(name): value for name, value in row.items()}


def _own_files(folder: Path | None) -> Iterator[tuple[str, Path]]:
    """The school's own files by their names in its folder, with unsaved changes."""
    for sort in OWN_FOLDERS if folder else ():
        for inner in (sort, f"{sort}/drafts"):
            for path in sorted(Path(folder or "", inner).glob("*.*")):
                if path.is_file() and _OWN_NAME.fullmatch(f"{inner}/{path.name}"):
                    yield f"{inner}/{path.name}", path


def count_of_files(folder: Path | None) -> dict[str, int]:
    """The number of the school's own files, as a count of one kind."""
    return {OWN_FILES: sum(1 for _ in _own_files(folder))}


def line_of_file(name: str) -> str:
    """How the line of an own file begins in a backup, by its name in the school's folder."""
    return f'{{"file":{msgspec.json.encode(name).decode()},'


def _lines_of(connection: Connection, folder: Path | None) -> Iterator[bytes]:
    yield msgspec.json.encode({"kind": KIND, "step": newest(), "files": folder is not None})
    for table in tables.IN_ORDER:
        for row in _rows(connection, table):
            yield msgspec.json.encode({"table": str(table.name), "row": row})
    for name, path in _own_files(folder):
        with suppress(FileNotFoundError):
            yield msgspec.json.encode({"file": name, "data": path.read_bytes()})


def write(connection: Connection, to: str | Path, folder: Path | None = None) -> None:
    """Writes a backup to a temporary file and renames it when it is complete and on the disk.

    Only its owner can read it, if the system has owners.

    Args:
        connection: to the records.
        to: a new file.
        folder: the school's, whose own files are in the backup, too; None for the records alone.

    Raises:
        InputError: a file with that name exists, or it cannot be written.
    """
    path = Path(to)
    if path.exists():
        raise InputError(str(path), "exists already", "give a new file name; backups are never overwritten")
    try:
        with part_of(path) as part:
            _write(connection, part, folder)
            part.replace(path)
    except OSError as error:
        right = "give a file in a folder you can write to"
        raise InputError(str(path), error.strerror or "cannot be written", right) from None


def _write(connection: Connection, path: Path, folder: Path | None) -> None:
    digest = hashlib.sha256()
    opened = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    with os.fdopen(opened, "wb") as plain:
        with gzip.GzipFile(filename="", mode="wb", fileobj=plain, mtime=0) as file:
            for line in _lines_of(connection, folder):
                digest.update(line + b"\n")
                file.write(line + b"\n")
            file.write(msgspec.json.encode({"digest": digest.hexdigest()}) + b"\n")
        plain.flush()
        os.fsync(plain.fileno())


class _Row(msgspec.Struct, frozen=True):
    table: str
    row: dict[str, str | int | float | bool | None]


class _File(msgspec.Struct, frozen=True):
    file: str
    data: bytes


class _Head(msgspec.Struct, frozen=True):
    kind: str
    step: str
    files: bool = False


class _Last(msgspec.Struct, frozen=True):
    digest: str


def _lines_in(path: Path) -> Iterator[bytes]:
    """The lines of the file, except the last, which is their digest and is checked.

    Each line is returned when the next has been read. The digest is checked at the end, and the caller
    must undo its work if this raises.
    """
    digest, read_bytes, before = hashlib.sha256(), 0, b""
    try:
        with gzip.open(path, "rb") as file:
            while line := file.readline(LONGEST_LINE):
                read_bytes += len(line)
                if read_bytes > MOST_BYTES or not line.endswith(b"\n"):
                    raise InputError(str(path), "it is too large or incomplete", RIGHT)
                if before:
                    digest.update(before)
                    yield before
                before = line
    except (EOFError, zlib.error, gzip.BadGzipFile):
        raise InputError(str(path), "it is not a backup, or incomplete", RIGHT) from None
    except OSError as error:
        raise InputError(str(path), error.strerror or "cannot be read", RIGHT) from None
    if not before or msgspec.json.decode(before, type=_Last).digest != digest.hexdigest():
        raise InputError(str(path), "it was changed or is incomplete: its digest does not match", RIGHT)


def _tables_of(connection: Connection) -> MetaData:
    """The tables of an older step, emptied, as a step may write rows such as the records' id."""
    known = MetaData()
    known.reflect(connection, only=lambda name, _: name != "alembic_version")
    for table in reversed(known.sorted_tables):
        connection.execute(table.delete())
    return known


def _stage(connection: Connection, lines: Iterator[bytes], known: MetaData) -> None:
    """Inserts rows into the tables of the step at which they were written."""
    waiting: list[dict[str, Any]] = []
    into: Table | None = None
    for line in lines:
        if line.startswith(b'{"file":'):
            file = msgspec.json.decode(line, type=_File)
            if not _OWN_NAME.fullmatch(file.file):
                raise ValueError(file.file)
            connection.execute(_STAGED_FILES.insert(), {"name": file.file, "data": file.data})
            continue
        found = msgspec.json.decode(line, type=_Row)
        table = known.tables[found.table]
        if set(found.row) != set(table.columns.keys()) or not all(
            fits(table.columns[name], value) for name, value in found.row.items()
        ):
            raise ValueError(f"a row of {table.name}")
        if into is not None and (table is not into or len(waiting) >= ROWS_AT_ONCE):
            connection.execute(into.insert(), waiting)
            waiting = []
        into = table
        waiting.append(found.row)
    if into is not None and waiting:
        connection.execute(into.insert(), waiting)


@contextmanager
def staged(path: Path) -> Iterator[Connection]:
    """A backup's records in a separate database, at this program's step.

    Raises:
        InputError: it is not a backup, was changed or is incomplete, or was made by a newer program.
    """
    with tempfile.TemporaryDirectory(prefix="lubberline-") as folder:
        # Most backups fit into memory; others go to disk.
        small = path.is_file() and path.stat().st_size <= MOST_IN_MEMORY_BYTES
        engine = sqlite_engine(None if small else Path(folder) / "staged.sqlite3")
        try:
            _fill(engine, path)
            with engine.connect() as connection:
                yield connection
        finally:
            engine.dispose()


def counts_of(path: str | Path) -> dict[str, int]:
    """The counts of each kind in a backup; see `inventory`.

    Raises:
        InputError: as `staged`.
    """
    with staged(Path(path)) as source:
        found = files_in(source)
        return counts(source) | ({} if found is None else {OWN_FILES: len(found)})


def files_in(source: Connection) -> dict[str, bytes] | None:
    """The school's own files in a backup, by their names in its folder; None if it was made without them."""
    if not inspect(source).has_table(_STAGED_FILES.name):
        return None
    return {row.name: row.data for row in source.execute(select(_STAGED_FILES))}


@contextmanager
def files_replaced(folder: Path | None, files: dict[str, bytes] | None) -> Iterator[Path | None]:
    """Puts other own files in the place of the school's; puts these back if what follows fails.

    Args:
        folder: the school's; None to leave its files alone.
        files: by their names in it; None to leave them alone.

    Yields:
        Where the present files are meanwhile.

    Raises:
        InputError: they cannot be written; nothing has changed then.
    """
    if folder is None or files is None:
        yield folder
        return
    moved: list[tuple[Path, Path]] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        scratch = Path(tempfile.mkdtemp(prefix=".restoring-", dir=folder))
    except OSError as error:
        raise refusal(folder, error) from None
    old, new = scratch / "old", scratch / "new"
    try:
        try:
            for name, data in files.items():
                (new / name).parent.mkdir(parents=True, exist_ok=True)
                write_whole(new / name, data)
            old.mkdir()
            for sort in OWN_FOLDERS:
                for source, to in ((folder / sort, old / sort), (new / sort, folder / sort)):
                    if source.exists():
                        source.rename(to)
                        moved.append((source, to))
        except OSError as error:
            raise refusal(folder, error) from None
        yield old
    except BaseException:
        for source, to in reversed(moved):
            to.rename(source)
        raise
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


def _fill(engine: Engine, path: Path) -> None:
    wrong = "it is not a backup of records like these"
    try:
        lines = _lines_in(path)
        head = msgspec.json.decode(next(lines, b""), type=_Head)
        if head.kind != KIND:
            raise InputError(str(path), wrong, RIGHT)
        if head.step not in steps():
            newer = f"it has step {head.step[:20]}, newer than this program's {newest()}"
            raise InputError(str(path), newer, "restore it with the newer Lubberline that made it")
        is_new = head.step == newest()
        if head.files:
            _STAGED_FILES.create(engine)
        if not is_new:
            migrate(engine, head.step)
        with plainly(engine, opening=True), engine.begin() as connection:
            if is_new:
                tables.METADATA.create_all(connection)
            _stage(connection, lines, tables.METADATA if is_new else _tables_of(connection))
        if not is_new:
            migrate(engine)
        with engine.connect() as connection:
            _check(connection, path)
    except InputError as error:
        # Errors are about the file, not about the temporary database.
        raise error if error.where.startswith(str(path)) else InputError(str(path), wrong, RIGHT) from None
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, OverflowError):
        raise InputError(str(path), wrong, RIGHT) from None


def _check(connection: Connection, path: Path) -> None:
    try:
        check_records(connection)
    except InputError as error:
        raise InputError(f"{path}, {error.where}", error.wrong, error.right) from None


def replace(connection: Connection, source: Connection, folder: Path | None = None) -> Path | None:
    """Replaces all present records by those of another database at the same step.

    Args:
        connection: to the present records.
        source: to the others.
        folder: of the school's present own files, for the backup.

    Returns:
        The backup made of them first, in the same transaction; None if there was nothing, and
        for records in memory.

    Raises:
        InputError: the backup cannot be made; nothing has changed then.
    """
    if connection.dialect.name == "postgresql":
        # Another writer would mix rows into the new records.
        names = ", ".join(f'"{table.name}"' for table in tables.IN_ORDER)
        connection.execute(text(f"lock table {names} in exclusive mode"))
    kept = _keep(connection, folder)
    try:
        _replace(connection, source)
    except BaseException:
        if kept is not None:
            kept.unlink(missing_ok=True)
        raise
    return kept


def _keep(connection: Connection, folder: Path | None) -> Path | None:
    """A backup of the present records, and of the school's own files."""
    if not any((counts(connection) | count_of_files(folder)).values()):
        return None
    try:
        path = Copies(connection.engine).new_path(f"restore-{now():%Y%m%d-%H%M%S}", "backup")
        if path is not None:
            write(connection, path, folder)
    except InputError as error:
        wrong = f"the present records cannot be backed up ({error.wrong})"
        raise InputError(error.where, wrong, f"{error.right}; nothing was changed") from None
    return path


def _replace(connection: Connection, source: Connection) -> None:
    elsewhere = tables.settings.c.name.not_in(OF_THIS_PLACE)
    for table in reversed(tables.IN_ORDER):
        old = table.delete()
        connection.execute(old.where(elsewhere) if table is tables.settings else old)
    for table in tables.IN_ORDER:
        new = select(table).order_by(*table.primary_key.columns)
        rows = source.execute(new.where(elsewhere) if table is tables.settings else new).mappings()
        for some in rows.partitions(ROWS_AT_ONCE):
            connection.execute(table.insert(), [dict(row) for row in some])
    belongings.settle_counters(connection)
