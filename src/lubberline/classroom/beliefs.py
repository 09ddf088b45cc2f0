"""The probabilities of what students hold, law by law, from their answers to the same questions.

Of each law a student holds the truth, one of its ideas or some other wrong idea; the laws are independent
of each other but for two things about the student that are not known beforehand and are inferred with
them: how ready the student is for wrong ideas at all, and how careless the answers are. Ideas that give
the same answers to everything asked are one state. The sums are exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.classroom.answering import ItemTable, Noise, Touched, chances
from lubberline.classroom.elimination import Factor, posterior
from lubberline.classroom.idea_laws import LAW_BY_ID, IdeaLaw

Floats = NDArray[np.float64]

# Odds of each wrong idea against the truth, and how often students are like that. Set by hand: on average
# about three of the catalogue's 68.
READY = np.array([0.008, 0.025, 0.07, 0.20])
READY_SHARES = np.array([0.30, 0.35, 0.25, 0.10])
# Odds of a wrong idea that is not in the catalogue, beside those of one that is.
OTHER_ODDS = 0.2
# Rates of slips and of blind guesses, and how often students are like that. Set by hand.
NOISE = Noise(slip=np.array([0.02, 0.06, 0.12, 0.20]), guess=np.array([0.04, 0.10, 0.18, 0.35]))
NOISE_SHARES = np.array([0.20, 0.35, 0.30, 0.15])
LEVELS = len(READY) * len(NOISE_SHARES)
# The share of a class that is like the class. Set by hand.
ALIKE = 0.7
# Students whose sums are done at once: bounds the memory.
AT_ONCE = 64


class Said(NamedTuple):
    """An answer as the sums take it.

    Attributes:
        chosen: index of the option; -1 for none.
        value: the number; None for none.
        weight: how much it counts, from 0 to 1: its likelihood is raised to this power.
    """

    chosen: int = -1
    value: float | None = None
    weight: float = 1.0

    @property
    def blank(self) -> bool:
        """Whether it tells nothing."""
        return self.chosen < 0 and self.value is None


class LawStates(NamedTuple):
    """The states of a law that the questions asked can tell apart.

    State 0 is the truth or an idea in `untested`; then the groups; the last is some other wrong idea.
    """

    law: IdeaLaw
    groups: tuple[tuple[str, ...], ...]
    untested: tuple[str, ...]

    @property
    def size(self) -> int:
        """How many states."""
        return len(self.groups) + 2

    def priors(self) -> Floats:
        """(levels of readiness, states), each row summing to one."""
        odds = np.array([0.0, *(len(group) for group in self.groups), OTHER_ODDS])
        found = READY[:, None] * odds
        found[:, 0] = 1.0 + READY * len(self.untested)
        shares: Floats = found / found.sum(axis=1, keepdims=True)
        return shares


class Asking(NamedTuple):
    """Questions put to somebody, made ready for the sums."""

    tables: tuple[ItemTable, ...]
    laws: tuple[LawStates, ...]


class ByLevel(NamedTuple):
    """What some students hold, for each level of readiness and noise as if that were known.

    Attributes:
        laws: (students, levels, states) for each law of the asking.
        logs: (students, levels), log likelihood of each level.
    """

    laws: list[Floats]
    logs: Floats


class Believed(NamedTuple):
    """What some students hold.

    Attributes:
        laws: (students, states) for each law of the asking.
        levels: (students, levels of readiness times levels of noise).
    """

    laws: list[Floats]
    levels: Floats

    @property
    def care(self) -> Floats:
        """Probability that an answer is what the student thinks, by student."""
        kept = (1.0 - NOISE.slip) * (1.0 - NOISE.guess)
        found: Floats = self.levels @ np.tile(kept, len(READY))
        return found


def asking(tables: Sequence[ItemTable]) -> Asking:
    """Questions made ready: which laws they touch, and which ideas they cannot tell apart."""
    ids = {law.law for table in tables for law in table.touched}
    return Asking(tuple(tables), tuple(_states(LAW_BY_ID[id], tables) for id in LAW_BY_ID if id in ids))


def _states(law: IdeaLaw, tables: Sequence[ItemTable]) -> LawStates:
    groups: dict[tuple[tuple[float, ...], ...], list[str]] = {}
    untested = []
    for idea in law.ideas:
        signature = tuple(table.signature(idea) for table in tables)
        if any(signature):
            groups.setdefault(signature, []).append(idea)
        else:
            untested.append(idea)
    return LawStates(law, tuple(map(tuple, groups.values())), tuple(untested))


def believed(asked: Asking, answers: Sequence[Sequence[Said]]) -> Believed:
    """What students of one class hold who were all asked the same; see `by_level` and `of_class`."""
    return of_class([by_level(asked, answers)])[0]


def by_level(asked: Asking, answers: Sequence[Sequence[Said]]) -> ByLevel:
    """What students hold who were all asked the same, for each level.

    Args:
        asked: the questions.
        answers: for each student the answers in the order of the questions.
    """
    parts = [_by_level(asked, answers[low : low + AT_ONCE]) for low in range(0, len(answers), AT_ONCE)]
    laws = [np.concatenate([part.laws[place] for part in parts]) for place in range(len(asked.laws))]
    return ByLevel(laws, np.concatenate([part.logs for part in parts]))


def of_class(parts: Sequence[ByLevel]) -> list[Believed]:
    """The levels weighed by what each student's answers say of them, and by what the class is like.

    A class has a level of its own, which is not known beforehand; most of its students share it, the others
    are as anybody. A single student is a class of one.

    Args:
        parts: students of one class, together where they were asked the same.
    """
    expected = np.outer(READY_SHARES, NOISE_SHARES).reshape(-1)
    logs = np.concatenate([part.logs for part in parts])
    likely = np.exp(logs - logs.max(axis=1, keepdims=True))
    mixed = ALIKE * likely + (1.0 - ALIKE) * (likely @ expected)[:, None]
    whole = np.log(expected) + np.log(mixed).sum(axis=0)
    of_level = np.exp(whole - whole.max())
    of_level /= of_level.sum()
    own = ALIKE * of_level / mixed + (1.0 - ALIKE) * expected * (of_level / mixed).sum(axis=1, keepdims=True)
    levels = likely * own
    levels /= levels.sum(axis=1, keepdims=True)
    found = []
    first = 0
    for part in parts:
        here = levels[first : first + len(part.logs)]
        found.append(Believed([np.einsum("sl,slk->sk", here, law) for law in part.laws], here))
        first += len(part.logs)
    return found


def _by_level(asked: Asking, answers: Sequence[Sequence[Said]]) -> ByLevel:
    students, noises = len(answers), len(NOISE_SHARES)
    batch = students * LEVELS
    factors = [
        Factor((place,), np.tile(np.repeat(law.priors(), noises, axis=0), (students, 1)))
        for place, law in enumerate(asked.laws)
    ]
    numbers = {law.law.id: place for place, law in enumerate(asked.laws)}
    for place, table in enumerate(asked.tables):
        if table.touched:
            factors.append(_factor(asked, numbers, table, [one[place] for one in answers]))
    marginals, logs = posterior([law.size for law in asked.laws], factors, batch)
    laws = [one.reshape(students, LEVELS, -1) for one in marginals]
    return ByLevel(laws, logs.reshape(students, LEVELS))


def _factor(asked: Asking, numbers: dict[str, int], table: ItemTable, said: Sequence[Said]) -> Factor:
    scope = tuple(numbers[law.law] for law in table.touched)
    places = [np.arange(len(NOISE.slip))]
    places += [_places(asked.laws[number], law) for number, law in zip(scope, table.touched, strict=True)]
    known: dict[Said, Floats] = {}
    for one in said:
        if one not in known:
            known[one] = _likelihood(table, one)[np.ix_(*places)]
    by_noise = np.stack([known[one] for one in said])
    every = np.broadcast_to(by_noise[:, None], (len(said), len(READY), *by_noise.shape[1:]))
    return Factor(scope, every.reshape(-1, *by_noise.shape[2:]))


def _places(law: LawStates, touched: Touched) -> NDArray[np.int64]:
    """The state of a law in one item for each of its states in the whole asking."""
    groups = [touched.ideas.index(group[0]) + 1 if group[0] in touched.ideas else 0 for group in law.groups]
    return np.array([0, *groups, len(touched.ideas) + 1])


def _likelihood(table: ItemTable, said: Said) -> Floats:
    if said.blank:
        return np.ones((len(NOISE.slip), *(len(law.ideas) + 2 for law in table.touched)))
    found: Floats = chances(table, said.chosen, said.value, NOISE) ** said.weight
    return found
