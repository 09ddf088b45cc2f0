"""The probabilities of what students think, law by law, from their answers to the same questions.

Of each law a student believes the truth, one of its ideas or some other wrong idea. The laws are independent
of each other except for two unknown properties of the student, which are inferred too: how prone the student
is to wrong ideas, and how careless the answers are. Ideas that give the same answers to every question asked
are one state. The sums are exact.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.arrays import Floats
from lubberline.classroom.diagnosis.likelihood import ItemTable, Noise, Touched, chances
from lubberline.simulation.misconceptions import IDEAS_OF_LAW, LAW_BY_ID
from lubberline.simulation.misconceptions.laws import IdeaLaw

# A product is scaled after so many factors, so that hundreds of answers do not underflow.
AT_MOST = 8


class Factor(NamedTuple):
    """How well states of some of the variables agree with a piece of evidence.

    Attributes:
        scope: numbers of the variables, rising.
        values: (batch, states of the first, states of the second, ...), all above zero; a batch of one
            is used for all.
    """

    scope: tuple[int, ...]
    values: Floats


class _Cluster(NamedTuple):
    thing: int
    scope: tuple[int, ...]
    values: Floats
    sent: Factor
    parent: int


def posterior(states: Sequence[int], factors: Sequence[Factor], batch: int) -> tuple[list[Floats], Floats]:
    """The probabilities of each variable's states, and the logarithm of the total.

    Args:
        states: how many states each variable has.
        factors: priors and evidence.
        batch: how many cases run at once.

    Returns:
        For each variable (batch, its states), and (batch,) the log of the sum over everything.
    """
    clusters, logs = _inward(states, factors, batch)
    return _outward(clusters, len(states)), logs


def _inward(states: Sequence[int], factors: Sequence[Factor], batch: int) -> tuple[list[_Cluster], Floats]:
    logs = np.zeros(batch)
    waiting = list(factors)
    sender = [-1] * len(waiting)
    left = set(range(len(states)))
    drafts: list[tuple[int, tuple[int, ...], Floats, Factor]] = []
    parents: list[int] = []
    while left:
        thing = _cheapest(states, waiting, left)
        taken = [place for place, factor in enumerate(waiting) if thing in factor.scope]
        scope = tuple(sorted({thing}.union(*(waiting[place].scope for place in taken))))
        values = np.ones((batch, *(states[name] for name in scope)))
        for count, place in enumerate(taken, start=1):
            values *= _spread(waiting[place], scope)
            if sender[place] >= 0:
                parents[sender[place]] = len(drafts)
            if count % AT_MOST == 0:
                logs += _to_one(values)
        summed = values.sum(axis=1 + scope.index(thing))
        logs += _to_one(summed)
        sent = Factor(tuple(name for name in scope if name != thing), summed)
        waiting = [factor for place, factor in enumerate(waiting) if place not in taken]
        sender = [number for place, number in enumerate(sender) if place not in taken]
        waiting.append(sent)
        sender.append(len(drafts))
        drafts.append((thing, scope, values, sent))
        parents.append(-1)
        left.remove(thing)
    for factor in waiting:
        logs += np.log(np.broadcast_to(factor.values.reshape(-1), (batch,)))
    return [_Cluster(*draft, parent) for draft, parent in zip(drafts, parents, strict=True)], logs


def _to_one(values: Floats) -> Floats:
    """Scale each case so that its greatest value is one, in place; gives the logs of the factors."""
    scale = values.reshape(len(values), -1).max(axis=1)
    values /= scale.reshape(-1, *[1] * (values.ndim - 1))
    found: Floats = np.log(scale)
    return found


def _cheapest(states: Sequence[int], waiting: Sequence[Factor], left: set[int]) -> int:
    """The variable that makes the smallest table when it is summed out."""

    def size(thing: int) -> tuple[int, int]:
        scope = {thing}.union(*(factor.scope for factor in waiting if thing in factor.scope))
        return math.prod(states[name] for name in scope), thing

    return min(left, key=size)


def _spread(factor: Factor, scope: tuple[int, ...]) -> Floats:
    """A factor's values with axes of length one for the variables of a wider scope."""
    batch, *sizes = factor.values.shape
    own = dict(zip(factor.scope, sizes, strict=True))
    return factor.values.reshape(batch, *(own.get(name, 1) for name in scope))


def _outward(clusters: Sequence[_Cluster], count: int) -> list[Floats]:
    beliefs: list[Floats] = [np.empty(0)] * len(clusters)
    marginals: list[Floats] = [np.empty(0)] * count
    for number in range(len(clusters) - 1, -1, -1):
        thing, scope, values, sent, parent = clusters[number]
        belief = values
        if parent >= 0:
            others = tuple(
                1 + place for place, name in enumerate(clusters[parent].scope) if name not in sent.scope
            )
            back = beliefs[parent].sum(axis=others) / sent.values
            belief = values * _spread(Factor(sent.scope, back), scope)
        total = belief.reshape(belief.shape[0], -1).sum(axis=1)
        belief = belief / total.reshape(-1, *[1] * (belief.ndim - 1))
        beliefs[number] = belief
        away = tuple(1 + place for place, name in enumerate(scope) if name != thing)
        marginals[thing] = belief.sum(axis=away)
    return marginals


# Rates at which a student takes up an idea of a law, of which the first is held, and the shares of students
# with each rate. Set by hand: on average three or four of the catalogue's 68 ideas for each student.
READY = np.array([0.010, 0.016, 0.026, 0.042, 0.067, 0.107, 0.17, 0.27])
READY_SHARES = np.array([0.12, 0.18, 0.20, 0.18, 0.14, 0.10, 0.05, 0.03])
# The rate of a wrong idea outside the catalogue on a law, relative to one in it.
OTHER_SHARE = 0.2
# Rates of slips and of blind guesses, and the shares of students with each. Set by hand.
NOISE = Noise(
    slip=np.array([0.02, 0.05, 0.08, 0.12, 0.17, 0.24]), guess=np.array([0.03, 0.07, 0.12, 0.18, 0.27, 0.40])
)
NOISE_SHARES = np.array([0.12, 0.22, 0.26, 0.22, 0.12, 0.06])
LEVELS = len(READY) * len(NOISE_SHARES)
# How many students the expectation for any class counts as, and the rounds until it settles.
EXPECTED_WEIGHT, ROUNDS = 5.0, 60
# Students who are calculated at once; it limits the memory.
AT_ONCE = 64


class Said(NamedTuple):
    """An answer, for the sums.

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
        """Whether there is no answer."""
        return self.chosen < 0 and self.value is None


class LawStates(NamedTuple):
    """The states of a law that the questions asked can tell apart.

    State 0 is the truth or an idea in `untested`; the groups follow; the last is some other wrong idea.
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
        counts = np.array([*(len(group) for group in self.groups), OTHER_SHARE])
        whole = counts.sum() + len(self.untested)
        share = (1.0 - np.exp(-READY * whole)) / whole
        held = share[:, None] * counts
        found: Floats = np.concatenate([1.0 - held.sum(axis=1, keepdims=True), held], axis=1)
        return found


class Asking(NamedTuple):
    """Questions asked, prepared for the sums."""

    tables: tuple[ItemTable, ...]
    laws: tuple[LawStates, ...]


class ByLevel(NamedTuple):
    """What some students think, for each level of readiness and noise, as if that were known.

    Attributes:
        laws: (students, levels, states) for each law of the asking.
        logs: (students, levels), log likelihood of each level.
    """

    laws: list[Floats]
    logs: Floats


class Beliefs(NamedTuple):
    """What some students think.

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
    """Questions prepared: the laws that they touch, and the ideas that they cannot tell apart."""
    ids = {law.law for table in tables for law in table.touched}
    return Asking(tuple(tables), tuple(_states(LAW_BY_ID[id], tables) for id in LAW_BY_ID if id in ids))


def _states(law: IdeaLaw, tables: Sequence[ItemTable]) -> LawStates:
    groups: dict[tuple[tuple[float, ...], ...], list[str]] = {}
    untested = []
    for idea in IDEAS_OF_LAW[law.id]:
        signature = tuple(table.signature(idea) for table in tables)
        if any(signature):
            groups.setdefault(signature, []).append(idea)
        else:
            untested.append(idea)
    return LawStates(law, tuple(map(tuple, groups.values())), tuple(untested))


def by_level(asked: Asking, answers: Sequence[Sequence[Said]]) -> ByLevel:
    """What students think who were all asked the same, for each level.

    Args:
        asked: the questions.
        answers: for each student the answers in the order of the questions.
    """
    parts = [_by_level(asked, answers[low : low + AT_ONCE]) for low in range(0, len(answers), AT_ONCE)]
    laws = [np.concatenate([part.laws[place] for part in parts]) for place in range(len(asked.laws))]
    return ByLevel(laws, np.concatenate([part.logs for part in parts]))


def of_class(parts: Sequence[ByLevel]) -> list[Beliefs]:
    """The levels weighted by each student's answers and by what the class is like.

    How common each level is among the rest of the class is estimated from their answers, by the steps of
    A. P. Dempster, N. M. Laird and D. B. Rubin (Journal of the Royal Statistical Society B 39, 1977, from
    memory), and from what is expected of any class. A single student is read by that expectation alone; the
    larger the class, the more its own answers count.

    Args:
        parts: students of one class, grouped by what they were asked.
    """
    logs = np.concatenate([part.logs for part in parts])
    likely = np.exp(logs - logs.max(axis=1, keepdims=True))
    expected = np.outer(READY_SHARES, NOISE_SHARES).reshape(-1)
    shares = np.tile(expected, (len(logs), 1))
    for _ in range(ROUNDS):
        levels = likely * shares
        levels /= levels.sum(axis=1, keepdims=True)
        others = levels.sum(axis=0) - levels
        shares = (EXPECTED_WEIGHT * expected + others) / (EXPECTED_WEIGHT + len(logs) - 1)
    levels = likely * shares
    levels /= levels.sum(axis=1, keepdims=True)
    found = []
    first = 0
    for part in parts:
        here = levels[first : first + len(part.logs)]
        found.append(Beliefs([np.einsum("sl,slk->sk", here, law) for law in part.laws], here))
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
