"""The roll of a sitting: students, progress, time left and marks."""

from collections import defaultdict
from typing import Any, NamedTuple

import msgspec

from lubberline.classroom.marking import answer_words, marked, option_words, score
from lubberline.classroom.records import Asked, Correction, Marked, Place, Sitting, Student
from lubberline.publish.papers.answers import key_words
from lubberline.publish.words import number
from lubberline.store.times import now_utc, seconds_between
from lubberline.web.kit import InputError, Request, School, records, required


class Roll(NamedTuple):
    """A sitting with all its students.

    Attributes:
        rows: a row for each student, in order.
        marks: by student's id and question's key.
        struck: keys of the questions that do not count.
        lettered: whether options are known by letters: on a paper, not in a lesson.
    """

    rows: list[dict[str, Any]]
    marks: dict[str, dict[str, Marked]]
    struck: frozenset[str]
    lettered: bool


def sitting_of(request: Request) -> tuple[School, Sitting]:
    """The records, and the sitting in an address.

    Raises:
        InputError: there is none.
    """
    school = records(request)
    return school, school.sittings.sitting(request.path_params["sitting"])


def place_of(request: Request) -> tuple[School, Sitting, Place]:
    """The records, and a student's place in the sitting of an address.

    Raises:
        InputError: there is no such sitting, or the student is not in it.
    """
    school, sitting = sitting_of(request)
    student = request.path_params["student"]
    found = required(
        next((one for one in school.sittings.places(sitting.id) if one.student == student), None),
        InputError("student", "is not in this sitting", "choose one from the list", "no-place"),
    )
    return school, sitting, found


def left_s(sitting: Sitting, place: Place) -> float | None:
    """Seconds that a student has left by the server's clock, not below 0; None without a time limit."""
    limit_s = place.limit_s(sitting)
    if limit_s is None or not place.began_utc:
        return None
    return max(0.0, limit_s - seconds_between(place.began_utc, now_utc()))


def is_over(sitting: Sitting, place: Place) -> bool:
    """Whether a student can no longer answer: closed, handed in, or out of time."""
    return bool(sitting.closed_utc or place.ended_utc or left_s(sitting, place) == 0.0)


def clock(seconds: float | None) -> str:
    """A length of time as minutes and seconds; '' without a limit."""
    if seconds is None:
        return ""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes}:{rest:02d}"


def points_words(points: float) -> str:
    """Points in words: 7, or 6.5."""
    return number(points, 0 if points == round(points) else 1)


def marks_of(school: School, sitting: Sitting) -> dict[str, dict[str, Marked]]:
    """The marks of a sitting by student's id and question's key."""
    found: dict[str, dict[str, Marked]] = defaultdict(dict)
    for mark in marked(
        sitting, school.answers.of_sitting(sitting.id), school.answers.corrections_of(sitting.id)
    ):
        found[mark.answer.student][mark.answer.key] = mark
    return dict(found)


def _row(student: Student, place: Place, sitting: Sitting, own: dict[str, Marked]) -> dict[str, Any]:
    answered = sum(not mark.answer.blank for mark in own.values())
    points, count = score(own.values())
    return {
        "id": student.id,
        "name": student.name,
        "number": student.number,
        "form": place.form,
        "answered": answered,
        "of": len(sitting.asked_in(place.form)),
        "ended": bool(place.ended_utc),
        "left": clock(left_s(sitting, place)),
        "extra": f"{place.extra_min:g}" if place.extra_min else "",
        "over": is_over(sitting, place),
        "points": f"{points_words(points)} of {count}" if own else "",
    }


def in_order(school: School, sitting: Sitting) -> list[Place]:
    """The places of a sitting: on paper by name, as papers are sorted, else in order of joining."""
    places = list(school.sittings.places(sitting.id))
    if sitting.on_paper:
        order = {one.id: place for place, one in enumerate(school.people.students(sitting.group))}
        places.sort(key=lambda place: order.get(place.student, len(order)))
    return places


def roll_of(school: School, sitting: Sitting) -> Roll:
    """Everybody who is in a sitting."""
    marks = marks_of(school, sitting)
    places = in_order(school, sitting)
    # Read after the places: a student not in it was deleted meanwhile.
    names = {one.id: one for one in school.people.students(sitting.group)}
    rows = [
        _row(names.get(place.student) or Student(place.student, "", "deleted"), place, sitting, own)
        for place in places
        for own in (marks.get(place.student, {}),)
    ]
    return Roll(rows, marks, struck_in(school, sitting), sitting.kind != "lesson")


def struck_in(school: School, sitting: Sitting) -> frozenset[str]:
    """The keys of the questions struck out at present."""
    last = {one.key: one.after for one in school.answers.corrections_of(sitting.id) if one.field == "struck"}
    return frozenset(key for key, after in last.items() if after == "struck")


def in_words(sitting: Sitting, letter: str, key: str) -> str:
    """What a student answered, as the class saw it: in a lesson an option's text in place of its letter."""
    item = next((one.item for one in sitting.asked if one.key == key), None)
    return option_words(letter, item) if item and sitting.kind == "lesson" else letter


def trail_words(sitting: Sitting, correction: Correction) -> Correction:
    """A correction with its answers as `in_words`."""
    if correction.field != "chosen":
        return correction
    before, after = (in_words(sitting, one, correction.key) for one in (correction.before, correction.after))
    return msgspec.structs.replace(correction, before=before, after=after)


def answer_rows(
    sitting: Sitting, asked: tuple[Asked, ...], own: dict[str, Marked], struck: frozenset[str]
) -> list[dict[str, Any]]:
    """A student's answers with the key, for the instructor."""
    return [
        {
            "key": one.key,
            "stem": " ".join(one.item.stem.split()),
            "said": in_words(sitting, answer_words(mark.answer, one.item), one.key) if mark else "-",
            "right": in_words(sitting, key_words(one.item), one.key),
            "options": [option.text for option in one.item.options],
            "points": points_words(mark.points) if mark else "",
            "is_right": bool(mark and mark.points > 0.0),
            "struck": one.key in struck,
            "corrected": bool(mark and mark.corrected),
            "kind": one.item.kind,
            "last_letter": "ABCDEFGH"[len(one.item.options) - 1] if one.item.options else "",
            "unit": one.item.unit,
        }
        for one in asked
        for mark in (own.get(one.key),)
    ]
