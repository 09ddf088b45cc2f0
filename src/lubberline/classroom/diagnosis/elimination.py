"""Exact probabilities of several variables that share evidence, by summing them out one by one and back.

The method is that of clusters in a tree (S. L. Lauritzen and D. J. Spiegelhalter, Journal of the Royal
Statistical Society B 50, 1988, from memory). Everything runs for a batch at once along the first axis.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from lubberline.arrays import Floats

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
        product = 1
        for name in scope:
            product *= states[name]
        return product, thing

    return min(left, key=size)


def _spread(factor: Factor, scope: tuple[int, ...]) -> Floats:
    """A factor's values with axes of length one for the variables of a wider scope."""
    shape = [factor.values.shape[0]]
    place = 1
    for name in scope:
        if name in factor.scope:
            shape.append(factor.values.shape[place])
            place += 1
        else:
            shape.append(1)
    return factor.values.reshape(shape)


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
