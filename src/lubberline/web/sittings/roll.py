"""Who is in a sitting, how far they are, and their marks, as the instructor's page shows them."""

from __future__ import annotations

from collections import defaultdict
from typing import Any, NamedTuple

import segno

from lubberline.classroom.marking import answer_words, marked, score
from lubberline.classroom.records import Asked, Marked, Place, Sitting, Student
from lubberline.errors import InputError
from lubberline.publish.papers.answers import key_words
from lubberline.publish.words import number
from lubberline.store.school import School
from lubberline.web.sittings.shown import asked_in
from lubberline.web.sittings.timing import clock, is_over, left_s


class Roll(NamedTuple):
    """A sitting with everybody in it.

    Attributes:
        sitting: itself.
        rows: a row for each student, in order.
        marks: by student's id and question's key.
        struck: keys of the questions that do not count.
    """

    sitting: Sitting
    rows: list[dict[str, Any]]
    marks: dict[str, dict[str, Marked]]
    struck: frozenset[str]


def student_or_gone(school: School, id: str) -> Student:
    """A student; one without a name where the record was deleted meanwhile."""
    try:
        return school.student(id)
    except InputError as error:
        if error.code != "no-student":
            raise
        return Student(id, "", "deleted")


def marks_of(school: School, sitting: Sitting) -> dict[str, dict[str, Marked]]:
    """The marks of a sitting by student's id and question's key."""
    found: dict[str, dict[str, Marked]] = defaultdict(dict)
    for mark in marked(sitting, school.answers(sitting.id), school.corrections(sitting.id)):
        found[mark.answer.student][mark.answer.key] = mark
    return dict(found)


def points_words(points: float, count: int) -> str:
    """Points of a number of questions: '7 of 10', '6.5 of 10'."""
    return f"{number(points, 0 if points == round(points) else 1)} of {count}"


def _row(student: Student, place: Place, sitting: Sitting, own: dict[str, Marked]) -> dict[str, Any]:
    answered = sum(not mark.answer.blank for mark in own.values())
    points, count = score(own.values())
    return {
        "id": student.id,
        "name": student.name,
        "number": student.number,
        "form": place.form,
        "answered": answered,
        "of": len(asked_in(sitting, place.form)),
        "ended": bool(place.ended_utc),
        "left": clock(left_s(sitting, place)),
        "extra": f"{place.extra_min:g}" if place.extra_min else "",
        "over": is_over(sitting, place),
        "points": points_words(points, count) if own else "",
        "share": points / count if own and count else None,
    }


def in_order(school: School, sitting: Sitting) -> list[Place]:
    """The places of a sitting: on paper by name, as papers are sorted, else as people came."""
    places = list(school.places(sitting.id))
    if sitting.on_paper:
        order = {one.id: place for place, one in enumerate(school.students(sitting.group))}
        places.sort(key=lambda place: order.get(place.student, len(order)))
    return places


def roll_of(school: School, sitting: Sitting) -> Roll:
    """Everybody who is in a sitting."""
    marks = marks_of(school, sitting)
    names = {one.id: one for one in school.students(sitting.group)}
    places = in_order(school, sitting)
    rows = [
        _row(names.get(place.student) or student_or_gone(school, place.student), place, sitting, own)
        for place in places
        for own in (marks.get(place.student, {}),)
    ]
    return Roll(sitting, rows, marks, struck_in(school, sitting))


def struck_in(school: School, sitting: Sitting) -> frozenset[str]:
    """The keys of the questions that were struck out and not put back."""
    last = {one.key: one.after for one in school.corrections(sitting.id) if one.field == "struck"}
    return frozenset(key for key, after in last.items() if after == "struck")


def answer_rows(
    asked: tuple[Asked, ...], own: dict[str, Marked], struck: frozenset[str]
) -> list[dict[str, Any]]:
    """A student's answers beside the key, for the instructor."""
    rows = []
    for one in asked:
        mark = own.get(one.key)
        rows.append(
            {
                "key": one.key,
                "stem": " ".join(one.item.stem.split()),
                "said": answer_words(mark.answer, one.item) if mark else "-",
                "right": key_words(one.item),
                "points": number(mark.points, 0 if mark.points == round(mark.points) else 1) if mark else "",
                "is_right": bool(mark and mark.points > 0.0),
                "idea": mark.idea if mark else "",
                "struck": one.key in struck,
                "corrected": bool(mark and mark.corrected),
                "kind": one.item.kind,
                "last_letter": "ABCDEFGH"[len(one.item.options) - 1] if one.item.options else "",
                "unit": one.item.unit,
            }
        )
    return rows


def code_in_parts(code: str) -> str:
    """A code as it is read out: two groups of three."""
    return f"{code[:3]} {code[3:]}"


def picture_of(address: str) -> str:
    """A square code of an address, as a picture for the page."""
    return str(segno.make(address, error="m").svg_data_uri(scale=6, border=2, dark="#000", light="#fff"))
