"""Which questions of a pool would best show what students think.

The value of a question is the information that its answer is expected to give about each idea it could
show (D. V. Lindley, Annals of Mathematical Statistics 27, 1956, from memory): the mutual information of
the answer and of whether the idea is held, summed over ideas. If several questions are chosen together, an
idea that one of them already tests counts only for the uncertainty that is expected to remain.
"""

from collections.abc import Sequence
from functools import lru_cache
from itertools import chain
from random import Random
from typing import NamedTuple

import msgspec
import numpy as np
from numpy.typing import NDArray

from lubberline.arrays import Floats
from lubberline.classroom.diagnosis.beliefs import NOISE, NOISE_SHARES, OTHER_SHARE
from lubberline.classroom.diagnosis.likelihood import ItemTable, idea_answers, reading_of, table_of
from lubberline.classroom.diagnosis.records import Diagnosis
from lubberline.classroom.diagnosis.words import counted, quoted
from lubberline.errors import InputError
from lubberline.flight.home import Home
from lubberline.questions import notation
from lubberline.questions.bank import models
from lubberline.questions.generate import generate, in_unit_of
from lubberline.questions.item import Item
from lubberline.questions.model import ItemModel, random_of
from lubberline.questions.notation import Notation
from lubberline.simulation.misconceptions import IDEAS_OF_LAW, LAW_BY_ID

OPEN = ("asked", "open")
# How to answer, by the way in which a model writes its numbers.
HOW: tuple[tuple[Notation, str], ...] = (
    (notation.HEADING, "(Answer with a direction from 001 to 360.)"),
    (notation.RATE, "(Answer in degrees an hour, with a minus sign if the reading falls.)"),
    (notation.CHANGE, "(Answer in degrees, with a minus sign if the reading falls.)"),
    (notation.CHANGE_TENTHS, "(Answer in degrees, with a minus sign if the reading falls.)"),
    (notation.ERROR, "(Answer in degrees, with a minus sign if the reading is too low.)"),
    (notation.ERROR_TENTHS, "(Answer in degrees, with a minus sign if the reading is too low.)"),
    (notation.LATITUDE, "(Answer in degrees of latitude, with a minus sign for south.)"),
    (notation.EAST_WEST, "(Answer in degrees, with a minus sign for west.)"),
    (notation.DEGREES, "(Answer in degrees.)"),
    (notation.MINUTES, "(Answer in minutes.)"),
    (notation.INHG, "(Answer in inHg.)"),
)
BY_UNIT = {"rpm": "(Answer in rpm.)"}


def opened(item: Item) -> Item | None:
    """The item without options, or None if it needs them.

    The tolerance is half the distance that the model keeps between options.
    """
    model = models().get(item.model)
    if model is None or item.kind != "choice" or model.needs_options:
        return None
    how = next((words for way, words in HOW if way is model.notation), BY_UNIT.get(model.notation.unit))
    answer = item.options[item.key].value
    if how is None or answer is None or model.apart <= 0.0:
        return None
    slips = tuple(option for place, option in enumerate(item.options) if place != item.key)
    return msgspec.structs.replace(
        item,
        kind="number",
        stem=f"{item.stem} {how.replace(notation.INHG.unit, item.unit)}",
        options=(),
        key=-1,
        answer=answer,
        tolerance=in_unit_of(item, 0.5 * model.apart),
        slips=slips,
        circle=model.notation.circle,
        drawn={**item.drawn, OPEN[0]: OPEN[1]},
    )


IDEAS: tuple[str, ...] = tuple(chain.from_iterable(IDEAS_OF_LAW.values()))
# Places in a vector of chances: every idea, then for each law some other wrong idea, then one unused place.
PLACE = {name: place for place, name in enumerate((*IDEAS, *LAW_BY_ID))}
NOTHING = len(PLACE)
# Odds of an idea that no question so far could show: higher than those used in reading answers, so that what
# has not been asked comes before what is nearly settled.
ASK_ODDS = 0.1
SLIP, GUESS = float(NOISE.slip @ NOISE_SHARES), float(NOISE.guess @ NOISE_SHARES)
# Finding an idea of the catalogue helps more than finding that some other one is held.
OTHER_WORTH = 0.3
# An idea counts by one minus its chance to this power: one that is almost certain needs no more questions.
SETTLED_POWER = 2.0
PER_IDEA = 5
MOST_DRAWS = 40
# If so many draws of a model show no idea, it has none.
DRAWS_WITHOUT = 3
MOST_ASKED = 50


class NextItem(msgspec.Struct, frozen=True):
    """A question worth asking next.

    Attributes:
        item: the question.
        bits: expected information from its answer, per student.
        ideas: the ideas that it would test, the best tested first.
        sentence: in words.
    """

    item: Item
    bits: float
    ideas: tuple[str, ...]
    sentence: str


class Pool(NamedTuple):
    """Questions to choose from, with the answer of each state of mind to each.

    Attributes:
        tables: the questions.
        places: (questions, states) into a vector of chances; `NOTHING` where there are fewer states.
        answers: (questions, states + 1, outcomes), the truth first.
    """

    tables: tuple[ItemTable, ...]
    places: NDArray[np.int64]
    answers: Floats


def pool_of(items: Sequence[Item]) -> Pool:
    """A pool of questions; those that touch no idea are left out."""
    tables = [table for table in map(table_of, items) if table.touched]
    states = [_states(table) for table in tables]
    width = max((len(names) for names, _ in states), default=1)
    outcomes = max((rows.shape[1] for _, rows in states), default=1)
    places = np.full((len(tables), width), NOTHING)
    answers = np.zeros((len(tables), width + 1, outcomes))
    for number, (names, rows) in enumerate(states):
        places[number, : len(names)] = [PLACE[name] for name in names]
        answers[number, : rows.shape[0], : rows.shape[1]] = rows
    return Pool(tuple(tables), places, answers)


@lru_cache(maxsize=4)
def pool_from_bank(
    seed: int = 0, topics: tuple[str, ...] = (), per_idea: int = PER_IDEA, home: Home | None = None
) -> Pool:
    """Questions drawn from the bank's models with a seed.

    Args:
        seed: decides the values.
        topics: keys of `bank.TOPICS`; all by default.
        per_idea: how many questions of a model show each of its ideas, if it can.
        home: where they are set, and whose rules; None for anywhere, without rules.
    """
    items: list[Item] = []
    rules = ("", home.regulations if home else "")
    for model in models().values():
        if (not topics or model.topic in topics) and model.jurisdiction in rules:
            items += _of_model(model, random_of("ask next", model.id, seed), per_idea, home)
    return pool_of(items)


def _of_model(model: ItemModel, random: Random, per_idea: int, home: Home | None) -> list[Item]:
    """Questions of a model, enough to show each of its ideas so often, without options if possible."""
    found: dict[str, Item] = {}
    counts: dict[str, int] = {}
    for draws in range(MOST_DRAWS):
        if draws >= DRAWS_WITHOUT and not found:
            break
        item = generate(model, random.getrandbits(48), home)
        item = opened(item) or item
        ideas = [idea for idea in idea_answers(item) if counts.get(idea, 0) < per_idea]
        if not ideas or item.id in found:
            continue
        found[item.id] = item
        for idea in idea_answers(item):
            counts[idea] = counts.get(idea, 0) + 1
    return list(found.values())


def _states(table: ItemTable) -> tuple[list[str], Floats]:
    """The states of mind that a question can tell from the truth, and how each answers, the truth first."""
    names = [idea for law in table.touched for idea in law.ideas] + [law.law for law in table.touched]
    if table.item.kind == "number":
        return names, _number_rows(table, len(names))
    lead, laws = (0,) * len(table.touched), list(enumerate(table.touched))
    states = [(axis, state) for axis, law in laws for state in range(1, len(law.ideas) + 1)]
    states += [(axis, len(law.ideas) + 1) for axis, law in laws]
    places = [lead, *((*lead[:axis], state, *lead[axis + 1 :]) for axis, state in states)]
    thought, slips = (np.array([of[place] for place in places]) for of in (table.base, table.slip))
    count = len(table.item.options)
    return names, GUESS / count + (1.0 - GUESS) * ((1.0 - SLIP) * thought + SLIP * slips)


def _number_rows(table: ItemTable, count: int) -> Floats:
    """The same for a number: outcomes are the numbers that a student may calculate, and all others."""
    item = table.item
    known = [item.answer or 0.0]
    values = [table.said[idea].value for law in table.touched for idea in law.ideas]
    chosen = [0, *(-1 if value is None else _outcome(item, known, value) for value in values)]
    chosen += [-1] * (count + 1 - len(chosen))
    outcomes = len(known) + 1
    rows = np.full((count + 1, outcomes), 0.02)
    for row, outcome in enumerate(chosen):
        rows[row, outcome] += (1.0 - SLIP) * (1.0 - GUESS)
        rows[row, -1] += 1.0 - rows[row].sum()
    return rows


def _outcome(item: Item, known: list[float], value: float) -> int:
    for place, other in enumerate(known):
        if item.apart(value, other) < 2.0 * reading_of(item):
            return place
    known.append(value)
    return len(known) - 1


def chances_of(diagnosis: Diagnosis) -> Floats:
    """A diagnosis as the vector of chances that the choice of questions reads."""
    found = prior_chances()
    for law in diagnosis.laws:
        if not law.asked:
            continue
        for idea in law.untested:
            found[PLACE[idea]] = law.p_truth * ASK_ODDS / (1.0 + ASK_ODDS * len(law.untested))
        for held in law.held:
            for idea in held.ideas:
                found[PLACE[idea]] = held.p / len(held.ideas)
        found[PLACE[law.law]] = law.p_other
    return found


def prior_chances() -> Floats:
    """The vector of chances of a student who has not answered anything."""
    found = np.zeros(len(PLACE) + 1)
    for law, ideas in IDEAS_OF_LAW.items():
        whole = 1.0 + ASK_ODDS * (len(ideas) + OTHER_SHARE)
        for idea in ideas:
            found[PLACE[idea]] = ASK_ODDS / whole
        found[PLACE[law]] = ASK_ODDS * OTHER_SHARE / whole
    return found


def gains(pool: Pool, chances: Floats) -> Floats:
    """Expected information of every question about every idea, in bits.

    Args:
        pool: the questions.
        chances: (students, places) as of `chances_of`.

    Returns:
        (students, questions, states), in the order of `pool.places`.
    """
    held = chances[:, pool.places]
    crowded = np.maximum(held.sum(axis=2, keepdims=True) / 0.999, 1.0)
    held = held / crowded
    truth = 1.0 - held.sum(axis=2, keepdims=True)
    mixed = np.einsum("snk,nko->sno", np.concatenate([truth, held], axis=2), pool.answers)[:, :, None]
    own = pool.answers[None, :, 1:]
    rest = mixed - held[..., None] * own
    away = (1.0 - held)[..., None]
    tiny = 1e-300
    with_it = held[..., None] * own * np.log2(np.maximum(own, tiny) / np.maximum(mixed, tiny))
    without = rest * np.log2(np.maximum(rest, tiny) / np.maximum(away * mixed, tiny))
    found: Floats = np.maximum((with_it + without).sum(axis=3), 0.0)
    return found


def choose(pool: Pool, chances: Floats, count: int, taken: Sequence[int] = ()) -> list[tuple[int, float]]:
    """The places in the pool of the questions that are best together, each with its expected bits.

    Args:
        pool: the questions.
        chances: (students, places).
        count: how many.
        taken: places that are not to be used.
    """
    worth = np.ones(NOTHING + 1)
    worth[len(IDEAS) : NOTHING] = OTHER_WORTH
    worth[NOTHING] = 0.0
    every = gains(pool, chances)
    sure = np.clip(chances, 1e-12, 1.0 - 1e-12)
    unsure = -(sure * np.log2(sure) + (1.0 - sure) * np.log2(1.0 - sure))
    left = worth * (1.0 - chances**SETTLED_POWER)
    free = np.ones(len(pool.tables), dtype=bool)
    free[list(taken)] = False
    found: list[tuple[int, float]] = []
    for _ in range(min(count, int(free.sum()))):
        score = (every * left[:, pool.places]).sum(axis=2).mean(axis=0)
        best = int(np.argmax(np.where(free, score, -1.0)))
        free[best] = False
        found.append((best, float(score[best])))
        places = pool.places[best]
        told = every[:, best] / unsure[:, places]
        left[:, places] *= np.clip(1.0 - told, 0.0, 1.0)
    return found


def ask_next(
    diagnoses: Diagnosis | Sequence[Diagnosis],
    candidates: Pool | Sequence[Item] | None = None,
    count: int = 5,
    *,
    seed: int = 0,
    asked: Sequence[Item] = (),
) -> tuple[NextItem, ...]:
    """The questions that would best show what one student thinks, or a class that is asked the same.

    Args:
        diagnoses: of the student, or of the class.
        candidates: a pool, or items; by default a pool drawn from the bank with `seed`.
        count: how many, from 1 to 50.
        seed: of the pool from the bank.
        asked: items that are not to be asked again.

    Raises:
        InputError: for a count out of bounds, or without a diagnosis.
    """
    if not 1 <= count <= MOST_ASKED:
        raise InputError("how many to ask", str(count), f"ask for 1 to {MOST_ASKED}")
    several = [diagnoses] if isinstance(diagnoses, Diagnosis) else list(diagnoses)
    if not several:
        raise InputError("whom to ask", "no student is given", "give at least one diagnosis")
    if candidates is None:
        pool = pool_from_bank(seed)
    else:
        pool = candidates if isinstance(candidates, Pool) else pool_of(candidates)
    before = {item.id for item in asked}
    taken = [place for place, table in enumerate(pool.tables) if table.item.id in before]
    chances = np.stack([chances_of(one) for one in several])
    every = gains(pool, chances).mean(axis=0)
    return tuple(
        _next(pool, place, bits, every[place]) for place, bits in choose(pool, chances, count, taken)
    )


def _next(pool: Pool, number: int, bits: float, gained: Floats) -> NextItem:
    names = (*IDEAS, *LAW_BY_ID)
    order = [pool.places[number, place] for place in np.argsort(-gained)]
    ideas = tuple(names[place] for place in order if place < len(IDEAS))
    laws = {law.law for law in pool.tables[number].touched}
    titles = " and ".join(LAW_BY_ID[id].title for id in LAW_BY_ID if id in laws)
    more = f"; also tests {counted(len(ideas) - 1, 'other idea', 'other ideas')}" if len(ideas) > 1 else ""
    sentence = f"On {titles}: best tests {quoted(ideas[:1])}{more}."
    return NextItem(pool.tables[number].item, bits, ideas, sentence)
