"""The demo class: loads it, and knows its own students and sittings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec
from sqlalchemy import Connection, select

from lubberline.classroom.records import Group
from lubberline.errors import InputError
from lubberline.store import answers, people, settings, sittings
from lubberline.store.bin.belongings import Where
from lubberline.store.database import Service, reads, tables, writes
from lubberline.store.settings import DEMO_CLASS, DEMO_OWN
from lubberline.store.times import stamped

if TYPE_CHECKING:
    from lubberline.classroom.demo_class import DemoClass
    from lubberline.classroom.demo_term import Term


class Own(msgspec.Struct, frozen=True):
    """Ids of the demo class's own students and sittings."""

    students: tuple[str, ...]
    sittings: tuple[str, ...]


def find(connection: Connection) -> Group | None:
    """The demo class, if it is in the records."""
    id = settings.get(connection, DEMO_CLASS)
    return next((group for group in people.groups(connection) if group.id == id), None)


def is_demo(connection: Connection, group: str) -> bool:
    """Whether a class is the demo's."""
    return settings.get(connection, DEMO_CLASS) == group


def own(connection: Connection) -> Own:
    """The demo's own students and sittings."""
    kept = settings.get(connection, DEMO_OWN)
    return msgspec.json.decode(kept, type=Own) if kept else Own((), ())


def settle(connection: Connection, plan: DemoClass) -> None:
    """Stores which students and sittings are the demo's own, if an older program loaded it without doing so.

    They are identified by name and number, and by title and time, from the demo's files.
    """
    group = find(connection)
    if group is None or settings.get(connection, DEMO_OWN):
        return
    names = {(one.name, str(number)) for number, one in enumerate(plan.student, start=1)}
    times = {(one.title, stamped(one.at)) for one in plan.sitting}
    students = people.students(connection, group.id)
    sat = sittings.listing(connection, group.id)
    _keep(
        connection,
        Own(
            tuple(one.id for one in students if (one.name, one.number) in names),
            tuple(one.id for one in sat if (one.title, one.opened_utc) in times),
        ),
    )


def _keep(connection: Connection, own: Own) -> None:
    settings.put(connection, DEMO_OWN, msgspec.json.encode(own).decode())


def add(connection: Connection, term: Term) -> Group:
    """Writes the demo class with its term, with new ids.

    Raises:
        InputError: when it is already there.
    """
    if find(connection) is not None:
        right = "delete it first: lubberline demo-class --remove"
        raise InputError("demo class", "it is already in the records", right)
    group = people.add_group(connection, term.title)
    names = {
        one.id: people.add_student(connection, group.id, one.name, one.number).id for one in term.students
    }
    sat = {one.id: people.new_id() for one in term.sittings}
    for sitting in term.sittings:
        own = msgspec.structs.replace(sitting, id=sat[sitting.id], group=group.id)
        sittings.put(connection, own)
    for place in term.places:
        plain = msgspec.structs.asdict(place)
        plain.update(sitting=sat[place.sitting], student=names[place.student])
        connection.execute(tables.places.insert().values(plain))
    for answer in term.answers:
        own_answer = msgspec.structs.replace(
            answer, sitting=sat[answer.sitting], student=names[answer.student], sent=people.new_id()
        )
        answers.put(connection, own_answer)
    for correction in term.corrections:
        whom = names[correction.student] if correction.student else ""
        answers.correct(
            connection, msgspec.structs.replace(correction, sitting=sat[correction.sitting], student=whom)
        )
    settings.put(connection, DEMO_CLASS, group.id)
    _keep(connection, Own(tuple(names.values()), tuple(sat.values())))
    return group


def belonging(connection: Connection, group: str) -> tuple[Where, str]:
    """The demo's own rows, and the class to keep without them; '' if the class goes too.

    Real students added to the demo class by an older program stay, with all their sittings; so does a
    demo sitting that one of them sat, and a demo student used by a real one.
    """
    mine, places = own(connection), tables.places.c
    students, sat = set(mine.students), set(mine.sittings)
    everybody = {one.id for one in people.students(connection, group)}
    every_sitting = {one.id for one in sittings.listing(connection, group)}
    for sitting, student in connection.execute(
        select(places.sitting, places.student).where(places.sitting.in_(every_sitting))
    ):
        if sitting not in mine.sittings:
            students.discard(student)
        elif student not in mine.students:
            sat.discard(sitting)
    goes = everybody <= students and every_sitting <= sat
    where: Where = {
        tables.students: tables.students.c.id.in_(students),
        tables.sittings: tables.sittings.c.id.in_(sat),
        tables.settings: tables.settings.c.name.in_((DEMO_CLASS, DEMO_OWN)),
    }
    if goes:
        where[tables.groups] = tables.groups.c.id == group
    for table in tables.IN_ORDER:
        if "sitting" in table.c:
            where[table] = table.c.sitting.in_(sat)
            if "student" in table.c:
                where[table] |= table.c.student.in_(students)
    return where, "" if goes else group


class Demo(Service):
    """The demo class in the records."""

    find = reads(find)
    add = writes(add, "people")
    settle = writes(settle)
