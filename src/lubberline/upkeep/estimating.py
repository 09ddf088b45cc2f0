"""The estimate of real wander from a log: the filter under several noises and growths, weighed together."""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from lubberline.arrays import Floats
from lubberline.upkeep import filtering
from lubberline.upkeep.filtering import Noise, Settings
from lubberline.upkeep.records import Estimate, Log, TrendPoint

LIMIT_DEG_15MIN = 3.0
HEALTHY_SD_DEG_15MIN = 1.0
SICK_SD_DEG_15MIN = 8.0
SICK_SHARE = 0.2
# Readers differ: all standard deviations are taken times these, with these probabilities.
SCALES = (0.5, 0.7, 1.0, 1.4, 2.0)
SCALE_PRIOR = (0.1, 0.25, 0.3, 0.25, 0.1)
# Standard deviations by which the wander may have walked in a year, with their probabilities.
GROWTHS_DEG_YEAR = (0.0, 2.0, 8.0)
GROWTH_PRIOR = (0.9, 0.07, 0.03)
DAYS_YEAR = 365.25
TAIL = 0.025


class Found(NamedTuple):
    """What the filter found.

    Attributes:
        estimate: in numbers.
        posterior: probability of each cell of the grid now.
        prior: before any check.
        wrong: probability that each check is grossly wrong.
        noise: the scatter that fits best.
        kept: probability of each cell after each lot.
        lots: of one setting each.
    """

    estimate: Estimate
    posterior: Floats
    prior: Floats
    wrong: Floats
    noise: Noise
    kept: Floats
    lots: Settings


def prior_of(wanders: Floats) -> Floats:
    """Healthy instruments have either sign; a share of them is sick and may have anything."""
    healthy = np.exp(-0.5 * (wanders / HEALTHY_SD_DEG_15MIN) ** 2) / HEALTHY_SD_DEG_15MIN
    sick = np.exp(-0.5 * (wanders / SICK_SD_DEG_15MIN) ** 2) / SICK_SD_DEG_15MIN
    density = (1.0 - SICK_SHARE) * healthy + SICK_SHARE * sick
    mass = density * filtering.widths(wanders)
    normal: Floats = mass / mass.sum()
    return normal


def lots_of(log: Log) -> Settings:
    """The checks of a log in lots of one setting, long ones divided."""
    first: list[int] = []
    start_s: list[float] = []
    for i, check in enumerate(log.checks):
        same = bool(first) and log.checks[first[-1]].set_s == check.set_s
        if not same or i - first[-1] >= filtering.GREATEST_LOT:
            first.append(i)
            start_s.append(check.set_s)
    worked = np.array([event.time_s for event in log.events])
    after = np.zeros(len(first), dtype=bool)
    for j in range(1, len(first)):
        after[j] = bool(((worked > start_s[j - 1]) & (worked <= start_s[j])).any())
    edges = np.array([*first, len(log.checks)], dtype=np.int64)
    return Settings(edges, np.array(start_s) / 86400.0, after)


def scaled(noise: Noise, scale: float) -> Noise:
    """The same scatter, wider or narrower."""
    return noise._replace(reading_deg=noise.reading_deg * scale, setting_deg=noise.setting_deg * scale)


def quantile(mass: Floats, wanders: Floats, share: float) -> float:
    """The wander below which a share of the probability lies, each cell's spread evenly over it."""
    cell = filtering.widths(wanders)
    edges = np.concatenate(([wanders[0] - 0.5 * cell[0]], wanders + 0.5 * cell))
    below = np.concatenate(([0.0], np.cumsum(mass)))
    return float(np.interp(share * below[-1], below, edges))


def estimate_of(log: Log, left: Floats, noise: Noise, exact: bool = False) -> Found:
    """The estimate from what is left of the checks.

    Args:
        log: the checks and the maintenance between them.
        left: what is left of each, deg.
        noise: of the entries, before it is scaled.
        exact: take this noise and no growth as given, for comparison with a sampler.
    """
    wanders = filtering.grid()
    cell, prior = filtering.widths(wanders), prior_of(wanders)
    lots = lots_of(log)
    quarters = np.array([check.minutes / 15.0 for check in log.checks])

    def run(growth_deg_year: float, wider: Noise) -> tuple[float, Floats]:
        kept = np.zeros((len(lots.day), len(wanders)))
        variance = growth_deg_year**2 / DAYS_YEAR
        evidence = filtering.filter_log(
            left, quarters, lots.first, lots.day, lots.after_maintenance, prior, wanders, cell, variance,
            wider, kept,
        )  # fmt: skip
        return evidence, kept

    if exact:
        runs = [(0.0, *run(0.0, noise))]
        weights = np.ones(1)
        best = noise
    else:
        still = [(scale, run(0.0, scaled(noise, scale))) for scale in SCALES]
        logs = np.array([ev for _, (ev, _) in still]) + np.log(SCALE_PRIOR) + math.log(GROWTH_PRIOR[0])
        likely = int(np.argmax(logs))
        best = scaled(noise, SCALES[likely])
        runs = [(0.0, ev, kept) for _, (ev, kept) in still]
        weights = logs
        # Growth is tried with the scatter that fits best; the others follow in proportion.
        spread = np.log(np.exp(logs - logs.max()).sum()) + logs.max() - logs[likely]
        for growth, chance in zip(GROWTHS_DEG_YEAR[1:], GROWTH_PRIOR[1:], strict=True):
            evidence, kept = run(growth, best)
            runs.append((growth, evidence, kept))
            own = evidence + math.log(SCALE_PRIOR[likely]) + math.log(chance) + spread
            weights = np.append(weights, own)
        weights = np.exp(weights - weights.max())
        weights /= weights.sum()
    mixed = np.einsum("r,rjg->jg", weights, np.stack([kept for _, _, kept in runs]))
    growing = float(sum(w for w, (growth, _, _) in zip(weights, runs, strict=True) if growth > 0.0))
    wrong = np.zeros(len(left))
    means = mixed @ wanders
    filtering.wrong_checks(left, quarters, lots.first, means, best, wrong)
    estimate = _numbers(mixed, wanders, lots, growing)
    return Found(estimate, mixed[-1], prior, wrong, best, mixed, lots)


def under_prior(found: Found, prior: Floats) -> Found:
    """The same checks under another prior of the wander, since the last maintenance.

    Bayes' rule with the prior exchanged; exact for a wander that does not walk.
    """
    wanders = filtering.grid()
    worked = np.flatnonzero(found.lots.after_maintenance)
    since = int(worked[-1]) if len(worked) else 0
    kept = found.kept.copy()
    kept[since:] *= prior / np.maximum(found.prior, 1e-300)
    kept[since:] /= kept[since:].sum(axis=1, keepdims=True)
    estimate = _numbers(kept, wanders, found.lots, found.estimate.growing)
    return found._replace(estimate=estimate, posterior=kept[-1], prior=prior, kept=kept)


def _numbers(mixed: Floats, wanders: Floats, lots: Settings, growing: float) -> Estimate:
    last = mixed[-1]
    points = tuple(
        TrendPoint(
            float(day * 86400.0),
            float(mass @ wanders),
            quantile(mass, wanders, TAIL),
            quantile(mass, wanders, 1.0 - TAIL),
        )
        for day, mass in _thinned(lots.day, mixed)
    )
    return Estimate(
        mean_deg_15min=float(last @ wanders),
        low_deg_15min=quantile(last, wanders, TAIL),
        high_deg_15min=quantile(last, wanders, 1.0 - TAIL),
        beyond_limit=float(last[np.abs(wanders) > LIMIT_DEG_15MIN].sum()),
        growing=growing,
        trend=points,
    )


MOST_POINTS = 200


def _thinned(days: Floats, mixed: Floats) -> Sequence[tuple[float, Floats]]:
    """Points of the trend, as many as a figure can show, the last one always."""
    step = max(1, math.ceil(len(days) / MOST_POINTS))
    chosen = list(range(len(days) - 1, -1, -step))[::-1]
    return [(float(days[j]), mixed[j]) for j in chosen]
