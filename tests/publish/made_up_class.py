"""A small class with a lesson, a paper in two forms, and corrections."""

import msgspec

from lubberline.classroom.marking import marked
from lubberline.classroom.records import (
    Answer,
    Asked,
    Correction,
    Group,
    Marked,
    Place,
    Sitting,
    Student,
)
from tests.classroom.made import CHOICE, DIAL

HOSTILE = '=HYPERLINK("x")<b>#import $y$ \\'
GROUP = Group("g", "Spring")
ADA, BO = Student("a", "g", "Ada", "7"), Student("b", "g", HOSTILE)
COMPASS = msgspec.structs.replace(DIAL, topic="compass", model="m-compass")
LESSON = Sitting("l", "g", "lesson", "Wander", "2026-03-02T18:00:00Z", asked=(Asked("step-2", DIAL),))
PAPER = Sitting(
    "p",
    "g",
    "paper",
    "Mid-term",
    "2026-03-09T18:00:00Z",
    asked=tuple(
        Asked(f"{form}{number}", item, form)
        for form in "AB"
        for number, item in enumerate((CHOICE, COMPASS, DIAL), start=1)
    ),
)
LATER = Sitting("q", "g", "paper", "Never sat", "2026-04-01T18:00:00Z", asked=PAPER.asked)
ANSWERS = (
    Answer("l", "a", "step-2", value=358.0),
    Answer("p", "a", "A1", chosen=1),
    Answer("p", "a", "A2", value=1.0),
    Answer("p", "a", "A3", value=180.0),
    Answer("p", "b", "B1", chosen=0),
)
CORRECTIONS = (
    Correction("p", "a", "A3", "N. N.", "2026-03-10T09:00:00Z", "half right", "points", "0", "0.5"),
    Correction("p", "", "B2", "N. N.", "2026-03-10T09:00:00Z", "misprint.", "struck", "counts", "struck"),
    Correction("p", "a", "A1", "N. N.", "2026-03-10T09:00:00Z", "misread", "chosen", "C", "B"),
)
PLACES = (Place("l", "a"), Place("l", "b"), Place("p", "a", "A"), Place("p", "b", "B"))


def marks() -> tuple[Marked, ...]:
    """All marks of the class, corrections applied."""
    return tuple(
        mark
        for sitting in (LESSON, PAPER)
        for mark in marked(
            sitting,
            [answer for answer in ANSWERS if answer.sitting == sitting.id],
            [change for change in CORRECTIONS if change.sitting == sitting.id],
        )
    )
