"""Items, models and wrong ideas as data for the templates, and items written by hand with advice."""

import base64
from functools import cache
from typing import Any

from lubberline.errors import InputError
from lubberline.flight.home import Home
from lubberline.publish.papers.answers import WIDEST_UPRIGHT, key_words, paragraphs, shape_of, unit_words
from lubberline.questions.advice import advice_on, advice_on_paper
from lubberline.questions.bank import models
from lubberline.questions.face_slips import Slip
from lubberline.questions.generate import generate
from lubberline.questions.handwritten import is_handwritten, items_from_text
from lubberline.questions.item import LETTERS, Figure, Item, Option, in_own_words
from lubberline.questions.model import ItemModel
from lubberline.questions.slips import SLIPS
from lubberline.simulation.misconceptions import ALL, BY_ID, Misconception
from lubberline.web.questions.papers import TEXT_LIMIT_BYTES

UPRIGHT_PX, WIDE_PX = 220, 400
FILE_NAME = "items.md"
SAMPLE = """# Where there is no apparent wander

topic: wander
level: recall
codes: ZZ 1

At which place is the apparent wander of a heading indicator zero?

- [x] at the equator
  Apparent wander varies with the sine of the latitude, which is zero there.
- [ ] at 45° N
  The sine of the latitude is 0.71 there, so the card drifts about 11° low each hour.
- [ ] at 90° N, the pole
  idea: no-wander-at-poles
"""


def drawing(figure: Figure, where: str) -> dict[str, Any]:
    """A drawing as an image, so that nothing in it can run or be styled by the page."""
    shape = shape_of(figure, where)
    width_px = UPRIGHT_PX if shape <= WIDEST_UPRIGHT else WIDE_PX
    coded = base64.b64encode(figure.svg.encode("utf-8")).decode("ascii")
    return {
        "src": f"data:image/svg+xml;base64,{coded}",
        "alt": figure.alt,
        "width": width_px,
        "height": round(width_px / shape),
    }


def _option(letter: str, option: Option, *, right: bool) -> dict[str, Any]:
    idea = option.misconception
    thoughts: dict[str, Slip | Misconception] = {**SLIPS, **BY_ID}
    thought = thoughts.get(idea)
    return {
        "letter": letter,
        "text": option.text,
        "right": right,
        "said": option.feedback,
        "idea": idea,
        "also": [thoughts[other].statement for other in option.ideas[1:] if other in thoughts],
        "statement": thought.statement if thought else "",
        "is_listed": idea in BY_ID,
    }


def item_look(item: Item, number: int | None = None) -> dict[str, Any]:
    """An item for the page, with its key; the template decides what to show."""
    is_number = item.kind == "number"
    return {
        "number": number,
        "model": item.model,
        "own": is_handwritten(item),
        "topic": item.topic,
        "level": item.level,
        "kind": item.kind,
        "stem": paragraphs(item.stem),
        "figure": drawing(item.figure, item.model) if item.figure else None,
        "unit": unit_words(item.unit) if is_number else "",
        "options": [
            _option(LETTERS[place], option, right=place == item.key)
            for place, option in enumerate(item.options)
        ],
        "slips": [_option("", slip, right=False) for slip in item.slips],
        "key": key_words(item),
        "reason": item.reason,
        "source": item.source,
        "jurisdiction": item.jurisdiction,
        "difficulty": item.difficulty,
        "codes": item.codes,
    }


def model_look(model: ItemModel, seed: int, home: Home) -> dict[str, Any]:
    """A model with a fresh example, set at home."""
    return {
        "id": model.id,
        "second_way": model.second_way,
        "item": item_look(in_own_words(generate(model, seed, home))),
    }


def models_at(topic: str, level: str) -> list[ItemModel]:
    """The models of a topic and level; '' for all."""
    return [model for model in models().values() if topic in ("", model.topic) and level in ("", model.level)]


@cache
def askers() -> dict[str, list[ItemModel]]:
    """The models with an option for each wrong idea."""
    listed = list(models().values())
    ideas = dict.fromkeys(idea for model in listed for idea in model.words.feedback)
    return {idea: [model for model in listed if idea in model.words.feedback] for idea in ideas}


def ideas_at(kind: str, words: str) -> list[Misconception]:
    """The wrong ideas of a kind ('' for all) that contain all these words."""
    wanted = words.lower().split()
    return [
        idea
        for idea in ALL
        if kind in ("", idea.kind)
        and all(word in f"{idea.id} {idea.statement} {idea.mend}".lower() for word in wanted)
    ]


def previewed(text: str, source: str = "text") -> dict[str, Any]:
    """The items of a text as data for the template, each with its advice, and advice on all of them.

    Raises:
        InputError: an error in the text, with its line.
    """
    if len(text.encode("utf-8", "replace")) > TEXT_LIMIT_BYTES:
        raise InputError("text", "too large for a file of items", "choose a file under 200 kB")
    records = items_from_text(source, text)
    looks = [
        {
            "title": record.title,
            "line": record.line,
            "item": item_look(record.item, place),
            "advice": advice_on(record.item),
        }
        for place, record in enumerate(records, start=1)
    ]
    return {"records": looks, "together": advice_on_paper([record.item for record in records])}
