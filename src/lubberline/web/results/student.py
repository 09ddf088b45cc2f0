"""One student's page: their probable ideas with the evidence, and what to do next."""

from typing import Any

from lubberline.classroom.records import Student
from lubberline.publish.reports.course_record import course_record, course_record_csv, course_record_pdf
from lubberline.store import times
from lubberline.store.settings import SCHOOL_NAME
from lubberline.web.kit import (
    NO_FORM,
    Form,
    InputError,
    Request,
    Response,
    School,
    check_known,
    file,
    get,
    go_to,
    home_for,
    page,
    post,
    records,
)
from lubberline.web.results import drawings, exam, findings
from lubberline.web.results.findings import Gathered, gather
from lubberline.web.sittings.new_sitting import asked_of_items

RECORD_FILES = {"record.pdf": course_record_pdf, "record.csv": course_record_csv}


def _of_student(request: Request) -> tuple[School, Gathered, Student]:
    """The records, the student in an address, and their class."""
    school = records(request)
    student = school.people.student(request.path_params["student"])
    group = next(one for one in school.people.groups() if one.id == student.group)
    return school, gather(school, group), student


def show(request: Request, form: Form = NO_FORM, error: InputError | None = None) -> Response:
    """GET /results/student/ID: a student's probable ideas, with the evidence."""
    school, gathered, student = _of_student(request)
    diagnosis = findings.diagnoses(gathered).get(student.id)
    marks = gathered.by_student.get(student.id, [])
    shown_exam = exam.exam_of(school)
    laws = diagnosis.laws if diagnosis else ()
    topics = findings.by_topic(marks)
    ready = findings.readiness_of(gathered, shown_exam, student.id) if marks else None
    titles = {sitting.id: sitting.title for sitting in gathered.sittings}
    return page(
        request,
        "results/student.html",
        error,
        student=student,
        is_demo=gathered.group == school.demo.find(),
        diagnosis=diagnosis,
        beliefs=[law for law in laws if law.verdict in ("holds", "perhaps", "other")],
        known=[law for law in laws if law.verdict == "knows"],
        unclear=[law for law in laws if law.verdict == "unclear"],
        not_asked=[law for law in laws if law.verdict == "not-asked"],
        bar=drawings.bar,
        percent=drawings.percent,
        chance=drawings.chance,
        titles=titles,
        topics=topics,
        sat=[
            (sitting, drawings.percent(share))
            for sitting in gathered.sittings
            if (share := gathered.share(student.id, sitting.id)) is not None
        ],
        exam=shown_exam,
        exam_note=exam.note_of(school),
        ready=ready,
        next=_next(request, gathered, student) if diagnosis else (),
        groups=school.people.groups(),
        group=gathered.group,
        of_class=f"?group={gathered.group.id}",
    )


def _next(request: Request, gathered: Gathered, student: Student) -> tuple[Any, ...]:
    return findings.next_items(gathered, student.id, home_for(request))


def practise(request: Request, form: Form) -> Response:
    """POST /results/student/ID/practice: a paper of the most informative questions."""
    school, gathered, student = _of_student(request)
    items = [one.item for one in _next(request, gathered, student)]
    if not items:
        raise InputError("practice", "no question would add anything", "let the student answer some first")
    title = f"Practice: {student.name}"[:60]
    made = school.sittings.add(student.group, "paper", title, asked_of_items(items))
    return go_to(f"/sittings/{made.id}", "added")


def change(request: Request, form: Form) -> Response:
    """POST /results/student/ID: changes the name or number."""
    school, id = records(request), request.path_params["student"]
    school.people.rename(id, form.get("name", ""), form.get("number", ""))
    return go_to(f"/results/student/{id}", "kept")


def take_record(request: Request) -> Response:
    """GET /results/student/ID/record.pdf and record.csv: the course record, to print and sign."""
    name = request.path_params["file"]
    check_known("file", "file", name, RECORD_FILES)
    school, gathered, student = _of_student(request)
    record = course_record(
        student,
        gathered.group,
        gathered.sittings,
        gathered.by_student.get(student.id, []),
        places=school.sittings.places_of(student.id),
        corrections=[one for each in gathered.sittings for one in school.answers.corrections_of(each.id)],
        school=school.settings.get(SCHOOL_NAME),
        made_on=home_for(request).day(times.now()),
        home=home_for(request),
    )
    return file(name, RECORD_FILES[name](record))


ROUTES = [
    get("/results/student/{student}", show),
    post("/results/student/{student}", change, show),
    post("/results/student/{student}/practice", practise),
    get("/results/student/{student}/{file}", take_record),
]
