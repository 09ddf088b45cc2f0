"""Answers: each taken once, the last one counting, every sending kept."""

from __future__ import annotations

import msgspec
from sqlalchemy import Connection, select
from sqlalchemy.engine import RowMapping

from lubberline.classroom.lesson_records import key_of
from lubberline.classroom.records import Answer, Place, Sitting
from lubberline.errors import InputError
from lubberline.store import people, sittings, tables
from lubberline.store.times import now_utc, seconds_between

# A sending on its way when the time ends still counts.
GRACE_S = 10.0


def _answer(row: RowMapping) -> Answer:
    return Answer(**{name: row[name] for name in Answer.__struct_fields__})


def is_of_step(key: str, step: int) -> bool:
    """Whether a lesson's question belongs to a step (from 0): its prediction, or a question of its quiz."""
    own = key_of(step)
    return key == own or key.startswith(f"{own}-")


def check_open(sitting: Sitting, place: Place | None, key: str, at_utc: str) -> None:
    """Whether an answer may be taken at a moment.

    Raises:
        InputError: the sitting, its step or the time is closed, the student has handed in or is not in it,
            or the question is not one of theirs.
    """
    if place is None:
        raise InputError("sitting", "this student is not in it", "join it first")
    asked = next((one for one in sitting.asked if one.key == key), None)
    if asked is None or (asked.form and asked.form != place.form):
        raise InputError("question", "it is not one of this paper", "answer one that is shown")
    if sitting.closed_utc:
        raise InputError("sitting", "it is closed", "no more answers are taken")
    if place.ended_utc:
        raise InputError("sitting", "it was handed in", "no more answers are taken")
    if sitting.kind == "lesson" and not (sitting.phase == "open" and is_of_step(key, sitting.step)):
        raise InputError("question", "it is closed", "wait for the next one")
    limit_s = sitting.minutes * 60.0 + GRACE_S
    if sitting.minutes and place.began_utc and seconds_between(place.began_utc, at_utc) > limit_s:
        raise InputError("sitting", "the time is over", "no more answers are taken")


def record(connection: Connection, answer: Answer) -> Answer:
    """Takes an answer, in the same transaction as the check that it still may be taken.

    The same sending twice gives what was kept the first time, and a later one takes its place.

    Raises:
        InputError: as `check_open`.
    """
    sitting = sittings.sitting(connection, answer.sitting, held=True)
    place = sittings.place(connection, answer.sitting, answer.student, held=True)
    kept = _sent_before(connection, answer)
    if kept is not None:
        return kept
    stamped = msgspec.structs.replace(answer, answered_utc=now_utc())
    check_open(sitting, place, answer.key, stamped.answered_utc)
    return put(connection, stamped)


def _sent_before(connection: Connection, answer: Answer) -> Answer | None:
    if not answer.sent:
        return None
    c = tables.sendings.c
    found = select(tables.sendings).where(
        c.sitting == answer.sitting, c.student == answer.student, c.sent == answer.sent
    )
    row = connection.execute(found).mappings().first()
    if row is None:
        return None
    same = ("sitting", "student", "key", "chosen", "value", "answered_utc", "sent")
    return Answer(**{name: row[name] for name in same})


def put(connection: Connection, answer: Answer) -> Answer:
    """An answer as it stands, without asking whether it is in time: from paper, or of a made-up class."""
    plain = {name: getattr(answer, name) for name in Answer.__struct_fields__}
    if not plain["answered_utc"]:
        plain["answered_utc"] = now_utc()
    if not plain["sent"]:
        plain["sent"] = people.new_id()
    c = tables.answers.c
    here = (c.sitting == answer.sitting, c.student == answer.student, c.key == answer.key)
    changed = connection.execute(tables.answers.update().where(*here).values(plain))
    if not changed.rowcount:
        connection.execute(tables.answers.insert().values(plain))
    sending = {name: value for name, value in plain.items() if name != "seconds"}
    connection.execute(tables.sendings.insert().values(sending))
    return Answer(**plain)


def of_sitting(connection: Connection, sitting: str) -> tuple[Answer, ...]:
    """The answers that count in a sitting."""
    found = select(tables.answers).where(tables.answers.c.sitting == sitting)
    rows = connection.execute(found.order_by(tables.answers.c.student, tables.answers.c.key))
    return tuple(_answer(row) for row in rows.mappings())


def of_student(connection: Connection, student: str) -> tuple[Answer, ...]:
    """All answers of a student that count, the earliest first."""
    found = select(tables.answers).where(tables.answers.c.student == student)
    rows = connection.execute(found.order_by(tables.answers.c.answered_utc, tables.answers.c.key))
    return tuple(_answer(row) for row in rows.mappings())
