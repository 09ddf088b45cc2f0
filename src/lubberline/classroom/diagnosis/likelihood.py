"""What each idea answers to an item, and how likely an answer is for what a student thinks.

An item shows at most a few wrong options, and leaves out those that collide. For an item of the bank, its
model is run again, so that wrong answers that are not among the options are known too, and an option counts
for an idea only if the law of today leads there. Of a lesson's prediction only the options and slips are
known whose ideas were flown in its scene. What an author alone says of an option is no evidence: of a
question written by hand none is known.

An answer is a blind guess at one rate, otherwise a slip at another, otherwise what the student thinks. If two
ideas are held that both make a difference to an item, the answer is that of either, with equal chances. If an
idea leads to none of the options, the student takes the nearest number or guesses, with equal chances. A
student with a wrong idea that is not in the catalogue takes any answer.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from lubberline.arrays import Floats
from lubberline.classroom.lessons.scenes import GHOST_PATHS
from lubberline.questions.bank import models
from lubberline.questions.generate import WrongAnswer, ideas_today, in_unit_of, wrong_answers
from lubberline.questions.handwritten import is_handwritten
from lubberline.questions.item import Item, Option
from lubberline.questions.slips import SLIPS
from lubberline.simulation.misconceptions import BY_ID, FLOWN_BY_ID, LAW_BY_ID


class IdeaAnswer(NamedTuple):
    """The answer of a student with an idea, if it differs from the right one.

    Attributes:
        options: indices of the options with this answer; empty if there is none, and for numbers.
        value: the answer in the item's unit; None for words.
        text: as written; '' if unknown.
    """

    options: tuple[int, ...]
    value: float | None
    text: str


def idea_answers(item: Item) -> dict[str, IdeaAnswer]:
    """By misconception of the catalogue: its answer, if the idea makes a difference to this item."""
    found = _of_options(item)
    if item.kind == "statement" or is_handwritten(item):
        # One option is wrong, and it bears every idea that leads to it.
        return found
    for said in _of_model(item):
        if said.idea not in BY_ID or said.idea in found or said.is_key:
            continue
        options = () if item.kind == "number" else _same(item, said)
        if item.key in options:
            continue
        found[said.idea] = IdeaAnswer(options, said.value, said.text)
    return found


def slips_of(item: Item) -> dict[int, str]:
    """The options that a slip leads to, by index in options (for a number, in slips)."""
    return {
        place: next(idea for idea in ideas if idea in SLIPS)
        for place, ideas in enumerate(proved_ideas(item))
        if any(idea in SLIPS for idea in ideas)
    }


def proved_ideas(item: Item) -> tuple[tuple[str, ...], ...]:
    """The ideas of each option (of a number, each slip) that a law leads to, on this very item."""
    shown = item.slips if item.kind == "number" else item.options
    if is_handwritten(item):
        return ((),) * len(shown)
    if "asks" in item.drawn:
        # A lesson's prediction: ghosts were flown for these when it was made.
        flies = str(item.drawn["asks"]).removeprefix("second.") in GHOST_PATHS
        return tuple(tuple(idea for idea in one.ideas if flies and idea in FLOWN_BY_ID) for one in shown)
    model = models().get(item.model)
    if model is None:
        return tuple(option.ideas for option in shown)
    try:
        return ideas_today(model, item)
    except (KeyError, TypeError, ValueError):
        # The item was locked by an earlier version and has values that this version does not know.
        return ((),) * len(shown)


def _of_options(item: Item) -> dict[str, IdeaAnswer]:
    found: dict[str, IdeaAnswer] = {}
    shown: tuple[Option, ...] = item.slips if item.kind == "number" else item.options
    for place, (option, ideas) in enumerate(zip(shown, proved_ideas(item), strict=True)):
        if item.kind != "number" and place == item.key:
            continue
        places = (place,) if item.kind != "number" else ()
        for idea in ideas:
            if idea in BY_ID:
                before = found[idea].options if idea in found else ()
                found[idea] = IdeaAnswer((*before, *places), option.value, option.text)
    return found


def _of_model(item: Item) -> tuple[WrongAnswer, ...]:
    model = models().get(item.model)
    if model is None:
        return ()
    try:
        return wrong_answers(model, item)
    except (KeyError, TypeError, ValueError):
        # The item was locked by an earlier version and has values that this version does not know.
        return ()


def _same(item: Item, said: WrongAnswer) -> tuple[int, ...]:
    """The options that are the same as a wrong answer: in words, or near it in value."""
    apart = in_unit_of(item, models()[item.model].apart)
    return tuple(
        place
        for place, option in enumerate(item.options)
        if option.text == said.text
        or (
            said.value is not None
            and option.value is not None
            and item.apart(said.value, option.value) < 0.5 * apart
        )
    )


# A slip in working or reading leads to its own option more often than to the option of a wrong idea.
SLIP_WEIGHT = 2.0
NEAREST_SHARE = 0.5
# How far answers of the same thought scatter, as a share of the tolerance of a number.
READING_SHARE = 0.5
READING_WITHOUT_TOLERANCE = 1.0
# Share of guessed numbers beyond all numbers that a student could calculate.
FAR_SHARE = 0.1


class Noise(NamedTuple):
    """Rates at which answers are not what the student thinks, each of shape (levels,)."""

    slip: Floats
    guess: Floats


class Touched(NamedTuple):
    """A law in an item, with the ideas that make a difference there, in the order of its states 1, 2, ...

    State 0 is the truth or an idea that makes no difference; the last is some other wrong idea.
    """

    law: str
    ideas: tuple[str, ...]


class ItemTable(NamedTuple):
    """What an item can show.

    Attributes:
        item: the question.
        touched: the laws, in the order of the axes.
        said: by idea, its answer.
        base: for a choice, (states of the first law, ..., options): answers as thought; otherwise empty.
        slip: for a choice, the same for slips.
    """

    item: Item
    touched: tuple[Touched, ...]
    said: dict[str, IdeaAnswer]
    base: Floats
    slip: Floats

    def signature(self, idea: str) -> tuple[float, ...]:
        """The answer of an idea, as numbers that are equal for ideas that this item cannot tell apart."""
        if idea not in self.said:
            return ()
        if self.item.kind != "number":
            return tuple(np.round(_vector(self.item, self.said[idea]), 9).tolist())
        value = self.said[idea].value
        return (np.inf,) if value is None else (round(value, 6),)


def table_of(item: Item) -> ItemTable:
    """What an item can show about each law that it touches."""
    said = idea_answers(item)
    by_law: dict[str, list[str]] = {}
    for idea in said:
        by_law.setdefault(BY_ID[idea].law, []).append(idea)
    order = list(LAW_BY_ID)
    touched = tuple(Touched(law, tuple(by_law[law])) for law in sorted(by_law, key=order.index))
    if item.kind == "number":
        return ItemTable(item, touched, said, np.empty(0), np.empty(0))
    base = _choice_base(item, touched, said)
    return ItemTable(item, touched, said, base, _choice_slips(item, base))


def chances(table: ItemTable, chosen: int, value: float | None, noise: Noise) -> Floats:
    """The likelihood of one answer, (levels of noise, states of the first law, ...)."""
    item = table.item
    if item.kind == "number":
        assert value is not None
        base, slip, guess = _number_parts(table, value)
    else:
        base, slip = table.base[..., chosen], table.slip[..., chosen]
        guess = 1.0 / len(item.options)
    shape = (-1, *[1] * len(table.touched))
    slips, guesses = noise.slip.reshape(shape), noise.guess.reshape(shape)
    found: Floats = guesses * guess + (1.0 - guesses) * ((1.0 - slips) * base + slips * slip)
    return found


def _vector(item: Item, said: IdeaAnswer) -> Floats:
    """The shares of the options among the answers of students who think so."""
    count = len(item.options)
    found = np.zeros(count)
    if said.options:
        found[list(said.options)] = 1.0 / len(said.options)
        return found
    found += 1.0 / count
    values = [option.value for option in item.options]
    if said.value is not None and all(other is not None for other in values):
        far = [item.apart(said.value, other) for other in values if other is not None]
        found *= 1.0 - NEAREST_SHARE
        found[int(np.argmin(far))] += NEAREST_SHARE
    return found


def combined(parts: Sequence[Sequence[Floats | float]], truth: Floats | float) -> Floats:
    """Answers for every combination of states: of any wrong idea held, with equal chances, or of the truth.

    Args:
        parts: for each law the answers of its wrong states (those after state 0).
        truth: the answers of the truth, with the same last axis as the answers.
    """
    tail = np.ndim(truth)
    shape = tuple(len(wrong) + 1 for wrong in parts)
    total = np.zeros((*shape, *np.shape(truth)))
    count = np.zeros((*shape, *[1] * tail))
    for axis, wrong in enumerate(parts):
        own = np.stack([np.zeros(np.shape(truth)), *(np.asarray(one) for one in wrong)])
        there = np.array([0.0, *[1.0] * len(wrong)])
        lead = [1] * len(parts)
        lead[axis] = len(own)
        total = total + own.reshape(*lead, *np.shape(truth))
        count = count + there.reshape(*lead, *[1] * tail)
    found: Floats = np.where(count > 0.0, total / np.maximum(count, 1.0), truth)
    return found


def _choice_base(item: Item, touched: Sequence[Touched], said: dict[str, IdeaAnswer]) -> Floats:
    count = len(item.options)
    truth = np.zeros(count)
    truth[item.key] = 1.0
    other = np.full(count, 1.0 / count)
    return combined([[*(_vector(item, said[idea]) for idea in law.ideas), other] for law in touched], truth)


def _choice_slips(item: Item, base: Floats) -> Floats:
    weights = np.ones(len(item.options))
    weights[list(slips_of(item))] = SLIP_WEIGHT
    away = weights * (1.0 - base)
    found: Floats = away / away.sum(axis=-1, keepdims=True)
    return found


def _number_parts(table: ItemTable, value: float) -> tuple[Floats, Floats, float]:
    """Densities of a number: as thought, by a slip, by a guess."""
    item = table.item
    broad = _broad(table, value)
    truth = _near(item, value, item.answer)
    parts = [
        [*(_near(item, value, table.said[idea].value, broad) for idea in law.ideas), broad]
        for law in table.touched
    ]
    slips = [item.slips[place].value for place in slips_of(item)]
    slip = broad
    if slips:
        slip = 0.5 * broad + 0.5 * sum(_near(item, value, one, broad) for one in slips) / len(slips)
    return combined(parts, truth), np.asarray(slip), broad


def reading_of(item: Item) -> float:
    """How far answers of the same thought scatter, in the item's unit (standard deviation)."""
    return READING_SHARE * item.tolerance if item.tolerance else READING_WITHOUT_TOLERANCE


def _near(item: Item, value: float, thought: float | None, broad: float = 0.0) -> float:
    if thought is None:
        return broad
    spread = reading_of(item)
    far = item.apart(value, thought) / spread
    return float(np.exp(-0.5 * far * far) / (spread * np.sqrt(2.0 * np.pi)))


def _broad(table: ItemTable, value: float) -> float:
    """The density of a guessed number."""
    item = table.item
    if item.circle:
        return 1.0 / 360.0
    known = [item.answer or 0.0, *(said.value for said in table.said.values() if said.value is not None)]
    known += [option.value for option in item.slips if option.value is not None]
    reach = 3.0 * reading_of(item) + 0.5 * (max(known) - min(known))
    low, high = min(known) - reach, max(known) + reach
    width = high - low
    beyond = max(low - value, value - high, 0.0) / width
    tail = 1.0 / (np.pi * width * (1.0 + beyond * beyond))
    return float((1.0 - FAR_SHARE) * (low <= value <= high) / width + FAR_SHARE * tail)
