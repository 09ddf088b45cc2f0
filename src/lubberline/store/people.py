"""Classes and students."""

from __future__ import annotations

import secrets
import unicodedata

from sqlalchemy import Connection, func, select
from sqlalchemy.engine import RowMapping

from lubberline.classroom.records import Group, Student
from lubberline.errors import InputError
from lubberline.store import tables

LONGEST_NAME = 60


def new_id() -> str:
    """An id without meaning that nobody guesses."""
    return secrets.token_urlsafe(9)


def clean_name(field: str, given: str) -> str:
    """A name without what cannot be seen, on one line.

    Raises:
        InputError: nothing is left, or it is longer than 60 signs.
    """
    shown = "".join(sign for sign in given if unicodedata.category(sign)[0] != "C" or sign.isspace())
    name = " ".join(shown.split())
    if not name:
        raise InputError(field, "it is empty", "a name, or a number that the instructor gave out")
    if len(name) > LONGEST_NAME:
        raise InputError(field, f"{len(name)} signs", f"at most {LONGEST_NAME}")
    return name


def _student(row: RowMapping) -> Student:
    return Student(id=row["id"], group=row["group_id"], name=row["name"], number=row["number"])


def groups(connection: Connection) -> tuple[Group, ...]:
    """All classes, in the order in which they were made."""
    rows = connection.execute(select(tables.groups).order_by(tables.groups.c.number)).mappings()
    return tuple(Group(id=row["id"], title=row["title"]) for row in rows)


def add_group(connection: Connection, title: str) -> Group:
    """A new class."""
    group = Group(new_id(), clean_name("class", title))
    last = connection.execute(select(func.coalesce(func.max(tables.groups.c.number), 0))).scalar_one()
    connection.execute(tables.groups.insert().values(id=group.id, title=group.title, number=last + 1))
    return group


def students(connection: Connection, group: str) -> tuple[Student, ...]:
    """The students of a class by name."""
    found = select(tables.students).where(tables.students.c.group_id == group)
    rows = connection.execute(found.order_by(func.lower(tables.students.c.name), tables.students.c.id))
    return tuple(_student(row) for row in rows.mappings())


def student(connection: Connection, id: str) -> Student:
    """One student.

    Raises:
        InputError: when there is none with this id.
    """
    row = connection.execute(select(tables.students).where(tables.students.c.id == id)).mappings().first()
    if row is None:
        raise InputError("student", "there is nobody with this id", "choose one of the class")
    return _student(row)


def add_student(connection: Connection, group: str, name: str, number: str = "") -> Student:
    """A new student of a class.

    Raises:
        InputError: no such class, or a name that is none.
    """
    if not any(one.id == group for one in groups(connection)):
        raise InputError("class", "there is none with this id", "choose one that is there, or make one")
    found = Student(new_id(), group, clean_name("name", name), clean_name("number", number) if number else "")
    connection.execute(
        tables.students.insert().values(id=found.id, group_id=group, name=found.name, number=found.number)
    )
    return found


def rename(connection: Connection, id: str, name: str, number: str) -> Student:
    """Gives a student another name or number."""
    before = student(connection, id)
    after = Student(
        id, before.group, clean_name("name", name), clean_name("number", number) if number else ""
    )
    changed = tables.students.update().where(tables.students.c.id == id)
    connection.execute(changed.values(name=after.name, number=after.number))
    return after


def name_for(connection: Connection, group: str, wanted: str) -> str:
    """The name, with a number after it when somebody else of the class has it already."""
    taken = {one.name.casefold() for one in students(connection, group)}
    if wanted.casefold() not in taken:
        return wanted
    numbered = (f"{wanted} ({count})" for count in range(2, len(taken) + 3))
    return next(name for name in numbered if name.casefold() not in taken)
