"""Deleting people: everything that is about them goes, trails included.

What stays of a sitting are its questions, the answers of the others, and counts without a person: how many
of those who were deleted had a place in it, and how many of them chose which option.
"""

from __future__ import annotations

import msgspec
from sqlalchemy import Connection, Engine, select

from lubberline.classroom.records import NOT_CHOSEN
from lubberline.errors import InputError
from lubberline.store import people, tables
from lubberline.store.opening import PATIENCE_S

WAIT_FOR_READERS_MS = 500


class Forgotten(msgspec.Struct, frozen=True):
    """How many of the students who were deleted did one thing in a sitting.

    Attributes:
        sitting: id.
        key: of the question; '' for having had a place.
        chosen: index of the option; -1 for a number, which is not kept, and for a place.
        count: of students.
    """

    sitting: str
    key: str
    chosen: int
    count: int


def forget_student(connection: Connection, id: str) -> None:
    """Deletes a student, their places, answers, sendings and corrections, and counts what they were.

    Raises:
        InputError: when there is none with this id.
    """
    # Places first and the student then, the order in which an answer holds them.
    places = tables.places
    sat = connection.execute(select(places.c.sitting).where(places.c.student == id).with_for_update())
    done = [(sitting, "", NOT_CHOSEN) for sitting in sat.scalars()]
    found = select(tables.students.c.id).where(tables.students.c.id == id).with_for_update()
    if connection.execute(found).first() is None:
        raise InputError("student", "there is nobody with this id", "choose one of the class", "no-student")
    c = tables.answers.c
    for row in connection.execute(select(tables.answers).where(c.student == id)).mappings():
        if row["chosen"] != NOT_CHOSEN or row["value"] is not None:
            done.append((row["sitting"], row["key"], row["chosen"]))
    for sitting, key, chosen in sorted(done):
        _count(connection, sitting, key, chosen)
    for table in (tables.corrections, tables.late_answers, tables.sendings, tables.answers, tables.places):
        connection.execute(table.delete().where(table.c.student == id))
    connection.execute(tables.students.delete().where(tables.students.c.id == id))


def _count(connection: Connection, sitting: str, key: str, chosen: int) -> None:
    c = tables.forgotten.c
    here = (c.sitting == sitting, c.key == key, c.chosen == chosen)
    more = connection.execute(tables.forgotten.update().where(*here).values(count=c.count + 1))
    if not more.rowcount:
        plain = {"sitting": sitting, "key": key, "chosen": chosen, "count": 1}
        connection.execute(tables.forgotten.insert().values(plain))


def forgotten(connection: Connection, sitting: str) -> tuple[Forgotten, ...]:
    """What those who were deleted did in a sitting, as counts."""
    c = tables.forgotten.c
    rows = connection.execute(select(tables.forgotten).where(c.sitting == sitting).order_by(c.key, c.chosen))
    return tuple(Forgotten(**row) for row in rows.mappings())


def forget_sitting(connection: Connection, id: str) -> None:
    """Deletes a sitting with its places, answers and corrections.

    Raises:
        InputError: when there is none with this id.
    """
    if not connection.execute(tables.sittings.delete().where(tables.sittings.c.id == id)).rowcount:
        raise InputError("sitting", "there is none with this id", "choose one of the list", "no-sitting")


def forget_group(connection: Connection, id: str) -> None:
    """Deletes a class, its students and its sittings.

    Raises:
        InputError: when there is none with this id.
    """
    people.check_group(connection, id)
    connection.execute(tables.sittings.delete().where(tables.sittings.c.group_id == id))
    connection.execute(tables.groups.delete().where(tables.groups.c.id == id))


def wipe(engine: Engine) -> None:
    """Sees that what was deleted is not in SQLite's files either; PostgreSQL vacuums by itself.

    Deleted rows are overwritten in the pages (`secure_delete`); the write-ahead file still has the pages
    as they were, until it is emptied. While somebody reads for long, a backup say, that is left to the next
    time or to closing.
    """
    if engine.dialect.name != "sqlite":
        return
    connection = engine.raw_connection()
    try:
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA busy_timeout={WAIT_FOR_READERS_MS}")
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        cursor.execute(f"PRAGMA busy_timeout={round(PATIENCE_S * 1000)}")
        cursor.close()
    finally:
        connection.close()
