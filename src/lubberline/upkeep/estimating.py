"""The estimate of real wander from a log: the filter under several noises and rates of change, weighted."""

import math
from typing import NamedTuple

import numpy as np

from lubberline.arrays import Floats
from lubberline.upkeep import filtering
from lubberline.upkeep.filtering import Noise, Settings
from lubberline.upkeep.records import Estimate, Log, TrendPoint

LIMIT_DEG_15MIN = 3.0
HEALTHY_SD_DEG_15MIN = 1.0
FAULTY_SD_DEG_15MIN = 8.0
FAULTY_SHARE = 0.2
# Readers differ: all standard deviations are taken times these, with these probabilities.
SCALES = (0.5, 0.7, 1.0, 1.4, 2.0)
SCALE_PRIOR = (0.1, 0.25, 0.3, 0.25, 0.1)
# Standard deviations by which the wander may have walked in a year, with their probabilities.
GROWTHS_DEG_YEAR = (0.0, 2.0, 8.0)
GROWTH_PRIOR = (0.9, 0.07, 0.03)
DAYS_YEAR = 365.25
TAIL = 0.025
MOST_POINTS = 200


class Found(NamedTuple):
    """The result of the filter.

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
    """Healthy instruments have either sign; a share of all instruments is faulty and may have any wander."""
    healthy = np.exp(-0.5 * (wanders / HEALTHY_SD_DEG_15MIN) ** 2) / HEALTHY_SD_DEG_15MIN
    faulty = np.exp(-0.5 * (wanders / FAULTY_SD_DEG_15MIN) ** 2) / FAULTY_SD_DEG_15MIN
    mass = ((1.0 - FAULTY_SHARE) * healthy + FAULTY_SHARE * faulty) * filtering.widths(wanders)
    return np.asarray(mass / mass.sum())


def lots_of(log: Log) -> Settings:
    """The checks of a log in lots of one setting, long ones divided."""
    first: list[int] = []
    for i, check in enumerate(log.checks):
        same = bool(first) and log.checks[first[-1]].set_s == check.set_s
        if not same or i - first[-1] >= filtering.GREATEST_LOT:
            first.append(i)
    start_s = np.array([log.checks[i].set_s for i in first])
    worked = np.searchsorted(sorted(event.time_s for event in log.events), start_s, side="right")
    edges = np.array([*first, len(log.checks)], dtype=np.int64)
    return Settings(edges, start_s / 86400.0, np.append(False, np.diff(worked) > 0))


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
    """The estimate from the rest of the checks.

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

    scales, chances = ((1.0,), (1.0,)) if exact else (SCALES, SCALE_PRIOR)
    runs = [(0.0, *run(0.0, scaled(noise, scale))) for scale in scales]
    weights = np.array([ev for _, ev, _ in runs]) + np.log(chances) + math.log(GROWTH_PRIOR[0])
    likely = int(np.argmax(weights))
    best = scaled(noise, scales[likely])
    # The rates of change are tried with the best scatter; the others follow in proportion.
    spread = np.log(np.exp(weights - weights[likely]).sum())
    for growth, chance in (
        zip(
            GROWTHS_DEG_YEAR[1:],
            GROWTH_PRIOR[1:],
            strict=True,
        )
        if not exact
        else ()
    ):
        runs.append((growth, *run(growth, best)))
        weights = np.append(weights, runs[-1][1] + math.log(chances[likely]) + math.log(chance) + spread)
    weights = np.exp(weights - weights.max())
    weights /= weights.sum()
    mixed = np.einsum("r,rjg->jg", weights, np.stack([kept for _, _, kept in runs]))
    growing = float(sum(w for w, (growth, _, _) in zip(weights, runs, strict=True) if growth > 0.0))
    wrong = np.zeros(len(left))
    filtering.wrong_checks(left, quarters, lots.first, mixed @ wanders, best, wrong)
    return Found(
        _numbers(mixed, wanders, lots, growing),
        mixed[-1],
        prior,
        wrong,
        best,
        mixed,
        lots,
    )


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
    # As many as a figure can show, the last one always.
    step = max(1, math.ceil(len(mixed) / MOST_POINTS))
    shown = slice((len(mixed) - 1) % step, None, step)
    points = tuple(
        TrendPoint(
            float(day * 86400.0),
            float(mass @ wanders),
            quantile(mass, wanders, TAIL),
            quantile(mass, wanders, 1.0 - TAIL),
        )
        for day, mass in zip(lots.day[shown], mixed[shown], strict=True)
    )
    return Estimate(
        mean_deg_15min=float(last @ wanders),
        low_deg_15min=quantile(last, wanders, TAIL),
        high_deg_15min=quantile(last, wanders, 1.0 - TAIL),
        beyond_limit=float(last[np.abs(wanders) > LIMIT_DEG_15MIN].sum()),
        growing=growing,
        trend=points,
    )
