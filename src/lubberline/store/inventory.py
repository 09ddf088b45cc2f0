"""Counts of the records by kind, for open records or for an address."""

import sqlite3
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection, Select, create_engine, func, inspect, select

from lubberline.store.database import engine_for, file_of, shown, tables, transactions
from lubberline.store.migrations import newest, stands_at
from lubberline.store.settings import OF_THIS_PLACE, RECORDS_ID

# By plural names; the singular where it is not the plural without its s.
ONE = {
    "classes": "class",
    "aircraft": "aircraft",
    "log entries": "log entry",
    "things in the bin": "thing in the bin",
}


def _kinds() -> dict[str, Select[Any]]:
    of_kind = tables.sittings.c.kind
    own = tables.settings.c.name.not_in((*OF_THIS_PLACE, RECORDS_ID))
    logs = tables.log_entries
    return {
        "classes": select(func.count()).select_from(tables.groups),
        "students": select(func.count()).select_from(tables.students),
        "lessons": select(func.count()).select_from(tables.sittings).where(of_kind == "lesson"),
        "papers": select(func.count()).select_from(tables.sittings).where(of_kind == "paper"),
        "answers": select(func.count()).select_from(tables.answers),
        "late answers": select(func.count()).select_from(tables.late_answers),
        "corrections": select(func.count()).select_from(tables.corrections),
        "aircraft": select(func.count(logs.c.aircraft.distinct())),
        "log entries": select(func.count()).select_from(logs),
        "settings": select(func.count()).select_from(tables.settings).where(own),
        "things in the bin": select(func.count()).select_from(tables.bin_entries),
    }


def counts(connection: Connection) -> dict[str, int]:
    """The counts of each kind, in a fixed order; older tables lack some."""
    there = set(inspect(connection).get_table_names())
    return {
        kind: int(connection.execute(found).scalar_one())
        for kind, found in _kinds().items()
        if {table.name for table in found.get_final_froms() if hasattr(table, "name")} <= there
    }


def words(counts: Mapping[str, int]) -> str:
    """The counts in words, such as '1 class, 14 students'; 'nothing' for none."""
    told = [
        f"{n:,} {ONE.get(kind, kind.removesuffix('s')) if n == 1 else kind}"
        for kind, n in counts.items()
        if n
    ]
    return ", ".join(told) or "nothing"


class Survey(NamedTuple):
    """What was found.

    Attributes:
        where: the file or address, without a user or password.
        step: of its tables; None if there are no records.
        newest: the step to which this program upgrades them.
        counts: of each kind.
    """

    where: str
    step: str | None
    newest: str
    counts: dict[str, int]


def survey(address: str | None = None) -> Survey:
    """Counts the records of an address.

    Raises:
        InputError: an invalid address, or a file that is not a database.
        Unavailable: the database does not answer.
    """
    engine = engine_for(address)
    where, file = shown(engine.url), file_of(engine.url)
    if engine.dialect.name == "sqlite":
        engine.dispose()
        if file is None or not file.exists():
            return Survey(where, None, newest(), {})
        engine = create_engine("sqlite://", creator=lambda: _as_it_stands(file))
    try:
        with transactions.plainly(engine, opening=True), engine.connect() as connection:
            if "alembic_version" not in inspect(connection).get_table_names():
                return Survey(where, None, newest(), {})
            return Survey(where, stands_at(connection), newest(), counts(connection))
    finally:
        engine.dispose()


def _as_it_stands(file: Path) -> Any:
    # Opened for writing, so that SQLite removes its auxiliary files, but set to query only.
    connection = sqlite3.connect(f"{file.as_uri()}?mode=rw", uri=True)
    connection.execute("PRAGMA query_only=ON")
    return connection
