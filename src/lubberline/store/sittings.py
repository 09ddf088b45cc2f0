"""Sittings and the places of students in them."""

import math
import secrets
from collections.abc import Iterable, Sequence
from datetime import timedelta
from functools import lru_cache
from typing import Any

import msgspec
from sqlalchemy import Connection, func, select, text
from sqlalchemy.engine import RowMapping

from lubberline.classroom.records import Asked, Place, Seat, Sitting, SittingKind
from lubberline.errors import InputError, required
from lubberline.store import moves, people, settings
from lubberline.store.bin import contents
from lubberline.store.database import Service, reads, tables, writes
from lubberline.store.texts import LONGEST_TEXT, clean_name, kept_text
from lubberline.store.times import now, now_utc, stamped

# Without characters that look alike on a screen across a room.
CODE_LETTERS = "ABCDEFGHJKLMNPQRTUVWXYZ2346789"
CODE_LENGTH = 6
PHASES = ("open", "closed", "shown")
LONGEST_MINUTES = 24 * 60.0
MOST_STEPS = 1000
LONGEST_COUNTDOWN_S = 600.0


@lru_cache(maxsize=64)
def asked_of(text: str) -> tuple[Asked, ...]:
    """Questions from their JSON; drawn values, which may be lists, are unchanged."""
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


def of_row(row: RowMapping) -> Sitting:
    """A sitting from its row; a question whose countdown was to close it is closed when that has ended."""
    plain = {name: row[name] for name in Sitting.__struct_fields__ if name not in ("group", "asked")}
    found = Sitting(group=row["group_id"], asked=asked_of(row["asked"]), **plain)
    if found.phase == "open" and found.closes_utc and found.closes_utc <= now_utc():
        return msgspec.structs.replace(found, phase="closed", countdown_utc="", closes_utc="")
    return found


def new_code(connection: Connection) -> str:
    """A code not used by an open sitting."""
    while True:
        code = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
        if by_code(connection, code) is None:
            return code


def add(
    connection: Connection,
    group: str,
    kind: SittingKind,
    title: str,
    asked: Sequence[Asked],
    source: str = "",
    minutes: float = 0.0,
    on_paper: bool = False,
) -> Sitting:
    """A new sitting, open, with a code to join by unless it is on paper.

    Raises:
        InputError: no such class, the demo class, or as `check`.
    """
    people.check_real(connection, group)
    made = Sitting(
        id=people.new_id(),
        group=group,
        kind=kind,
        title=clean_name("title", title),
        opened_utc=now_utc(),
        asked=tuple(asked),
        source=kept_text("source", source, LONGEST_TEXT),
        code="" if on_paper else new_code(connection),
        minutes=minutes,
        on_paper=on_paper,
    )
    return put(connection, made)


def check(sitting: Sitting) -> None:
    """Checks a sitting.

    Raises:
        InputError: an invalid kind, time limit or question key, or a duplicate key.
    """
    if sitting.kind not in ("lesson", "paper"):
        raise InputError("kind", f"'{sitting.kind[:20]}'", "use lesson or paper")
    if not (math.isfinite(sitting.minutes) and 0.0 <= sitting.minutes <= LONGEST_MINUTES):
        raise InputError("minutes", f"{sitting.minutes}", f"0 for no limit, or up to {LONGEST_MINUTES:g}")
    keys = [one.key for one in sitting.asked]
    if len(set(keys)) < len(keys) or "" in keys:
        raise InputError(
            "questions", "two have the same key, or one has none", "give each question its own key"
        )


def put(connection: Connection, sitting: Sitting) -> Sitting:
    """Inserts a sitting with its id, code and times; for the demo class or from the bin.

    Raises:
        InputError: as `check`.
    """
    check(sitting)
    plain = msgspec.structs.asdict(sitting)
    plain["group_id"] = plain.pop("group")
    connection.execute(tables.sittings.insert().values({**plain, "asked": text_of(sitting.asked)}))
    return sitting


def listing(connection: Connection, group: str | None = None) -> tuple[Sitting, ...]:
    """All sittings, or a class's, the latest first."""
    found = select(tables.sittings).order_by(tables.sittings.c.opened_utc.desc(), tables.sittings.c.id)
    if group is not None:
        found = found.where(tables.sittings.c.group_id == group)
    return tuple(of_row(row) for row in connection.execute(found).mappings())


def lock(connection: Connection, id: str, alone: bool = True) -> None:
    """Locks a sitting until the end of the transaction; SQLite has only one writer anyway.

    The lock has a queue: with row locks, students answering would block the instructor from closing it
    as long as they keep answering.
    """
    if connection.dialect.name == "postgresql":
        lock = "pg_advisory_xact_lock" if alone else "pg_advisory_xact_lock_shared"
        connection.execute(text(f"select {lock}(hashtextextended(:id, 0))"), {"id": id})


def _row(connection: Connection, id: str) -> RowMapping | None:
    return connection.execute(select(tables.sittings).where(tables.sittings.c.id == id)).mappings().first()


def _sought(connection: Connection, id: str) -> tuple[RowMapping | None, bool]:
    """A sitting's row, or whether it is in the bin."""
    row = _row(connection, id)
    if row is None and contents.holds_sitting(connection, id):
        return None, True
    # It may have been brought back between the two queries.
    return row or _row(connection, id), False


def sitting(connection: Connection, id: str, *, held: bool = False, alone: bool = False) -> Sitting:
    """One sitting; `held` prevents others from moving it until the end, `alone` also from holding it.

    Raises:
        InputError: there is none with this id; for an answer (`held`) to one in the bin,
            the code is 'no-place': it is accepted once the sitting is brought back.
    """
    if held or alone:
        lock(connection, id, alone)
    row, in_bin = _sought(connection, id) if held else (_row(connection, id), False)
    if row is None:
        code = "no-place" if in_bin else "no-sitting"
        raise InputError("sitting", "there is no sitting with this id", "choose one from the list", code)
    return of_row(row)


def by_code(connection: Connection, code: str) -> Sitting | None:
    """The open sitting with this code, however it was typed."""
    plain = "".join(sign for sign in code[: 4 * CODE_LENGTH].upper() if sign in CODE_LETTERS)
    if len(plain) != CODE_LENGTH:
        return None
    found = select(tables.sittings).where(tables.sittings.c.code == plain, tables.sittings.c.closed_utc == "")
    row = connection.execute(found).mappings().first()
    return None if row is None else of_row(row)


def move(
    connection: Connection,
    id: str,
    *,
    step: int | None = None,
    phase: str | None = None,
    closed: bool | None = None,
    code: str | None = None,
) -> Sitting:
    """Moves a sitting on; None changes nothing, `code=''` closes joining.

    A reopened one gets a new code if another open sitting has its old one.

    Raises:
        InputError: no such sitting, or an invalid phase, step or code.
    """
    if phase is not None and phase not in PHASES:
        raise InputError("phase", f"'{phase[:20]}'", f"one of {', '.join(PHASES)}")
    # Before its first step a lesson is at -1, while the class joins.
    if step is not None and not -1 <= step < MOST_STEPS:
        raise InputError("step", f"{step}", f"-1 to {MOST_STEPS - 1}")
    before = sitting(connection, id, alone=True)
    after = msgspec.structs.replace(
        before,
        step=before.step if step is None else step,
        phase=before.phase if phase is None else phase,
        code=before.code if code is None else code,
        closed_utc=before.closed_utc if closed is None else now_utc() if closed else "",
    )
    if closed and before.closed_utc:
        # Closing twice does not change the time.
        after = msgspec.structs.replace(after, closed_utc=before.closed_utc)
    if after.code and not after.closed_utc:
        other = by_code(connection, after.code)
        if other is not None and other.id != id:
            if code is not None:
                raise InputError("code", "another open sitting has it", "use another code, or none")
            after = msgspec.structs.replace(after, code=new_code(connection))
    if (after.step, after.phase, after.closed_utc) != (before.step, before.phase, before.closed_utc):
        after = msgspec.structs.replace(after, countdown_utc="", closes_utc="")
        moves.drop_planned(connection, id, now_utc())
    _write(connection, after, "step", "phase", "code", "closed_utc", "countdown_utc", "closes_utc")
    if (after.step, after.phase) != (before.step, before.phase):
        moves.add(connection, after, now_utc())
    return after


def _write(connection: Connection, sitting: Sitting, *names: str) -> None:
    wanted = {name: getattr(sitting, name) for name in names}
    connection.execute(tables.sittings.update().where(tables.sittings.c.id == sitting.id).values(wanted))


def count_down(connection: Connection, id: str, seconds: float, *, closes: bool = False) -> Sitting:
    """Starts the countdown of a question, or ends it with 0; with `closes` its end closes the question.

    Raises:
        InputError: no such sitting, or too long a time.
    """
    if not 0.0 <= seconds <= LONGEST_COUNTDOWN_S:
        raise InputError("countdown", f"{seconds:g} s", f"0 to {LONGEST_COUNTDOWN_S:g} s")
    end_utc = stamped(now() + timedelta(seconds=seconds)) if seconds else ""
    before = sitting(connection, id, alone=True)
    after = msgspec.structs.replace(before, countdown_utc=end_utc, closes_utc=end_utc if closes else "")
    _write(connection, after, "phase", "countdown_utc", "closes_utc")
    moves.drop_planned(connection, id, now_utc())
    if after.closes_utc:
        moves.add(connection, msgspec.structs.replace(after, phase="closed"), end_utc)
    return after


def places(connection: Connection, sitting: str) -> tuple[Place, ...]:
    """The places of a sitting, in order of joining."""
    c = tables.places.c
    order = (c.joined, c.began_utc, c.student)
    return tables.records(connection, Place, tables.places, c.sitting == sitting, order=order)


def places_of(connection: Connection, student: str) -> tuple[Place, ...]:
    """A student's places, in order of joining."""
    c = tables.places.c
    order = (c.began_utc, c.sitting)
    return tables.records(connection, Place, tables.places, c.student == student, order=order)


def place(connection: Connection, sitting: str, student: str, *, held: bool = False) -> Place | None:
    """A student's place in a sitting; `held` locks it."""
    c = tables.places.c
    where = (c.sitting == sitting, c.student == student)
    return tables.record(connection, Place, tables.places, *where, held={} if held else None)


def place_by_secret(connection: Connection, sitting: str, secret_hash: str) -> Place | None:
    """The place of the browser with this digest of its secret."""
    if not secret_hash:
        return None
    c = tables.places.c
    where = (c.sitting == sitting, c.secret_hash == secret_hash)
    return tables.record(connection, Place, tables.places, *where)


def seat(connection: Connection, id: str, secret_hash: str) -> Seat:
    """The student of the browser with this digest, and the id of the records."""
    row, in_bin = _sought(connection, id)
    records = settings.get(connection, settings.RECORDS_ID)
    found = None if row is None else of_row(row)
    return Seat(records, found, place_by_secret(connection, id, secret_hash), in_bin)


def add_place(
    connection: Connection,
    sitting: str,
    student: str,
    form: str = "",
    began_utc: str = "",
    secret_hash: str = "",
) -> Place:
    """A student's place, created if necessary.

    Raises:
        InputError: no such sitting, or no such student of its class.
    """
    there = place(connection, sitting, student)
    if there is not None:
        return there
    check_member(connection, sitting, student)
    c = tables.places.c
    joined = connection.execute(select(func.max(c.joined)).where(c.sitting == sitting)).scalar_one() or 0
    made = Place(sitting, student, form, began_utc or now_utc(), "", secret_hash, joined=joined + 1)
    connection.execute(tables.places.insert().values(msgspec.structs.asdict(made)))
    return made


def check_member(connection: Connection, id: str, student: str) -> None:
    """Checks that a student belongs to a sitting's class.

    Raises:
        InputError: not so, or there is no such sitting or student.
    """
    found = select(tables.sittings.c.group_id).where(tables.sittings.c.id == id)
    group = required(
        connection.execute(found).scalar_one_or_none(),
        InputError("sitting", "there is no sitting with this id", "choose one from the list", "no-sitting"),
    )
    if people.student(connection, student, held=True).group != group:
        raise InputError("student", "the sitting belongs to another class", "choose a student of its class")


def enter(
    connection: Connection, id: str, name: str, number: str = "", secret_hash: str = "", form: str = ""
) -> Place:
    """A student joins from a browser.

    The same secret means the same place. A student of the class without a browser here is recognised
    by number, or by name if neither has a number. A name already in use joins as
    another student, with a number after the name: nobody gets the place of somebody present.

    Raises:
        InputError: a closed sitting, one of the demo class, or an invalid name.
    """
    # One at a time: two tabs of one browser must not become two students.
    found = sitting(connection, id, alone=True)
    there = place_by_secret(connection, id, secret_hash)
    if there is not None:
        return there
    if found.closed_utc:
        raise InputError("sitting", "it is closed", "ask the instructor", "sitting-closed")
    people.check_real(connection, found.group)
    name = clean_name("name", name)
    number = clean_name("number", number) if number.strip() else ""
    class_ = people.students(connection, found.group)
    here = {one.student: one for one in places(connection, id)}
    for known in class_:
        own = known.number == number if number else known.name.casefold() == name.casefold()
        if not own or (known.number and not number):
            continue
        if known.id not in here:
            return add_place(connection, id, known.id, form, secret_hash=secret_hash)
        if not here[known.id].secret_hash:
            return _changed(connection, here[known.id], secret_hash=secret_hash)
    # A number used by somebody present is theirs.
    free = number if number not in {one.number for one in class_} else ""
    made = people.add_student(connection, found.group, people.name_for(class_, name), free)
    return add_place(connection, id, made.id, form, secret_hash=secret_hash)


def _held(
    connection: Connection, sitting: str, student: str, right: str = "choose one who has joined"
) -> Place:
    """A student's place, locked; `InputError` if there is none."""
    return required(
        place(connection, sitting, student, held=True),
        InputError("sitting", "this student has not joined it", right, "no-place"),
    )


def _changed(connection: Connection, place: Place, **values: Any) -> Place:
    c = tables.places.c
    changed = tables.places.update().where(c.sitting == place.sitting, c.student == place.student)
    connection.execute(changed.values(values))
    return msgspec.structs.replace(place, **values)


def release(connection: Connection, sitting: str, student: str) -> Place:
    """Frees a place for another browser: the next student with this name or number gets it.

    Raises:
        InputError: the student is not in the sitting.
    """
    return _changed(connection, _held(connection, sitting, student), secret_hash="")


def give_time(connection: Connection, sitting_id: str, student: str, extra_min: float) -> Place:
    """Sets a student's extra time; 0 cancels it.

    Raises:
        InputError: the student is not in it, the sitting has no limit, or an invalid time.
    """
    limit = sitting(connection, sitting_id).minutes
    there = _held(connection, sitting_id, student)
    if not limit:
        raise InputError("extra time", "the sitting has no time limit", "extra time is not needed")
    if not (math.isfinite(extra_min) and 0.0 <= extra_min <= LONGEST_MINUTES):
        raise InputError("extra time", f"{extra_min:g} minutes", f"0 to {LONGEST_MINUTES:g} minutes")
    return _changed(connection, there, extra_min=extra_min)


def hand_in(connection: Connection, sitting: str, student: str) -> Place:
    """A student hands in; a second time changes nothing.

    Raises:
        InputError: the student is not in the sitting.
    """
    there = _held(connection, sitting, student, "join it first")
    return there if there.ended_utc else _changed(connection, there, ended_utc=now_utc())


class Sittings(Service):
    """Sittings and the places of students in them."""

    listing = reads(listing)
    sitting = reads(sitting)
    by_code = reads(by_code)
    add = writes(add, "people")
    put = writes(put, "people")
    move = writes(move, "sitting:{id}")
    count_down = writes(count_down, "sitting:{id}")
    enter = writes(enter, "sitting:{id}")
    add_place = writes(add_place, "sitting:{sitting}")
    place_by_secret = reads(place_by_secret)
    seat = reads(seat)
    places = reads(places)
    places_of = reads(places_of)
    release = writes(release, "sitting:{sitting}")
    give_time = writes(give_time, "sitting:{sitting_id}")
    hand_in = writes(hand_in, "sitting:{sitting}")
