"""A made-up class: its whole term as records, answered by students whose beliefs are known.

    term = demo_class(folder)

Nobody in it is real. Every answer comes from the student's beliefs on that day by the engine's own wrong
models, with slips and guesses; the same files and seed give the same term.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

import msgspec

from lubberline.classroom.answering import ItemTable, table_of
from lubberline.classroom.lessons import asked_of, read_lesson
from lubberline.classroom.made_up_class import (
    MadeUpClass,
    MadeUpStudent,
    PlannedCorrection,
    PlannedSitting,
    read_class,
)
from lubberline.classroom.made_up_minds import Mind, answer
from lubberline.classroom.marking import LETTERS, answer_words, is_right
from lubberline.classroom.records import Answer, Asked, Correction, Place, Sitting, Student
from lubberline.errors import InputError
from lubberline.questions.assemble import assemble
from lubberline.questions.blueprint import read_blueprint
from lubberline.questions.drawing import random_of

# How long a question takes, and how often one is left blank.
SECONDS = (20.0, 95.0)
BLANK = 0.02
GROUP = "group"


class Term(msgspec.Struct, frozen=True):
    """A made-up class's term. Ids are the files' own; whoever keeps it gives others.

    Attributes:
        title: of the class.
        students: who is in it; their group is 'group'.
        sittings: in order of time, all closed.
        places: who sat what.
        answers: as recorded.
        corrections: what the instructor put right.
        beliefs: by sitting and student, the ideas held on that day.
    """

    title: str
    students: tuple[Student, ...]
    sittings: tuple[Sitting, ...]
    places: tuple[Place, ...]
    answers: tuple[Answer, ...]
    corrections: tuple[Correction, ...]
    beliefs: dict[tuple[str, str], tuple[str, ...]]


def demo_class(folder: str | Path) -> Term:
    """The term of the class in a folder.

    Raises:
        InputError: naming the file and the field that is not right.
    """
    plan = read_class(folder)
    students = tuple(
        Student(f"student-{number}", GROUP, student.name, str(number))
        for number, student in enumerate(plan.student, start=1)
    )
    term = _Making(plan, students)
    for number, planned in enumerate(plan.sitting, start=1):
        term.sit(f"sitting-{number}", planned, Path(folder))
    for correction in plan.correction:
        term.correct(correction)
    return Term(
        plan.title,
        students,
        tuple(term.sittings),
        tuple(term.places),
        tuple(term.answers.values()),
        tuple(term.corrections),
        term.beliefs,
    )


def mind_on(student: MadeUpStudent, at: datetime, own: int) -> Mind:
    """What a made-up student thinks on a day."""
    held = [belief for belief in student.belief if belief.since <= at.date() < belief.until]
    return Mind(
        ideas=tuple(belief.idea for belief in held if belief.idea),
        slip=student.slip,
        guess=student.guess,
        outside=tuple(belief.law for belief in held if not belief.idea),
        own=own,
    )


class _Making:
    def __init__(self, plan: MadeUpClass, students: Sequence[Student]) -> None:
        self.plan = plan
        self.students = students
        self.sittings: list[Sitting] = []
        self.places: list[Place] = []
        self.answers: dict[tuple[str, str, str], Answer] = {}
        self.corrections: list[Correction] = []
        self.beliefs: dict[tuple[str, str], tuple[str, ...]] = {}

    def sit(self, id: str, planned: PlannedSitting, folder: Path) -> None:
        """Puts a sitting to everybody who was there."""
        asked, source = _asked(planned, folder, self.plan.seed)
        length = timedelta(minutes=planned.minutes or 40.0)
        self.sittings.append(
            Sitting(
                id=id,
                group=GROUP,
                kind="lesson" if planned.lesson else "paper",
                title=planned.title,
                opened_utc=stamp(planned.at),
                closed_utc=stamp(planned.at + length),
                asked=asked,
                source=source,
                phase="shown" if planned.lesson else "closed",
                minutes=planned.minutes,
                on_paper=planned.on_paper,
            )
        )
        forms = [""] if planned.lesson else list(planned.forms)
        tables = [(one, table_of(one.item)) for one in asked]
        for number, (student, made_up) in enumerate(zip(self.students, self.plan.student, strict=True)):
            if planned.at.date() in made_up.absent:
                continue
            mind = mind_on(made_up, planned.at, number)
            self.beliefs[id, student.id] = mind.ideas
            random = random_of("made-up class", self.plan.seed, id, student.id)
            form = forms[number % len(forms)]
            own = [pair for pair in tables if pair[0].form in ("", form)]
            self._answer(id, student.id, form, planned.at, own, mind, random)

    def _answer(
        self,
        sitting: str,
        student: str,
        form: str,
        opened: datetime,
        asked: Sequence[tuple[Asked, ItemTable]],
        mind: Mind,
        random: Random,
    ) -> None:
        now = opened + timedelta(seconds=random.uniform(5.0, 60.0))
        began = now
        for one, table in asked:
            seconds = random.uniform(*SECONDS)
            now += timedelta(seconds=seconds)
            if random.random() < BLANK:
                continue
            given = answer(mind, table, random)
            self.answers[sitting, student, one.key] = Answer(
                sitting=sitting,
                student=student,
                key=one.key,
                chosen=given.chosen,
                value=given.value,
                answered_utc=stamp(now),
                sent=f"{sitting}-{student}-{one.key}",
                seconds=round(seconds, 1),
            )
        self.places.append(Place(sitting, student, form, stamp(began), stamp(now)))

    def correct(self, planned: PlannedCorrection) -> None:
        """Puts something right, a day after the sitting."""
        sitting = next(one for one in self.sittings if one.title == planned.sitting)
        at = datetime.fromisoformat(sitting.closed_utc) + timedelta(days=1)
        student = next((one.id for one in self.students if one.name == planned.student), "")
        place = next(
            (one for one in self.places if (one.sitting, one.student) == (sitting.id, student)), None
        )
        key = f"{place.form if place else planned.form}{planned.question}"
        before, after = self._change(sitting, student, key, planned)
        self.corrections.append(
            Correction(
                sitting.id,
                student,
                key,
                self.plan.instructor,
                stamp(at),
                planned.why,
                planned.field,
                before,
                after,
            )
        )

    def _change(
        self, sitting: Sitting, student: str, key: str, planned: PlannedCorrection
    ) -> tuple[str, str]:
        item = next((one.item for one in sitting.asked if one.key == key), None)
        if item is None:
            raise InputError("term.toml, correction", f"no question {key} in it", "another number or form")
        if planned.field == "struck":
            return "counts", "struck"
        there = self.answers.get((sitting.id, student, key))
        if there is None:
            raise InputError("term.toml, correction", f"{planned.student} left {key} blank", "another one")
        if planned.field == "points":
            return f"{float(is_right(there, item)):g}", "1"
        if item.kind == "number":
            raise InputError("term.toml, correction", f"{key} asks for a number", "one with options")
        # What was typed in first was another letter than the student's.
        meant = answer_words(there, item)
        misread = (there.chosen + 1) % len(item.options)
        self.answers[sitting.id, student, key] = msgspec.structs.replace(there, chosen=misread)
        return LETTERS[misread], meant


def _asked(planned: PlannedSitting, folder: Path, seed: int) -> tuple[tuple[Asked, ...], str]:
    """The questions of a sitting, and a lesson's text."""
    if planned.lesson:
        path = folder / planned.lesson
        return asked_of(read_lesson(path), seed), path.read_text(encoding="utf-8")
    papers = assemble(read_blueprint(folder / planned.blueprint), seed, planned.forms)
    return (
        tuple(
            Asked(f"{paper.form}{number}", item, paper.form)
            for paper in papers
            for number, item in enumerate(paper.items, start=1)
        ),
        "",
    )


def stamp(at: datetime) -> str:
    """A moment as records have it."""
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
