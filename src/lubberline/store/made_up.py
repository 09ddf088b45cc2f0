"""A made-up class written into the records as a whole, and taken out again."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec
from sqlalchemy import Connection

from lubberline.classroom.records import Group
from lubberline.errors import InputError
from lubberline.store import answers, corrections, deletion, people, settings, sittings, tables

if TYPE_CHECKING:
    from lubberline.classroom.made_up import Term

# The setting that remembers which class is the made-up one.
SETTING = "made-up class"


def there(connection: Connection) -> Group | None:
    """The made-up class, where it is in the records."""
    id = settings.setting(connection, SETTING)
    return next((group for group in people.groups(connection) if group.id == id), None)


def add(connection: Connection, term: Term) -> Group:
    """Writes a made-up class with its term, under ids of these records.

    Raises:
        InputError: when one is there already.
    """
    if there(connection) is not None:
        right = "take it out first: lubberline demo-class --remove"
        raise InputError("made-up class", "it is in the records already", right)
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
        corrections.correct(
            connection, msgspec.structs.replace(correction, sitting=sat[correction.sitting], student=whom)
        )
    settings.set_setting(connection, SETTING, group.id)
    return group


def remove(connection: Connection) -> Group:
    """Takes the made-up class out, with everything about it; nothing else is touched.

    Raises:
        InputError: when there is none.
    """
    group = there(connection)
    if group is None:
        raise InputError("made-up class", "there is none in the records", "nothing to take out")
    deletion.forget_group(connection, group.id)
    settings.set_setting(connection, SETTING, "")
    return group
