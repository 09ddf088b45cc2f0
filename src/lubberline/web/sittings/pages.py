"""The instructor's pages of sittings: the list, a new one, and one while it runs and after."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.classroom.answers_csv import read_answers
from lubberline.classroom.records import Place, Sitting
from lubberline.errors import InputError
from lubberline.questions.bank import jurisdictions
from lubberline.questions.locked import GREATEST_BYTES
from lubberline.store.school import School
from lubberline.web.framed import file_answer, framed, go_to, refused, school_of
from lubberline.web.questions import making
from lubberline.web.questions.asked import OWN, sent_fields
from lubberline.web.sent import Sent, sent_form, text_of
from lubberline.web.sittings import correcting, roll, starting, typing
from lubberline.web.sittings.dealing import forms_of
from lubberline.web.sittings.files import answers_csv, totals_csv
from lubberline.web.sittings.shown import asked_in
from lubberline.web.teach.pages import join_base

CSV_LIMIT_BYTES = 4_000_000
LEFT = ("group", "new_group", "minutes", "on_paper")
CARRIED = ("text", "items", "jurisdiction", "seed", "forms", "blueprint", "title")
Act = Callable[[School, Sitting], Response]


def state_of(sitting: Sitting) -> str:
    """How a sitting stands, in a word or two."""
    if not sitting.closed_utc:
        return "open"
    return "closed, marks shown" if sitting.phase == "shown" else "closed"


def _list(request: Request) -> Response:
    school = school_of(request.app)
    groups = {group.id: group.title for group in school.groups()}
    rows = []
    for sitting in school.sittings():
        places = school.places(sitting.id)
        rows.append(
            {
                "id": sitting.id,
                "title": sitting.title,
                "group": groups.get(sitting.group, ""),
                "kind": sitting.kind,
                "opened": sitting.opened_utc,
                "state": state_of(sitting),
                "on_paper": sitting.on_paper,
                "count": len(places),
                "ended": sum(bool(place.ended_utc) for place in places),
            }
        )
    return framed(request, "sittings.html", rows=rows, has_classes=bool(groups))


async def show_list(request: Request) -> Response:
    """GET /sittings: all sittings, the latest first."""
    return await to_thread.run_sync(_list, request)


def _new(request: Request, fields: dict[str, str], error: InputError | None = None) -> Response:
    school = school_of(request.app)
    chosen = fields.get("blueprint", "") or next((one.name for one in making.shelf()), "")
    return framed(
        request,
        "sitting_new.html",
        error,
        fields={
            name: fields.get(name, "") for name in (*CARRIED, "group", "new_group", "minutes", "on_paper")
        },
        chosen=chosen,
        own=OWN,
        from_file=starting.FROM_FILE,
        shelf=making.shelf(),
        groups=school.groups(),
        jurisdictions=jurisdictions(),
    )


async def show_new(request: Request) -> Response:
    """GET /sittings/new: what the paper is made of, who sits it, for how long."""
    return await to_thread.run_sync(_new, request, dict(request.query_params))


async def carry_over(request: Request) -> Response:
    """POST /sittings/new: the same, with papers as they stand on the Questions page."""
    fields = dict(await sent_fields(request))
    return await to_thread.run_sync(_new, request, {name: fields.get(name, "") for name in CARRIED})


async def add(request: Request) -> Response:
    """POST /sittings: makes the sitting and shows it."""
    sent = await sent_form(request, GREATEST_BYTES)

    def act() -> Response:
        try:
            made = starting.begin(school_of(request.app), sent.fields, sent.file)
        except InputError as error:
            return _new(request, sent.fields, error)
        return go_to(f"/sittings/{made.id}")

    return await to_thread.run_sync(act)


def _sitting(request: Request) -> tuple[School, Sitting]:
    school = school_of(request.app)
    return school, school.sitting(request.path_params["sitting"])


async def _with(request: Request, act: Act) -> Response:
    """Does something with the sitting of the address; what is wrong is told on a page of its own."""

    def doing() -> Response:
        back = "/sittings"
        try:
            school, sitting = _sitting(request)
            back = f"/sittings/{sitting.id}"
            return act(school, sitting)
        except InputError as error:
            return refused(
                request, error, back, 404 if error.where == "sitting" and back == "/sittings" else 422
            )

    return await to_thread.run_sync(doing)


def _now_given(request: Request, school: School, sitting: Sitting) -> dict[str, Any]:
    found = roll.roll_of(school, sitting)
    return {
        "sitting": sitting,
        "state": state_of(sitting),
        "rows": found.rows,
        "has_forms": bool(forms_of(sitting)),
        "ended": sum(row["ended"] for row in found.rows),
        "struck": found.struck,
        # While a paper runs this page is often on the projector for its code.
        "shows_marks": bool(sitting.closed_utc or sitting.on_paper or sitting.kind == "lesson"),
    }


def _show(request: Request, school: School, sitting: Sitting, more: dict[str, Any] | None = None) -> Response:
    names = {one.id: one.name for one in school.students(sitting.group)}
    address = f"{join_base(request)}/join?code={sitting.code}"
    here = {place.student for place in school.places(sitting.id)}
    joins = bool(sitting.code and not sitting.closed_utc and not sitting.on_paper)
    given = {
        **_now_given(request, school, sitting),
        "group": next((one.title for one in school.groups() if one.id == sitting.group), ""),
        "forms": forms_of(sitting),
        "questions": len(asked_in(sitting, forms_of(sitting)[0] if forms_of(sitting) else "")),
        "trail": [(one, names.get(one.student, "")) for one in school.corrections(sitting.id)],
        "keys": [asked.key for asked in sitting.asked],
        "absent": [one for one in school.students(sitting.group) if one.id not in here],
        "joins": joins,
        "address": address,
        "only_here": not (request.app.state.door.lan or request.app.state.door.behind),
        "code": roll.code_in_parts(sitting.code),
        "picture": roll.picture_of(address) if joins else "",
        "signed_by": school.setting(correcting.SIGNED_BY),
        "bad_lines": (),
        "good_lines": 0,
    }
    return framed(request, "sitting.html", **{**given, **(more or {})})


async def show_one(request: Request) -> Response:
    """GET /sittings/ID: the sitting as it is now."""
    return await _with(request, lambda school, sitting: _show(request, school, sitting))


async def show_now(request: Request) -> Response:
    """GET /sittings/ID/now: who is in, for a page that looks again every few seconds."""

    def act(school: School, sitting: Sitting) -> Response:
        return framed(request, "_roll.html", **_now_given(request, school, sitting))

    return await _with(request, act)


MOVES: dict[str, tuple[dict[str, Any], str]] = {
    "close": ({"closed": True}, "closed"),
    "open again": ({"closed": False, "phase": "open"}, "opened"),
    "show marks": ({"phase": "shown"}, "released"),
    "hide marks": ({"phase": "closed"}, "taken-back"),
}


async def move(request: Request) -> Response:
    """POST /sittings/ID/move: closes, opens again, shows or hides the marks."""
    fields = await sent_fields(request)

    def act(school: School, sitting: Sitting) -> Response:
        wanted = MOVES.get(fields.get("do", ""))
        if wanted is None:
            raise InputError("do", "there is nothing of that name", " or ".join(MOVES))
        if wanted[1] == "released" and not sitting.closed_utc:
            raise InputError("sitting", "it is open: marks would tell the others", "close it first")
        school.move_sitting(sitting.id, **wanted[0])
        return go_to(f"/sittings/{sitting.id}", wanted[1])

    return await _with(request, act)


async def take_file(request: Request) -> Response:
    """GET /sittings/ID/marks.csv and answers.csv."""
    name = request.path_params["file"]

    def act(school: School, sitting: Sitting) -> Response:
        makers = {"marks.csv": totals_csv, "answers.csv": answers_csv}
        if name not in makers:
            raise InputError("file", f"there is no '{name[:40]}'", " or ".join(makers))
        return file_answer(name, makers[name](roll.roll_of(school, sitting)), "text/csv; charset=utf-8")

    return await _with(request, act)


def _place(school: School, sitting: Sitting, student: str) -> Place:
    found = next((one for one in school.places(sitting.id) if one.student == student), None)
    if found is None:
        raise InputError("student", "is not in this sitting", "choose one of the list")
    return found


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
        signed_by=school.setting(correcting.SIGNED_BY),
        chosen_key=request.query_params.get("key", ""),
    )


async def show_answers(request: Request) -> Response:
    """GET /sittings/ID/students/STUDENT: what one student answered, and how to put it right."""

    def act(school: School, sitting: Sitting) -> Response:
        place = _place(school, sitting, request.path_params["student"])
        return _answers(request, school, sitting, place)

    return await _with(request, act)


async def correct(request: Request) -> Response:
    """POST /sittings/ID/students/STUDENT: a correction of an answer or of its points."""
    fields = dict(await sent_fields(request))

    def act(school: School, sitting: Sitting) -> Response:
        place = _place(school, sitting, request.path_params["student"])
        try:
            correcting.correct_answer(school, sitting, place.student, fields)
        except InputError as error:
            return _answers(request, school, sitting, place, error)
        return go_to(f"/sittings/{sitting.id}/students/{place.student}", "corrected")

    return await _with(request, act)


async def release(request: Request) -> Response:
    """POST /sittings/ID/students/STUDENT/release: the student may come in again from another browser."""
    await sent_fields(request)

    def act(school: School, sitting: Sitting) -> Response:
        place = _place(school, sitting, request.path_params["student"])
        school.release_place(sitting.id, place.student)
        return go_to(f"/sittings/{sitting.id}", "released-place")

    return await _with(request, act)


async def strike(request: Request) -> Response:
    """POST /sittings/ID/strike: strikes a question out for everybody, or lets it count again."""
    fields = dict(await sent_fields(request))

    def act(school: School, sitting: Sitting) -> Response:
        correcting.strike(school, sitting, fields)
        return go_to(f"/sittings/{sitting.id}", "corrected")

    return await _with(request, act)


def _typing(
    request: Request,
    school: School,
    sitting: Sitting,
    place: Place,
    wrong: tuple[InputError, ...] = (),
    typed: dict[str, str] | None = None,
) -> Response:
    own = roll.marks_of(school, sitting).get(place.student, {})
    rows = roll.answer_rows(asked_in(sitting, place.form), own, frozenset())
    refused_keys = {error.where.rpartition(" ")[2] for error in wrong}
    for row in rows:
        row["typed"] = (typed or {}).get(row["key"], "" if row["said"] == "-" else row["said"])
        row["wrong"] = row["key"] in refused_keys
    order = [one.student for one in roll.in_order(school, sitting)]
    return framed(
        request,
        "sitting_type.html",
        status=422 if wrong else 200,
        sitting=sitting,
        student=school.student(place.student),
        place=place,
        rows=rows,
        wrong=wrong,
        turn=order.index(place.student) + 1,
        turns=len(order),
    )


async def show_typing(request: Request) -> Response:
    """GET /sittings/ID/type/STUDENT: fields for the answers on one student's paper."""

    def act(school: School, sitting: Sitting) -> Response:
        typing.check_typable(sitting)
        return _typing(request, school, sitting, _place(school, sitting, request.path_params["student"]))

    return await _with(request, act)


async def keep_typed(request: Request) -> Response:
    """POST /sittings/ID/type/STUDENT: keeps what was typed, then the next student."""
    fields = dict(await sent_fields(request, starting.MOST_ASKED))

    def act(school: School, sitting: Sitting) -> Response:
        place = _place(school, sitting, request.path_params["student"])
        wrong = typing.type_answers(school, sitting, place, fields)
        if wrong:
            return _typing(request, school, sitting, place, wrong, fields)
        following = typing.next_to_type(roll.in_order(school, sitting), place.student)
        if not following or fields.get("do") == "keep":
            return go_to(f"/sittings/{sitting.id}", "typed")
        return go_to(f"/sittings/{sitting.id}/type/{following}", "typed")

    return await _with(request, act)


async def add_people(request: Request) -> Response:
    """POST /sittings/ID/people: one student, or the whole class, into a sitting on paper."""
    fields = dict(await sent_fields(request))

    def act(school: School, sitting: Sitting) -> Response:
        if fields.get("do") == "all":
            typing.seat_all(school, sitting)
            return go_to(f"/sittings/{sitting.id}", "added")
        place = typing.add_person(school, sitting, fields)
        return go_to(f"/sittings/{sitting.id}/type/{place.student}")

    return await _with(request, act)


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
        return _show(request, school, sitting, more)

    return await _with(request, act)


ROUTES = [
    Route("/sittings", show_list, methods=["GET"]),
    Route("/sittings", add, methods=["POST"]),
    Route("/sittings/new", show_new, methods=["GET"]),
    Route("/sittings/new", carry_over, methods=["POST"]),
    Route("/sittings/{sitting}", show_one, methods=["GET"]),
    Route("/sittings/{sitting}/now", show_now, methods=["GET"]),
    Route("/sittings/{sitting}/move", move, methods=["POST"]),
    Route("/sittings/{sitting}/strike", strike, methods=["POST"]),
    Route("/sittings/{sitting}/people", add_people, methods=["POST"]),
    Route("/sittings/{sitting}/read", read_file, methods=["POST"]),
    Route("/sittings/{sitting}/type/{student}", show_typing, methods=["GET"]),
    Route("/sittings/{sitting}/type/{student}", keep_typed, methods=["POST"]),
    Route("/sittings/{sitting}/students/{student}", show_answers, methods=["GET"]),
    Route("/sittings/{sitting}/students/{student}", correct, methods=["POST"]),
    Route("/sittings/{sitting}/students/{student}/release", release, methods=["POST"]),
    Route("/sittings/{sitting}/{file}", take_file, methods=["GET"]),
]
