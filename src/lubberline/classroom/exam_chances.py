"""The chance of passing an exam with section marks, from each student's abilities.

Given the abilities, the right answers in a section are binomial. Their distributions are kept as Fourier
coefficients, in which adding sections is a product and 'at least so many of all' is a weighted sum. Random
draws are needed for the intervals only.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.arrays import Floats
from lubberline.classroom.ability import Ability, moderated
from lubberline.classroom.exam import Exam

Complexes = NDArray[np.complex128]
# Three nodes for how much harder the paper may be: Gauss and Hermite, exact to the fifth power.
UNLIKE_NODES = np.array([-math.sqrt(3.0), 0.0, math.sqrt(3.0)])
UNLIKE_WEIGHTS = np.array([1.0, 4.0, 1.0]) / 6.0
MORE = 0.1
TAIL = 0.05
DRAWS = 200
AT_ONCE = 20


class Chances(NamedTuple):
    """By student.

    Attributes:
        passing: (n,) chance of passing; `low` and `high` its interval.
        expected: (n,) expected share right of the whole; `expected_low` and `expected_high` its interval.
        section_expected: (n, sections), with `section_low` and `section_high`.
        section_passing: (n, sections) chance of reaching the section's mark.
        raised: (n, sections) chance of passing with one more answer in ten right there.
    """

    passing: Floats
    low: Floats
    high: Floats
    expected: Floats
    expected_low: Floats
    expected_high: Floats
    section_expected: Floats
    section_low: Floats
    section_high: Floats
    section_passing: Floats
    raised: Floats


def least_right(mark: float, questions: int) -> int:
    """How many right answers reach a mark, safe from rounding."""
    return math.ceil(mark * questions - 1e-9)


def binomial(chance: Floats, questions: int) -> Floats:
    """(..., questions + 1) chances of each number of right answers."""
    right = np.arange(questions + 1)
    ways = np.array(
        [math.lgamma(questions + 1) - math.lgamma(k + 1) - math.lgamma(questions - k + 1) for k in right]
    )
    held = np.clip(chance, 1e-12, 1.0 - 1e-12)[..., None]
    found: Floats = np.exp(ways + right * np.log(held) + (questions - right) * np.log1p(-held))
    return found


class _Section(NamedTuple):
    """Tables over (g, paper, u): chances of scores, their coefficients above the mark, the same raised."""

    scores: Floats
    above: Complexes
    raised: Complexes
    least: int


def exam_chances(found: Ability, exam: Exam, difficulty: Floats, spread: Floats, seed: int = 0) -> Chances:
    """Every student's chances in an exam.

    Args:
        found: abilities; the first sections are those of the exam, in order.
        exam: what is asked.
        difficulty: (sections,) mean difficulty of a section's questions, logit; `spread` of single ones.
        spread: (sections,) as above.
        seed: of the draws behind the intervals.
    """
    size = 1 << exam.questions.bit_length()
    sections = [
        _section(found, exam, place, float(difficulty[place]), float(spread[place]), size)
        for place in range(len(exam.sections))
    ]
    passed = _at_least(least_right(exam.mark, exam.questions), size)
    random = np.random.default_rng(seed)
    students = range(0, len(found.general), AT_ONCE)
    parts = [_some(found, exam, sections, passed, slice(k, k + AT_ONCE), random) for k in students]
    if not parts:
        none = np.zeros(0)
        return Chances(*[none] * 6, *[np.zeros((0, len(sections)))] * 5)
    return Chances(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def _section(found: Ability, exam: Exam, place: int, difficulty: float, spread: float, size: int) -> _Section:
    section = exam.sections[place]
    ability = found.common * found.nodes[:, None, None] + found.own * found.own_nodes
    logit = ability - difficulty - exam.unlike * UNLIKE_NODES[:, None]
    chance = 1.0 / (1.0 + np.exp(-moderated(logit, np.array(spread))))
    least = least_right(section.mark, section.questions)
    scores = binomial(chance, section.questions)
    more = binomial(np.minimum(chance + MORE, 1.0), section.questions)
    for table in (held := scores.copy(), more):
        table[..., :least] = 0.0
    return _Section(scores, np.fft.rfft(held, size), np.fft.rfft(more, size), least)


def _at_least(least: int, size: int) -> Complexes:
    """Weights that turn Fourier coefficients into the chance of `least` or more in all."""
    counted = np.zeros(size)
    counted[least:] = 1.0
    weights: Complexes = np.asarray(np.conj(np.fft.rfft(counted)) / size, dtype=np.complex128)
    weights[1:] *= 2.0
    weights[-1] *= 0.5
    return weights


def _some(
    found: Ability,
    exam: Exam,
    sections: Sequence[_Section],
    passed: Complexes,
    rows: slice,
    random: np.random.Generator,
) -> tuple[Floats, ...]:
    """The chances of some students, in the order of `Chances`."""
    general, given = found.general[rows], found.given[rows]
    held = [_over_own(given[:, place], one.above) for place, one in enumerate(sections)]
    more = [_over_own(given[:, place], one.raised) for place, one in enumerate(sections)]
    weight = general[:, :, None] * UNLIKE_WEIGHTS
    whole = _product(held)
    passing = _chance(weight, whole, passed)
    raised = np.stack(
        [_chance(weight, _product([*held[:k], more[k], *held[k + 1 :]]), passed) for k in range(len(held))],
        axis=1,
    )
    low, high = _interval(general, given, sections, passed, random)
    by_section = [_scores(weight, given[:, k], one) for k, one in enumerate(sections)]
    section_shares = [
        _shares(scores.sum(axis=(1, 2)), exam.sections[k].questions) for k, scores in enumerate(by_section)
    ]
    total = _total(by_section, weight, exam.questions)
    expected, expected_low, expected_high = _shares(total, exam.questions)
    means, lows, highs = (np.stack(column, axis=1) for column in zip(*section_shares, strict=True))
    own = np.stack(
        [
            scores.sum(axis=(1, 2))[:, one.least :].sum(axis=1)
            for scores, one in zip(by_section, sections, strict=True)
        ],
        axis=1,
    )
    return (
        passing,
        low,
        high,
        expected,
        expected_low,
        expected_high,
        means,
        lows,
        highs,
        np.clip(own, 0.0, 1.0),
        raised,
    )


def _over_own(given: Floats, table: Complexes) -> Complexes:
    """(n, g, paper, f): a table over (g, paper, u, f), averaged over u given g."""
    g, papers, u, size = table.shape
    flat = table.transpose(0, 2, 1, 3).reshape(g, u, papers * size)
    found = np.matmul(given.transpose(1, 0, 2), flat.view(np.float64).reshape(g, u, -1))
    whole: Complexes = found.view(np.complex128).reshape(g, -1, papers, size).transpose(1, 0, 2, 3)
    return whole


def _product(tables: Sequence[Complexes]) -> Complexes:
    found = tables[0]
    for table in tables[1:]:
        found = found * table
    return found


def _chance(weight: Floats, whole: Complexes, passed: Complexes) -> Floats:
    chance: Floats = (weight * _real(whole, passed)).sum(axis=(1, 2))
    return np.clip(chance, 0.0, 1.0)


def _real(whole: Complexes, passed: Complexes) -> Floats:
    """Real part of a weighted sum, without threads, which would take longer than so small a sum."""
    found: Floats = np.einsum("...f,f->...", whole.real, passed.real)
    found -= np.einsum("...f,f->...", whole.imag, passed.imag)
    return found


def _scores(weight: Floats, given: Floats, section: _Section) -> Floats:
    """(n, g, paper, scores) weighted chances of a section's scores."""
    g, papers, u, size = section.scores.shape
    flat = section.scores.transpose(0, 2, 1, 3).reshape(g, u, papers * size)
    found = np.matmul(given.transpose(1, 0, 2), flat).reshape(g, -1, papers, size).transpose(1, 0, 2, 3)
    weighted: Floats = found * weight[..., None]
    return weighted


def _total(by_section: Sequence[Floats], weight: Floats, questions: int) -> Floats:
    """(n, questions + 1) chances of the whole paper's scores."""
    size = 1 << questions.bit_length()
    whole = weight[..., None].astype(complex)
    for scores in by_section:
        whole = whole * (np.fft.rfft(scores, size) / np.maximum(weight, 1e-300)[..., None])
    return np.fft.irfft(whole.sum(axis=(1, 2)), size)[:, : questions + 1]


def _shares(chances: Floats, questions: int) -> tuple[Floats, Floats, Floats]:
    """Mean share right, and its 90% range."""
    held = np.maximum(chances, 0.0)
    held = held / held.sum(axis=1, keepdims=True)
    below = np.cumsum(held, axis=1)
    low = (below < TAIL).sum(axis=1)
    high = (below < 1.0 - TAIL).sum(axis=1)
    mean = held @ np.arange(questions + 1)
    return mean / questions, low / questions, np.minimum(high, questions) / questions


def _interval(
    general: Floats,
    given: Floats,
    sections: Sequence[_Section],
    passed: Complexes,
    random: np.random.Generator,
) -> tuple[Floats, Floats]:
    """The 90% range of the chance of passing, were abilities and the paper known."""
    students = len(general)
    g = _drawn(general[:, None, :], random.random((students, DRAWS)))
    paper = _drawn(UNLIKE_WEIGHTS[None, None, :], random.random((students, DRAWS)))
    rows = np.arange(students)[:, None]
    whole: Complexes | None = None
    for place, section in enumerate(sections):
        u = _drawn(given[rows, place, g], random.random((students, DRAWS)))
        one = section.above[g, paper, u]
        whole = one if whole is None else whole * one
    if whole is None:
        return np.zeros(students), np.ones(students)
    chance = np.clip(_real(whole, passed), 0.0, 1.0)
    return np.quantile(chance, TAIL, axis=1), np.quantile(chance, 1.0 - TAIL, axis=1)


def _drawn(chances: Floats, uniform: Floats) -> NDArray[np.intp]:
    """Places drawn with these chances along the last axis."""
    below = np.cumsum(chances, axis=-1)
    found: NDArray[np.intp] = (below[..., :-1] < uniform[..., None] * below[..., -1:]).sum(axis=-1)
    return found
