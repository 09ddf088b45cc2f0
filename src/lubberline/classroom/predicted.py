"""What each wrong idea answers to an item: an option, a number, the same as the truth, or none of these.

An item shows at most a few wrong options, and leaves out those that collide. For an item of the bank its
model is asked again, so that a wrong answer that does not stand among the options is known as well. Of
any other item (a lesson's prediction, a question written by hand) the options and slips are all there is.
"""

from __future__ import annotations

from typing import NamedTuple

from lubberline.classroom.idea_laws import LAW_OF
from lubberline.questions.bank import models
from lubberline.questions.generate import Believed, all_believed
from lubberline.questions.item import Item, Option
from lubberline.questions.slips import SLIPS


class Predicted(NamedTuple):
    """What somebody with an idea answers, where that differs from the truth.

    Attributes:
        options: indices of the options that are it; empty where it is none of them, and for numbers.
        value: what it comes to in the item's unit; None for words.
        text: as written; '' where it is not known.
    """

    options: tuple[int, ...]
    value: float | None
    text: str


def predicted(item: Item) -> dict[str, Predicted]:
    """By misconception of the catalogue: its answer, where the idea makes a difference to this item."""
    found = _of_options(item)
    for said in _of_model(item):
        if said.idea not in LAW_OF or said.idea in found or said.is_key:
            continue
        options = () if item.kind == "number" else _same(item, said)
        if item.key in options:
            continue
        found[said.idea] = Predicted(options, said.value, said.text)
    return found


def slips_of(item: Item) -> dict[int, str]:
    """The options that a slip of working leads to, by index in options (in slips, for a number)."""
    shown = item.slips if item.kind == "number" else item.options
    return {
        place: option.misconception for place, option in enumerate(shown) if option.misconception in SLIPS
    }


def _of_options(item: Item) -> dict[str, Predicted]:
    found: dict[str, Predicted] = {}
    shown: tuple[Option, ...] = item.slips if item.kind == "number" else item.options
    for place, option in enumerate(shown):
        idea = option.misconception
        if idea not in LAW_OF or (item.kind != "number" and place == item.key):
            continue
        places = (place,) if item.kind != "number" else ()
        if idea in found:
            places = (*found[idea].options, *places)
        found[idea] = Predicted(places, option.value, option.text)
    return found


def _of_model(item: Item) -> tuple[Believed, ...]:
    model = models().get(item.model)
    if model is None:
        return ()
    try:
        return all_believed(model, item)
    except (KeyError, TypeError, ValueError):
        # The item was locked by an earlier version, whose values this one does not know.
        return ()


def _same(item: Item, said: Believed) -> tuple[int, ...]:
    """The options that cannot be told from a wrong answer: the same words, or near it in value."""
    apart = models()[item.model].apart
    return tuple(
        place
        for place, option in enumerate(item.options)
        if option.text == said.text
        or (
            said.value is not None
            and option.value is not None
            and apart_by(item, said.value, option.value) < 0.5 * apart
        )
    )


def apart_by(item: Item, one: float, other: float) -> float:
    """How far two values are apart in the item's unit, round the circle for directions."""
    return abs((one - other + 180.0) % 360.0 - 180.0) if item.circle else abs(one - other)
