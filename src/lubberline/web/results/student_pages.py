"""One student's page: what they seem to think, with the answers that led to it, and what to do next."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.errors import InputError
from lubberline.publish.reports.course_record import course_record, course_record_csv, course_record_pdf
from lubberline.store import times
from lubberline.store.school import School
from lubberline.store.settings import SCHOOL_NAME
from lubberline.web.framed import file_answer, framed, go_to
from lubberline.web.results import drawn, exam, finding
from lubberline.web.results.acting import off_the_loop, shelf
from lubberline.web.results.gathering import Gathered, gather
from lubberline.web.sent import sent_fields
from lubberline.web.sittings.new_sitting import asked_of_items


def _of_student(school: School, id: str) -> tuple[Gathered, Any]:
    student = school.student(id)
    group = next(one for one in school.groups() if one.id == student.group)
    return gather(school, group), student


async def show_student(request: Request) -> Response:
    """GET /results/student/ID: what one student seems to think, with the answers that led to it."""
    return await off_the_loop(request, lambda school: _student(request, school))


def _student(request: Request, school: School, error: InputError | None = None) -> Response:
    gathered, student = _of_student(school, request.path_params["student"])
    diagnosis = finding.diagnoses(gathered).get(student.id)
    marks = gathered.by_student.get(student.id, [])
    shown_exam = exam.exam_of(school)
    laws = diagnosis.laws if diagnosis else ()
    topics = finding.by_topic(marks)
    ready = finding.readiness_of(gathered, shown_exam, student.id) if marks else None
    titles = {sitting.id: sitting.title for sitting in gathered.sittings}
    return framed(
        request,
        "results_student.html",
        error,
        student=student,
        is_demo=gathered.group == school.made_up_class(),
        diagnosis=diagnosis,
        beliefs=[law for law in laws if law.verdict in ("holds", "perhaps", "other")],
        known=[law for law in laws if law.verdict == "knows"],
        unclear=[law for law in laws if law.verdict == "unclear"],
        not_asked=[law for law in laws if law.verdict == "not asked"],
        bar=drawn.bar,
        percent=drawn.percent,
        chance=drawn.chance,
        titles=titles,
        topics=topics,
        sat=[
            (sitting, drawn.percent(share))
            for sitting in gathered.sittings
            if (share := gathered.share(student.id, sitting.id)) is not None
        ],
        exam=shown_exam,
        exam_note=exam.note_of(school),
        ready=ready,
        next=finding.next_items(gathered, student.id) if diagnosis else (),
        **shelf(school, gathered.group),
    )


async def practise(request: Request) -> Response:
    """POST /results/student/ID/practice: a paper of the questions that would tell most."""
    await sent_fields(request)

    def act(school: School) -> Response:
        gathered, student = _of_student(school, request.path_params["student"])
        items = [one.item for one in finding.next_items(gathered, student.id)]
        if not items:
            raise InputError("practice", "no question would tell more", "let the student answer some first")
        title = f"Practice: {student.name}"[:60]
        made = school.add_sitting(student.group, "paper", title, asked_of_items(items))
        return go_to(f"/sittings/{made.id}", "added")

    return await off_the_loop(request, act)


async def change_student(request: Request) -> Response:
    """POST /results/student/ID: another name or number."""
    fields = dict(await sent_fields(request))

    def act(school: School) -> Response:
        student = school.student(request.path_params["student"])
        try:
            school.rename_student(student.id, fields.get("name", ""), fields.get("number", ""))
        except InputError as error:
            return _student(request, school, error)
        return go_to(f"/results/student/{student.id}", "kept")

    return await off_the_loop(request, act)


async def take_record(request: Request) -> Response:
    """GET /results/student/ID/record.pdf and record.csv: the course record, to print and sign."""
    kinds = {"record.pdf": "application/pdf", "record.csv": "text/csv; charset=utf-8"}

    def act(school: School) -> Response:
        name = request.path_params["file"]
        if name not in kinds:
            raise InputError("file", f"there is no '{name[:40]}'", " or ".join(kinds))
        gathered, student = _of_student(school, request.path_params["student"])
        record = course_record(
            student,
            gathered.group,
            gathered.sittings,
            gathered.by_student.get(student.id, []),
            places=school.places_of(student.id),
            corrections=[one for each in gathered.sittings for one in school.corrections(each.id)],
            school=school.setting(SCHOOL_NAME),
            made_on=times.now().strftime("%Y-%m-%d"),
        )
        made = course_record_pdf(record) if name == "record.pdf" else course_record_csv(record)
        return file_answer(name, made, kinds[name])

    return await off_the_loop(request, act)


ROUTES = [
    Route("/results/student/{student}", show_student, methods=["GET"]),
    Route("/results/student/{student}", change_student, methods=["POST"]),
    Route("/results/student/{student}/practice", practise, methods=["POST"]),
    Route("/results/student/{student}/{file}", take_record, methods=["GET"]),
]
