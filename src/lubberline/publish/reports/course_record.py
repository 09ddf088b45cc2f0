"""A student's course record: a PDF to print and sign, and a table of results."""

from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from lubberline.classroom.exam import StudentReadiness
from lubberline.classroom.marking import score
from lubberline.classroom.records import Correction, Group, Marked, Place, Sitting, Student
from lubberline.flight.home import NO_HOME, Home, Paper
from lubberline.publish.pdf import pdf
from lubberline.publish.reports.results_tables import points_text, table_csv
from lubberline.questions.bank import TOPICS


class TopicResult(msgspec.Struct, frozen=True):
    """Points in one topic, and the number of questions counted."""

    topic: str
    points: float
    questions: int


class Attended(msgspec.Struct, frozen=True):
    """A lesson that a student attended: when, what, its topics, and how many predictions were right."""

    date: str
    title: str
    topics: tuple[str, ...]
    points: float
    questions: int


class Result(msgspec.Struct, frozen=True):
    """A paper that a student sat.

    Attributes:
        date: when.
        title: as shown.
        form: letter, or ''.
        points: got.
        questions: that count.
        topics: the same by topic.
        corrections: corrections for this student or for everybody, in words.
    """

    date: str
    title: str
    form: str
    points: float
    questions: int
    topics: tuple[TopicResult, ...]
    corrections: tuple[str, ...] = ()


class CourseRecord(msgspec.Struct, frozen=True):
    """A student's record of a course.

    Attributes:
        school: name; '' leaves a line to write it on.
        student: name.
        number: the school's own, or ''.
        group: title of the class.
        lessons: attended, in order of time.
        results: of papers, in order of time.
        topics: all papers together by topic, in the order of the syllabus.
        readiness: sentences; () for none.
        made_on: date of the print, or ''.
        paper: its size.
    """

    school: str
    student: str
    number: str
    group: str
    lessons: tuple[Attended, ...]
    results: tuple[Result, ...]
    topics: tuple[TopicResult, ...]
    readiness: tuple[str, ...] = ()
    made_on: str = ""
    paper: Paper = "A4"


def course_record(
    student: Student,
    group: Group,
    sittings: Sequence[Sitting],
    marks: Sequence[Marked],
    *,
    places: Sequence[Place] = (),
    corrections: Sequence[Correction] = (),
    readiness: StudentReadiness | None = None,
    school: str = "",
    made_on: str = "",
    home: Home = NO_HOME,
) -> CourseRecord:
    """A student's record from plain records.

    Args:
        student: whose.
        group: the class.
        sittings: of the class; those without a place or answer of the student are omitted.
        marks: of all sittings; other students' are ignored.
        places: of all sittings, to include attendance without answers.
        corrections: of all sittings.
        readiness: printed if given.
        school: its name.
        made_on: date of the print.
        home: whose clock and paper are used.
    """
    own: dict[str, list[Marked]] = {}
    for mark in marks:
        if mark.answer.student == student.id:
            own.setdefault(mark.answer.sitting, []).append(mark)
    forms = {place.sitting: place.form for place in places if place.student == student.id}
    there = [
        one
        for one in sorted(sittings, key=lambda one: one.opened_utc)
        if one.id in forms or any(not mark.answer.blank for mark in own.get(one.id, ()))
    ]
    concerned = [each for each in corrections if each.student in ("", student.id)]
    of_papers = [mark for one in there if one.kind == "paper" for mark in own.get(one.id, ())]
    return CourseRecord(
        school=school,
        student=student.name,
        number=student.number,
        group=group.title,
        lessons=tuple(_attended(one, own.get(one.id, ()), home) for one in there if one.kind == "lesson"),
        results=tuple(
            _result(
                one, own.get(one.id, ()), forms, [each for each in concerned if each.sitting == one.id], home
            )
            for one in there
            if one.kind == "paper"
        ),
        topics=by_topic(of_papers),
        readiness=readiness.words if readiness is not None else (),
        made_on=made_on,
        paper=home.paper,
    )


def by_topic(marks: Sequence[Marked]) -> tuple[TopicResult, ...]:
    """Points by topic, in the order of the syllabus; struck questions do not count."""
    found: dict[str, list[Marked]] = {}
    for mark in marks:
        if not mark.struck:
            found.setdefault(mark.item.topic, []).append(mark)
    known = [topic for topic in TOPICS if topic in found]
    others = [topic for topic in found if topic not in TOPICS]
    return tuple(TopicResult(topic, *score(found[topic])) for topic in (*known, *others))


def _attended(sitting: Sitting, marks: Sequence[Marked], home: Home) -> Attended:
    topics = tuple(dict.fromkeys(asked.item.topic for asked in sitting.asked))
    return Attended(home.day(sitting.opened_utc), sitting.title, topics, *score(marks))


def _result(
    sitting: Sitting,
    marks: Sequence[Marked],
    forms: Mapping[str, str],
    corrections: Sequence[Correction],
    home: Home,
) -> Result:
    by_key = {asked.key: asked.form for asked in sitting.asked}
    form = forms.get(sitting.id) or next((by_key.get(mark.answer.key, "") for mark in marks), "")
    keys = {mark.answer.key for mark in marks}
    return Result(
        home.day(sitting.opened_utc),
        sitting.title,
        form,
        *score(marks),
        by_topic(marks),
        tuple(_words(one, home) for one in corrections if one.key in keys),
    )


def _words(one: Correction, home: Home) -> str:
    what = {
        "struck": "no longer counts" if one.after == "struck" else "counts again",
        "points": f"given {one.after} point{'' if one.after == '1' else 's'}",
    }.get(one.field, f"read as {one.after} instead of {one.before}")
    return f"Question {one.key}: {what} ({one.why.rstrip('. ')}; {one.by}, {home.day(one.at_utc)})."


CAUTIONS = (
    "A record of teaching with Lubberline; not a licence, rating or certificate. The authority and the "
    "school decide what counts towards one."
)


def percent(points: float, questions: int) -> str:
    """Points as whole percent; an en dash for no questions."""
    return f"{100.0 * points / questions:.0f}%" if questions else "–"


def _topic(one: TopicResult) -> dict[str, str]:
    topic = TOPICS.get(one.topic, one.topic)
    return {
        "topic": topic[:1].upper() + topic[1:],
        "points": f"{points_text(one.points)} of {one.questions}",
        "percent": percent(one.points, one.questions),
    }


def _result_cells(one: Result) -> dict[str, Any]:
    return {
        "date": one.date,
        "title": one.title + (f", form {one.form}" if one.form else ""),
        "points": f"{points_text(one.points)} of {one.questions}",
        "percent": percent(one.points, one.questions),
        "topics": ", ".join(
            f"{part.topic} {points_text(part.points)}/{part.questions}" for part in one.topics
        ),
        "corrections": list(one.corrections),
    }


def course_record_pdf(record: CourseRecord) -> bytes:
    """The record as A4 pages, with lines to sign on."""
    data = {
        "school": record.school,
        "student": record.student,
        "number": record.number,
        "group": record.group,
        "made_on": record.made_on,
        "lessons": [
            {
                "date": one.date,
                "title": one.title,
                "topics": ", ".join(one.topics),
                "right": f"{points_text(one.points)} of {one.questions}" if one.questions else "–",
            }
            for one in record.lessons
        ],
        "results": [_result_cells(one) for one in record.results],
        "topics": [_topic(one) for one in record.topics],
        "readiness": list(record.readiness),
        "cautions": CAUTIONS,
    }
    return pdf(("course_record.typ",), data, paper=record.paper)


COLUMNS = ("student", "number", "class", "date", "kind", "title", "form", "topic", "points", "questions")


def course_record_csv(record: CourseRecord) -> bytes:
    """Lessons and results as CSV: a row for each topic of a paper, one for its whole, one for a lesson."""
    return course_records_csv((record,))


def course_records_csv(records: Sequence[CourseRecord]) -> bytes:
    """The same for several students in one table."""
    return table_csv(COLUMNS, [row for record in records for row in _rows(record)])


def _rows(record: CourseRecord) -> list[tuple[object, ...]]:
    who = (record.student, record.number, record.group)
    rows: list[tuple[object, ...]] = [
        (
            *who,
            one.date,
            "lesson",
            one.title,
            "",
            " ".join(one.topics),
            points_text(one.points),
            one.questions,
        )
        for one in record.lessons
    ]
    for one in record.results:
        head = (*who, one.date, "paper", one.title, one.form)
        rows += [(*head, part.topic, points_text(part.points), part.questions) for part in one.topics]
        rows.append((*head, "all", points_text(one.points), one.questions))
    return rows
