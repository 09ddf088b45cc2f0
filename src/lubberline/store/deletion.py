"""Deleting people: everything that is about them goes, trails included.

What stays of a sitting are its questions and the answers of the others.
"""

from __future__ import annotations

from sqlalchemy import Connection

from lubberline.store import people, tables


def forget_student(connection: Connection, id: str) -> None:
    """Deletes a student, their places, answers, sendings and corrections.

    Raises:
        InputError: when there is none with this id.
    """
    people.student(connection, id)
    for table in (tables.corrections, tables.sendings, tables.answers, tables.places):
        connection.execute(table.delete().where(table.c.student == id))
    connection.execute(tables.students.delete().where(tables.students.c.id == id))


def forget_group(connection: Connection, id: str) -> None:
    """Deletes a class, its students and its sittings."""
    for one in people.students(connection, id):
        forget_student(connection, one.id)
    connection.execute(tables.sittings.delete().where(tables.sittings.c.group_id == id))
    connection.execute(tables.groups.delete().where(tables.groups.c.id == id))
