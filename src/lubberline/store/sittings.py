"""Sittings and the places of students in them."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from functools import lru_cache

import msgspec
from sqlalchemy import Connection, select
from sqlalchemy.engine import RowMapping

from lubberline.classroom.records import Asked, Place, Sitting, SittingKind
from lubberline.errors import InputError
from lubberline.store import people, tables
from lubberline.store.times import now_utc

# Without what looks alike when it is read from a screen across a room.
CODE_LETTERS = "ABCDEFGHJKLMNPQRTUVWXYZ2346789"
CODE_LENGTH = 6
PHASES = ("open", "closed", "shown")


@lru_cache(maxsize=64)
def asked_of(text: str) -> tuple[Asked, ...]:
    """Questions from their JSON; drawn values, which may be lists, stay as they were."""
    plain = msgspec.json.decode(text)
    drawn = [one["item"].pop("drawn", {}) for one in plain]
    found = (msgspec.convert({**one, "item": {**one["item"], "drawn": {}}}, Asked) for one in plain)
    return tuple(
        msgspec.structs.replace(one, item=msgspec.structs.replace(one.item, drawn=values))
        for one, values in zip(found, drawn, strict=True)
    )


def text_of(asked: Iterable[Asked]) -> str:
    """Questions as JSON."""
    return msgspec.json.encode(list(asked)).decode()


def _sitting(row: RowMapping) -> Sitting:
    plain = {name: row[name] for name in Sitting.__struct_fields__ if name not in ("group", "asked")}
    return Sitting(group=row["group_id"], asked=asked_of(row["asked"]), **plain)


def _place(row: RowMapping) -> Place:
    return Place(**{name: row[name] for name in Place.__struct_fields__})


def _new_code(connection: Connection) -> str:
    while True:
        code = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
        if by_code(connection, code) is None:
            return code


def add(
    connection: Connection,
    group: str,
    kind: SittingKind,
    title: str,
    asked: Iterable[Asked],
    source: str,
    minutes: float,
    on_paper: bool,
) -> Sitting:
    """A new sitting, open, with a code to join by unless it is on paper."""
    made = Sitting(
        id=people.new_id(),
        group=group,
        kind=kind,
        title=people.clean_name("title", title),
        opened_utc=now_utc(),
        asked=tuple(asked),
        source=source,
        code="" if on_paper else _new_code(connection),
        minutes=minutes,
        on_paper=on_paper,
    )
    return put(connection, made)


def put(connection: Connection, sitting: Sitting) -> Sitting:
    """A sitting as it is, with its id, code and times; for classes that are made up or brought back."""
    plain = {name: getattr(sitting, name) for name in Sitting.__struct_fields__}
    plain["group_id"] = plain.pop("group")
    connection.execute(tables.sittings.insert().values({**plain, "asked": text_of(sitting.asked)}))
    return sitting


def sittings(connection: Connection, group: str | None) -> tuple[Sitting, ...]:
    """All sittings, or a class's, the latest first."""
    found = select(tables.sittings).order_by(tables.sittings.c.opened_utc.desc(), tables.sittings.c.id)
    if group is not None:
        found = found.where(tables.sittings.c.group_id == group)
    return tuple(_sitting(row) for row in connection.execute(found).mappings())


def sitting(connection: Connection, id: str, *, held: bool = False, alone: bool = False) -> Sitting:
    """One sitting; `held` keeps others from moving it, `alone` from reading it so, until the end.

    Raises:
        InputError: when there is none with this id.
    """
    found = select(tables.sittings).where(tables.sittings.c.id == id)
    if held or alone:
        found = found.with_for_update(read=not alone)
    row = connection.execute(found).mappings().first()
    if row is None:
        raise InputError("sitting", "there is none with this id", "choose one of the list")
    return _sitting(row)


def by_code(connection: Connection, code: str) -> Sitting | None:
    """The open sitting with this code, in whatever way it was typed."""
    plain = "".join(sign for sign in code.upper() if sign.isalnum())
    if len(plain) != CODE_LENGTH:
        return None
    found = select(tables.sittings).where(tables.sittings.c.code == plain, tables.sittings.c.closed_utc == "")
    row = connection.execute(found).mappings().first()
    return None if row is None else _sitting(row)


def move(
    connection: Connection,
    id: str,
    step: int | None,
    phase: str | None,
    closed: bool | None,
    code: str | None,
) -> Sitting:
    """Moves a sitting on; None leaves things as they are, `code=''` lets nobody join any more."""
    if phase is not None and phase not in PHASES:
        raise InputError("phase", f"'{phase[:20]}'", f"one of {', '.join(PHASES)}")
    wanted: dict[str, str | int] = {}
    if step is not None:
        wanted["step"] = step
    if phase is not None:
        wanted["phase"] = phase
    if code is not None:
        wanted["code"] = code
    if closed is not None:
        wanted["closed_utc"] = now_utc() if closed else ""
    sitting(connection, id, alone=True)
    if wanted:
        connection.execute(tables.sittings.update().where(tables.sittings.c.id == id).values(wanted))
    return sitting(connection, id)


def places(connection: Connection, sitting: str) -> tuple[Place, ...]:
    """Who is in a sitting, in the order in which they came."""
    found = select(tables.places).where(tables.places.c.sitting == sitting)
    rows = connection.execute(found.order_by(tables.places.c.began_utc, tables.places.c.student))
    return tuple(_place(row) for row in rows.mappings())


def place(connection: Connection, sitting: str, student: str, *, held: bool = False) -> Place | None:
    """A student's place in a sitting; `held` lets one thing at a time happen to it."""
    c = tables.places.c
    found = select(tables.places).where(c.sitting == sitting, c.student == student)
    if held:
        found = found.with_for_update()
    row = connection.execute(found).mappings().first()
    return None if row is None else _place(row)


def place_by_secret(connection: Connection, sitting: str, secret_hash: str) -> Place | None:
    """The place whose browser holds the secret with this digest."""
    if not secret_hash:
        return None
    c = tables.places.c
    found = select(tables.places).where(c.sitting == sitting, c.secret_hash == secret_hash)
    row = connection.execute(found).mappings().first()
    return None if row is None else _place(row)


def add_place(
    connection: Connection, sitting: str, student: str, form: str, secret_hash: str = "", began_utc: str = ""
) -> Place:
    """A student's place, made or as it was."""
    there = place(connection, sitting, student)
    if there is not None:
        return there
    made = Place(sitting, student, form, began_utc or now_utc(), "", secret_hash)
    plain = {name: getattr(made, name) for name in Place.__struct_fields__}
    connection.execute(tables.places.insert().values(plain))
    return made


def enter(connection: Connection, id: str, name: str, number: str, secret_hash: str, form: str) -> Place:
    """A student comes in from a browser.

    The same secret is the same place. Somebody of the class who has no place yet is recognised by number,
    or by name where neither gave a number; a name that is already in the room comes in as another
    student, with a number after the name.

    Raises:
        InputError: a closed sitting, or a name that is none.
    """
    # One at a time: two tabs of one browser must not become two students.
    found = sitting(connection, id, alone=True)
    there = place_by_secret(connection, id, secret_hash)
    if there is not None:
        return there
    if found.closed_utc:
        raise InputError("sitting", "it is closed", "ask the instructor")
    name, number = people.clean_name("name", name), number.strip()
    here = {one.student for one in places(connection, id)}
    for known in people.students(connection, found.group):
        same = known.number == number if number else known.name.casefold() == name.casefold()
        if same and known.id not in here and (number or not known.number):
            return add_place(connection, id, known.id, form, secret_hash)
    own = people.name_for(connection, found.group, name)
    made = people.add_student(connection, found.group, own, number)
    return add_place(connection, id, made.id, form, secret_hash)


def hand_in(connection: Connection, sitting: str, student: str) -> Place:
    """A student ends; a second time changes nothing."""
    there = place(connection, sitting, student, held=True)
    if there is None:
        raise InputError("sitting", "this student is not in it", "join it first")
    if there.ended_utc:
        return there
    c = tables.places.c
    changed = tables.places.update().where(c.sitting == sitting, c.student == student)
    ended = msgspec.structs.replace(there, ended_utc=now_utc())
    connection.execute(changed.values(ended_utc=ended.ended_utc))
    return ended
