"""A student's course record: a PDF that a school can print and sign, and a table of the results."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from lubberline.publish.course_record_data import CourseRecord, Result, TopicResult
from lubberline.publish.pdf import pdf
from lubberline.publish.results_tables import points_text, table_csv
from lubberline.questions.bank import TOPICS

CAUTIONS = (
    "A record of teaching with Lubberline; no licence, rating or certificate. What counts towards one, the "
    "authority and the school decide."
)


def percent(points: float, questions: int) -> str:
    """Points as whole percent; an en dash of no questions."""
    return f"{100.0 * points / questions:.0f}%" if questions else "–"


def _topic(one: TopicResult) -> dict[str, str]:
    topic = TOPICS.get(one.topic, one.topic)
    return {
        "topic": topic[:1].upper() + topic[1:],
        "points": f"{points_text(one.points)} of {one.questions}",
        "percent": percent(one.points, one.questions),
    }


def _result(one: Result) -> dict[str, Any]:
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
        "results": [_result(one) for one in record.results],
        "topics": [_topic(one) for one in record.topics],
        "readiness": list(record.readiness),
        "cautions": CAUTIONS,
    }
    return pdf(("course_record.typ",), data)


COLUMNS = ("student", "number", "class", "date", "kind", "title", "form", "topic", "points", "questions")


def course_record_csv(record: CourseRecord) -> bytes:
    """Lessons and results as CSV: a row for each topic of a paper, one for its whole, one for a lesson."""
    return course_records_csv((record,))


def course_records_csv(records: Sequence[CourseRecord]) -> bytes:
    """The same of several students in one table."""
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
