"""The aircraft's log: entries as typed and as understood, with a history of corrections."""

from collections.abc import Mapping
from typing import Any

import msgspec
from sqlalchemy import Connection, func, select, text

from lubberline.errors import InputError, required
from lubberline.store.database import Service, reads, tables, writes
from lubberline.store.people import new_id
from lubberline.store.texts import clean_name, kept_json, kept_text
from lubberline.store.times import now_utc


class LogEntry(msgspec.Struct, frozen=True):
    """An entry of an aircraft's log.

    Attributes:
        id: of the record.
        aircraft: its name.
        added_utc: when it was entered.
        typed: each field as it was typed.
        understood: its interpretation.
    """

    id: str
    aircraft: str
    added_utc: str
    typed: dict[str, str]
    understood: dict[str, Any]


class LogChange(msgspec.Struct, frozen=True):
    """A correction of an entry: who changed it, when and why, from what, to what."""

    entry: str
    by: str
    at_utc: str
    why: str
    typed_before: dict[str, str]
    understood_before: dict[str, Any]
    typed_after: dict[str, str]
    understood_after: dict[str, Any]


def _entry(row: Mapping[Any, Any]) -> LogEntry:
    return LogEntry(
        id=row["id"],
        aircraft=row["aircraft"],
        added_utc=row["added_utc"],
        typed=msgspec.json.decode(row["typed"]),
        understood=msgspec.json.decode(row["understood"]),
    )


def aircraft_names(connection: Connection) -> tuple[str, ...]:
    """The aircraft that have entries."""
    found = select(tables.log_entries.c.aircraft).distinct().order_by(tables.log_entries.c.aircraft)
    return tuple(connection.execute(found).scalars())


def entries(connection: Connection, aircraft: str) -> tuple[LogEntry, ...]:
    """An aircraft's entries in the order in which they were made."""
    found = select(tables.log_entries).where(tables.log_entries.c.aircraft == aircraft)
    return tuple(
        _entry(row)
        for row in connection.execute(
            found.order_by(tables.log_entries.c.number, tables.log_entries.c.id)
        ).mappings()
    )


def _sent_before(connection: Connection, aircraft: str, sent: str) -> LogEntry | None:
    if not sent:
        return None
    if connection.dialect.name == "postgresql":
        # If two servers receive the same sending at once, the second waits and finds it.
        lock = text("select pg_advisory_xact_lock(hashtextextended(:name, 0))")
        connection.execute(lock, {"name": f"log {aircraft}"})
    c = tables.log_entries.c
    alike = select(tables.log_entries).where(
        c.aircraft == aircraft, c.understood.contains(sent, autoescape=True)
    )
    rows = [*connection.execute(alike).mappings(), *_in_the_bin(connection, aircraft, sent)]
    return next((one for one in map(_entry, rows) if one.understood.get("sent") == sent), None)


def _in_the_bin(connection: Connection, aircraft: str, sent: str) -> list[Mapping[str, Any]]:
    """Entries in the bin: an entry added again would exist twice after being brought back."""
    c = tables.bin_entries.c
    of_aircraft = (c.kind == "entry", c.part_of == aircraft, c.rows.contains(sent, autoescape=True))
    binned = connection.execute(select(c.rows).where(*of_aircraft)).scalars()
    return [row for rows in binned for row in msgspec.json.decode(rows)["log_entries"]]


def add(
    connection: Connection, aircraft: str, typed: Mapping[str, str], understood: Mapping[str, Any]
) -> LogEntry:
    """A new entry; for a known sending id, the entry already made."""
    before = _sent_before(connection, aircraft, str(understood.get("sent", "")))
    if before is not None:
        return before
    made = LogEntry(new_id(), clean_name("aircraft", aircraft), now_utc(), dict(typed), dict(understood))
    last = connection.execute(select(func.coalesce(func.max(tables.log_entries.c.number), 0))).scalar_one()
    connection.execute(
        tables.log_entries.insert().values(
            id=made.id,
            number=last + 1,
            aircraft=made.aircraft,
            added_utc=made.added_utc,
            typed=kept_json("typed", typed),
            understood=kept_json("understood", understood),
        )
    )
    return made


def correct(
    connection: Connection,
    id: str,
    by: str,
    why: str,
    typed: Mapping[str, str],
    understood: Mapping[str, Any],
) -> LogEntry:
    """Changes an entry and stores the old values.

    Raises:
        InputError: no such entry.
    """
    found = select(tables.log_entries).where(tables.log_entries.c.id == id).with_for_update()
    row = required(
        connection.execute(found).mappings().first(),
        InputError("log", "there is no entry with this id", "choose one from the list"),
    )
    connection.execute(
        tables.log_changes.insert().values(
            entry=id,
            by=clean_name("by", by),
            at_utc=now_utc(),
            why=kept_text("why", why),
            typed_before=row["typed"],
            understood_before=row["understood"],
        )
    )
    after = {"typed": kept_json("typed", typed), "understood": kept_json("understood", understood)}
    changed = tables.log_entries.update().where(tables.log_entries.c.id == id)
    connection.execute(changed.values(after))
    return msgspec.structs.replace(_entry(row), typed=dict(typed), understood=dict(understood))


def trail(connection: Connection, aircraft: str) -> tuple[LogChange, ...]:
    """The changes in an aircraft's log, in order, with old and new values."""
    changes, own = tables.log_changes, tables.log_entries
    found = select(changes, own.c.typed, own.c.understood).join(own, own.c.id == changes.c.entry)
    rows = connection.execute(found.where(own.c.aircraft == aircraft).order_by(changes.c.at)).mappings().all()
    # The new values of a change are the old ones of the next; those of the last are the present ones.
    after = {row["entry"]: (row["typed"], row["understood"]) for row in rows}
    told = []
    for row in reversed(rows):
        before = (row["typed_before"], row["understood_before"])
        plain = [msgspec.json.decode(text) for text in (*before, *after[row["entry"]])]
        told.append(LogChange(row["entry"], row["by"], row["at_utc"], row["why"], *plain))
        after[row["entry"]] = before
    return tuple(reversed(told))


class AircraftLog(Service):
    """The log of each of the school's aircraft."""

    aircraft_names = reads(aircraft_names)
    entries = reads(entries)
    add = writes(add, "log:{aircraft}")
    correct = writes(correct, "log:{done.aircraft}")
    trail = reads(trail)
