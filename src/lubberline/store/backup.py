"""One file with all records, the same whichever database they are in: compressed JSON lines with a digest.

The first line says what the file is and from which step of the tables; each further line is a row; the
last is the digest of all lines before it, so that a file cut short or changed is known.
"""

from __future__ import annotations

import gzip
import hashlib
import secrets
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
from sqlalchemy import Connection, Table, select, text

from lubberline.errors import InputError
from lubberline.store import tables
from lubberline.store.migrating import newest

KIND = "lubberline records"
MOST_BYTES = 2_000_000_000
ROWS_AT_ONCE = 500
RIGHT = "give a file that 'lubberline records backup' wrote, as it was written"


def _rows(connection: Connection, table: Table) -> Iterator[dict[str, Any]]:
    for row in connection.execute(select(table)).mappings():
        yield {str(name): value for name, value in row.items()}


def write(connection: Connection, path: Path) -> None:
    """Writes a backup beside its name and renames it when it is whole.

    Raises:
        InputError: there is a file of that name, or it cannot be written.
    """
    if path.exists():
        raise InputError(str(path), "is there already", "name a new file; backups are not written over")
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    digest = hashlib.sha256()
    try:
        with gzip.open(beside, "wb", compresslevel=6) as file:

            def line(value: Any) -> None:
                encoded = msgspec.json.encode(value) + b"\n"
                digest.update(encoded)
                file.write(encoded)

            line({"kind": KIND, "step": newest()})
            for table in tables.IN_ORDER:
                for row in _rows(connection, table):
                    line({"table": str(table.name), "row": row})
            file.write(msgspec.json.encode({"digest": digest.hexdigest()}) + b"\n")
        beside.replace(path)
    except OSError as error:
        right = "name a file in a folder that you may write to"
        raise InputError(str(path), error.strerror or "cannot be written", right) from None
    finally:
        beside.unlink(missing_ok=True)


def _lines(path: Path) -> list[bytes]:
    try:
        with gzip.open(path, "rb") as file:
            data = file.read(MOST_BYTES + 1)
    except (EOFError, zlib.error, gzip.BadGzipFile):
        raise InputError(str(path), "it is no backup, or was cut short", RIGHT) from None
    except OSError as error:
        raise InputError(str(path), error.strerror or "cannot be read", RIGHT) from None
    if len(data) > MOST_BYTES:
        raise InputError(str(path), "it is larger than 2 GB", RIGHT)
    return data.splitlines(keepends=True)


def read(path: Path) -> list[tuple[Table, dict[str, Any]]]:
    """The rows of a backup, checked.

    Raises:
        InputError: it is none, was changed or cut short, or was made by a newer program.
    """
    lines = _lines(path)
    by_name = {table.name: table for table in tables.IN_ORDER}
    try:
        head, last = msgspec.json.decode(lines[0]), msgspec.json.decode(lines[-1])
        if head.get("kind") != KIND:
            raise InputError(str(path), "it is no backup of these records", RIGHT)
        if last.get("digest") != hashlib.sha256(b"".join(lines[:-1])).hexdigest():
            raise InputError(str(path), "it was changed or cut short: its digest is another", RIGHT)
        if head.get("step") != newest():
            wrong = f"it is of step {head.get('step')}; this program has {newest()}"
            raise InputError(str(path), wrong, "restore it with the Lubberline that made it, then update")
        rows = [msgspec.json.decode(line) for line in lines[1:-1]]
        return [(by_name[row["table"]], row["row"]) for row in rows]
    except (msgspec.DecodeError, IndexError, KeyError, AttributeError, TypeError):
        raise InputError(str(path), "it is no backup of these records", RIGHT) from None


def restore(connection: Connection, path: Path) -> None:
    """Takes the place of all records by those of a backup, in the transaction of the connection.

    Raises:
        InputError: as `read`; nothing has changed then.
    """
    rows = read(path)
    for table in reversed(tables.IN_ORDER):
        connection.execute(table.delete())
    for table in tables.IN_ORDER:
        own = [row for of, row in rows if of is table]
        for first in range(0, len(own), ROWS_AT_ONCE):
            connection.execute(table.insert(), own[first : first + ROWS_AT_ONCE])
    if connection.dialect.name == "postgresql":
        for table in (tables.sendings, tables.corrections, tables.log_changes):
            # The counter stands where it was; the next row must not take a number that was restored.
            counter = f"select setval(pg_get_serial_sequence('{table.name}', 'at'), "
            connection.execute(text(counter + f"coalesce((select max(at) from {table.name}), 0) + 1, false)"))
