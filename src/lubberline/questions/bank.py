"""The bank: every item model, by id, topic and level; which items answer each other.

Enemies are items that answer each other; they never meet in one paper or quiz.
"""

import re
from collections.abc import Iterable, Mapping
from functools import cache
from importlib import import_module
from typing import get_args

from lubberline.errors import InputError, check_known, nearest_of
from lubberline.questions.item import Item, Level
from lubberline.questions.model import ItemModel
from lubberline.simulation.misconceptions import QUANTITIES

LEVELS: tuple[Level, ...] = get_args(Level)

# Topic -> what it is about.
TOPICS: dict[str, str] = {
    "terms": "terms of the trade and what each of them means",
    "wander": "apparent, real and transport wander: sizes, signs, times",
    "balance": "the latitude nut: where it is right and what it does elsewhere",
    "gimballing": "gimballing error: what a bank or pitch does to the card",
    "compass": "variation, deviation and dip; the steady compass",
    "turning": "turning and acceleration errors of the compass; rolling out of a turn by compass",
    "setting": "setting the heading indicator: from what, when and how often",
    "rotor": "rotor speed, erection and run-down",
    "suction": "the air system and what each instrument runs on: gauge, faults and what they show",
    "tumbling": "limits, stops, tumbling and recovery",
    "traces": "reading a graph of the error over time",
    "procedures": "what to do, and in what order",
    "regulations": "what the rules of a country require",
}

# The modules of `models` that hold a topic's models, if that is not the module of its name.
MODULES: dict[str, tuple[str, ...]] = {
    "terms": ("terms", "meanings"),
    "wander": ("wander", "drift"),
    "compass": ("compass", "swing"),
    "setting": ("setting", "faces"),
    "procedures": ("procedures", "checks"),
    "rotor": ("rotor", "electric"),
    "suction": ("suction", "suction_seen", "gauges", "supply"),
}


@cache
def models() -> dict[str, ItemModel]:
    """Every model by its id, in the order of topics and of their modules."""
    found: dict[str, ItemModel] = {}
    for topic in TOPICS:
        for name in MODULES.get(topic, (topic,)):
            for model in import_module(f"lubberline.questions.models.{name}").MODELS:
                if model.id in found or model.topic != topic:
                    raise RuntimeError(f"{model.id}: its id is taken, or its topic is not {topic}")
                found[model.id] = model
    return found


def model_named(id: str) -> ItemModel:
    """The model with this id.

    Raises:
        InputError: when there is none.
    """
    check_known("item model", "model", id, models())
    return models()[id]


def models_of(topic: str, level: str, jurisdiction: str = "") -> list[ItemModel]:
    """The models of a topic and level for a jurisdiction; '' leaves out all models of rules.

    Raises:
        InputError: for a topic or level that does not exist.
    """
    check_known("topic", "topic", topic, TOPICS)
    check_known("level", "level", level, LEVELS)
    return [
        model
        for model in models().values()
        if model.topic == topic and model.level == level and model.jurisdiction in ("", jurisdiction)
    ]


def jurisdictions() -> list[str]:
    """The jurisdictions with models of their own."""
    return sorted({model.jurisdiction for model in models().values()} - {""})


def check_jurisdiction(where: str, name: str) -> None:
    """Checks that there are rules of a jurisdiction; '' is none, and right.

    Raises:
        InputError: there are none of that name.
    """
    if name and name not in jurisdictions():
        raise InputError(where, f"there are no rules of '{name[:60]}'", nearest_of(name, jurisdictions()))


# A key of at least so many words that stands in another stem answers the question; 'the heading indicator',
# which stands in most of them, does not.
TELLING_WORDS = 4


def are_enemies(one: Item, other: Item, bank: Mapping[str, ItemModel] | None = None) -> bool:
    """Whether one of two items tells what the other asks for, or both ask for the same fact."""
    bank = models() if bank is None else bank
    asked, told = _facts(one, bank)
    asked_too, told_too = _facts(other, bank)
    told, told_too = told | _told_by(one.stem, asked_too), told_too | _told_by(other.stem, asked)
    if asked & (asked_too | told_too) or told & asked_too:
        return True
    return _key_stands_in(one, other) or _key_stands_in(other, one)


def meets_enemy(item: Item, company: Iterable[Item], bank: Mapping[str, ItemModel] | None = None) -> bool:
    """Whether an item would meet an enemy among others."""
    return any(are_enemies(item, other, bank) for other in company)


def _facts(item: Item, bank: Mapping[str, ItemModel]) -> tuple[set[str], set[str]]:
    model = bank.get(item.model)
    if model is None:
        # Written by hand: what its key or its reason says, and its stem does not, is what it asks for.
        answer = f"{item.reason} {item.options[item.key].text if item.options else ''}"
        known = {*TOLD_BY, *(f"term {name}" for name in QUANTITIES)}
        told = _told_by(item.stem, known)
        return _told_by(answer, known) - told, told
    return set(model.asks(item.drawn)), set(model.tells(item.drawn))


# The words of a stem that tell a fact, written as `_plain` writes them; also of items that declare nothing.
TOLD_BY: dict[str, str] = {
    "rate one": r"\b(3|three) degrees (a|every) second|(2|two) minutes for (360|a full|a whole)",
    "usual suction": r"\b4\.5 (to|and) 5\.5\b",
    "run-down": r"\bruns? (down|on) (for|in) (about )?(ten|10) min",
    "moment to set": r"\bset\b.*\b(straight,? (and )?(level|steady|unaccelerated)|steady speed)",
    "after a tumble": r"\btumble.*\b(set (it )?again|fly level|cage)",
    "gimballing after the bank": r"\bwings (are )?level\b.*\b(right again|no error|error (goes|is gone))",
}


def _plain(text: str) -> str:
    """A text in small letters, with units in words."""
    units = text.casefold().replace("°", " degrees").replace("deg/s", "degrees a second")
    return " ".join(units.replace(" per ", " a ").split())


def _told_by(text: str, asked: set[str]) -> set[str]:
    """Those of the asked facts that a text says in so many words: of a term, what it means."""
    plain = _plain(text)
    told = {fact for fact in asked & TOLD_BY.keys() if re.search(TOLD_BY[fact], plain)}
    terms = {fact for fact in asked if fact.removeprefix("term ") in QUANTITIES}
    return told | {fact for fact in terms if _plain(QUANTITIES[fact[5:]].definition) in plain}


def _key_stands_in(one: Item, other: Item) -> bool:
    """Whether the key of one item, if it is in words, stands in the stem of the other."""
    if one.kind != "choice" or one.options[one.key].value is not None:
        return False
    key = _plain(one.options[one.key].text).rstrip(".")
    return len(key.split()) >= TELLING_WORDS and key in _plain(other.stem)
