"""What students see under /sit: their paper, kept as they go, and after release what mends it.

Everything here works as plain forms; script only keeps each answer as soon as it is given.
"""

from __future__ import annotations

from typing import Any

import msgspec
from anyio import to_thread
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from lubberline.classroom.marking import marked
from lubberline.classroom.records import NOT_CHOSEN, Answer, Asked, Place, Sitting
from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.web.framed import framed, go_to, school_of
from lubberline.web.questions.asked import sent_fields
from lubberline.web.refusals import Refused
from lubberline.web.sittings import seats, shown
from lubberline.web.sittings.timing import clock, is_over, left_s

JSON_LIMIT_BYTES = 4_000
GREATEST_S = 86_400.0
MOST_FIELDS = 1_300
SHORTEST_SENT, LONGEST_SENT = 8, 64


class SentAnswer(msgspec.Struct, forbid_unknown_fields=True):
    """An answer as script sends it: an option's index, or what was typed."""

    key: str
    sent: str
    chosen: int = NOT_CHOSEN
    value: str = ""
    seconds: float = 0.0


def is_released(sitting: Sitting) -> bool:
    """Whether students may see their marks: closed, and let out by the instructor."""
    return bool(sitting.closed_utc) and sitting.phase == "shown"


def typed_number(text: str) -> float | None:
    """A number as somebody types it on a phone, with a point or a comma; None for nothing.

    Raises:
        InputError: it is no number.
    """
    word = text.strip().removesuffix("°").strip().replace("−", "-").replace(",", ".", 1)
    if not word:
        return None
    try:
        value = float(word) if len(word) <= 20 and word.isascii() else float("nan")
    except ValueError:
        value = float("nan")
    if not -1e9 < value < 1e9:
        raise InputError("answer", f"'{text.strip()[:20]}' is no number", "a number such as 274 or 3.5")
    return value


def read(asked: Asked, sitting: Sitting, student: str, given: SentAnswer) -> Answer:
    """An answer to one question as it is kept.

    Raises:
        InputError: an option that is not there, no number, or an id of the sending that is none.
    """
    item = asked.item
    if not SHORTEST_SENT <= len(given.sent) <= LONGEST_SENT or not given.sent.isascii():
        raise InputError("sent", "it is no id of a sending", "reload the page")
    if not NOT_CHOSEN <= given.chosen < len(item.options) and item.kind != "number":
        raise InputError("answer", "there is no such option", "choose one that is shown")
    is_number = item.kind == "number"
    return Answer(
        sitting=sitting.id,
        student=student,
        key=asked.key,
        chosen=NOT_CHOSEN if is_number else given.chosen,
        value=typed_number(given.value) if is_number else None,
        sent=given.sent,
        seconds=min(max(given.seconds, 0.0), GREATEST_S) if given.seconds == given.seconds else 0.0,
    )


def paper_of(app: Starlette, id: str) -> tuple[School, Sitting]:
    """The school and the paper with this id.

    Raises:
        Refused: there is none; whether a lesson has it is not told.
    """
    school = school_of(app)
    try:
        sitting = school.sitting(id)
    except InputError as error:
        if error.code != "no-sitting":
            raise
        sitting = None
    if sitting is None or sitting.kind != "paper" or sitting.on_paper:
        right = "ask for the code, and join with it"
        raise Refused(404, "address", "there is no paper here", right, "no-sitting")
    return school, sitting


def own_answers(school: School, place: Place) -> dict[str, Answer]:
    """A student's answers to a sitting by question."""
    given = school.answers_of(place.student)
    return {one.key: one for one in given if one.sitting == place.sitting}


def _page(request: Request, error: InputError | None = None, typed: dict[str, str] | None = None) -> Response:
    school, sitting = paper_of(request.app, request.path_params["sitting"])
    place = seats.place_of(school, sitting, request)
    base: dict[str, Any] = {"sitting_id": sitting.id, "title": sitting.title}
    if place is None:
        return go_to("/join")
    base.update(who=school.student(place.student).name, form=place.form)
    answers = own_answers(school, place)
    if is_released(sitting):
        marks = marked(sitting, tuple(answers.values()), school.corrections(sitting.id))
        looks = shown.mended(sitting, place.form, {mark.answer.key: mark for mark in marks})
        return framed(request, "sit_marks.html", error, **base, **looks)
    questions = shown.paper(sitting, place.form, answers)
    if is_over(sitting, place):
        why = "closed" if sitting.closed_utc else "handed in" if place.ended_utc else "time"
        return framed(request, "sit_over.html", error, **base, questions=questions, why=why)
    for question in questions:
        if question["kind"] == "number":
            question["value"] = (typed or {}).get(question["key"], question["value"])
    left = left_s(sitting, place)
    count = sum(not one["blank"] for one in questions)
    more: dict[str, Any] = {"questions": questions, "left_s": left, "left": clock(left), "given": count}
    more["ending"] = request.query_params.get("ending") == "1" and count < len(questions)
    more["minutes"] = (place.limit_s(sitting) or 0.0) / 60.0
    return framed(request, "sit_paper.html", error, **base, **more)


async def show(request: Request) -> Response:
    """GET /sit/SITTING: the paper, what was answered, or the marks; whoever has no place joins first."""
    return await to_thread.run_sync(_page, request)


def _held(request: Request) -> tuple[School, Sitting, Place]:
    """The place of whoever asks.

    Raises:
        Refused: this browser has none here.
    """
    school, sitting = paper_of(request.app, request.path_params["sitting"])
    place = seats.place_of(school, sitting, request)
    if place is None:
        right = "join with the code first"
        raise Refused(403, "sitting", "this browser has no place in it", right, "no-place")
    return school, sitting, place


def _keep(school: School, sitting: Sitting, place: Place, given: SentAnswer) -> Answer:
    asked = next((one for one in shown.asked_in(sitting, place.form) if one.key == given.key), None)
    if asked is None:
        raise InputError("question", "it is not one of this paper", "answer one that is shown")
    return school.record(read(asked, sitting, place.student, given))


def _blanks(school: School, sitting: Sitting, place: Place) -> int:
    """How many questions of a student's paper have no answer."""
    own = own_answers(school, place)
    asked = shown.asked_in(sitting, place.form)
    return sum(one.key not in own or own[one.key].blank for one in asked)


async def answer(request: Request) -> Response:
    """POST /sit/SITTING/answer: one answer from script; told to be kept only when it is."""
    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > JSON_LIMIT_BYTES:
            raise Refused(413, "answer", "it is too large", "an option or a number")
    try:
        given = msgspec.json.decode(bytes(body), type=SentAnswer)
    except msgspec.MsgspecError:
        raise InputError("answer", "it cannot be read", "send it from the page") from None

    def act() -> dict[str, Any]:
        school, sitting, place = _held(request)
        kept = _keep(school, sitting, place, given)
        return {"kept": kept.key, "blank": kept.blank, "left_s": left_s(sitting, place)}

    return JSONResponse(await to_thread.run_sync(act))


async def keep(request: Request) -> Response:
    """POST /sit/SITTING/keep: the whole paper as a plain form; `do=hand in` ends it, once asked."""
    fields = dict(await sent_fields(request, MOST_FIELDS))

    def act() -> Response:
        school, sitting, place = _held(request)
        before = own_answers(school, place)
        wrong: InputError | None = None
        for asked in shown.asked_in(sitting, place.form):
            if asked.key not in fields:
                continue
            try:
                given = _of_field(asked, sitting, place.student, fields[asked.key])
                old = before.get(asked.key, Answer(sitting.id, place.student, asked.key))
                if (given.chosen, given.value) != (old.chosen, old.value):
                    school.record(given)
            except InputError as error:
                where = f"question {asked.key}" if error.where == "answer" else error.where
                wrong = wrong or InputError(where, error.wrong, error.right, error.code)
        if wrong:
            return _page(request, wrong, fields)
        if fields.get("do") == "hand in" and _blanks(school, sitting, place):
            return go_to(f"/sit/{sitting.id}?ending=1")
        if fields.get("do") in ("hand in", "hand in now"):
            school.hand_in(sitting.id, place.student)
            return go_to(f"/sit/{sitting.id}")
        return go_to(f"/sit/{sitting.id}", "kept")

    return await to_thread.run_sync(act)


def _of_field(asked: Asked, sitting: Sitting, student: str, text: str) -> Answer:
    sent = seats.new_secret()
    if asked.item.kind == "number":
        return read(asked, sitting, student, SentAnswer(asked.key, sent, value=text))
    index = int(text) if text.isascii() and text.isdigit() and len(text) < 3 else NOT_CHOSEN
    return read(asked, sitting, student, SentAnswer(asked.key, sent, chosen=index))


async def state(request: Request) -> Response:
    """GET /sit/SITTING/state: the time left, what is kept, and whether there is something else to see."""

    def act() -> dict[str, Any]:
        school, sitting, place = _held(request)
        over = is_over(sitting, place)
        given = [shown.given(one) for one in own_answers(school, place).values() if not one.blank]
        released = is_released(sitting)
        return {"left_s": left_s(sitting, place), "over": over, "released": released, "given": given}

    return JSONResponse(await to_thread.run_sync(act))


ROUTES = [
    Route("/sit/{sitting}", show, methods=["GET"]),
    Route("/sit/{sitting}/answer", answer, methods=["POST"]),
    Route("/sit/{sitting}/keep", keep, methods=["POST"]),
    Route("/sit/{sitting}/state", state, methods=["GET"]),
]
