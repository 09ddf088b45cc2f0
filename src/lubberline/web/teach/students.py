"""The students' side of a live class: joining with a code, the page on the phone, answers.

An answer is acknowledged when it is kept, and a sending that comes again is the same sending; so a page may
send as often as it likes.
"""

from __future__ import annotations

from typing import Any

import msgspec
from anyio import to_thread
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from lubberline.classroom.records import Answer, LateAnswer, Place, Sitting
from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.web.kit import records, shared
from lubberline.web.refusals import Refused, keep_sent
from lubberline.web.sendings import (
    Sending,
    acknowledged,
    answer_of,
    held,
    read_sending,
    refused,
    seated,
    whose,
)
from lubberline.web.sides import caller
from lubberline.web.sittings import seats
from lubberline.web.teach.keeping import Keeper
from lubberline.web.teach.looks import page
from lubberline.web.teach.snapshot import stamped, student_view

LONGEST_FIELD = 200
GREATEST_PLACES = 500
FIELDS = ("code", "name", "number")
NOT_HERE = ("no-sitting", "no-place")


def plain_code(given: str) -> str:
    """A code as it is kept: in capitals, without spaces and dashes."""
    return "".join(sign for sign in given.upper() if sign.isalnum())[:12]


async def ask_to_join(request: Request) -> Response:
    """GET /join: the form. Whether the code in the address is one is not told here."""
    code = plain_code(request.query_params.get("code", ""))
    return page(request, "join.html", typed={"code": code, "name": "", "number": ""}, wrong="")


def _joined(school: School, typed: dict[str, str], digest: str) -> Sitting | None:
    """The sitting that was joined; None for a code that is none.

    Raises:
        InputError: a name that is none, or a sitting that is full or closed.
    """
    sitting = school.sitting_by_code(typed["code"])
    if sitting is None:
        return None
    if school.place_by_secret(sitting.id, digest) is not None:
        return sitting
    if len(school.places(sitting.id)) >= GREATEST_PLACES:
        raise InputError("class", f"{GREATEST_PLACES} are in it", "ask the instructor")
    if sitting.kind == "paper":
        seats.take(school, sitting, typed["name"], typed["number"], digest)
    else:
        school.enter(sitting.id, typed["name"], typed["number"], digest)
    return sitting


async def join(request: Request) -> Response:
    """POST /join: a code and a name take a place in a lesson or a paper; a browser gets its own again."""
    form = await request.form(max_files=0, max_fields=8)
    typed = {name: str(form.get(name, ""))[:LONGEST_FIELD].strip() for name in FIELDS}
    keep_sent(request, dict(typed))
    typed["code"] = plain_code(typed["code"])
    typed["name"] = typed["name"] or typed["number"]
    address = caller(request).address
    codes, joins = shared(request).code_tries, shared(request).join_tries
    secret = request.cookies.get(seats.COOKIE, "")
    secret = secret if seats.digest_of(request) else seats.new_secret()
    try:
        codes.check(address)
        joins.check(address)
        found = await to_thread.run_sync(lambda: _joined(records(request), typed, seats.digest(secret)))
    except Refused as refused:
        wrong, status = f"Too many tries: {refused.right}.", refused.status_code
        return page(request, "join.html", status, typed=typed, wrong=wrong)
    except InputError as error:
        wrong = f"{error.where}: {error.wrong}; {error.right}."
        return page(request, "join.html", 422, typed=typed, wrong=wrong)
    if found is None:
        codes.failed(address)
        wrong = "No lesson or paper has this code. Look at the projector: the letters may be read again."
        return page(request, "join.html", 404, typed=typed, wrong=wrong)
    joins.failed(address)
    where = f"/class/{found.id}" if found.kind == "lesson" else f"/sit/{found.id}"
    answer = RedirectResponse(where, status_code=303)
    answer.set_cookie(
        seats.COOKIE,
        secret,
        max_age=seats.KEPT_S,
        httponly=True,
        samesite="lax",
        secure=caller(request).proxied,
    )
    return answer


async def leave(request: Request) -> Response:
    """POST /class/leave: somebody else takes this phone; what was answered stays."""
    answer = RedirectResponse("/join", status_code=303)
    answer.delete_cookie(seats.COOKIE)
    return answer


def _shown(school: School, id: str, digest: str) -> dict[str, Any]:
    """What the page of whoever holds a place begins with.

    Raises:
        InputError: by code: no such lesson, or no place in it.
    """
    seat = school.seat(id, digest)
    sitting, place = held(seat, "lesson")
    view = student_view(school, sitting, place.student)
    return {"view": view, "whose": whose(seat.records, id, place.student)}


async def show(request: Request) -> Response:
    """GET /class/SITTING: the page on the phone; whoever has no place here is asked to join."""
    id, digest = request.path_params["sitting"], seats.digest_of(request)
    try:
        given = await to_thread.run_sync(lambda: _shown(records(request), id, digest))
    except InputError as error:
        if error.code not in NOT_HERE:
            raise
        return RedirectResponse("/join", status_code=303)
    given["view"] = msgspec.json.decode(given["view"])
    return page(request, "class.html", **given)


async def state(request: Request) -> Response:
    """GET /class/SITTING/state: the view as JSON, for pages without a line."""
    id, digest = request.path_params["sitting"], seats.digest_of(request)
    try:
        given = await to_thread.run_sync(lambda: _shown(records(request), id, digest))
    except InputError as error:
        return refused(None, error)
    return Response(stamped(given["view"]), media_type="application/json")


def _answer(sitting: Sitting, place: Place, sending: Sending) -> Answer:
    """The answer to keep.

    Raises:
        InputError: a question that is not of this lesson, an option that is not there, no number.
    """
    asked = next((one for one in sitting.asked if one.key == sending.key), None)
    if asked is None:
        raise InputError("question", "it is not one of this lesson", "answer one that is shown")
    given = answer_of(sending, asked, sitting, place.student)
    if given.blank:
        raise InputError("answer", "nothing was chosen or typed", "an option, or a number such as 274 or 3.5")
    if given.value is not None and asked.item.circle:
        given = msgspec.structs.replace(given, value=given.value % 360.0)
    return given


async def take_answer(request: Request) -> Response:
    """POST /class/SITTING/answer: keeps an answer, and says so when it is on the disk."""
    id, digest = request.path_params["sitting"], seats.digest_of(request)
    sending = await read_sending(request)
    keeper: Keeper = shared(request).keeper
    seat = await to_thread.run_sync(lambda: records(request).seat(id, digest))
    try:
        answer = _answer(*seated(seat, sending, id, "lesson"), sending)
        kept = await keeper.keep(answer, sending.given)
    except InputError as error:
        return refused(sending, error)
    if isinstance(kept, LateAnswer):
        return acknowledged(sending, "late", {"key": answer.key})
    return acknowledged(sending, "kept", {"key": kept.key, "chosen": kept.chosen, "value": kept.value})


ROUTES = [
    Route("/join", ask_to_join, methods=["GET"]),
    Route("/join", join, methods=["POST"]),
    Route("/class/leave", leave, methods=["POST"]),
    Route("/class/{sitting}", show, methods=["GET"]),
    Route("/class/{sitting}/state", state, methods=["GET"]),
    Route("/class/{sitting}/answer", take_answer, methods=["POST"]),
]
