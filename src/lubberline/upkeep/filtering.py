"""Real wander along a log: an exact filter over a grid of wanders, robust against grossly wrong entries.

Checks since one setting share the setting's error. With w the real wander and x the time since the setting
in quarters of an hour, a check leaves y = s + w x + noise; each check may be grossly wrong (then it says
nothing), and each setting, too (then s may be anything). For each choice of which entries are wrong the
likelihood is a parabola in w in closed form; the choices are summed, up to two wrong checks a setting.
Between settings w may walk slowly; at maintenance it may be drawn again.
"""

import math
from typing import NamedTuple

import numpy as np

from lubberline.arrays import Bools, Floats, Ints
from lubberline.compiled import kernel

CELLS = 401
GREATEST_DEG_15MIN = 40.0
# Cells are 0.02 deg in 15 min wide at zero and 1.1 at the ends.
STEEPNESS = 5.0
# Cells with less than this share of the probability are left out of the sums.
NEGLIGIBLE = 1e-13
# Of more checks since one setting, each lot of so many is taken with a setting error of its own.
GREATEST_LOT = 8


class Noise(NamedTuple):
    """The scatter of entries, and how often they are grossly wrong.

    Attributes:
        reading_deg: standard deviation of indicator less compass as read.
        setting_deg: of the error of a setting.
        random_deg_15min: of the slow random part of the wander.
        random_min: its time constant.
        wrong_check: probability that a check is grossly wrong.
        wrong_setting: probability that a setting was, and by what standard deviation.
        wrong_setting_deg: see there.
    """

    reading_deg: float = 1.6
    setting_deg: float = 1.6
    random_deg_15min: float = 0.3
    random_min: float = 20.0
    wrong_check: float = 0.05
    wrong_setting: float = 0.02
    wrong_setting_deg: float = 30.0


class Settings(NamedTuple):
    """Checks in lots of one setting each: lot j holds checks first[j] to first[j + 1] - 1."""

    first: Ints
    day: Floats
    after_maintenance: Bools


def grid() -> Floats:
    """The wanders of the grid, deg in 15 min."""
    steps = np.linspace(-1.0, 1.0, CELLS)
    return np.asarray(GREATEST_DEG_15MIN * np.sinh(STEEPNESS * steps) / math.sinh(STEEPNESS))


def widths(wanders: Floats) -> Floats:
    """The widths of the cells."""
    inner = np.diff(0.5 * (wanders[1:] + wanders[:-1]))
    return np.concatenate(([inner[0]], inner, [inner[-1]]))


@kernel
def _spread(quarters: float, noise: Noise) -> float:
    """Variance of one check: reading error, and the walk of the slow random part."""
    share = 15.0 * quarters / noise.random_min
    walked = noise.random_deg_15min * noise.random_min / 15.0
    random = walked * walked * max(2.0 * (share - 1.0 + math.exp(-share)), 0.0)
    return noise.reading_deg * noise.reading_deg + random


@kernel
def _lot(
    left: Floats,
    quarters: Floats,
    begin: int,
    end: int,
    noise: Noise,
    parabolas: Floats,
    wrong: Ints,
) -> int:
    """Parabolas of a lot, one a choice: constant, a, b, c of constant - (a - 2 b w + c w^2) / 2.

    `wrong` gets the choice: the two checks that are wrong (-1 for none) and whether the setting is.
    """
    count = 0
    checks = end - begin
    log_wrong = math.log(noise.wrong_check / 360.0)
    log_good = math.log(1.0 - noise.wrong_check)
    for bad_setting in range(2):
        setting = noise.wrong_setting_deg if bad_setting else noise.setting_deg
        chance = noise.wrong_setting if bad_setting else 1.0 - noise.wrong_setting
        for first in range(-1, checks):
            seconds = 1 if first < 0 else checks - first
            for step in range(seconds):
                # Nobody wrong; or `first` alone; or `first` and one after it.
                second = -1 if step == 0 else first + step
                a = b = c = total = across = precision = 0.0
                constant = math.log(chance)
                for i in range(checks):
                    if i in (first, second):
                        constant += log_wrong
                        continue
                    x, y = quarters[begin + i], left[begin + i]
                    variance = _spread(x, noise)
                    p = 1.0 / variance
                    constant += log_good - 0.5 * math.log(2.0 * math.pi * variance)
                    a += p * y * y
                    b += p * x * y
                    c += p * x * x
                    total += p * y
                    across += p * x
                    precision += p
                whole = 1.0 / (setting * setting) + precision
                constant -= 0.5 * math.log(setting * setting * whole)
                parabolas[count, 0] = constant
                parabolas[count, 1] = a - total * total / whole
                parabolas[count, 2] = b - total * across / whole
                parabolas[count, 3] = c - across * across / whole
                wrong[count, 0], wrong[count, 1], wrong[count, 2] = first, second, bad_setting
                count += 1
    return count


@kernel
def _likelihood(parabolas: Floats, count: int, wanders: Floats, low: int, high: int, out: Floats) -> float:
    """The likelihood on cells low to high - 1, divided by exp of what is given back."""
    top = -math.inf
    for k in range(count):
        c = parabolas[k, 3]
        best = parabolas[k, 0] - 0.5 * parabolas[k, 1]
        if c > 0.0:
            # Where the parabola is highest within the cells that still count.
            at = min(max(parabolas[k, 2] / c, wanders[low]), wanders[high - 1])
            best += parabolas[k, 2] * at - 0.5 * c * at * at
        top = max(top, best)
    out[:] = 0.0
    for k in range(count):
        constant, a, b, c = parabolas[k, 0], parabolas[k, 1], parabolas[k, 2], parabolas[k, 3]
        base = constant - 0.5 * a - top
        for g in range(low, high):
            w = wanders[g]
            out[g] += math.exp(base + (b - 0.5 * c * w) * w)
    return top


@kernel
def _walk(mass: Floats, wanders: Floats, cell: Floats, variance: float, work: Floats) -> None:
    """The probability after w has walked with a variance, by one implicit step of diffusion."""
    count = len(mass)
    # Tridiagonal: what goes from a cell to the next is in proportion to density, so that mean stays.
    upper = work
    previous = 0.0
    for g in range(count):
        to_right = 0.5 * variance / (wanders[g + 1] - wanders[g]) if g + 1 < count else 0.0
        to_left = 0.5 * variance / (wanders[g] - wanders[g - 1]) if g > 0 else 0.0
        diagonal = 1.0 + (to_right + to_left) / cell[g]
        lower = -to_left / cell[g - 1] if g > 0 else 0.0
        above = -to_right / cell[g + 1] if g + 1 < count else 0.0
        pivot = diagonal - (lower * upper[g - 1] if g > 0 else 0.0)
        upper[g] = above / pivot
        mass[g] = (mass[g] - lower * previous) / pivot
        previous = mass[g]
    for g in range(count - 2, -1, -1):
        mass[g] -= upper[g] * mass[g + 1]


@kernel
def filter_log(
    left: Floats,
    quarters: Floats,
    first: Ints,
    day: Floats,
    after_maintenance: Bools,
    prior: Floats,
    wanders: Floats,
    cell: Floats,
    growth_per_day: float,
    noise: Noise,
    kept: Floats,
) -> float:
    """The probability of each wander after each setting's checks, and the log likelihood of the whole.

    Args:
        left: what is left of each check, deg.
        quarters: time since its setting, quarters of an hour.
        first: index of each lot's first check, and the number of checks at the end.
        day: of each lot.
        after_maintenance: whether the instrument was worked on since the lot before.
        prior: probability of each cell.
        wanders: of the cells.
        cell: their widths.
        growth_per_day: variance by which w walks in a day.
        noise: of the entries.
        kept: (lots, cells), filled.
    """
    lots = len(first) - 1
    mass = prior.copy()
    shape, work = np.zeros(len(prior)), np.zeros(len(prior))
    parabolas = np.zeros((2 * (1 + GREATEST_LOT * (GREATEST_LOT + 1)), 4))
    wrong = np.zeros((len(parabolas), 3), dtype=np.int64)
    evidence = 0.0
    for j in range(lots):
        if after_maintenance[j]:
            mass = 0.5 * mass + 0.5 * prior
        if j > 0 and growth_per_day > 0.0 and day[j] > day[j - 1]:
            _walk(mass, wanders, cell, growth_per_day * (day[j] - day[j - 1]), work)
        counted = np.flatnonzero(mass >= NEGLIGIBLE)
        low, high = counted[0], counted[-1] + 1
        count = _lot(left, quarters, first[j], first[j + 1], noise, parabolas, wrong)
        top = _likelihood(parabolas, count, wanders, low, high, shape)
        mass = mass * shape
        evidence += top + math.log(mass.sum())
        mass /= mass.sum()
        kept[j, :] = mass
    return evidence


@kernel
def wrong_checks(
    left: Floats, quarters: Floats, first: Ints, at_wander: Floats, noise: Noise, out: Floats
) -> None:
    """The probability that each check is grossly wrong, the wander of its lot being as given."""
    parabolas = np.zeros((2 * (1 + GREATEST_LOT * (GREATEST_LOT + 1)), 4))
    wrong = np.zeros((len(parabolas), 3), dtype=np.int64)
    for j in range(len(first) - 1):
        count = _lot(left, quarters, first[j], first[j + 1], noise, parabolas, wrong)
        w, tried = at_wander[j], parabolas[:count]
        heights = tried[:, 0] - 0.5 * tried[:, 1] + (tried[:, 2] - 0.5 * tried[:, 3] * w) * w
        shares = np.exp(heights - heights.max())
        shares /= shares.sum()
        out[first[j] : first[j + 1]] = 0.0
        for k in range(count):
            for which in range(2):
                if wrong[k, which] >= 0:
                    out[first[j] + wrong[k, which]] += shares[k]
