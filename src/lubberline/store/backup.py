"""One file with all records, the same whichever database they are in: compressed JSON lines with a digest.

The first line says what the file is and from which step of the tables; each further line is a row; the
last is the digest of all lines before it, so that a file cut short or changed is known.
"""

from __future__ import annotations

import gzip
import hashlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
from sqlalchemy import Connection, Table, select

from lubberline.errors import InputError
from lubberline.store import tables
from lubberline.store.migrating import newest
from lubberline.store.settings import OF_THIS_PLACE
from lubberline.unfinished import part_of

KIND = "lubberline records"


def _rows(connection: Connection, table: Table) -> Iterator[dict[str, Any]]:
    order = list(table.primary_key.columns) or list(table.columns)[:3]
    found = select(table).order_by(*order)
    if table is tables.settings:
        found = found.where(table.c.name.not_in(OF_THIS_PLACE))
    for row in connection.execute(found).mappings():
        yield {str(name): value for name, value in row.items()}


def _lines(connection: Connection) -> Iterator[bytes]:
    yield msgspec.json.encode({"kind": KIND, "step": newest()})
    for table in tables.IN_ORDER:
        for row in _rows(connection, table):
            yield msgspec.json.encode({"table": str(table.name), "row": row})


def write(connection: Connection, path: Path) -> None:
    """Writes a backup beside its name and renames it when it is whole and on the disk.

    Only its owner can read it, where the system knows owners.

    Raises:
        InputError: there is a file of that name, or it cannot be written.
    """
    if path.exists():
        raise InputError(str(path), "is there already", "name a new file; backups are not written over")
    try:
        with part_of(path) as part:
            _write(connection, part)
            part.replace(path)
    except OSError as error:
        right = "name a file in a folder that you may write to"
        raise InputError(str(path), error.strerror or "cannot be written", right) from None


def _write(connection: Connection, path: Path) -> None:
    digest = hashlib.sha256()
    opened = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    with os.fdopen(opened, "wb") as plain:
        with gzip.GzipFile(filename="", mode="wb", fileobj=plain, mtime=0) as file:
            for line in _lines(connection):
                digest.update(line + b"\n")
                file.write(line + b"\n")
            file.write(msgspec.json.encode({"digest": digest.hexdigest()}) + b"\n")
        plain.flush()
        os.fsync(plain.fileno())
