"""What somebody who knows nothing gains by looking at the options alone.

    python -m benchmarks.cues [--count N] [--splits N] [--write]

A classifier sees the options of a question, neither its stem nor its drawing: place, rank, size, sign,
precision, length, words that options share, pairs alike, round numbers, 'nothing happens'. It learns from
the questions of one half of the models which option is right, and is tried on the other half. Its share of
right answers, less the share that a blind choice has, is the gain. Two classifiers are tried: a conditional
logit, and a small network with a hidden layer. Their strength of shrinkage is chosen within the half that
they learn from.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
from scipy.optimize import minimize

from benchmarks.machine import heading, table
from lubberline.arrays import Floats
from lubberline.questions.bank import models
from lubberline.questions.generate import generate
from lubberline.questions.item import Item, Option
from lubberline.questions.model import ItemModel

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "methods" / "cues.md"
COUNT, SPLITS = 20_000, 20
HIDDEN = 8
# Of so many items of either part the strength of shrinkage is chosen.
CHOOSING = 2_500
# Candidates for the strength of shrinkage, in items.
SHRINKAGES = (3.0, 30.0, 300.0, 3000.0)
GOAL_POINTS = 2.0

NOTHING = re.compile(
    r"\b(no|not|nothing|none|neither|never|zero|unchanged|without|same|alone)\b", re.IGNORECASE
)
ABSOLUTE = re.compile(r"\b(all|always|any|both|every|everywhere|only|never|must)\b", re.IGNORECASE)
HEDGED = re.compile(r"\b(about|may|usually|some|most|more|less|part|likely)\b", re.IGNORECASE)
NUMBER = re.compile(r"[−-]?\d+(?:\.\d+)?")


class Seen(NamedTuple):
    """The options of many items, as numbers.

    Attributes:
        features: by item, option and feature; zeros where an item has fewer options.
        there: whether an item has that option.
        key: index of the right option.
        model: index of the item's model.
        names: of the models.
    """

    features: Floats
    there: np.ndarray
    key: np.ndarray
    model: np.ndarray
    names: tuple[str, ...]

    @property
    def chance(self) -> Floats:
        """By item, the chance of a blind choice."""
        return 1.0 / self.there.sum(axis=1)

    def of(self, chosen: np.ndarray) -> Seen:
        """The items of some models."""
        rows = np.isin(self.model, chosen)
        return Seen(self.features[rows], self.there[rows], self.key[rows], self.model[rows], self.names)

    def first(self, count: int) -> Seen:
        """The first items, in which the models take turns."""
        return Seen(*(part[:count] for part in self[:4]), self.names)


def _ranks(values: Sequence[float]) -> Floats:
    """Ranks from 0 to 1, ties in the middle."""
    found = np.asarray(values, dtype=float)
    lower = (found[:, None] > found[None, :]).sum(axis=1)
    equal = (found[:, None] == found[None, :]).sum(axis=1) - 1
    return np.asarray((lower + 0.5 * equal) / max(len(found) - 1, 1))


def _standing(values: Sequence[float]) -> list[Floats]:
    """How each of several values stands among the others: its rank, at an end, in the middle, alone."""
    found = np.asarray(values, dtype=float)
    ranks = _ranks(values)
    spread = float(np.ptp(found)) or 1.0
    apart = np.abs(found[:, None] - found[None, :])
    alike = (apart < 1e-9).sum(axis=1) - 1.0
    return [
        ranks,
        (found == found.max()) * (found > found.min()),
        (found == found.min()) * (found < found.max()),
        np.abs(ranks - 0.5),
        (found - found.mean()) / spread,
        apart.sum(axis=1) / (spread * len(found)),
        np.sort(apart, axis=1)[:, min(1, len(found) - 1)] / spread,
        alike / max(len(found) - 1, 1),
        (alike == 0.0) * (np.unique(found).size < found.size),
    ]


def _numbers_of(options: Sequence[Option]) -> list[float]:
    """The values; of words the first number in them, or 0."""
    found = []
    for option in options:
        if option.value is not None:
            found.append(option.value)
        else:
            match = NUMBER.search(option.text)
            found.append(float(match[0].replace("−", "-")) if match else 0.0)
    return found


def _partners(values: Sequence[float], of: Callable[[float], float], apart: float) -> Floats:
    """How many others are what a rule makes of each value."""
    found = np.asarray(values, dtype=float)
    wanted = np.asarray([of(value) for value in values])
    near = np.abs(found[None, :] - wanted[:, None]) <= apart
    np.fill_diagonal(near, False)
    return near.sum(axis=1) / max(len(found) - 1, 1)


def _decimals(text: str) -> tuple[int, int, int]:
    """Digits, decimals and closing zeros of the first number of a text."""
    match = NUMBER.search(text)
    if not match:
        return 0, 0, 0
    digits = match[0].lstrip("−-")
    _, _, part = digits.partition(".")
    plain = digits.replace(".", "")
    return len(plain), len(part), len(plain) - len(plain.rstrip("0"))


def features_of(options: Sequence[Option], circle: bool) -> Floats:
    """What can be seen of the options of one item: a row for each option."""
    count = len(options)
    places = np.arange(count)
    words = [set(re.findall(r"[^\W\d]+", option.text.casefold())) for option in options]
    shared = np.asarray(
        [[len(one & other) / max(len(one | other), 1) for other in words] for one in words], dtype=float
    )
    overlap = (shared.sum(axis=1) - np.diag(shared)) / max(count - 1, 1)
    values = _numbers_of(options)
    sizes, signs = [abs(value) for value in values], [float(np.sign(value)) for value in values]
    same_sign = (np.equal.outer(signs, signs).sum(axis=1) - 1.0) / max(count - 1, 1)
    near_size = np.asarray([sum(abs(a - b) < 1e-6 + 0.02 * max(a, b) for b in sizes) - 1.0 for a in sizes])
    written = [_decimals(option.text) for option in options]
    is_numbers = float(all(option.value is not None for option in options))
    columns: list[Floats] = [
        *(np.asarray(places == place) * float(count == of) for of in (2, 3, 4) for place in range(of)),
        places / max(count - 1, 1),
        *_standing([len(option.text) for option in options]),
        *_standing([len(option.text.split()) for option in options]),
        *_standing(overlap.tolist()),
        *_standing(values),
        *_standing(sizes),
        *_standing([digits for digits, _, _ in written]),
        *_standing([part for _, part, _ in written]),
        *_standing([zeros for _, _, zeros in written]),
        np.asarray(signs),
        np.asarray([value == 0.0 for value in values], dtype=float) * is_numbers,
        same_sign,
        np.asarray(same_sign == 0.0, dtype=float),
        near_size / max(count - 1, 1),
        np.asarray(same_sign + near_size / max(count - 1, 1)),
        *(
            np.asarray([value % step == 0.0 for value in values], dtype=float) * is_numbers
            for step in (5.0, 10.0, 90.0, 100.0)
        ),
        _partners(values, lambda value: -value, 1e-6),
        _partners(values, lambda value: 2.0 * value, 0.06 * max(sizes)),
        _partners(values, lambda value: 0.5 * value, 0.03 * max(sizes)),
        _partners(values, lambda value: (value + 180.0) % 360.0, 1.0),
        _partners(values, lambda value: 360.0 - value, 1.0),
        _partners(values, lambda value: 90.0 - value, 1.0),
        _middles(values),
        *_round_the_circle(values, circle),
        *(
            np.asarray([bool(pattern.search(option.text)) for option in options], dtype=float)
            for pattern in (NOTHING, ABSOLUTE, HEDGED)
        ),
        np.asarray([option.text.casefold() == "true" for option in options], dtype=float),
    ]
    return np.stack([np.asarray(column, dtype=float) for column in columns], axis=1)


def _middles(values: Sequence[float]) -> Floats:
    """How often each value lies in the middle of two others: what wrong signs on either side leave."""
    found = np.asarray(values, dtype=float)
    near = 0.02 * (float(np.ptp(found)) or 1.0)
    counts = [
        sum(
            abs(0.5 * (one + other) - value) <= near
            for i, one in enumerate(values)
            for j, other in enumerate(values)
            if i < j and place not in (i, j)
        )
        for place, value in enumerate(values)
    ]
    return np.asarray(counts, dtype=float)


def _round_the_circle(values: Sequence[float], circle: bool) -> list[Floats]:
    """For directions: distances to the others round the circle, as ranks, and the middle one."""
    if not circle:
        return [np.zeros(len(values)) for _ in range(3)]
    found = np.asarray(values, dtype=float)
    apart = np.abs((found[:, None] - found[None, :] + 180.0) % 360.0 - 180.0)
    far = apart.sum(axis=1)
    return [_ranks(far.tolist()), np.asarray(far == far.min()), np.asarray(far == far.max())]


def seen(count: int, seed: int = 1, of: Sequence[ItemModel] | None = None) -> Seen:
    """The options of many items, of all models that have options, which take turns."""
    bank = [model for model in (of if of is not None else models().values()) if generate(model, seed).options]
    items = [
        (number % len(bank), generate(bank[number % len(bank)], seed + number)) for number in range(count)
    ]
    return as_numbers(items, tuple(model.id for model in bank))


def as_numbers(items: Sequence[tuple[int, Item]], names: tuple[str, ...]) -> Seen:
    """The options of items, each with the index of its model among the names."""
    rows = [features_of(item.options, item.circle) for _, item in items]
    most = max(map(len, rows))
    # Single precision: a look at 20,000 items takes half as long, and learns the same.
    features = np.zeros((len(items), most, rows[0].shape[1]), dtype=np.float32)
    there = np.zeros((len(items), most), dtype=bool)
    for number, row in enumerate(rows):
        features[number, : len(row)] = row
        there[number, : len(row)] = True
    key = np.asarray([item.key for _, item in items])
    return Seen(features, there, key, np.asarray([model for model, _ in items]), names)


def _loss(scores: Floats, part: Seen) -> tuple[float, Floats]:
    """The mean surprise at the keys, and its slope by score."""
    scores = np.where(part.there, scores, -np.inf)
    scores = scores - scores.max(axis=1, keepdims=True)
    shares = np.exp(scores)
    shares /= shares.sum(axis=1, keepdims=True)
    rows = np.arange(len(part.key))
    found = -float(np.log(shares[rows, part.key] + 1e-12).mean(dtype=float))
    shares[rows, part.key] -= 1.0
    return found, shares / len(rows)


def _logit(weights: Floats, features: Floats) -> Floats:
    return np.asarray(features @ weights.astype(features.dtype))


def learn_logit(part: Seen, shrinkage: float) -> Floats:
    """Weights of a conditional logit."""
    strength = shrinkage / len(part.key)

    def loss(weights: Floats) -> tuple[float, Floats]:
        found, slope = _loss(_logit(weights, part.features), part)
        down = np.tensordot(slope, part.features, 2)
        return found + 0.5 * strength * float(weights @ weights), down + strength * weights

    start = np.zeros(part.features.shape[2])
    return np.asarray(minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": 100}).x)


def _unpacked(weights: Floats, width: int) -> tuple[Floats, Floats, Floats]:
    cut = width * HIDDEN
    return weights[:cut].reshape(width, HIDDEN), weights[cut : cut + HIDDEN], weights[cut + HIDDEN :]


def _network(weights: Floats, features: Floats) -> Floats:
    into, bias, out = _unpacked(weights.astype(features.dtype), features.shape[2])
    return np.asarray(np.tanh(features @ into + bias) @ out)


def learn_network(part: Seen, shrinkage: float) -> Floats:
    """Weights of a network with one hidden layer, which scores each option by its row."""
    strength, width = 0.1 * shrinkage / len(part.key), part.features.shape[2]

    def loss(weights: Floats) -> tuple[float, Floats]:
        into, bias, out = _unpacked(weights.astype(part.features.dtype), width)
        hidden = np.tanh(part.features @ into + bias)
        found, slope = _loss(hidden @ out, part)
        back = slope[..., None] * out * (1.0 - hidden**2)
        down = np.concatenate(
            [
                np.tensordot(part.features, back, ((0, 1), (0, 1))).ravel(),
                back.sum(axis=(0, 1)),
                np.tensordot(slope, hidden, 2),
            ]
        )
        return found + 0.5 * strength * float(weights @ weights), down + strength * weights

    start = np.random.default_rng(1).normal(0.0, 0.3, width * HIDDEN + 2 * HIDDEN)
    return np.asarray(minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": 60}).x)


Learn = Callable[[Seen, float], Floats]
Score = Callable[[Floats, Floats], Floats]
CLASSIFIERS: dict[str, tuple[Learn, Score]] = {
    "conditional logit": (learn_logit, _logit),
    "network": (learn_network, _network),
}


def right(scores: Floats, part: Seen) -> Floats:
    """By item, the chance that the option with the best score is the key; ties are drawn."""
    scores = np.where(part.there, scores, -np.inf)
    best = scores >= scores.max(axis=1, keepdims=True) - 1e-9
    return np.asarray(best[np.arange(len(part.key)), part.key] / best.sum(axis=1))


def gains(data: Seen, classifier: str, splits: int, seed: int = 1) -> Floats:
    """By model the mean gain over chance in the splits in which it was tried; nan if in none.

    Args:
        data: the options of many items.
        classifier: a key of `CLASSIFIERS`.
        splits: how often the models are divided in two halves.
        seed: decides how.
    """
    learn, score = CLASSIFIERS[classifier]
    rng, count = np.random.default_rng(seed), len(data.names)
    found: list[list[float]] = [[] for _ in range(count)]
    for _ in range(splits):
        order = rng.permutation(count)
        known, tried = order[: count // 2], order[count // 2 :]
        trained, test = data.of(known), data.of(tried)
        strength = _best(learn, score, data, known)
        gain = right(score(learn(trained, strength), test.features), test) - test.chance
        for model in tried:
            found[model].append(float(gain[test.model == model].mean()))
    return np.asarray([np.mean(one) if one else np.nan for one in found])


def _best(learn: Learn, score: Score, data: Seen, known: np.ndarray) -> float:
    """The strength of shrinkage that does best when one half of the known models is learnt."""
    one, other = data.of(known[::2]).first(CHOOSING), data.of(known[1::2]).first(CHOOSING)

    def gained(strength: float) -> float:
        pairs = ((one, other), (other, one))
        return sum(
            float(right(score(learn(a, strength), b.features), b).mean() - b.chance.mean()) for a, b in pairs
        )

    return max(SHRINKAGES, key=gained)


def interval(by_model: Floats, seed: int = 1, times: int = 2000) -> tuple[float, float]:
    """The middle 95% of the mean over models drawn again with replacement."""
    known = by_model[np.isfinite(by_model)]
    drawn = np.random.default_rng(seed).choice(known, (times, len(known))).mean(axis=1)
    low, high = np.quantile(drawn, (0.025, 0.975))
    return float(low), float(high)


def told(data: Seen, splits: int, by_model: bool = False) -> str:
    """The table of gains; with `by_model` also each model's, the largest first."""
    rows, lines = [], []
    for name in CLASSIFIERS:
        found = gains(data, name, splits)
        low, high = interval(found)
        rows.append((name, f"{100 * np.nanmean(found):+.1f}", f"{100 * low:+.1f} to {100 * high:+.1f}"))
        if by_model:
            lines += [f"{data.names[place]}: {100 * found[place]:+.1f}" for place in np.argsort(-found)]
    return "\n".join([*lines, table(("classifier", "gain, points", "95%"), rows)])


def main() -> None:
    """Measure the gain, and write it on the page."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=COUNT, help="questions with options")
    parser.add_argument("--splits", type=int, default=SPLITS)
    parser.add_argument("--by-model", action="store_true", help="the gain in each model too")
    parser.add_argument("--write", action="store_true", help="write docs/methods/cues.md")
    asked = parser.parse_args()
    data = seen(asked.count)
    text = told(data, asked.splits, asked.by_model)
    head = (
        f"{asked.count:,} questions of {len(data.names)} models, {asked.splits} divisions of the models; a "
    )
    head += f"blind choice is right in {100.0 * data.chance.mean():.1f}%."
    print(f"{heading(('numpy', 'scipy'))}\n\n{head}\n\n{text}")
    if asked.write:
        begin, end = "<!-- gain -->", "<!-- end of gain -->"
        before, rest = PAGE.read_text(encoding="utf-8").split(begin)
        PAGE.write_text(f"{before}{begin}\n{head}\n\n{text}\n{end}{rest.split(end)[1]}", encoding="utf-8")


if __name__ == "__main__":
    main()
