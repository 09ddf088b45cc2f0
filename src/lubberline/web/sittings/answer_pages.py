"""What one student answered, putting it right, striking out a question, giving time, letting a place go."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.classroom.records import Place, Sitting
from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.store.settings import SIGNED_BY
from lubberline.web.framed import framed, go_to
from lubberline.web.sent import sent_fields
from lubberline.web.sittings import correcting, roll
from lubberline.web.sittings.acting import place_in, with_sitting
from lubberline.web.sittings.late import late_rows
from lubberline.web.sittings.shown import asked_in
from lubberline.web.sittings.timing import minutes_of


def _answers(
    request: Request, school: School, sitting: Sitting, place: Place, error: InputError | None = None
) -> Response:
    own = roll.marks_of(school, sitting).get(place.student, {})
    corrections = [one for one in school.corrections(sitting.id) if one.student in ("", place.student)]
    asked = asked_in(sitting, place.form)
    return framed(
        request,
        "sitting_answers.html",
        error,
        sitting=sitting,
        student=school.student(place.student),
        place=place,
        rows=roll.answer_rows(asked, own, roll.struck_in(school, sitting)),
        trail=[one for one in corrections if one.key in {each.key for each in asked}],
        signed_by=school.setting(SIGNED_BY),
        late=late_rows(school, sitting, place.student),
        chosen_key=request.query_params.get("key", ""),
    )


async def show_answers(request: Request) -> Response:
    """GET /sittings/ID/students/STUDENT: what one student answered, and how to put it right."""

    def act(school: School, sitting: Sitting) -> Response:
        place = place_in(school, sitting, request.path_params["student"])
        return _answers(request, school, sitting, place)

    return await with_sitting(request, act)


async def correct(request: Request) -> Response:
    """POST /sittings/ID/students/STUDENT: a correction of an answer or of its points."""
    fields = dict(await sent_fields(request))

    def act(school: School, sitting: Sitting) -> Response:
        place = place_in(school, sitting, request.path_params["student"])
        try:
            correcting.correct_answer(school, sitting, place.student, fields)
        except InputError as error:
            return _answers(request, school, sitting, place, error)
        return go_to(f"/sittings/{sitting.id}/students/{place.student}", "corrected")

    return await with_sitting(request, act)


async def release(request: Request) -> Response:
    """POST /sittings/ID/students/STUDENT/release: the student may come in again from another browser."""
    await sent_fields(request)

    def act(school: School, sitting: Sitting) -> Response:
        place = place_in(school, sitting, request.path_params["student"])
        school.release_place(sitting.id, place.student)
        return go_to(f"/sittings/{sitting.id}", "released-place")

    return await with_sitting(request, act)


async def give_time(request: Request) -> Response:
    """POST /sittings/ID/students/STUDENT/time: minutes beyond the limit for this student alone."""
    fields = dict(await sent_fields(request))

    def act(school: School, sitting: Sitting) -> Response:
        place = place_in(school, sitting, request.path_params["student"])
        try:
            school.give_time(sitting.id, place.student, minutes_of(fields.get("extra_min", ""), "extra time"))
        except InputError as error:
            return _answers(request, school, sitting, place, error)
        return go_to(f"/sittings/{sitting.id}", "gave-time")

    return await with_sitting(request, act)


async def strike(request: Request) -> Response:
    """POST /sittings/ID/strike: strikes a question out for everybody, or lets it count again."""
    fields = dict(await sent_fields(request))

    def act(school: School, sitting: Sitting) -> Response:
        correcting.strike(school, sitting, fields)
        return go_to(f"/sittings/{sitting.id}", "corrected")

    return await with_sitting(request, act)


ROUTES = [
    Route("/sittings/{sitting}/strike", strike, methods=["POST"]),
    Route("/sittings/{sitting}/students/{student}", show_answers, methods=["GET"]),
    Route("/sittings/{sitting}/students/{student}", correct, methods=["POST"]),
    Route("/sittings/{sitting}/students/{student}/release", release, methods=["POST"]),
    Route("/sittings/{sitting}/students/{student}/time", give_time, methods=["POST"]),
]
