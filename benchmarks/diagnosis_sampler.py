"""The model of diagnosis written again, plainly, and sampled by a general-purpose sampler.

Nothing of the package's sums is used: an answer's chance is worked out by `plain_chance` from what the
item's wrong ideas answer, the states of mind are drawn by emcee (D. Foreman-Mackey and others, PASP 125,
2013), and `enumerated` adds up every combination.
"""

import itertools
import math
from collections.abc import Sequence

import emcee
import numpy as np
from numpy.typing import NDArray

from lubberline.classroom.diagnosis.beliefs import (
    NOISE,
    NOISE_SHARES,
    OTHER_SHARE,
    READY,
    READY_SHARES,
    Asking,
    Said,
    asking,
    by_level,
    of_class,
)
from lubberline.classroom.diagnosis.likelihood import ItemTable, table_of
from lubberline.questions.bank import model_named
from lubberline.questions.generate import generate
from lubberline.questions.item import Item
from lubberline.questions.slips import SLIPS
from lubberline.simulation.misconceptions import IDEAS_OF_LAW

OTHER = "other"
Floats = NDArray[np.float64]


def plain_answers(item: Item, table: ItemTable, held: str) -> list[float]:
    """Of a choice: the shares of its options for a student with one wrong idea."""
    count = len(item.options)
    if held == OTHER:
        return [1.0 / count] * count
    options = [place for place, option in enumerate(item.options) if option.misconception == held]
    if options:
        return [float(place in options) / len(options) for place in range(count)]
    said = table.said[held]
    if said.options:
        return [float(place in said.options) / len(said.options) for place in range(count)]
    shares = [1.0 / count] * count
    if said.value is not None:
        far = []
        for option in item.options:
            apart = abs((option.value or 0.0) - said.value)
            far.append(min(apart, 360.0 - apart) if item.circle else apart)
        shares = [0.5 / count] * count
        shares[far.index(min(far))] += 0.5
    return shares


def plain_chance(table: ItemTable, chosen: int, held: Sequence[str], slip: float, guess: float) -> float:
    """The chance of one option of a choice, given all wrong states held, by the rules of the model's page."""
    item = table.item
    laws = {touched.law for touched in table.touched}
    telling = [one for one in held if one in table.said]
    telling += [OTHER for one in held if one.startswith(OTHER + ":") and one.partition(":")[2] in laws]
    if telling:
        every = [plain_answers(item, table, one) for one in telling]
        thought = [sum(column) / len(every) for column in zip(*every, strict=True)]
    else:
        thought = [float(place == item.key) for place in range(len(item.options))]
    weights = [2.0 if option.misconception in SLIPS else 1.0 for option in item.options]
    away = [weight * (1.0 - share) for weight, share in zip(weights, thought, strict=True)]
    slipped = away[chosen] / sum(away)
    return guess / len(item.options) + (1.0 - guess) * ((1.0 - slip) * thought[chosen] + slip * slipped)


def state_names(asked: Asking) -> list[list[str]]:
    """For each law its states: '' for the truth, an idea of each group, some other idea."""
    return [["", *(group[0] for group in law.groups), f"{OTHER}:{law.law.id}"] for law in asked.laws]


def plain_prior(asked: Asking, law: int, state: int, ready: float) -> float:
    """The chance of a state of a law before any answer."""
    groups = asked.laws[law].groups
    every = len(IDEAS_OF_LAW[asked.laws[law].law.id]) + OTHER_SHARE
    each = (1.0 - math.exp(-ready * every)) / every
    sizes = [len(group) for group in groups] + [OTHER_SHARE]
    return 1.0 - each * sum(sizes) if state == 0 else each * sizes[state - 1]


def log_table(asked: Asking, said: Sequence[Said]) -> Floats:
    """The log of the total for every level and combination of states: (levels, states of law 1, ...)."""
    names = state_names(asked)
    levels = list(itertools.product(range(len(READY)), range(len(NOISE_SHARES))))
    found = np.empty((len(levels), *(len(one) for one in names)))
    for number, (ready, noise) in enumerate(levels):
        for states in itertools.product(*(range(len(one)) for one in names)):
            held = [names[law][state] for law, state in enumerate(states) if state]
            log = math.log(READY_SHARES[ready] * NOISE_SHARES[noise])
            for law, state in enumerate(states):
                log += math.log(plain_prior(asked, law, state, float(READY[ready])))
            for table, one in zip(asked.tables, said, strict=True):
                chance = plain_chance(
                    table, one.chosen, held, float(NOISE.slip[noise]), float(NOISE.guess[noise])
                )
                log += math.log(chance)
            found[(number, *states)] = log
    return found


def enumerated(logs: Floats) -> list[Floats]:
    """The chances of each law's states, every combination added up."""
    whole = np.exp(logs - logs.max())
    whole /= whole.sum()
    axes = range(logs.ndim)
    return [whole.sum(axis=tuple(a for a in axes if a != law)) for law in axes if law > 0]


def sampled(logs: Floats, steps: int, seed: int) -> list[Floats]:
    """The same by emcee, every state a part of the unit interval: a coordinate for the level and each law.

    The parts are as wide as the states are likely when the laws are looked at one by one; what is drawn
    from is divided by the widths, so they change the speed of the sampler and not what it finds.
    """
    whole = np.exp(logs - logs.max())
    axes = range(logs.ndim)
    widths = [np.sqrt(whole.sum(axis=tuple(other for other in axes if other != axis))) for axis in axes]
    widths = [one / one.sum() for one in widths]
    edges = [np.cumsum(one)[:-1] for one in widths]

    def states_at(places: Floats) -> list[NDArray[np.int64]]:
        return [np.searchsorted(edge, places[:, axis]) for axis, edge in enumerate(edges)]

    def log_chance(places: Floats) -> Floats:
        inside = np.all((places >= 0.0) & (places < 1.0), axis=1)
        states = states_at(places)
        narrow = sum(np.log(one[state]) for one, state in zip(widths, states, strict=True))
        found: Floats = np.where(inside, logs[tuple(states)] - narrow, -np.inf)
        return found

    walkers = 16 * logs.ndim
    moves = [(emcee.moves.StretchMove(), 0.5), (emcee.moves.DEMove(), 0.5)]
    sampler = emcee.EnsembleSampler(walkers, logs.ndim, log_chance, vectorize=True, moves=moves)
    start = np.random.default_rng(seed).random((walkers, logs.ndim))
    own = np.random.RandomState(seed).get_state()
    sampler.run_mcmc(emcee.State(start, random_state=own), steps)
    states = states_at(sampler.get_chain(discard=steps // 4, flat=True))
    return [np.bincount(states[law], minlength=logs.shape[law]) / len(states[law]) for law in axes if law > 0]


MOST_SEEDS = 1000


def item_showing(model: str, ideas: Sequence[str]) -> ItemTable:
    """The first question of a model in which every one of these ideas or slips has an option."""
    for seed in range(MOST_SEEDS):
        found = table_of(generate(model_named(model), seed))
        if set(ideas) <= {option.misconception for option in found.item.options}:
            return found
    raise AssertionError(f"{model} does not offer {', '.join(ideas)} in {MOST_SEEDS} questions")


def small_case() -> tuple[Asking, list[Said]]:
    """Six questions on drift and one student whose answers may come from two wrong ideas, or from slips."""
    case = (
        ("wander-rate", ()),
        ("wander-on-a-leg", ()),
        ("wander-transport-rate", ("journey-the-other-way",)),
        ("wander-transport-rate", ("transport-wander-is-the-earth",)),
        ("wander-rate", ("same-wander-everywhere",)),
        ("balance-elsewhere", ("balance-works-everywhere", "balance-left-out")),
    )
    tables = [item_showing(model, ideas) for model, ideas in case]
    said = []
    for table, (_, ideas) in zip(tables, case, strict=True):
        wrong = [option.misconception for option in table.item.options]
        said.append(Said(wrong.index(ideas[0]) if ideas else table.item.key))
    return asking(tables), said


SAMPLER_HEAD = ("law", "state", "diagnosis", "every combination", "sampler", "its standard error")


def sampler_rows(runs: int = 12, steps: int = 3000) -> list[tuple[str, ...]]:
    """The small case three ways; the sampler's error is that of the mean of independent runs."""
    asked, said = small_case()
    logs = log_table(asked, said)
    exact, own = enumerated(logs), of_class([by_level(asked, [said])])[0].laws
    every = [sampled(logs, steps, seed) for seed in range(runs)]
    names = state_names(asked)
    rows = []
    for law, chances in enumerate(exact):
        draws = np.array([run[law] for run in every])
        mean, error = draws.mean(axis=0), draws.std(axis=0, ddof=1) / np.sqrt(runs)
        for state in np.argsort(-chances)[:3]:
            rows.append(
                (
                    asked.laws[law].law.title,
                    f"`{names[law][state]}`" if names[law][state] else "the truth",
                    f"{own[law][0][state]:.4f}",
                    f"{chances[state]:.4f}",
                    f"{mean[state]:.4f}",
                    f"{error[state]:.4f}",
                )
            )
    return rows
