"""A lesson being taught: where it stands, and what may be done next, as functions of its records.

A lesson's sitting stands at a step and in a phase of it. Before the first step the class joins. A question
is open, then closed, and (in a quiz) told; what plays is made ready, played, and (in a reveal) told.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Literal

import msgspec

from lubberline.classroom.lessons.lesson import COMMONEST, Show, Step, is_of_step
from lubberline.classroom.lessons.questions import TaughtLesson
from lubberline.classroom.marking import idea_of
from lubberline.classroom.records import Answer, Asked, Sitting
from lubberline.errors import InputError
from lubberline.simulation.misconceptions import FLOWN_BY_ID

JOINING = -1
OPEN, CLOSED, SHOWN = "open", "closed", "shown"
GREATEST_GHOSTS = 3
Do = Literal["next", "back", "open", "close", "play", "tell", "end", "go"]


class Act(msgspec.Struct, frozen=True):
    """Something that the instructor may do now.

    Attributes:
        do: its name.
        words: on the button.
    """

    do: Do
    words: str


class Standing(msgspec.Struct, frozen=True):
    """Where a lesson stands.

    Attributes:
        index: of the step from 0; -1 while the class joins.
        step: the step; None while the class joins.
        phase: of the step.
        over: whether the lesson has ended.
        asked: what this step asks.
        revealed: what is revealed in this step, once it has been told; what was asked in an earlier one.
    """

    index: int
    step: Step | None
    phase: str
    over: bool
    asked: tuple[Asked, ...] = ()
    revealed: tuple[Asked, ...] = ()

    @property
    def told(self) -> bool:
        """Whether every student may see what was right."""
        return bool(self.revealed) and self.phase == SHOWN


def standing(sitting: Sitting, lesson: TaughtLesson) -> Standing:
    """Where a sitting of a lesson stands; a step that the lesson has not counts as its last."""
    steps = lesson.lesson.steps
    index = max(JOINING, min(sitting.step, len(steps) - 1))
    step = steps[index] if index >= 0 else None
    kind, revealed = (step.kind, step.reveals) if step is not None else ("", -1)
    asked = _of_step(sitting, index) if kind in ("predict", "quiz") else ()
    shown = asked if kind == "quiz" else _of_step(sitting, revealed) if revealed >= 0 else ()
    return Standing(index, step, sitting.phase, bool(sitting.closed_utc), asked, shown)


def _of_step(sitting: Sitting, index: int) -> tuple[Asked, ...]:
    return tuple(one for one in sitting.asked if is_of_step(one.key, index))


def has_ended(stands: Standing) -> bool:
    """Whether all of a step has been done, so that the next one may follow."""
    kind = stands.step.kind if stands.step else ""
    if kind in ("quiz", "reveal"):
        return stands.phase == SHOWN
    return kind not in ("predict", "show") or stands.phase != OPEN


def acts(lesson: TaughtLesson, stands: Standing) -> tuple[Act, ...]:
    """What may be done now; the first is what comes next in the order of the lesson."""
    if stands.over:
        return ()
    first = _main(lesson.lesson.steps, stands)
    kind = stands.step.kind if stands.step else ""
    others = (
        (first.do not in ("next", "end"), Act("next", "Pass over the rest of this step")),
        (kind in ("predict", "quiz") and stands.phase == CLOSED, Act("open", "Take answers again")),
        (kind in ("show", "reveal") and stands.phase != OPEN, Act("open", "Make it ready again")),
        (kind == "reveal" and stands.phase == OPEN, Act("tell", "Tell the class without playing")),
        (stands.index >= 0, Act("back", "Back")),
        (first.do != "end", Act("end", "End the lesson")),
    )
    return (first, *(act for may, act in others if may))


def _main(steps: Sequence[Step], stands: Standing) -> Act:
    kind = stands.step.kind if stands.step else ""
    if not has_ended(stands):
        is_open = stands.phase == OPEN
        if kind in ("predict", "quiz"):
            return Act("close", "Close the answers") if is_open else Act("tell", "Show what was right")
        return Act("play", "Play it") if is_open else Act("tell", "Tell the class")
    if stands.index + 1 >= len(steps):
        return Act("end", "End the lesson")
    return Act("next", "Begin the lesson" if stands.index < 0 else "Next step")


def moved(lesson: TaughtLesson, stands: Standing, do: Do, to: int = JOINING) -> tuple[int, str]:
    """The step and phase after something was done; 'end' leaves both.

    Raises:
        InputError: it cannot be done now.
    """
    steps = lesson.lesson.steps
    if stands.over:
        raise InputError("lesson", "it has ended", "begin another one")
    if do == "go":
        if not JOINING <= to < len(steps):
            raise InputError("step", f"there is no step {to + 1}", f"1 to {len(steps)}")
        return to, _entered(stands, to)
    if do not in {act.do for act in acts(lesson, stands)}:
        raise InputError("lesson", f"'{do}' cannot be done now", "look at where the lesson stands")
    if do in ("next", "back"):
        index = stands.index + (1 if do == "next" else -1)
        if index >= len(steps):
            raise InputError("lesson", "this is the last step", "end the lesson")
        return index, _entered(stands, index)
    phases = {"open": OPEN, "close": CLOSED, "play": CLOSED, "tell": SHOWN, "end": stands.phase}
    return stands.index, phases[do]


def _entered(stands: Standing, index: int) -> str:
    # Whoever goes back has shown what comes after: no more answers unless they are asked for again.
    return OPEN if index > stands.index else CLOSED


def commonest(asked: Asked, answers: Iterable[Answer]) -> tuple[tuple[str, int], ...]:
    """The wrong ideas behind the answers to a question with how many hold each, the commonest first."""
    ideas = Counter(idea_of(answer, asked.item) for answer in answers if answer.key == asked.key)
    del ideas[""]
    return tuple(sorted(ideas.items(), key=lambda one: (-one[1], one[0])))


def ghosts_of(stands: Standing, answers: Sequence[Answer]) -> tuple[tuple[str, int], ...]:
    """The wrong ideas that fly beside in a step, each with how many of the class hold it.

    A reveal takes the commonest of this class that can be flown, or those that the lesson names; a show
    those that the lesson names.
    """
    step = stands.step
    if step is None:
        return ()
    counted = dict(commonest(stands.revealed[0], answers)) if stands.revealed else {}
    if step.ghosts == (COMMONEST,) or (step.kind == "reveal" and not step.ghosts):
        flown = [(idea, count) for idea, count in counted.items() if idea in FLOWN_BY_ID]
        return tuple(flown[:GREATEST_GHOSTS])
    return tuple((idea, counted.get(idea, 0)) for idea in step.ghosts if idea in FLOWN_BY_ID)


def shown_in(lesson: TaughtLesson, stands: Standing) -> Show | None:
    """What the bench plays in a step: its own, or for a reveal that of its prediction.

    In a prediction the bench stands meanwhile, at the end of what is given.
    """
    step = stands.step
    if step is None or step.kind not in ("show", "reveal", "predict"):
        return None
    if step.show is not None or step.reveals < 0:
        return step.show
    question = lesson.lesson.steps[step.reveals].question
    return question.show if question else None


def ghosts_from_s(lesson: TaughtLesson, stands: Standing) -> float:
    """From when on of a scene the wrong ideas fly beside."""
    step = stands.step
    question = lesson.lesson.steps[step.reveals].question if step and step.reveals >= 0 else None
    return question.ghosts_from_s if question else 0.0
