"""Answers that came when none was taken any more: kept apart, for the instructor to take or not.

Whether one was given in time is asked of the device's clock, within what the records know: nothing was given
before the place was taken, after this moment, or before the device heard the server from which it counts.
"""

from __future__ import annotations

from datetime import datetime

import msgspec
from sqlalchemy import Connection, select, update
from sqlalchemy.engine import RowMapping

from lubberline.classroom.records import Answer, Claim, LateAnswer, Place, Sitting
from lubberline.store import tables
from lubberline.store.times import FORM, now_utc, seconds_between

# Between the server's word and its being heard.
CLOCKS_APART_S = 5.0
_OF_ANSWER = ("sitting", "student", "key", "chosen", "value", "sent", "seconds")


def _late(row: RowMapping) -> LateAnswer:
    answer = Answer(**{name: row[name] for name in _OF_ANSWER})
    claim = Claim(**{name: row[name] for name in Claim.__struct_fields__})
    return LateAnswer(answer, claim, row["came_utc"], row["state"], row["decided_utc"], row["at"])


def is_time(text: str) -> bool:
    """Whether a text is a time as it is kept."""
    try:
        return datetime.strptime(text, FORM).strftime(FORM) == text
    except ValueError:
        return False


def is_sound(claim: Claim, place: Place, now: str) -> bool:
    """Whether a claim can be true: times that are times, in their order, within the place's own."""
    if not (is_time(claim.given_utc) and is_time(claim.heard_utc) and 0.0 <= claim.apart_s < 1e9):
        return False
    in_order = claim.heard_utc <= claim.given_utc and place.began_utc <= claim.heard_utc
    return in_order and seconds_between(now, claim.given_utc) <= CLOCKS_APART_S


def as_of(connection: Connection, sitting: Sitting, place: Place, moment_utc: str) -> tuple[Sitting, Place]:
    """A sitting and a place as they stood at a moment; a lesson of which that is not known stood closed."""
    closed = sitting.closed_utc if moment_utc > sitting.closed_utc else ""
    ended = place.ended_utc if moment_utc > place.ended_utc else ""
    step, phase = sitting.step, sitting.phase
    if sitting.kind == "lesson":
        c = tables.moves.c
        found = select(c.step, c.phase).where(c.sitting == sitting.id, c.at_utc <= moment_utc)
        row = connection.execute(found.order_by(c.at.desc()).limit(1)).first()
        step, phase = (row.step, row.phase) if row else (step, "closed")
    then = msgspec.structs.replace(sitting, closed_utc=closed, step=step, phase=phase)
    return then, msgspec.structs.replace(place, ended_utc=ended)


def moved(connection: Connection, sitting: Sitting) -> None:
    """Keeps where a lesson stands from now on."""
    plain = {"sitting": sitting.id, "at_utc": now_utc(), "step": sitting.step, "phase": sitting.phase}
    connection.execute(tables.moves.insert().values(plain))


def put(connection: Connection, answer: Answer, claim: Claim) -> LateAnswer:
    """Keeps a late answer once; it takes the place of one to the same question that still waits."""
    c = tables.late_answers.c
    of_student = (c.sitting == answer.sitting, c.student == answer.student)
    row = connection.execute(
        select(tables.late_answers).where(*of_student, c.sent == answer.sent)
    ).mappings().first()  # fmt: skip
    if row is not None:
        return _late(row)
    before = update(tables.late_answers).where(*of_student, c.key == answer.key, c.state == "waiting")
    connection.execute(before.values(state="replaced", decided_utc=now_utc()))
    made = LateAnswer(answer, claim, now_utc())
    plain = {name: getattr(answer, name) for name in _OF_ANSWER} | msgspec.structs.asdict(claim)
    plain |= {"came_utc": made.came_utc, "state": made.state, "decided_utc": ""}
    connection.execute(tables.late_answers.insert().values(plain))
    return made


def of_sitting(connection: Connection, sitting: str) -> tuple[LateAnswer, ...]:
    """The late answers of a sitting in the order in which they came."""
    c = tables.late_answers.c
    found = select(tables.late_answers).where(c.sitting == sitting).order_by(c.at)
    return tuple(_late(row) for row in connection.execute(found).mappings())


def decided(connection: Connection, sitting: str, at: int | None, *, take: bool) -> tuple[LateAnswer, ...]:
    """Marks one late answer that waits, or all of a sitting's, as taken or not; gives those it marked."""
    waiting = [one for one in of_sitting(connection, sitting) if one.state == "waiting"]
    marked = tuple(one for one in waiting if at in (None, one.at))
    c = tables.late_answers.c
    new = {"state": "taken" if take else "not taken", "decided_utc": now_utc()}
    connection.execute(update(tables.late_answers).where(c.at.in_([one.at for one in marked])).values(new))
    return marked
