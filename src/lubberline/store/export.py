"""Everything as CSV: a file for each table, for a spreadsheet or another program."""

from __future__ import annotations

import csv
import io
import secrets
from pathlib import Path

from sqlalchemy import Connection, Table, select

from lubberline.errors import InputError
from lubberline.store import tables

# A spreadsheet takes a cell that begins so for a formula; an apostrophe before it makes it text again.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
SECRET = frozenset({"secret_hash"})
LEFT_OUT = frozenset({"settings"})


def _safe(value: object) -> object:
    if isinstance(value, str) and value.startswith(FORMULA_SIGNS):
        return "'" + value
    return value


def table_csv(connection: Connection, table: Table) -> str:
    """A table as CSV with a head; secrets' digests are left out."""
    columns = [column for column in table.columns if column.name not in SECRET]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([column.name for column in columns])
    order = [*table.primary_key.columns] or columns[:3]
    for row in connection.execute(select(*columns).order_by(*order)):
        writer.writerow([_safe(value) for value in row])
    return text.getvalue()


def export_csv(connection: Connection, folder: Path) -> tuple[Path, ...]:
    """Writes the files into a folder, each whole or not at all.

    Raises:
        InputError: when the folder cannot be written to.
    """
    written = []
    for table in tables.IN_ORDER:
        if table.name in LEFT_OUT:
            continue
        path = folder / f"{table.name}.csv"
        beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
        try:
            folder.mkdir(parents=True, exist_ok=True)
            beside.write_text(table_csv(connection, table), encoding="utf-8-sig", newline="")
            beside.replace(path)
        except OSError as error:
            right = "name a folder that you may write to"
            raise InputError(str(path), error.strerror or "cannot be written", right) from None
        finally:
            beside.unlink(missing_ok=True)
        written.append(path)
    return tuple(written)
