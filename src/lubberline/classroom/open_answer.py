"""A question of the bank asked without its options: the student turns a dial or writes a number.

A number tells more than a choice. No option helps or misleads, a guess hardly ever hits it, and what every
wrong idea comes to can be told, not only what the options had room for.
"""

from __future__ import annotations

import msgspec

from lubberline.questions import forms
from lubberline.questions.bank import models
from lubberline.questions.forms import Form
from lubberline.questions.item import Item

OPEN = ("asked", "open")
# By how a model writes its numbers: what the student is told of how to answer.
HOW: tuple[tuple[Form, str], ...] = (
    (forms.HEADING, "(Answer with a direction, 001 to 360.)"),
    (forms.RATE, "(Answer in degrees an hour, with a minus where the reading falls.)"),
    (forms.CHANGE, "(Answer in degrees, with a minus where the reading falls.)"),
    (forms.CHANGE_TENTHS, "(Answer in degrees, with a minus where the reading falls.)"),
    (forms.ERROR, "(Answer in degrees, with a minus where it reads too low.)"),
    (forms.ERROR_TENTHS, "(Answer in degrees, with a minus where it reads too low.)"),
    (forms.LATITUDE, "(Answer in degrees of latitude, with a minus for south.)"),
    (forms.EAST_WEST, "(Answer in degrees, with a minus for west.)"),
    (forms.DEGREES, "(Answer in degrees.)"),
    (forms.MINUTES, "(Answer in minutes.)"),
    (forms.INHG, "(Answer in inHg.)"),
)
BY_UNIT = {"rpm": "(Answer in turns a minute.)"}


def opened(item: Item) -> Item | None:
    """The item without options, or None where it needs them.

    It is right within half of the distance that the model keeps between options.
    """
    model = models().get(item.model)
    if model is None or item.kind != "choice" or "of these" in item.stem:
        return None
    how = next((words for form, words in HOW if form is model.form), BY_UNIT.get(model.form.unit))
    answer = item.options[item.key].value
    if how is None or answer is None or model.apart <= 0.0:
        return None
    slips = tuple(option for place, option in enumerate(item.options) if place != item.key)
    return msgspec.structs.replace(
        item,
        kind="number",
        stem=f"{item.stem} {how}",
        options=(),
        key=-1,
        answer=answer,
        tolerance=0.5 * model.apart,
        slips=slips,
        circle=model.form.circle,
        drawn={**item.drawn, OPEN[0]: OPEN[1]},
    )
