"""Answers: each accepted once, the last one counts, every sending is stored."""

import math
from collections.abc import Sequence

import msgspec
from sqlalchemy import Connection, select, update
from sqlalchemy.engine import RowMapping

from lubberline.classroom.lessons.lesson import is_of_step
from lubberline.classroom.records import (
    NOT_CHOSEN,
    Answer,
    Asked,
    ClaimedTime,
    Correction,
    LateAnswer,
    Place,
    Sitting,
)
from lubberline.errors import InputError, required
from lubberline.store import moves, people, sittings
from lubberline.store.database import Service, reads, tables, writes
from lubberline.store.texts import kept_text
from lubberline.store.times import is_time, now_utc, seconds_between

# A sending on its way when the time ends still counts.
GRACE_S = 10.0
LONGEST_SENT = 100
# The codes of answers that come too late.
TOO_LATE = ("sitting-closed", "handed-in", "time-over", "question-closed")


def check_open(sitting: Sitting, place: Place | None, asked: Asked, at_utc: str) -> None:
    """Checks that an answer may be accepted at a moment.

    Raises:
        InputError: the sitting, its step or the time is closed, the student has handed in or is not in it,
            or the question is not one of theirs.
    """
    if place is None:
        raise InputError("sitting", "this student has not joined it", "join it first", "no-place")
    if asked.form and asked.form != place.form:
        raise InputError("question", "not in this paper", "answer one of those shown")
    if sitting.closed_utc:
        raise InputError("sitting", "it is closed", "no more answers are accepted", "sitting-closed")
    if place.ended_utc:
        raise InputError("sitting", "it was handed in", "no more answers are accepted", "handed-in")
    if sitting.kind == "lesson" and not (sitting.phase == "open" and is_of_step(asked.key, sitting.step)):
        raise InputError("question", "it is closed", "wait for the next one", "question-closed")
    limit_s = place.limit_s(sitting)
    answers = limit_s is not None and seconds_between(place.began_utc or at_utc, at_utc) > limit_s + GRACE_S
    if answers:
        raise InputError("sitting", "time is up", "no more answers are accepted", "time-over")


def check_fits(sitting: Sitting, answer: Answer) -> Asked:
    """The question of an answer, if the answer fits it.

    Raises:
        InputError: no such question, an option that it does not have, or a value that is not a number.
    """
    asked = required(
        next((one for one in sitting.asked if one.key == answer.key), None),
        InputError("question", "not in this paper", "answer one of those shown"),
    )
    where = f"question {answer.key}"
    if not NOT_CHOSEN <= answer.chosen < len(asked.item.options):
        raise InputError(where, f"it has no option {answer.chosen}", "choose one of those shown")
    if answer.value is not None and (asked.item.options or not math.isfinite(answer.value)):
        raise InputError(where, "that number is not a possible answer", "give an option or a finite number")
    if not (math.isfinite(answer.seconds) and answer.seconds >= 0.0):
        raise InputError(where, "the time taken is invalid", "give seconds from 0 (0: not known)")
    return asked


def record(connection: Connection, answer: Answer) -> Answer:
    """Saves an answer, in the same transaction as the check that it is still allowed.

    The same sending twice returns the answer saved the first time; a later one replaces it.

    Raises:
        InputError: as `check_fits` and `check_open`.
    """
    sitting = sittings.sitting(connection, answer.sitting, held=True)
    place = sittings.place(connection, answer.sitting, answer.student, held=True)
    kept = _sent_before(connection, answer)
    if kept is not None:
        return kept
    stamped = msgspec.structs.replace(answer, answered_utc=now_utc())
    asked = check_fits(sitting, stamped)
    check_open(sitting, place, asked, stamped.answered_utc)
    return _put(connection, stamped)


def receive(connection: Connection, answer: Answer, claim: ClaimedTime | None = None) -> Answer | LateAnswer:
    """Saves an answer as `record` does; one that comes too late waits for a decision if it was given in time.

    Raises:
        InputError: as `record`; an impossible claim, or one of a time after the end, is ignored.
    """
    try:
        return record(connection, answer)
    except InputError as error:
        if claim is None or error.code not in TOO_LATE:
            raise
        sitting = sittings.sitting(connection, answer.sitting)
        place = sittings.place(connection, answer.sitting, answer.student)
        if place is None or not is_sound(claim, place, now_utc()):
            raise
        try:
            then = moves.as_of(connection, sitting, place, claim.given_utc)
            check_open(*then, check_fits(sitting, answer), claim.given_utc)
        except InputError:
            raise error from None
        return put_late(connection, answer, claim)


def receive_all(
    connection: Connection, answers: Sequence[Answer], claims: Sequence[ClaimedTime | None] = ()
) -> tuple[Answer | LateAnswer | InputError, ...]:
    """Saves answers that came together, each as `receive` does.

    Args:
        connection: within a transaction.
        answers: in order of arrival.
        claims: for each, when it was given by its device's clock; omitted if there are none.

    Returns:
        In the same order, the answer as saved, or the reason against it; the others are saved anyway.
    """
    claimed = claims or [None] * len(answers)
    found: dict[int, Answer | LateAnswer | InputError] = {}
    # In the same order in every server, so that two never wait for each other's students.
    for place in sorted(range(len(answers)), key=lambda k: (answers[k].sitting, answers[k].student)):
        try:
            found[place] = receive(connection, answers[place], claimed[place])
        except InputError as error:
            found[place] = error
    return tuple(found[place] for place in range(len(answers)))


def decide(connection: Connection, sitting: str, at: int | None, *, take: bool) -> int:
    """Accepts or rejects a late answer of a sitting, or all that wait; returns how many.

    Args:
        connection: within a transaction.
        sitting: id.
        at: of the record, which may have been rejected before; None for all that wait.
        take: whether to accept them.
    """
    sittings.sitting(connection, sitting, held=True)
    marked = decided(connection, sitting, at, take=take)
    for one in marked if take else ():
        answer = one.answer
        try:
            kept = _sent_before(connection, answer)
        except InputError:
            # Its device has since used the id for an answer to another question.
            kept, answer = None, msgspec.structs.replace(answer, sent="")
        if kept is None:
            _put(connection, answer)
    return len(marked)


def _sent_before(connection: Connection, answer: Answer) -> Answer | None:
    if not kept_text("sent", answer.sent, LONGEST_SENT):
        return None
    c = tables.sendings.c
    where = (c.sitting == answer.sitting, c.student == answer.student, c.sent == answer.sent)
    before = tables.record(connection, Answer, tables.sendings, *where)
    if before is not None and before.key != answer.key:
        raise InputError("sent", "an answer to another question has this id", "give it its own id")
    return before


def put(connection: Connection, answer: Answer) -> Answer:
    """Saves an answer without checking the time: from paper, or of the demo class.

    A student without a place gets one, with the question's form.

    Raises:
        InputError: as `check_fits`, no such sitting or student, or a question of another form.
    """
    asked = check_fits(sittings.sitting(connection, answer.sitting, held=True), answer)
    place = sittings.add_place(connection, answer.sitting, answer.student, asked.form)
    if asked.form and asked.form != place.form:
        wrong = f"it is on form {asked.form}, but the student had form {place.form or 'none'}"
        raise InputError(f"question {answer.key}", wrong, "use a question on the student's form")
    kept = _sent_before(connection, answer)
    return kept if kept is not None else _put(connection, answer)


def put_all(connection: Connection, answers: Sequence[Answer]) -> tuple[Answer, ...]:
    """Saves answers from paper, all or none, at any time."""
    return tuple(put(connection, one) for one in answers)


def _put(connection: Connection, answer: Answer) -> Answer:
    plain = msgspec.structs.asdict(answer)
    plain["answered_utc"] = plain["answered_utc"] or now_utc()
    plain["sent"] = plain["sent"] or people.new_id()
    c = tables.answers.c
    here = (c.sitting == answer.sitting, c.student == answer.student, c.key == answer.key)
    changed = connection.execute(tables.answers.update().where(*here).values(plain))
    if not changed.rowcount:
        connection.execute(tables.answers.insert().values(plain))
    connection.execute(tables.sendings.insert().values(plain))
    return Answer(**plain)


def trail(connection: Connection, sitting: str) -> tuple[Answer, ...]:
    """Every sending saved in a sitting, in order of arrival."""
    c = tables.sendings.c
    return tables.records(connection, Answer, tables.sendings, c.sitting == sitting, order=(c.at,))


def of_sitting(connection: Connection, sitting: str) -> tuple[Answer, ...]:
    """The answers that count in a sitting."""
    c = tables.answers.c
    return tables.records(connection, Answer, tables.answers, c.sitting == sitting, order=(c.student, c.key))


def of_student(connection: Connection, student: str) -> tuple[Answer, ...]:
    """All answers of a student that count, the earliest first."""
    c = tables.answers.c
    order = (c.answered_utc, c.key)
    return tables.records(connection, Answer, tables.answers, c.student == student, order=order)


# Allowance for the time a reply takes.
CLOCKS_APART_S = 5.0
_OF_ANSWER = ("sitting", "student", "key", "chosen", "value", "sent", "seconds")


def _late(row: RowMapping) -> LateAnswer:
    answer = Answer(**{name: row[name] for name in _OF_ANSWER})
    claim = ClaimedTime(**{name: row[name] for name in ClaimedTime.__struct_fields__})
    return LateAnswer(answer, claim, row["came_utc"], row["state"], row["decided_utc"], row["at"])


def is_sound(claim: ClaimedTime, place: Place, now: str) -> bool:
    """Whether a claim is possible: valid times, in order, within those of the place."""
    if not (is_time(claim.given_utc) and is_time(claim.heard_utc) and 0.0 <= claim.apart_s < 1e9):
        return False
    in_order = claim.heard_utc <= claim.given_utc and place.began_utc <= claim.heard_utc
    return in_order and seconds_between(now, claim.given_utc) <= CLOCKS_APART_S


def put_late(connection: Connection, answer: Answer, claim: ClaimedTime) -> LateAnswer:
    """Stores a late answer once; it replaces one to the same question that still waits."""
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
    plain = {
        **{name: getattr(answer, name) for name in _OF_ANSWER},
        **msgspec.structs.asdict(claim),
        "came_utc": made.came_utc,
        "state": made.state,
        "decided_utc": "",
    }
    connection.execute(tables.late_answers.insert().values(plain))
    return made


def late_of(connection: Connection, sitting: str) -> tuple[LateAnswer, ...]:
    """The late answers of a sitting in order of arrival."""
    c = tables.late_answers.c
    found = select(tables.late_answers).where(c.sitting == sitting).order_by(c.at)
    return tuple(_late(row) for row in connection.execute(found).mappings())


def decided(connection: Connection, sitting: str, at: int | None, *, take: bool) -> tuple[LateAnswer, ...]:
    """Marks one late answer, or all of a sitting's that wait, as accepted or not; returns those marked.

    One that was rejected can be accepted after all, unless a later one to its question has been decided on.
    """
    late = late_of(connection, sitting)
    last = {(one.answer.student, one.answer.key): one.at for one in late}
    undecided = [
        one
        for one in late
        if one.state == "waiting"
        or (take and at == one.at == last[one.answer.student, one.answer.key] and one.state == "not taken")
    ]
    marked = tuple(one for one in undecided if at in (None, one.at))
    c = tables.late_answers.c
    new = {"state": "taken" if take else "not taken", "decided_utc": now_utc()}
    connection.execute(update(tables.late_answers).where(c.at.in_([one.at for one in marked])).values(new))
    return marked


FIELDS = ("chosen", "value", "points", "struck")


def correct(connection: Connection, correction: Correction) -> Correction:
    """Saves a correction, with the present time if it has none.

    Raises:
        InputError: no such sitting or question, or a student who is not of its class.
    """
    sitting = sittings.sitting(connection, correction.sitting, held=True)
    if correction.key not in {one.key for one in sitting.asked}:
        raise InputError("question", "not in this sitting", "choose one that was asked")
    if correction.student:
        sittings.check_member(connection, sitting.id, correction.student)
    if correction.field not in FIELDS:
        raise InputError("field", f"'{correction.field[:20]}'", f"use one of {', '.join(FIELDS)}")
    plain = msgspec.structs.asdict(correction)
    for name in ("by", "why", "before", "after"):
        kept_text(name, plain[name])
    plain["at_utc"] = plain["at_utc"] or now_utc()
    connection.execute(tables.corrections.insert().values(plain))
    return Correction(**plain)


def corrections_of(connection: Connection, sitting: str) -> tuple[Correction, ...]:
    """The corrections of a sitting in order of time."""
    c = tables.corrections.c
    return tables.records(connection, Correction, tables.corrections, c.sitting == sitting, order=(c.at,))


class Answers(Service):
    """Answers, late answers, and corrections."""

    record = writes(record, "sitting:{answer.sitting}")
    receive = writes(receive, "sitting:{answer.sitting}")
    receive_all = writes(receive_all, "sitting:{one.sitting}", each="answers")
    put_all = writes(put_all, "sitting:{one.sitting}", each="answers")
    of_sitting = reads(of_sitting)
    of_student = reads(of_student)
    trail = reads(trail)
    late_of = reads(late_of)
    decide = writes(decide, "sitting:{sitting}")
    correct = writes(correct, "sitting:{correction.sitting}")
    corrections_of = reads(corrections_of)
