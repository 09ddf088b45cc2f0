"""A lesson being taught: its state and the possible actions, as functions of its records.

A lesson's sitting is at a step, in a phase of it. Before the first step the class joins. A question
is open, then closed, and (in a quiz) its result shown; a scene is ready, played, and (in a reveal) explained.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

import msgspec

from lubberline.classroom.lessons.lesson import COMMONEST, Show, Step, is_of_step
from lubberline.classroom.lessons.order import Order, orders_of
from lubberline.classroom.lessons.questions import TaughtLesson
from lubberline.classroom.marking import idea_of
from lubberline.classroom.records import Answer, Asked, Sitting
from lubberline.errors import InputError
from lubberline.simulation.misconceptions import FLOWN_BY_ID

JOINING = -1
OPEN, CLOSED, SHOWN = "open", "closed", "shown"
GREATEST_GHOSTS = 3
Stage = Literal["ready", "playing", "done"]
_STAGES: dict[str, Stage] = {OPEN: "ready", CLOSED: "playing", SHOWN: "done"}
Do = Literal["next", "back", "open", "close", "play", "tell", "end", "go", "count"]


class Act(msgspec.Struct, frozen=True):
    """A possible action of the instructor.

    Attributes:
        do: its name.
        words: on the button.
    """

    do: Do
    words: str


class Standing(msgspec.Struct, frozen=True):
    """The state of a lesson.

    Attributes:
        index: of the step from 0; -1 while the class joins.
        step: the step; None while the class joins.
        phase: of the step.
        over: whether the lesson has ended.
        asked: the questions of this step.
        revealed: the questions whose result this step has shown, which may be from an earlier step.
        orders: in which options stand, by question.
        picture: the step whose scene the bench shows: this one, or the one that a talk is about, if any.
        pictured: the questions whose result that step has shown.
        stage: of the bench: before its part of the scene, playing it, or at its end.
    """

    index: int
    step: Step | None
    phase: str
    over: bool
    asked: tuple[Asked, ...] = ()
    revealed: tuple[Asked, ...] = ()
    orders: Mapping[str, Order] = {}
    picture: Step | None = None
    pictured: tuple[Asked, ...] = ()
    stage: Stage = "ready"

    def order_of(self, asked: Asked) -> Order:
        """The options of a question in the order in which they stand; empty for a number."""
        return self.orders.get(asked.key, ())

    @property
    def told(self) -> bool:
        """Whether students may see the right answers."""
        return bool(self.revealed) and self.phase == SHOWN


def standing(sitting: Sitting, lesson: TaughtLesson) -> Standing:
    """The state of a lesson's sitting; a step beyond the last counts as the last."""
    steps = lesson.lesson.steps
    index = max(JOINING, min(sitting.step, len(steps) - 1))
    step = steps[index] if index >= 0 else None
    kind, revealed = (step.kind, step.reveals) if step is not None else ("", -1)
    asked = _of_step(sitting, index) if kind in ("predict", "quiz") else ()
    shown = asked if kind == "quiz" else _of_step(sitting, revealed) if revealed >= 0 else ()
    picture, stage = _picture(steps, index, sitting.phase)
    behind = picture.reveals if picture is not None else -1
    return Standing(
        index=index,
        step=step,
        phase=sitting.phase,
        over=bool(sitting.closed_utc),
        asked=asked,
        revealed=shown,
        orders=orders_of(sitting),
        picture=picture,
        pictured=_of_step(sitting, behind) if behind >= 0 else (),
        stage=stage,
    )


def _picture(steps: Sequence[Step], index: int, phase: str) -> tuple[Step | None, Stage]:
    """The step whose scene the bench shows, and where in it.

    While somebody talks, the bench shows the scene that the step names, or stays where it was left; before
    the first scene it waits at the start of the one to come, without its ghosts.
    """
    if index < 0 or steps[index].kind == "quiz":
        return None, "ready"
    step = steps[index]
    if step.kind not in ("say", "explain"):
        return step, "done" if step.kind == "predict" else _STAGES[phase]
    if step.show is not None:
        return step, "playing"
    before = next((one for one in reversed(steps[:index]) if one.show is not None), None)
    if before is not None:
        return before, "done"
    after = next((one for one in steps[index:] if one.show is not None), None)
    if after is None:
        return None, "ready"
    return msgspec.structs.replace(after, ghosts=()), "done" if after.kind == "predict" else "ready"


def _of_step(sitting: Sitting, index: int) -> tuple[Asked, ...]:
    return tuple(one for one in sitting.asked if is_of_step(one.key, index))


def has_ended(stands: Standing) -> bool:
    """Whether a step is complete, so that the next one may follow."""
    kind = stands.step.kind if stands.step else ""
    if kind in ("quiz", "reveal"):
        return stands.phase == SHOWN
    return kind not in ("predict", "show") or stands.phase != OPEN


def acts(lesson: TaughtLesson, stands: Standing) -> tuple[Act, ...]:
    """The possible actions; the first is the next one in the order of the lesson."""
    if stands.over:
        return ()
    first = _main(lesson.lesson.steps, stands)
    kind = stands.step.kind if stands.step else ""
    others = (
        (first.do not in ("next", "end"), Act("next", "Skip the rest of this step")),
        (kind in ("predict", "quiz") and stands.phase == CLOSED, Act("open", "Reopen the answers")),
        (kind in ("show", "reveal") and stands.phase != OPEN, Act("open", "Reset")),
        (kind == "reveal" and stands.phase == OPEN, Act("tell", "Show the result without playing")),
        (stands.index >= 0, Act("back", "Back")),
        (first.do != "end", Act("end", "End the lesson")),
    )
    return (first, *(act for may, act in others if may))


def _main(steps: Sequence[Step], stands: Standing) -> Act:
    kind = stands.step.kind if stands.step else ""
    if not has_ended(stands):
        is_open = stands.phase == OPEN
        if kind in ("predict", "quiz"):
            return Act("close", "Close answers") if is_open else Act("tell", "Show the right answers")
        return Act("play", "Play") if is_open else Act("tell", "Show the result")
    if stands.index + 1 >= len(steps):
        return Act("end", "End the lesson")
    return Act("next", "Start the lesson" if stands.index < 0 else "Next step")


def moved(lesson: TaughtLesson, stands: Standing, do: Do, to: int = JOINING) -> tuple[int, str]:
    """The step and phase after an action; 'end' and 'count' (a countdown) leave both unchanged.

    Raises:
        InputError: it is not possible now.
    """
    steps = lesson.lesson.steps
    if stands.over:
        raise InputError("lesson", "it has ended", "start another one")
    if do == "go":
        if not JOINING <= to < len(steps):
            raise InputError("step", f"there is no step {to + 1}", f"1 to {len(steps)}")
        return to, _entered(stands, to)
    if do == "count":
        if not stands.asked or stands.phase != OPEN:
            raise InputError("countdown", "no question is open", "open one first")
        return stands.index, stands.phase
    if do not in {act.do for act in acts(lesson, stands)}:
        raise InputError("lesson", f"'{do}' cannot be done now", "look at the present step")
    if do in ("next", "back"):
        index = stands.index + (1 if do == "next" else -1)
        if index >= len(steps):
            raise InputError("lesson", "this is the last step", "end the lesson")
        return index, _entered(stands, index)
    phases = {"open": OPEN, "close": CLOSED, "play": CLOSED, "tell": SHOWN, "end": stands.phase}
    return stands.index, phases[do]


def _entered(stands: Standing, index: int) -> str:
    # After going back, answers stay closed until reopened, as the class has seen what follows.
    return OPEN if index > stands.index else CLOSED


def commonest(asked: Asked, answers: Iterable[Answer]) -> tuple[tuple[str, int], ...]:
    """The wrong ideas behind the answers to a question with how many hold each, the most common first."""
    ideas = Counter(idea_of(answer, asked.item) for answer in answers if answer.key == asked.key)
    del ideas[""]
    return tuple(sorted(ideas.items(), key=lambda one: (-one[1], one[0])))


def ghosts_of(stands: Standing, answers: Sequence[Answer]) -> tuple[tuple[str, int], ...]:
    """The ghosts of the step that the bench shows, with how many in the class hold each idea.

    A reveal uses the most common of this class that can be flown, or those named in the lesson; a show
    those named in the lesson.
    """
    step = stands.picture
    if step is None:
        return ()
    counted = dict(commonest(stands.pictured[0], answers)) if stands.pictured else {}
    if step.ghosts == (COMMONEST,) or (step.kind == "reveal" and not step.ghosts):
        flown = [(idea, count) for idea, count in counted.items() if idea in FLOWN_BY_ID]
        return tuple(flown[:GREATEST_GHOSTS])
    return tuple((idea, counted.get(idea, 0)) for idea in step.ghosts if idea in FLOWN_BY_ID)


def shown_in(lesson: TaughtLesson, stands: Standing) -> Show | None:
    """What the bench plays: the step's own scene, or for a reveal that of its prediction.

    In a prediction the bench stands still at the end of its part.
    """
    step = stands.picture
    if step is None:
        return None
    if step.show is not None or step.reveals < 0:
        return step.show
    question = lesson.lesson.steps[step.reveals].question
    return question.show if question else None


def ghosts_from_s(lesson: TaughtLesson, stands: Standing) -> float:
    """From which time of the scene the ghosts are shown."""
    step = stands.picture
    question = lesson.lesson.steps[step.reveals].question if step and step.reveals >= 0 else None
    return question.ghosts_from_s if question else 0.0
