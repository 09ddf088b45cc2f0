"""The files of the demo class: its students, what they believe and when, and the term's sittings."""

from datetime import date, datetime
from pathlib import Path
from typing import Any, Literal, TypeVar

import msgspec

from lubberline.errors import InputError, check_known
from lubberline.simulation.misconceptions import LAW_BY_ID, misconception
from lubberline.textfile import text_of, toml_of
from lubberline.typed_fields import typed

GREATEST_BYTES = 200_000
ALWAYS_FROM, ALWAYS_UNTIL = date.min, date.max
T = TypeVar("T", bound=msgspec.Struct)


class HeldIdea(msgspec.Struct, frozen=True, forbid_unknown_fields=True, rename={"since": "from"}):
    """A wrong idea that a demo student holds from one day until before another.

    Attributes:
        idea: of the catalogue; '' for one outside it.
        law: id in `misconceptions.LAWS`, for an idea outside the catalogue.
        since: first day; in the file, `from`.
        until: first day without it, such as the day of the lesson that corrected it.
    """

    idea: str = ""
    law: str = ""
    since: date = ALWAYS_FROM
    until: date = ALWAYS_UNTIL


class DemoStudent(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A demo student.

    Attributes:
        name: an invented first name.
        slip: rate of slips.
        guess: rate of blind guesses.
        belief: what the student believes, the strongest first.
        absent: days on which the student was absent.
    """

    name: str
    slip: float = 0.08
    guess: float = 0.06
    belief: tuple[HeldIdea, ...] = ()
    absent: tuple[date, ...] = ()


class PlannedSitting(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A sitting of the term.

    Attributes:
        at: when it began, UTC.
        title: as shown.
        blueprint: file of the paper's blueprint, in the class's folder; '' for a lesson.
        lesson: file of the lesson; '' for a paper.
        forms: letters of the paper's forms, dealt in turn.
        minutes: time limit; 0 without one.
        on_paper: taken on paper.
    """

    at: datetime
    title: str
    blueprint: str = ""
    lesson: str = ""
    forms: tuple[str, ...] = ("A", "B")
    minutes: float = 0.0
    on_paper: bool = False


class PlannedCorrection(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A correction by the instructor.

    Attributes:
        sitting: title.
        question: number in the paper.
        why: in words.
        field: 'chosen' (a misread letter), 'points' (given after all) or 'struck'.
        student: name; '' for everybody.
        form: letter, for a correction for everybody.
    """

    sitting: str
    question: int
    why: str
    field: Literal["chosen", "points", "struck"]
    student: str = ""
    form: str = ""


class DemoClass(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The class and its term, as in the files.

    Attributes:
        title: of the class.
        instructor: who signs corrections.
        seed: decides every slip and guess.
        student: its students.
        sitting: of the term, in order.
        correction: the instructor's corrections.
    """

    title: str
    instructor: str
    seed: int
    student: tuple[DemoStudent, ...]
    sitting: tuple[PlannedSitting, ...]
    correction: tuple[PlannedCorrection, ...] = ()


def read_class(folder: str | Path) -> DemoClass:
    """The class of a folder, from its `students.toml` and `term.toml`.

    Raises:
        InputError: naming the file and the field.
    """
    fields: dict[str, Any] = {}
    for name in ("students.toml", "term.toml"):
        text = text_of(Path(folder) / name, "a file of a demo class (TOML)", GREATEST_BYTES)
        fields.update(toml_of(name, text))
    found = typed(Path(folder).name, fields, DemoClass, "see demo/class")
    _check(found)
    return found


def _check(found: DemoClass) -> None:
    names = [student.name for student in found.student]
    if not names or len(set(names)) != len(names):
        raise InputError(
            "students.toml",
            "there are no students, or a name is used twice",
            "give each student a different name",
        )
    for student in found.student:
        where = f"students.toml, {student.name}"
        for belief in student.belief:
            if belief.idea:
                misconception(belief.idea, f"{where}, idea")
            else:
                check_known(f"{where}, law", "law", belief.law, LAW_BY_ID)
    titles = [sitting.title for sitting in found.sitting]
    for sitting in found.sitting:
        if bool(sitting.blueprint) == bool(sitting.lesson):
            raise InputError(
                f"term.toml, {sitting.title}",
                "there is neither a blueprint nor a lesson, or there are both",
                "give exactly one: a blueprint or a lesson",
            )
    for correction in found.correction:
        if correction.sitting not in titles or correction.student not in ("", *names):
            raise InputError("term.toml, correction", correction.sitting, "name a sitting and a student")
