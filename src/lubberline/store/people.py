"""Classes and students."""

import secrets
import string
from collections.abc import Sequence

from sqlalchemy import Connection, func, select

from lubberline.classroom.records import Group, Student
from lubberline.errors import InputError, required
from lubberline.store import settings
from lubberline.store.database import Service, reads, tables, writes
from lubberline.store.settings import DEMO_CLASS
from lubberline.store.texts import LONGEST_NAME, clean_name

# Only letters and digits: a leading '-' would be an option in a command and a formula in a spreadsheet.
ID_SIGNS = string.ascii_lowercase + string.digits
ID_LENGTH = 14


def new_id() -> str:
    """A random id that cannot be guessed."""
    return "".join(secrets.choice(ID_SIGNS) for _ in range(ID_LENGTH))


def groups(connection: Connection) -> tuple[Group, ...]:
    """All classes, in the order of creation."""
    c = tables.groups.c
    return tables.records(connection, Group, tables.groups, order=(c.number, c.id))


def add_group(connection: Connection, title: str) -> Group:
    """A new class."""
    group = Group(new_id(), clean_name("class", title))
    last = connection.execute(select(func.coalesce(func.max(tables.groups.c.number), 0))).scalar_one()
    connection.execute(tables.groups.insert().values(id=group.id, title=group.title, number=last + 1))
    return group


def students(connection: Connection, group: str) -> tuple[Student, ...]:
    """The students of a class by name."""
    listed = tables.records(connection, Student, tables.students, tables.students.c.group_id == group)
    # Sorted here, as the two databases sort differently.
    return tuple(sorted(listed, key=lambda one: (one.name.casefold(), one.id)))


def student(connection: Connection, id: str, *, held: bool = False) -> Student:
    """One student; `held` prevents a deletion until the end of the transaction.

    Raises:
        InputError: there is no student with this id.
    """
    kept = {"read": True} if held else None
    return required(
        tables.record(connection, Student, tables.students, tables.students.c.id == id, held=kept),
        InputError("student", "there is no student with this id", "choose one from the class", "no-student"),
    )


def check_group(connection: Connection, group: str) -> None:
    """Checks that a class exists.

    Raises:
        InputError: there is none with this id.
    """
    right = "choose an existing class, or add one"
    required(
        tables.record(connection, Group, tables.groups, tables.groups.c.id == group),
        InputError("class", "there is no class with this id", right, "no-class"),
    )


def check_real(connection: Connection, group: str) -> None:
    """Checks that a class may have real students: any class except the demo class.

    Raises:
        InputError: there is none with this id, or it is the demo class.
    """
    check_group(connection, group)
    if settings.get(connection, DEMO_CLASS) == group:
        raise InputError(
            "class", "the demo class has invented students only", "choose another class, or a new one"
        )


def _clean_number(connection: Connection, group: str, number: str, own: str = "") -> str:
    if not number.strip():
        return ""
    clean = clean_name("number", number)
    c = tables.students.c
    found = select(c.name).where(c.group_id == group, c.number == clean, c.id != own)
    if connection.execute(found).first() is not None:
        raise InputError(
            "number", f"another student in this class has {clean}", "use a different number, or none"
        )
    return clean


def add_student(connection: Connection, group: str, name: str, number: str = "") -> Student:
    """A new student of a class.

    Raises:
        InputError: no such class or the demo class, an invalid name, or a number already in use.
    """
    check_real(connection, group)
    own = _clean_number(connection, group, number)
    found = Student(new_id(), group, clean_name("name", name), own)
    connection.execute(
        tables.students.insert().values(id=found.id, group_id=group, name=found.name, number=found.number)
    )
    return found


def rename(connection: Connection, id: str, name: str, number: str = "") -> Student:
    """Changes a student's name or number.

    Raises:
        InputError: as `add_student`.
    """
    before = student(connection, id)
    own = _clean_number(connection, before.group, number, id)
    after = Student(id, before.group, clean_name("name", name), own)
    changed = tables.students.update().where(tables.students.c.id == id)
    connection.execute(changed.values(name=after.name, number=after.number))
    return after


def name_for(class_: Sequence[Student], wanted: str) -> str:
    """The name, with a number added if another student in the class has it."""
    taken = {one.name.casefold() for one in class_}
    if wanted.casefold() not in taken:
        return wanted
    bare = wanted[: LONGEST_NAME - 6]
    numbered = (f"{bare} ({count})" for count in range(2, len(taken) + 3))
    return next(name for name in numbered if name.casefold() not in taken)


class People(Service):
    """Classes and students."""

    groups = reads(groups)
    add_group = writes(add_group, "people")
    students = reads(students)
    student = reads(student)
    add_student = writes(add_student, "people")
    rename = writes(rename, "people")
