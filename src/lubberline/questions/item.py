"""An item: one question as printed, with its key, its distractors, and how hard it is thought to be."""

import hashlib
from typing import Literal

import msgspec

from lubberline.questions.notation import apart

Level = Literal["recall", "apply", "judge"]
Kind = Literal["choice", "number", "statement"]

# The letters of options, as many as a question may have.
LETTERS = "ABCDEFGH"


class Figure(msgspec.Struct, frozen=True):
    """A drawing that belongs to the stem: SVG, and in words what a reader must get from it."""

    svg: str
    alt: str


class Option(msgspec.Struct, frozen=True):
    """One option of a choice.

    Attributes:
        text: as printed.
        misconception: id of the wrong idea that leads here; '' for the key.
        feedback: why it is right, or the sentence that mends the wrong idea, with the numbers of this item.
        value: what the text stands for in the item's unit; None for words.
    """

    text: str
    misconception: str
    feedback: str
    value: float | None = None


class Item(msgspec.Struct, frozen=True):
    """A question made by a model from drawn values.

    Attributes:
        model: id of the item model.
        topic: of the syllabus, for blueprints.
        level: recall, apply or judge.
        kind: 'choice' of options, a 'number' to write down, or a 'statement' (true or false, as a choice).
        stem: the question; states the instrument where that matters.
        options: in natural order (numbers rising, words as the model orders them); empty for a number.
        key: index of the right option; -1 for a number.
        answer: the right number for kind 'number', in `unit`.
        tolerance: how far from `answer` is still right.
        unit: of answer and option values; '' for words.
        reason: why the key is right, with the numbers put in.
        source: published place of the fact, or 'common practice, no source'.
        drawn: the values drawn, as name -> value.
        difficulty: prior expectation from 0 (everybody) to 1 (nobody gets it).
        figure: a drawing, or None.
        jurisdiction: for procedure and regulation items, whose rules; '' otherwise.
        codes: the instructor's syllabus codes.
        slips: for kind 'number': the wrong numbers that named wrong ideas lead to, with their feedback, so
            that a marker can tell which idea a wrong answer came from. Never printed on a paper.
        circle: whether numbers are directions, counted round the circle.
    """

    model: str
    topic: str
    level: Level
    kind: Kind
    stem: str
    options: tuple[Option, ...]
    key: int
    reason: str
    source: str
    drawn: dict[str, float | str]
    difficulty: float
    answer: float | None = None
    tolerance: float | None = None
    unit: str = ""
    figure: Figure | None = None
    jurisdiction: str = ""
    codes: tuple[str, ...] = ()
    slips: tuple[Option, ...] = ()
    circle: bool = False

    @property
    def id(self) -> str:
        """A short name that is the same for the same model and values."""
        drawn = msgspec.json.encode(sorted(self.drawn.items()))
        return f"{self.model}-{hashlib.sha256(drawn).hexdigest()[:8]}"

    def apart(self, one: float, other: float) -> float:
        """How far two numbers are apart as answers, round the circle where they are directions."""
        return apart(one, other, self.circle)


# Steps of thought to the key, where nobody counted them.
STEPS: dict[Level, int] = {"recall": 1, "apply": 2, "judge": 3}
# A stated guess, no source: it has only to order items and to let parallel papers be matched, until the data
# of a class replace it.
EASIEST = 0.15
PER_STEP = 0.09
PER_SIGN = 0.06
PER_LIVE_DISTRACTOR = 0.03
GREATEST = 0.9


def prior_difficulty(steps: int, signs: int, live: int) -> float:
    """Expected share of a class that gets it wrong.

    Args:
        steps: steps of thought to the key.
        signs: directions that have to be turned over.
        live: distractors that somebody's idea leads to (a number to write down has none to choose from,
            but as many to fall for).
    """
    found = EASIEST + PER_STEP * steps + PER_SIGN * signs + PER_LIVE_DISTRACTOR * live
    return round(min(found, GREATEST), 3)
