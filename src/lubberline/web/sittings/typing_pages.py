"""Answers from paper: put in student by student, or read from a file."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.classroom.answers_csv import read_answers
from lubberline.classroom.records import Place, Sitting
from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.web.framed import framed, go_to
from lubberline.web.sent import Sent, sent_fields, sent_form, text_of
from lubberline.web.sittings import roll, starting, typing
from lubberline.web.sittings.acting import place_in, with_sitting
from lubberline.web.sittings.overview import sitting_page
from lubberline.web.sittings.shown import asked_in

CSV_LIMIT_BYTES = 4_000_000


def _typing(
    request: Request,
    school: School,
    sitting: Sitting,
    place: Place,
    wrong: Mapping[str, InputError] | None = None,
    typed: dict[str, str] | None = None,
) -> Response:
    own = roll.marks_of(school, sitting).get(place.student, {})
    rows = roll.answer_rows(asked_in(sitting, place.form), own, frozenset())
    wrong = wrong or {}
    for row in rows:
        row["typed"] = (typed or {}).get(row["key"], "" if row["said"] == "-" else row["said"])
        row["wrong"] = row["key"] in wrong
    order = [one.student for one in roll.in_order(school, sitting)]
    return framed(
        request,
        "sitting_type.html",
        status=422 if wrong else 200,
        sitting=sitting,
        student=school.student(place.student),
        place=place,
        rows=rows,
        wrong=tuple(wrong.values()),
        turn=order.index(place.student) + 1,
        turns=len(order),
    )


async def show_typing(request: Request) -> Response:
    """GET /sittings/ID/type/STUDENT: fields for the answers on one student's paper."""

    def act(school: School, sitting: Sitting) -> Response:
        typing.check_typable(sitting)
        return _typing(request, school, sitting, place_in(school, sitting, request.path_params["student"]))

    return await with_sitting(request, act)


async def keep_typed(request: Request) -> Response:
    """POST /sittings/ID/type/STUDENT: keeps what was typed, then the next student."""
    fields = dict(await sent_fields(request, starting.MOST_ASKED))

    def act(school: School, sitting: Sitting) -> Response:
        place = place_in(school, sitting, request.path_params["student"])
        wrong = typing.type_answers(school, sitting, place, fields)
        if wrong:
            return _typing(request, school, sitting, place, wrong, fields)
        following = typing.next_to_type(roll.in_order(school, sitting), place.student)
        if not following or fields.get("do") == "keep":
            return go_to(f"/sittings/{sitting.id}", "typed")
        return go_to(f"/sittings/{sitting.id}/type/{following}", "typed")

    return await with_sitting(request, act)


async def add_people(request: Request) -> Response:
    """POST /sittings/ID/people: one student, or the whole class, into a sitting on paper."""
    fields = dict(await sent_fields(request))

    def act(school: School, sitting: Sitting) -> Response:
        if fields.get("do") == "all":
            typing.seat_all(school, sitting)
            return go_to(f"/sittings/{sitting.id}", "added")
        place = typing.add_person(school, sitting, fields)
        return go_to(f"/sittings/{sitting.id}/type/{place.student}")

    return await with_sitting(request, act)


async def read_file(request: Request) -> Response:
    """POST /sittings/ID/read: answers from CSV; good lines are kept, the others listed."""
    sent: Sent = await sent_form(request, CSV_LIMIT_BYTES)

    def act(school: School, sitting: Sitting) -> Response:
        typing.check_typable(sitting)
        if sent.file is None:
            raise InputError("file", "none was chosen", "choose a CSV file: student,question,answer")
        students = school.students(sitting.group)
        found = read_answers(sent.file.name, text_of(sent.file), sitting, students)
        for student in dict.fromkeys(one.student for one in found.answers):
            school.add_place(sitting.id, student, found.forms.get(student, ""))
        school.record_many(found.answers)
        more = {"bad_lines": found.refused, "good_lines": len(found.answers)}
        return sitting_page(request, school, sitting, more)

    return await with_sitting(request, act)


ROUTES = [
    Route("/sittings/{sitting}/people", add_people, methods=["POST"]),
    Route("/sittings/{sitting}/read", read_file, methods=["POST"]),
    Route("/sittings/{sitting}/type/{student}", show_typing, methods=["GET"]),
    Route("/sittings/{sitting}/type/{student}", keep_typed, methods=["POST"]),
]
