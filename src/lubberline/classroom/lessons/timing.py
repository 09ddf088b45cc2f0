"""The estimated time of each step of a lesson, compared with the plan.

The measures are common practice, no source: 130 words a minute aloud, 75 seconds for a class to think and
answer, a minute to talk about what was shown, a minute for the board and for questions after an explanation.
"""

import re

import msgspec

from lubberline.classroom.lessons.lesson import Lesson, Show, Step
from lubberline.classroom.lessons.scenes import scene_of
from lubberline.simulation.live.orders import Pace
from lubberline.simulation.scenes import Library

WORDS_A_MINUTE = 130.0
PREDICT_MIN = 75.0 / 60.0
DISCUSS_MIN = 1.0
QUESTIONS_MIN = 1.0
QUIZ_MIN = 75.0 / 60.0
# How far a plan may be from the estimate without a remark, as a share and in minutes.
PLAN_SHARE, PLAN_MIN = 0.35, 0.75
_NOT_SPOKEN = re.compile(r"[*_`#>|]|\]\([^)]*\)|\[|^\s*[-+]\s", re.MULTILINE)


class Timed(msgspec.Struct, frozen=True):
    """The time of a step.

    Attributes:
        step: its number, from 1.
        kind: of the step.
        title: of the step.
        spoken_min: its words read aloud.
        shown_min: the scene, at its pace.
        class_min: thinking, answering, talking.
        planned_min: as planned; the estimate if there is no plan.
    """

    step: int
    kind: str
    title: str
    spoken_min: float
    shown_min: float
    class_min: float
    planned_min: float

    @property
    def estimated_min(self) -> float:
        """The total."""
        return self.spoken_min + self.shown_min + self.class_min

    @property
    def plan_is_off(self) -> bool:
        """Whether the plan is far from the estimate."""
        return abs(self.planned_min - self.estimated_min) > max(PLAN_MIN, PLAN_SHARE * self.estimated_min)


def words_in(text: str) -> int:
    """The spoken words of a text in Markdown."""
    return len(_NOT_SPOKEN.sub(" ", text).split())


def show_seconds(show: Show, scenes: Library) -> float:
    """How long the class watches a scene of a library, at its pace or a given one."""
    if show.pace:
        return (show.to_s - show.from_s) / show.pace
    scene = scene_of(show.scene_ref, show.scene_ref, scenes)
    turns = [(event.at_s, event.order.factor) for event in scene.events if isinstance(event.order, Pace)]
    seconds, since, pace = 0.0, 0.0, 1.0
    for at_s, factor in [*turns, (show.to_s, 1.0)]:
        until = min(at_s, show.to_s)
        seconds += max(until - max(since, show.from_s), 0.0) / pace
        since, pace = max(since, until), factor
    return seconds


def timed(lesson: Lesson) -> tuple[Timed, ...]:
    """The time of each step.

    Args:
        lesson: with its numbers inserted (`TaughtLesson.lesson`), as they count as spoken words.
    """
    return tuple(_timed(number, step, lesson.scenes) for number, step in enumerate(lesson.steps, start=1))


def _timed(number: int, step: Step, scenes: Library) -> Timed:
    words = words_in(step.text)
    if step.question is not None:
        words += sum(words_in(choice.text) for choice in step.question.choices)
    shown = show_seconds(step.show, scenes) / 60.0 if step.show and step.kind in ("show", "reveal") else 0.0
    together = {
        "predict": PREDICT_MIN,
        "reveal": DISCUSS_MIN,
        "show": DISCUSS_MIN / 2.0,
        "explain": QUESTIONS_MIN,
        "quiz": QUIZ_MIN * (step.quiz.count if step.quiz else 0),
    }.get(step.kind, 0.0)
    spoken = words / WORDS_A_MINUTE
    planned = step.minutes or spoken + shown + together
    return Timed(number, step.kind, step.title, spoken, shown, together, planned)
