"""A look at the records as they stand: nothing is made, written or carried forward."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import create_engine, inspect

from lubberline.store import acts, counting
from lubberline.store.migrating import newest, stands_at
from lubberline.store.opening import engine_for, file_of, shown


class Look(NamedTuple):
    """What was seen.

    Attributes:
        where: the file or address, without a user or password.
        step: of its tables; None where there are no records.
        newest: the step to which this program carries them forward.
        counts: how many there are of each kind.
    """

    where: str
    step: str | None
    newest: str
    counts: dict[str, int]


def look(address: str | None = None) -> Look:
    """Looks at the records of an address.

    Raises:
        InputError: an address that is none, or a file that is no database.
        Unavailable: the database does not answer.
    """
    engine = engine_for(address)
    where, file = shown(engine.url), file_of(engine.url)
    if engine.dialect.name == "sqlite":
        engine.dispose()
        if file is None or not file.exists():
            return Look(where, None, newest(), {})
        engine = create_engine("sqlite://", creator=lambda: _as_it_stands(file))
    try:
        with acts.plainly(engine, opening=True), engine.connect() as connection:
            if "alembic_version" not in inspect(connection).get_table_names():
                return Look(where, None, newest(), {})
            return Look(where, stands_at(connection), newest(), counting.counted(connection))
    finally:
        engine.dispose()


def _as_it_stands(file: Path) -> Any:
    # Able to write, so that SQLite takes its own files beside it away again; kept from writing all the same.
    connection = sqlite3.connect(f"{file.as_uri()}?mode=rw", uri=True)
    connection.execute("PRAGMA query_only=ON")
    return connection
