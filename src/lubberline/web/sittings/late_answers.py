"""Late answers, for the instructor to accept or reject, one by one or all at once."""

import msgspec

from lubberline.classroom.lessons.lesson import words_of_key
from lubberline.classroom.lessons.order import Order, printed_order
from lubberline.classroom.lessons.own_answers import CameLate, words_of
from lubberline.classroom.records import Answer, Asked, LateAnswer, Sitting
from lubberline.web.kit import Form, InputError, Request, Response, School, go_to, post
from lubberline.web.sittings.roll import sitting_of


class LateRow(msgspec.Struct, frozen=True):
    """A late answer in words.

    Attributes:
        at: of the record.
        student: id.
        name: of the student.
        key: of the question.
        where: the key in words: "A7", "step 9, question 2".
        words: what was given; 'no answer' for a blank.
        now: the answer that counts at present.
        given_utc: when it was given, by the device's clock.
        heard_utc: when the device last heard from the server.
        apart_min: whole minutes by which the device's calendar and its running clock differ.
        came_utc: when the server received it.
        state: 'waiting', 'taken', 'not taken' or 'replaced'.
        decided_utc: when.
    """

    at: int
    student: str
    name: str
    key: str
    where: str
    words: str
    now: str
    given_utc: str
    heard_utc: str
    apart_min: int
    came_utc: str
    state: str
    decided_utc: str


def _words(answer: Answer | None, asked: Asked | None, order: Order) -> str:
    found = words_of(asked.item, answer.chosen, answer.value, order) if answer and asked else ""
    return found or "no answer"


def _row(late: LateAnswer, name: str, asked: Asked | None, now: Answer | None, order: Order) -> LateRow:
    return LateRow(
        at=late.at,
        student=late.answer.student,
        name=name,
        key=late.answer.key,
        where=words_of_key(late.answer.key),
        words=_words(late.answer, asked, order),
        now=_words(now, asked, order),
        given_utc=late.claim.given_utc,
        heard_utc=late.claim.heard_utc,
        apart_min=int(late.claim.apart_s // 60.0),
        came_utc=late.came_utc,
        state=late.state,
        decided_utc=late.decided_utc,
    )


def late_rows(school: School, sitting: Sitting, student: str = "") -> list[LateRow]:
    """The late answers of a sitting, or of one student in it, in order of arrival."""
    found = [one for one in school.answers.late_of(sitting.id) if student in ("", one.answer.student)]
    if not found:
        return []
    names = {one.id: one.name for one in school.people.students(sitting.group)}
    asked = {one.key: one for one in sitting.asked}
    now = {(one.student, one.key): one for one in school.answers.of_sitting(sitting.id)}
    # A paper's letters are printed; those of a lesson were for its class alone.
    orders = {} if sitting.kind == "lesson" else {key: printed_order(one.item) for key, one in asked.items()}
    return [
        _row(
            one,
            names.get(one.answer.student, ""),
            asked.get(one.answer.key),
            now.get((one.answer.student, one.answer.key)),
            orders.get(one.answer.key, ()),
        )
        for one in found
    ]


def came_late(rows: list[LateRow]) -> tuple[CameLate, ...]:
    """Late answers for the student who gave them, without those replaced by later ones."""
    return tuple(
        CameLate(one.key, one.where, one.words, one.state) for one in rows if one.state != "replaced"
    )


def decide(request: Request, form: Form) -> Response:
    """POST /sittings/ID/late: accepts or rejects a late answer, or all that wait if none is named.

    A rejected one can still be accepted.
    """
    school, sitting = sitting_of(request)
    done, at = form.get("do", ""), form.get("at", "")
    if done not in ("take", "leave") or (at and not (at.isascii() and at.isdigit() and len(at) < 19)):
        raise InputError("late answers", "the decision is missing", "use take or leave")
    school.answers.decide(sitting.id, int(at) if at else None, take=done == "take")
    return go_to(f"/sittings/{sitting.id}", "late-taken" if done == "take" else "late-left")


ROUTES = [post("/sittings/{sitting}/late", decide)]
