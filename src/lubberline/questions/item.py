"""An item: one question as printed, with its key, its distractors and its expected difficulty."""

import hashlib
from typing import Literal

import msgspec

from lubberline.questions.notation import apart
from lubberline.simulation.misconceptions.idea import SPOKEN, spoken

Level = Literal["recall", "apply", "judge"]
Kind = Literal["choice", "number", "statement"]

# The letters of options, as many as a question may have.
LETTERS = "ABCDEFGH"


class Figure(msgspec.Struct, frozen=True):
    """A drawing in the stem: SVG, and in words what it shows."""

    svg: str
    alt: str


class Option(msgspec.Struct, frozen=True):
    """One option of a choice.

    Attributes:
        text: as printed.
        misconception: id of the wrong idea that leads here; '' for the key, and for an option that no idea
            with a law leads to.
        feedback: why it is right, or the correction of the wrong idea, with the numbers of this item.
        value: the value of the text in the item's unit; None for words.
        also: ids of other wrong ideas that lead here on this item; unset, and not written, without one.
    """

    text: str
    misconception: str
    feedback: str
    value: float | None = None
    also: tuple[str, ...] | msgspec.UnsetType = msgspec.UNSET

    @property
    def ideas(self) -> tuple[str, ...]:
        """Every wrong idea that leads here."""
        return tuple(idea for idea in (self.misconception, *(self.also or ())) if idea)


class Item(msgspec.Struct, frozen=True):
    """A question made by a model from drawn values.

    Attributes:
        model: id of the item model.
        topic: of the syllabus, for blueprints.
        level: recall, apply or judge.
        kind: 'choice' of options, a 'number' to write down, or a 'statement' (true or false, as a choice).
        stem: the question; it names the instrument if that matters.
        options: in natural order (numbers rising, words as the model orders them); empty for a number.
        key: index of the right option; -1 for a number.
        answer: the right number for kind 'number', in `unit`.
        tolerance: how far from `answer` an answer is still right.
        unit: of answer and option values; '' for words.
        reason: why the key is right, with the numbers.
        source: published place of the fact, or 'common practice, no source'.
        drawn: the values drawn, as name -> value.
        difficulty: expected beforehand, from 0 (everybody is right) to 1 (nobody).
        figure: a drawing, or None.
        jurisdiction: for procedure and regulation items, whose rules; otherwise ''.
        codes: the instructor's syllabus codes.
        slips: for kind 'number': the wrong numbers of named wrong ideas, with their feedback, so that
            marking can find the idea behind a wrong answer. Never printed on a paper.
        circle: whether numbers are directions, compared round the circle.
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
        """A short name, always the same for the same model and values."""
        drawn = msgspec.json.encode(sorted(self.drawn.items()))
        return f"{self.model}-{hashlib.sha256(drawn).hexdigest()[:8]}"

    def apart(self, one: float, other: float) -> float:
        """How far two numbers are apart as answers, round the circle where they are directions."""
        return apart(one, other, self.circle)


def in_own_words(item: Item) -> Item:
    """An item of the program in the school's terms."""
    if not SPOKEN.get()().terms:
        return item
    put = msgspec.structs.replace

    def said(options: tuple[Option, ...]) -> tuple[Option, ...]:
        return tuple(put(one, text=spoken(one.text), feedback=spoken(one.feedback)) for one in options)

    said_item: Item = put(
        item,
        stem=spoken(item.stem),
        reason=spoken(item.reason),
        options=said(item.options),
        slips=said(item.slips),
    )
    return said_item


# Steps of thought to the key, if they were not counted.
STEPS: dict[Level, int] = {"recall": 1, "apply": 2, "judge": 3}
# A guess without a source: it only has to order items and match parallel papers, until the data of a class
# replace it.
EASIEST = 0.15
PER_STEP = 0.09
PER_SIGN = 0.06
PER_LIVE_DISTRACTOR = 0.03
GREATEST = 0.9


def prior_difficulty(steps: int, signs: int, live: int) -> float:
    """Expected share of a class that gets it wrong.

    Args:
        steps: steps of thought to the key.
        signs: directions that have to be reversed.
        live: distractors that wrong ideas lead to (a number question has none to choose from, but as many
            possible mistakes).
    """
    found = EASIEST + PER_STEP * steps + PER_SIGN * signs + PER_LIVE_DISTRACTOR * live
    return round(min(found, GREATEST), 3)
