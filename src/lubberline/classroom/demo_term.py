"""The term of the demo class as records, answered by invented students whose beliefs are known.

    term = demo_class(folder)

Nobody in it is real. A student with an idea of the catalogue answers what its wrong model calculates for the
item, with slips and blind guesses at known rates. An idea outside the catalogue is another wrong model:
for each kind of question a fixed distortion of the right number, or a fixed preference among the word
options, the same every time. The same files and seed give the same term.
"""

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import NamedTuple

import msgspec

from lubberline.classroom.demo_class import (
    DemoClass,
    DemoStudent,
    PlannedCorrection,
    PlannedSitting,
    read_class,
)
from lubberline.classroom.diagnosis.beliefs import Said
from lubberline.classroom.diagnosis.likelihood import IdeaAnswer, ItemTable, table_of
from lubberline.classroom.lessons.file import read_lesson
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.classroom.marking import answer_words, is_right
from lubberline.classroom.records import Answer, Asked, Correction, Place, Sitting, Student
from lubberline.errors import InputError, required
from lubberline.questions.blueprint import read_blueprint
from lubberline.questions.item import LETTERS, Item
from lubberline.questions.model import random_of
from lubberline.questions.papers import assemble

# How often a student whose answer is not among the options takes the nearest number instead of guessing.
NEAREST_SHARE = 0.7
# How far a written number scatters about the calculated one, as a share of the tolerance.
SCATTER_SHARE = 0.3
STRETCHES = (-1.6, -0.6, 0.4, 0.65, 1.4, 1.8)
SHIFTS_DEG = (-90.0, -50.0, -25.0, 25.0, 50.0, 90.0, 180.0)


class Mind(NamedTuple):
    """What a demo student thinks, and how carefully.

    Attributes:
        ideas: misconceptions held, the strongest first; the first that makes a difference is followed.
        slip: rate of slips.
        guess: rate of blind guesses.
        outside: laws (ids in `misconceptions.LAWS`) on which a wrong idea outside the catalogue is held.
        own: tells one outside idea from another.
    """

    ideas: tuple[str, ...] = ()
    slip: float = 0.1
    guess: float = 0.15
    outside: tuple[str, ...] = ()
    own: int = 0


def answer(mind: Mind, table: ItemTable, random: Random) -> Said:
    """What a demo student answers.

    Args:
        mind: what is thought.
        table: the question, with the answers of wrong ideas to it.
        random: source of chance.

    Raises:
        InputError: for rates that are not from 0 to 1.
    """
    if not (0.0 <= mind.slip <= 1.0 and 0.0 <= mind.guess <= 1.0):
        raise InputError("demo student", f"slip {mind.slip}, guess {mind.guess}", "rates from 0 to 1")
    item = table.item
    if random.random() < mind.guess:
        return _guess(item, random)
    thought = _thought(mind, table, random)
    if random.random() < mind.slip:
        return _slipped(item, thought, random)
    if thought.value is not None:
        scatter = random.gauss(0.0, SCATTER_SHARE * (item.tolerance or 0.0))
        return Said(value=_written(item, thought.value + scatter))
    return thought


def _guess(item: Item, random: Random) -> Said:
    if item.kind != "number":
        return Said(random.randrange(len(item.options)))
    if item.circle:
        return Said(value=float(random.randrange(1, 361)))
    return Said(value=_written(item, (item.answer or 1.0) * random.uniform(-1.0, 3.0)))


def _thought(mind: Mind, table: ItemTable, random: Random) -> Said:
    item = table.item
    for idea in mind.ideas:
        if idea in table.said:
            return _believed(item, table.said[idea], random)
    if any(touched.law in mind.outside for touched in table.touched):
        return _outside(mind, item)
    return Said(value=item.answer) if item.kind == "number" else Said(item.key)


def _believed(item: Item, said: IdeaAnswer, random: Random) -> Said:
    if item.kind == "number":
        return Said(value=said.value) if said.value is not None else _guess(item, random)
    if said.options:
        return Said(random.choice(said.options))
    if said.value is not None and random.random() < NEAREST_SHARE:
        return Said(_nearest(item, said.value))
    return _guess(item, random)


def _nearest(item: Item, value: float) -> int:
    """The option whose number is nearest; the first if none has a number."""
    far = [float("inf") if one.value is None else item.apart(value, one.value) for one in item.options]
    return far.index(min(far))


def _outside(mind: Mind, item: Item) -> Said:
    own = random_of("outside", mind.own, item.model)
    right = item.answer if item.kind == "number" else item.options[item.key].value
    if right is not None:
        value = right + own.choice(SHIFTS_DEG) if item.circle else right * own.choice(STRETCHES)
        if item.kind == "number":
            return Said(value=_written(item, value))
        return Said(_nearest(item, value))
    wrong = [place for place in range(len(item.options)) if place != item.key]
    return Said(min(wrong, key=lambda place: _liking(mind, item, place)))


def _liking(mind: Mind, item: Item, place: int) -> float:
    """How an outside idea ranks word options, whatever numbers are in them."""
    words = re.sub(r"[\d.,°−]+", "#", item.options[place].text)
    return random_of("liking", mind.own, item.model, words).random()


def _slipped(item: Item, thought: Said, random: Random) -> Said:
    if item.kind != "number":
        others = [place for place in range(len(item.options)) if place != thought.chosen]
        return Said(random.choice(others))
    value = thought.value or 0.0
    if item.circle:
        return Said(value=_written(item, value + random.choice((-10.0, 10.0, -100.0, 100.0, 180.0))))
    return Said(value=_written(item, random.choice((2.0 * value, 0.5 * value, -value, value + 10.0))))


def _written(item: Item, value: float) -> float:
    """A number as it is written down: whole, or to one decimal if the tolerance is below 1."""
    found = round(value, 1) if (item.tolerance or 1.0) < 1.0 else float(round(value))
    if item.circle:
        return found % 360.0 or 360.0
    return found + 0.0


# How long a question takes, and how often one is left blank.
SECONDS = (20.0, 95.0)
BLANK = 0.02
GROUP = "group"


class Term(msgspec.Struct, frozen=True):
    """The term of the demo class. Ids are those of the files; the store gives others.

    Attributes:
        title: of the class.
        students: of the class; their group is 'group'.
        sittings: in order of time, all closed.
        places: who sat what.
        answers: as recorded.
        corrections: the instructor's corrections.
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
        InputError: naming the file and the field that is wrong.
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


def mind_on(student: DemoStudent, at: datetime, own: int) -> Mind:
    """What a demo student thinks on a day."""
    held = [belief for belief in student.belief if belief.since <= at.date() < belief.until]
    return Mind(
        ideas=tuple(belief.idea for belief in held if belief.idea),
        slip=student.slip,
        guess=student.guess,
        outside=tuple(belief.law for belief in held if not belief.idea),
        own=own,
    )


class _Making:
    def __init__(self, plan: DemoClass, students: Sequence[Student]) -> None:
        self.plan = plan
        self.students = students
        self.sittings: list[Sitting] = []
        self.places: list[Place] = []
        self.answers: dict[tuple[str, str, str], Answer] = {}
        self.corrections: list[Correction] = []
        self.beliefs: dict[tuple[str, str], tuple[str, ...]] = {}

    def sit(self, id: str, planned: PlannedSitting, folder: Path) -> None:
        """Put a sitting to everybody who is present."""
        asked, source = _asked(planned, folder, self.plan.seed)
        self.sittings.append(
            Sitting(
                id=id,
                group=GROUP,
                kind="lesson" if planned.lesson else "paper",
                title=planned.title,
                opened_utc=stamp(planned.at),
                closed_utc=stamp(planned.at + timedelta(minutes=planned.minutes or 40.0)),
                asked=asked,
                source=source,
                phase="shown" if planned.lesson else "closed",
                minutes=planned.minutes,
                on_paper=planned.on_paper,
            )
        )
        forms = [""] if planned.lesson else list(planned.forms)
        tables = [(one, table_of(one.item)) for one in asked]
        for number, (student, planned_student) in enumerate(
            zip(self.students, self.plan.student, strict=True)
        ):
            if planned.at.date() in planned_student.absent:
                continue
            mind = mind_on(planned_student, planned.at, number)
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
        """Make a correction, a day after the sitting."""
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
        item = required(
            next((one.item for one in sitting.asked if one.key == key), None),
            InputError(
                "term.toml, correction", f"the sitting has no question {key}", "give another number or form"
            ),
        )
        if planned.field == "struck":
            return "counts", "struck"
        there = required(
            self.answers.get((sitting.id, student, key)),
            InputError(
                "term.toml, correction", f"{planned.student} left {key} blank", "give another question"
            ),
        )
        if planned.field == "points":
            return f"{float(is_right(there, item)):g}", "1"
        if item.kind == "number":
            raise InputError(
                "term.toml, correction", f"{key} asks for a number", "give a question with options"
            )
        # The letter that was typed in first differs from the student's.
        meant = answer_words(there, item)
        misread = (there.chosen + 1) % len(item.options)
        self.answers[sitting.id, student, key] = msgspec.structs.replace(there, chosen=misread)
        return LETTERS[misread], meant


def _asked(planned: PlannedSitting, folder: Path, seed: int) -> tuple[tuple[Asked, ...], str]:
    """The questions of a sitting, and a lesson's text."""
    if planned.lesson:
        path = folder / planned.lesson
        return taught_lesson(read_lesson(path), seed).asked, path.read_text(encoding="utf-8")
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
