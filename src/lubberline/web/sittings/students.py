"""What students see under /sit: their paper, kept as they go, and after release what mends it.

Everything here works as plain forms; script only keeps each answer as soon as it is given.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from anyio import to_thread
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from lubberline.classroom.marking import marked
from lubberline.classroom.records import NOT_CHOSEN, Answer, Asked, LateAnswer, Place, Sitting
from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.store.settings import RECORDS_ID
from lubberline.store.times import now_ms
from lubberline.web.framed import framed, go_to, school_of
from lubberline.web.refusals import Refused
from lubberline.web.sendings import (
    For,
    Sending,
    acknowledged,
    answer_of,
    held,
    read_sending,
    refused,
    seated,
    whose,
)
from lubberline.web.sent import sent_fields
from lubberline.web.sittings import join, shown
from lubberline.web.sittings.late import late_rows
from lubberline.web.sittings.timing import clock, is_over, left_s

MOST_FIELDS = 1_300


def is_released(sitting: Sitting) -> bool:
    """Whether students may see their marks: closed, and let out by the instructor."""
    return bool(sitting.closed_utc) and sitting.phase == "shown"


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
    place = school.place_by_secret(sitting.id, join.digest_of(request))
    base: dict[str, Any] = {"sitting_id": sitting.id, "title": sitting.title}
    if place is None:
        return go_to("/join")
    base.update(who=school.student(place.student).name, form=place.form)
    base["whose"] = whose(school.setting(RECORDS_ID), sitting.id, place.student)
    answers = own_answers(school, place)
    base["late"] = late_rows(school, sitting, place.student)
    if is_released(sitting):
        marks = marked(sitting, tuple(answers.values()), school.corrections(sitting.id))
        looks = shown.mended(sitting, place.form, {mark.answer.key: mark for mark in marks})
        return framed(request, "sit_marks.html", error, **base, **looks, questions=looks["rows"])
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
    place = school.place_by_secret(sitting.id, join.digest_of(request))
    if place is None:
        right = "join with the code first"
        raise Refused(403, "sitting", "this browser has no place in it", right, "no-place")
    return school, sitting, place


def _blanks(school: School, sitting: Sitting, place: Place) -> int:
    """How many questions of a student's paper have no answer."""
    own = own_answers(school, place)
    asked = shown.asked_in(sitting, place.form)
    return sum(one.key not in own or own[one.key].blank for one in asked)


def _asked(sitting: Sitting, place: Place, key: str) -> Asked:
    asked = next((one for one in shown.asked_in(sitting, place.form) if one.key == key), None)
    if asked is None:
        raise InputError("question", "it is not one of this paper", "answer one that is shown")
    return asked


async def _sent(request: Request, act: Callable[[School, Sitting, Place, Sending], Response]) -> Response:
    """Does what a device sent, for whom it was sent."""
    sending = await read_sending(request)
    id, digest = request.path_params["sitting"], join.digest_of(request)

    def doing() -> Response:
        school = school_of(request.app)
        try:
            sitting, place = seated(school.seat(id, digest), sending, id, "paper")
            return act(school, sitting, place, sending)
        except InputError as error:
            return refused(sending, error)

    return await to_thread.run_sync(doing)


def _kept(school: School, sitting: Sitting, place: Place, sending: Sending) -> Response:
    given = answer_of(sending, _asked(sitting, place, sending.key), sitting, place.student)
    kept = school.receive(given, sending.given)
    if isinstance(kept, LateAnswer):
        return acknowledged(sending, "late", {"key": given.key})
    told = {"key": kept.key, "blank": kept.blank, "left_s": left_s(sitting, place)}
    return acknowledged(sending, "kept", told)


async def answer(request: Request) -> Response:
    """POST /sit/SITTING/answer: one answer from script; told to be kept only when it is."""
    return await _sent(request, _kept)


def _handed_in(school: School, sitting: Sitting, place: Place, sending: Sending) -> Response:
    school.hand_in(sitting.id, place.student)
    return acknowledged(sending, "kept", {})


async def hand_in(request: Request) -> Response:
    """POST /sit/SITTING/hand-in: the student ends; the page has asked about what is left blank."""
    return await _sent(request, _handed_in)


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
    index = int(text) if text.isascii() and text.isdigit() and len(text) < 3 else NOT_CHOSEN
    sending = Sending(join.new_secret(), For("", sitting.id, student), chosen=index, value=text)
    return answer_of(sending, asked, sitting, student)


async def state(request: Request) -> Response:
    """GET /sit/SITTING/state: the time left, what is kept, and whether there is something else to see."""
    id, digest = request.path_params["sitting"], join.digest_of(request)

    def act() -> Response:
        school = school_of(request.app)
        try:
            sitting, place = held(school.seat(id, digest), "paper")
        except InputError as error:
            return refused(None, error)
        given = [shown.given(one) for one in own_answers(school, place).values() if not one.blank]
        told = {"left_s": left_s(sitting, place), "over": is_over(sitting, place)}
        told["released"] = is_released(sitting)
        return JSONResponse({**told, "given": given, "now_ms": now_ms()})

    return await to_thread.run_sync(act)


ROUTES = [
    Route("/sit/{sitting}", show, methods=["GET"]),
    Route("/sit/{sitting}/answer", answer, methods=["POST"]),
    Route("/sit/{sitting}/hand-in", hand_in, methods=["POST"]),
    Route("/sit/{sitting}/keep", keep, methods=["POST"]),
    Route("/sit/{sitting}/state", state, methods=["GET"]),
]
