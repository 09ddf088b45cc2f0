"""A lesson as plain values: its steps, what each shows and asks, and the numbers to insert."""

from typing import Literal

import msgspec

from lubberline.questions.handwritten import HandwrittenItem
from lubberline.questions.item import Level
from lubberline.simulation.scenes import Library, library

StepKind = Literal["say", "show", "predict", "reveal", "explain", "quiz"]
AnswerKind = Literal["dial", "number", "options"]
COMMONEST = "commonest"


class Show(msgspec.Struct, frozen=True):
    """What the bench plays, with start and end.

    Attributes:
        scene: id of a scene of the library; '' if `bench` is given.
        bench: a state's address; '' if `scene` is given.
        from_s: time of the scene at the start; everything before it is skipped.
        to_s: time of the scene at the end, where it pauses.
        pace: bench seconds per second; 0 for the scene's pace.
    """

    scene: str = ""
    bench: str = ""
    from_s: float = 0.0
    to_s: float = 0.0
    pace: float = 0.0

    @property
    def scene_ref(self) -> str:
        """The scene's id or the bench's address."""
        return self.scene or self.bench


class ToldIdea(msgspec.Struct, frozen=True):
    """A wrong idea that a prediction can detect, and the source of its answer.

    Attributes:
        idea: id of the misconception.
        path: of a different number of the frame expected under the idea; '' for the ghost's own.
        at_s: time of that number.
        value: the number itself, if it follows from the idea; None otherwise.
        line: in the file.
    """

    idea: str
    path: str = ""
    at_s: float = 0.0
    value: float | None = None
    line: int = 0


class Choice(msgspec.Struct, frozen=True):
    """An option of a prediction.

    Attributes:
        text: as shown.
        right: whether it is marked as right.
        reason: why it is right, or the correction.
        idea: id of the wrong idea that leads here; '' for none.
        low: least value that this option is for; None if nothing is computed.
        high: greatest such value.
        line: in the file.
    """

    text: str
    right: bool
    reason: str = ""
    idea: str = ""
    low: float | None = None
    high: float | None = None
    line: int = 0


class Question(msgspec.Struct, frozen=True):
    """The question of a prediction.

    Attributes:
        answer: how the class answers: dial, number or options.
        topic: of the syllabus.
        level: recall, apply or judge.
        show: the scene with the answer, shown up to `at_s`.
        at_s: the moment asked about.
        asks: path of the number in the bench's frame, such as `shown.indicated_deg`; '' for options in words.
        tolerance: the error that still counts as right.
        unit: in words, as shown beside the answer.
        beliefs: wrong ideas whose answers are computed.
        ghosts_from_s: from which time the ghosts are shown.
        choices: the options.
        because: why the right number is right; '' for options, which have reasons.
    """

    answer: AnswerKind
    topic: str
    level: Level
    show: Show
    at_s: float
    asks: str = ""
    tolerance: float = 0.0
    unit: str = ""
    beliefs: tuple[ToldIdea, ...] = ()
    ghosts_from_s: float = 0.0
    choices: tuple[Choice, ...] = ()
    because: str = ""


class Quiz(msgspec.Struct, frozen=True):
    """Questions drawn from the bank.

    Attributes:
        models: ids of item models, one question each; empty where topics are given.
        topics: of the syllabus.
        levels: recall, apply, judge.
        count: how many are drawn from the topics.
        seed: added to the lesson's.
        own: the items written by hand among its models, or on its topics.
    """

    models: tuple[str, ...] = ()
    topics: tuple[str, ...] = ()
    levels: tuple[Level, ...] = ("recall", "apply", "judge")
    count: int = 0
    seed: int = 0
    own: tuple[HandwrittenItem, ...] = ()


class Step(msgspec.Struct, frozen=True):
    """A step of a lesson.

    Attributes:
        kind: say, show, predict, reveal, explain or quiz.
        title: as shown.
        text: Markdown, for everybody; numbers to insert are written `{{ ... }}`.
        notes: Markdown, for the instructor only.
        short: the point to remember, for the handout; '' for none.
        minutes: planned; 0 to use the estimate.
        line: of its heading in the file.
        show: what the bench plays in a show or a reveal, and in a say or an explain that names a scene; in a
            prediction it stands still at `to_s`.
        question: of a prediction.
        ghosts: of a reveal: ('commonest',) or ids of wrong ideas; of a show: ids.
        reveals: of a reveal: index of the prediction's step; -1 otherwise.
        quiz: of a quiz.
    """

    kind: StepKind
    title: str
    text: str = ""
    notes: str = ""
    short: str = ""
    minutes: float = 0.0
    line: int = 0
    show: Show | None = None
    question: Question | None = None
    ghosts: tuple[str, ...] = ()
    reveals: int = -1
    quiz: Quiz | None = None


class Number(msgspec.Struct, frozen=True):
    """A number in a text, computed by the engine, such as `{{ shown.error_deg @ rigidity 60, size 1 }}`.

    Attributes:
        written: between the braces, as in the file.
        path: of the number in the bench's frame.
        scene_ref: id of a scene, or a bench's address.
        at_s: time of the scene.
        how: 'decimals', 'size' (without its sign), 'heading' (three figures) or 'round'.
        digits: decimals; for 'round', the multiple to round to.
        line: in the file.
    """

    written: str
    path: str
    scene_ref: str
    at_s: float
    how: Literal["decimals", "size", "heading", "round"] = "decimals"
    digits: float = 1.0
    line: int = 0


class Lesson(msgspec.Struct, frozen=True):
    """A lesson.

    Attributes:
        id: a short name, from its file.
        title: as shown.
        minutes: of class, planned.
        aim: what the class can do after it.
        needs: what is required before it.
        steps: in order.
        source: name of its file, for messages.
        text: of the file.
        numbers: those to insert.
        scenes: the library of which it plays scenes.
    """

    id: str
    title: str
    minutes: float
    aim: str
    needs: str
    steps: tuple[Step, ...]
    source: str
    text: str
    numbers: tuple[Number, ...] = ()
    scenes: Library = msgspec.field(default_factory=library)

    @property
    def scene_refs(self) -> tuple[str, ...]:
        """The scenes and benches of its steps and numbers, each once."""
        shows = (show for step in self.steps for show in (step.show, step.question and step.question.show))
        told = (number.scene_ref for number in self.numbers)
        return tuple(dict.fromkeys((*(show.scene_ref for show in shows if show), *told)))


def key_of(step: int, question: int = 0) -> str:
    """The key of a lesson's question: 'step-4', or 'step-9-2' in a quiz.

    Args:
        step: index of the step, from 0; the key counts from 1.
        question: of a quiz, from 1; 0 for a prediction.
    """
    return f"step-{step + 1}-{question}" if question else f"step-{step + 1}"


def is_of_step(key: str, step: int) -> bool:
    """Whether a lesson's question belongs to a step (from 0): its prediction, or a question of its quiz."""
    own = key_of(step)
    return key == own or key.startswith(f"{own}-")


def words_of_key(key: str) -> str:
    """A question's key in words: 'step 9, question 2'; a paper's key, 'A7', is unchanged.

    Args:
        key: from `key_of` or a paper.
    """
    step, _, question = key.removeprefix("step-").partition("-")
    if not key.startswith("step-"):
        return key
    return f"step {step}, question {question}" if question else f"step {step}"
