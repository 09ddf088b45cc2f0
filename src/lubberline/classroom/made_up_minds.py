"""Made-up students: they answer from known beliefs, with slips and blind guesses at known rates.

A belief of the catalogue answers what its wrong model computes for the item. A belief outside the
catalogue is a wrong model of its own: for each kind of question a fixed distortion of the right number,
or a fixed liking among the words, the same every time it is asked. No real person is meant.
"""

from __future__ import annotations

import re
from random import Random
from typing import NamedTuple

from lubberline.classroom.answering import ItemTable
from lubberline.classroom.predicted import Predicted, apart_by
from lubberline.errors import InputError
from lubberline.questions.drawing import random_of
from lubberline.questions.item import Item

# How often somebody whose answer is not among the options takes the nearest number; else they guess.
NEAREST_SHARE = 0.7
# Of the tolerance of a number: how far what is written scatters about what was worked out.
SCATTER_SHARE = 0.3
STRETCHES = (-1.6, -0.6, 0.4, 0.65, 1.4, 1.8)
SHIFTS_DEG = (-90.0, -50.0, -25.0, 25.0, 50.0, 90.0, 180.0)


class Mind(NamedTuple):
    """What a made-up student thinks, and how carefully.

    Attributes:
        ideas: misconceptions held, the strongest first; where two make a difference it is followed.
        slip: rate of slips.
        guess: rate of blind guesses.
        outside: laws (ids in `idea_laws`) on which a wrong idea outside the catalogue is held.
        own: tells one outside idea from another.
    """

    ideas: tuple[str, ...] = ()
    slip: float = 0.1
    guess: float = 0.15
    outside: tuple[str, ...] = ()
    own: int = 0


class Given(NamedTuple):
    """An answer: an option, or a number."""

    chosen: int = -1
    value: float | None = None


def answer(mind: Mind, table: ItemTable, random: Random) -> Given:
    """What a made-up student answers.

    Args:
        mind: what is thought.
        table: the question, with what wrong ideas answer to it.
        random: source of chance.

    Raises:
        InputError: for rates that are none.
    """
    if not (0.0 <= mind.slip <= 1.0 and 0.0 <= mind.guess <= 1.0):
        raise InputError("made-up student", f"slip {mind.slip}, guess {mind.guess}", "rates from 0 to 1")
    item = table.item
    if random.random() < mind.guess:
        return _guess(item, random)
    thought = _thought(mind, table, random)
    if random.random() < mind.slip:
        return _slipped(item, thought, random)
    if thought.value is not None:
        scatter = random.gauss(0.0, SCATTER_SHARE * (item.tolerance or 0.0))
        return Given(value=_written(item, thought.value + scatter))
    return thought


def _guess(item: Item, random: Random) -> Given:
    if item.kind != "number":
        return Given(random.randrange(len(item.options)))
    if item.circle:
        return Given(value=float(random.randrange(1, 361)))
    return Given(value=_written(item, (item.answer or 1.0) * random.uniform(-1.0, 3.0)))


def _thought(mind: Mind, table: ItemTable, random: Random) -> Given:
    item = table.item
    for idea in mind.ideas:
        if idea in table.said:
            return _believed(item, table.said[idea], random)
    if any(touched.law in mind.outside for touched in table.touched):
        return _outside(mind, item)
    return Given(value=item.answer) if item.kind == "number" else Given(item.key)


def _believed(item: Item, said: Predicted, random: Random) -> Given:
    if item.kind == "number":
        return Given(value=said.value) if said.value is not None else _guess(item, random)
    if said.options:
        return Given(random.choice(said.options))
    if said.value is not None and random.random() < NEAREST_SHARE:
        return Given(_nearest(item, said.value))
    return _guess(item, random)


def _nearest(item: Item, value: float) -> int:
    """The option whose number is nearest; the first where none has a number."""
    far = [float("inf") if one.value is None else apart_by(item, value, one.value) for one in item.options]
    return far.index(min(far))


def _outside(mind: Mind, item: Item) -> Given:
    own = random_of("outside", mind.own, item.model)
    right = item.answer if item.kind == "number" else item.options[item.key].value
    if right is not None:
        value = right + own.choice(SHIFTS_DEG) if item.circle else right * own.choice(STRETCHES)
        if item.kind == "number":
            return Given(value=_written(item, value))
        return Given(_nearest(item, value))
    wrong = [place for place in range(len(item.options)) if place != item.key]
    return Given(min(wrong, key=lambda place: _liking(mind, item, place)))


def _liking(mind: Mind, item: Item, place: int) -> float:
    """How an outside idea ranks words, whatever numbers stand in them."""
    words = re.sub(r"[\d.,°−]+", "#", item.options[place].text)
    return random_of("liking", mind.own, item.model, words).random()


def _slipped(item: Item, thought: Given, random: Random) -> Given:
    if item.kind != "number":
        others = [place for place in range(len(item.options)) if place != thought.chosen]
        return Given(random.choice(others))
    value = thought.value or 0.0
    if item.circle:
        return Given(value=_written(item, value + random.choice((-10.0, 10.0, -100.0, 100.0, 180.0))))
    return Given(value=_written(item, random.choice((2.0 * value, 0.5 * value, -value, value + 10.0))))


def _written(item: Item, value: float) -> float:
    """A number as it is written down: whole, or to one place where the tolerance is below a whole."""
    found = round(value, 1) if (item.tolerance or 1.0) < 1.0 else float(round(value))
    if item.circle:
        return found % 360.0 or 360.0
    return found + 0.0
