"""The view of each audience of a lesson: students, projector, instructor.

A student's view has no key, slip, note or other student's answer; the right answer is added
only after the instructor has shown the result. The tests check this for every view.
"""

from collections import Counter
from collections.abc import Sequence

import msgspec

from lubberline.classroom.lessons.lesson import Show
from lubberline.classroom.lessons.order import Order, place_of
from lubberline.classroom.lessons.own_answers import how_of, statement_of, unit_of, words_of
from lubberline.classroom.lessons.questions import TaughtLesson
from lubberline.classroom.lessons.teaching import (
    CLOSED,
    OPEN,
    Act,
    Stage,
    Standing,
    acts,
    commonest,
    ghosts_from_s,
    ghosts_of,
    shown_in,
)
from lubberline.classroom.lessons.text import lesson_html
from lubberline.classroom.records import NOT_CHOSEN, Answer, Asked, Place, Sitting
from lubberline.questions.handwritten import is_handwritten
from lubberline.simulation.misconceptions import FLOWN_BY_ID


class ShownQuestion(msgspec.Struct, frozen=True):
    """A question without its answer.

    Attributes:
        key: of `Asked`.
        how: 'dial', 'number' or 'options'.
        html: its text.
        options: their texts, in the order in which they stand for the class.
        unit: of a number.
        figure: a drawing, as SVG; '' for none.
        alt: what the drawing shows.
    """

    key: str
    how: str
    html: str
    options: tuple[str, ...] = ()
    unit: str = ""
    figure: str = ""
    alt: str = ""


class ClassView(msgspec.Struct, frozen=True):
    """The view shared by all students.

    Attributes:
        title: of the lesson.
        step: index from 0; -1 while the class joins.
        steps: how many there are.
        kind: of the step; '' while the class joins, 'over' at the end.
        heading: of the step.
        html: its text for students, if any.
        phase: of the step.
        questions: of the step.
        looks_up: whether there is something to see on the projector.
        countdown_utc: when the countdown ends; '' without one.
    """

    title: str
    step: int
    steps: int
    kind: str
    heading: str = ""
    html: str = ""
    phase: str = OPEN
    questions: tuple[ShownQuestion, ...] = ()
    looks_up: bool = False
    countdown_utc: str = ""


class Spread(msgspec.Struct, frozen=True):
    """The answers of the class to a question, without names.

    Attributes:
        question: the question.
        count: answers.
        options: how many chose each, in the order in which they stand for the class.
        values: the numbers or directions answered, in ascending order.
        unit: of the values.
        right_option: its place; -1 for a number and until the result is shown.
        truth: the right number; None for options and until the result is shown.
        truth_words: the right answer in words; '' until then.
        ideas: wrong ideas with how many answers fit each; empty until then.
    """

    question: ShownQuestion
    count: int
    options: tuple[int, ...] = ()
    values: tuple[float, ...] = ()
    unit: str = ""
    right_option: int = -1
    truth: float | None = None
    truth_words: str = ""
    ideas: tuple[tuple[str, int], ...] = ()


class GhostCount(msgspec.Struct, frozen=True):
    """A wrong idea as a ghost: its id, its short name, its statement, and how many in this class hold it."""

    id: str
    name: str
    statement: str
    count: int


class ProjectorView(msgspec.Struct, frozen=True):
    """The projector's view.

    Attributes:
        seen: the view shared by all students.
        code: to join with; '' when closed.
        joined: number of students.
        answered: how many have answered all open questions.
        html: the step's text for the projector, whose parts can be pressed.
        show: what the bench plays, or None.
        stage: where the bench is in it.
        ghosts: wrong ideas shown as ghosts.
        ghosts_from_s: from which time of the scene.
        spreads: the answers of the class, after closing; without the key until the result is shown.
    """

    seen: ClassView
    code: str
    joined: int
    answered: int
    html: str = ""
    show: Show | None = None
    stage: Stage = "ready"
    ghosts: tuple[GhostCount, ...] = ()
    ghosts_from_s: float = 0.0
    spreads: tuple[Spread, ...] = ()


class StudentInClass(msgspec.Struct, frozen=True):
    """A student in the instructor's view: the name, and the number of open questions answered."""

    name: str
    answered: int


class InstructorView(msgspec.Struct, frozen=True):
    """The instructor's view.

    Attributes:
        projector: the projector's view.
        notes: of this step, as HTML.
        text: the text of this step, as HTML.
        acts: the possible actions, the next one first.
        to_come: kind, heading and planned minutes of the steps after this one.
        minutes: planned for this step.
        minutes_before: planned for all steps before it.
        minutes_all: planned for the lesson.
        students: by name.
        spreads: the answers of the class so far.
        opened_utc: when joining opened.
        closes_utc: when the question closes by itself; '' if it does not.
        own: keys of those of the step's questions that the school wrote.
    """

    projector: ProjectorView
    notes: str
    text: str
    acts: tuple[Act, ...]
    to_come: tuple[tuple[str, str, float], ...]
    minutes: float
    minutes_before: float
    minutes_all: float
    students: tuple[StudentInClass, ...]
    spreads: tuple[Spread, ...]
    opened_utc: str
    closes_utc: str
    own: tuple[str, ...] = ()


def question_of(asked: Asked, order: Order) -> ShownQuestion:
    """A question without its answer, for anybody; nothing in it tells which option is which of the item's."""
    item = asked.item
    figure = item.figure
    return ShownQuestion(
        key=asked.key,
        how=how_of(item),
        html=lesson_html(item.stem),
        options=tuple(item.options[own].text for own in order),
        unit=unit_of(item),
        figure=figure.svg if figure else "",
        alt=figure.alt if figure else "",
    )


def told_text(stands: Standing) -> str:
    """The text of a step for the class, in Markdown: the short form of a spoken text, if there is one.

    A question has its own text; a reveal's is for after it.
    """
    step = stands.step
    if step is None or stands.over or step.kind == "predict" or (step.kind == "reveal" and not stands.told):
        return ""
    return step.short or step.text


def seen_by_all(sitting: Sitting, lesson: TaughtLesson, stands: Standing) -> ClassView:
    """The view shared by all students."""
    steps, step = len(lesson.lesson.steps), stands.step
    if stands.over:
        return ClassView(sitting.title, stands.index, steps, "over", phase=stands.phase)
    if step is None:
        return ClassView(sitting.title, stands.index, steps, "", phase=stands.phase)
    return ClassView(
        title=sitting.title,
        step=stands.index,
        steps=steps,
        kind=step.kind,
        heading=step.title,
        html=lesson_html(told_text(stands)),
        phase=stands.phase,
        questions=tuple(question_of(asked, stands.order_of(asked)) for asked in stands.asked),
        looks_up=step.kind in ("say", "show", "reveal", "explain"),
        countdown_utc=sitting.countdown_utc,
    )


def spread_of(asked: Asked, answers: Sequence[Answer], order: Order, *, told: bool) -> Spread:
    """The answers of a class to a question, with the right answer only if `told`."""
    item = asked.item
    own = [answer for answer in answers if answer.key == asked.key and not answer.blank]
    ideas = commonest(asked, own) if told else ()
    return Spread(
        question=question_of(asked, order),
        count=len(own),
        options=tuple(sum(one.chosen == option for one in own) for option in order),
        values=tuple(sorted(one.value for one in own if one.value is not None)),
        unit=unit_of(item),
        right_option=place_of(order, item.key) if told else NOT_CHOSEN,
        truth=item.answer if told else None,
        truth_words=words_of(item, item.key, item.answer, order) if told else "",
        ideas=tuple((statement_of(idea), count) for idea, count in ideas),
    )


def _answered(stands: Standing, answers: Sequence[Answer]) -> dict[str, int]:
    keys = {asked.key for asked in stands.asked}
    return Counter(answer.student for answer in answers if answer.key in keys and not answer.blank)


def seen_on_projector(
    sitting: Sitting,
    lesson: TaughtLesson,
    stands: Standing,
    places: Sequence[Place],
    answers: Sequence[Answer],
) -> ProjectorView:
    """The projector's view: while a question is open, only how many have answered.

    Beside a scene that tells the answer stands what the class expects, without the key until the end.
    """
    answered = _answered(stands, answers)
    closed = stands.asked if stands.phase == CLOSED else ()
    shown = stands.revealed if stands.told or (stands.step and stands.step.kind == "reveal") else closed
    ghosts = () if stands.over else ghosts_of(stands, answers)
    return ProjectorView(
        seen=seen_by_all(sitting, lesson, stands),
        code="" if stands.over else sitting.code,
        joined=len(places),
        answered=sum(count >= len(stands.asked) for count in answered.values()),
        html=lesson_html(told_text(stands), pressed=True),
        show=None if stands.over else shown_in(lesson, stands),
        stage=stands.stage,
        ghosts=tuple(
            GhostCount(idea, FLOWN_BY_ID[idea].name, statement_of(idea), count) for idea, count in ghosts
        ),
        ghosts_from_s=ghosts_from_s(lesson, stands),
        spreads=tuple(spread_of(one, answers, stands.order_of(one), told=stands.told) for one in shown),
    )


def seen_by_instructor(
    sitting: Sitting,
    lesson: TaughtLesson,
    stands: Standing,
    places: Sequence[Place],
    answers: Sequence[Answer],
    names: dict[str, str],
) -> InstructorView:
    """The instructor's view.

    Args:
        sitting: of the lesson.
        lesson: as it is taught.
        stands: its state.
        places: who is in.
        answers: of all.
        names: of students by id.
    """
    steps, here = lesson.lesson.steps, max(stands.index, 0)
    answered = _answered(stands, answers)
    asked = stands.asked or stands.revealed
    students = [
        StudentInClass(names.get(place.student, ""), answered.get(place.student, 0)) for place in places
    ]
    return InstructorView(
        projector=seen_on_projector(sitting, lesson, stands, places, answers),
        notes=lesson_html(stands.step.notes) if stands.step else "",
        text=lesson_html(stands.step.text) if stands.step else "",
        acts=acts(lesson, stands),
        to_come=tuple((step.kind, step.title, step.minutes) for step in steps[stands.index + 1 :]),
        minutes=stands.step.minutes if stands.step else 0.0,
        minutes_before=sum(step.minutes for step in steps[:here]),
        minutes_all=lesson.lesson.minutes,
        students=tuple(sorted(students, key=lambda one: (one.answered, one.name.casefold()))),
        spreads=tuple(spread_of(one, answers, stands.order_of(one), told=True) for one in asked),
        opened_utc=sitting.opened_utc,
        closes_utc=sitting.closes_utc,
        own=tuple(one.key for one in asked if is_handwritten(one.item)),
    )
