"""Settings of a heading indicator along a flight, its random wander, and how long a setting lasts."""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, NamedTuple

import numpy as np

from lubberline.arrays import Bools, Floats
from lubberline.compiled import kernel
from lubberline.flight.motion import STEP_S, FlightEvent, Motion
from lubberline.instruments.heading_indicator import HeadingIndicatorEntry
from lubberline.instruments.heading_indicator.card import CAGE, SET, UNCAGE
from lubberline.instruments.heading_indicator.gyro import wander_torque_nm
from lubberline.units import DEG

Source = Literal["compass", "truth"]

# A pilot sets it in straight flight, once the compass has settled.
STRAIGHT_DEG = 5.0
SETTLING_S = 20.0


@dataclass(frozen=True)
class Action:
    """Something done to the heading indicator at a sample of the motion.

    Attributes:
        index: the sample.
        kind: SET, CAGE or UNCAGE.
        source: for a setting, what it is set from.
        misreading_deg: for a setting, what is read too high.
        why: 'start', 'flight' (the flight file says so) or 'interval'.
    """

    index: int
    kind: int
    source: Source = "truth"
    misreading_deg: float = 0.0
    why: str = "flight"


def straight_rows(motion: Motion) -> Bools:
    """Per sample: bank and pitch both under 5 deg."""
    limit = STRAIGHT_DEG * DEG
    samples = motion.samples
    return np.asarray((np.abs(samples["bank_rad"]) < limit) & (np.abs(samples["pitch_rad"]) < limit))


def settled(straight: Bools, back: int) -> Bools:
    """Where it was straight `back` samples long."""
    bent = np.concatenate([[0], np.cumsum(~straight)])
    here = np.arange(len(straight)) + 1
    return np.asarray(bent[here] == bent[np.maximum(here - back, 0)])


def _by_interval(motion: Motion, every_min: float, source: Source) -> list[Action]:
    """Settings every so many minutes, each put off until straight flight, by half the interval at most."""
    calm = settled(straight_rows(motion), int(SETTLING_S / STEP_S))
    step = every_min * 60.0 / STEP_S
    actions = []
    for due in np.arange(step, len(calm), step):
        start = round(due)
        window = calm[start : start + round(step / 2)]
        if len(window):
            wait = int(np.argmax(window)) if window.any() else len(window) - 1
            actions.append(Action(start + wait, SET, source, why="interval"))
    return actions


def _of_event(event: FlightEvent, source: Source | None) -> Action:
    index = round(event.time_s / STEP_S)
    if event.kind == "set":
        own: Source = "truth" if event.name == "truth" else "compass"
        return Action(index, SET, source or own, event.misreading_deg)
    return Action(index, CAGE if event.kind == "cage" else UNCAGE)


def actions_of(motion: Motion, set_every_min: float | None, set_from: Source | None) -> list[Action]:
    """All actions along a flight in order of time.

    A flight that is not set at its start is set there, rightly. `set_from` overrides what the flight
    file says; settings by interval are from the compass unless it says otherwise.
    """
    own = [_of_event(e, set_from) for e in motion.events if e.kind in ("set", "cage", "uncage")]
    first = [] if any(a.index == 0 and a.kind == SET for a in own) else [Action(0, SET, why="start")]
    more = _by_interval(motion, set_every_min, set_from or "compass") if set_every_min else []
    last = len(motion.samples) - 1
    return sorted((a for a in [*first, *own, *more] if a.index <= last), key=lambda a: a.index)


# The slow part of real wander keeps its direction for about this long; an assumption.
SLOW_PART_S = 1200.0
KNOT_S = 60.0


def real_wander_nm(
    entry: HeadingIndicatorEntry, time_s: Floats, full_momentum_nms: float, seed: int
) -> Floats:
    """Torque of real wander at each sample: a constant part and a slow random part.

    The slow part is a first-order (Ornstein-Uhlenbeck) process with a time constant of 20 min, drawn
    every minute and linear between.
    """
    count = len(np.arange(0.0, float(time_s[-1]) + 2.0 * KNOT_S, KNOT_S))
    return wander_between_nm(wander_knots(entry, count, seed), time_s, full_momentum_nms)


@lru_cache(maxsize=16)
def wander_knots(entry: HeadingIndicatorEntry, count: int, seed: int) -> Floats:
    """Real wander in deg in 15 min every `KNOT_S`; a longer row begins as a shorter one does."""
    draw = np.random.default_rng((seed, 1))
    constant = entry.real_wander_deg_15min + entry.real_wander_sd_deg_15min * draw.standard_normal()
    kept = math.exp(-KNOT_S / SLOW_PART_S)
    kicks = draw.standard_normal(count) * entry.random_wander_deg_15min
    slow = np.empty(count)
    slow[0] = kicks[0]
    for k in range(1, count):
        slow[k] = kept * slow[k - 1] + math.sqrt(1.0 - kept * kept) * kicks[k]
    return constant + slow


def wander_between_nm(knots_deg_15min: Floats, time_s: Floats, full_momentum_nms: float) -> Floats:
    """Torque of real wander at moments, linear between knots that reach past the last of them."""
    at_s = np.arange(len(knots_deg_15min)) * KNOT_S
    return np.asarray(np.interp(time_s, at_s, knots_deg_15min) * wander_torque_nm(1.0, full_momentum_nms))


def misreadings_deg(sd_deg: float, count: int, seed: int) -> Floats:
    """The pilot's reading error at each of `count` settings."""
    return np.random.default_rng((seed, 2)).normal(0.0, sd_deg, count)


BLOCK = 64


class Interval(NamedTuple):
    """Minutes from a correct setting until the error first exceeds a limit; nan if it never does.

    `shortest_from_s` is the time of the setting that lasted shortest.
    """

    shortest_min: float
    median_min: float
    shortest_from_s: float


@kernel
def _block_bounds(error_deg: Floats, straight: Bools) -> tuple[Floats, Floats]:
    """Least and greatest error on straight rows, by block."""
    count = (len(error_deg) + BLOCK - 1) // BLOCK
    low = np.full(count, np.inf)
    high = np.full(count, -np.inf)
    for row in range(len(error_deg)):
        if straight[row]:
            block = row // BLOCK
            low[block] = min(low[block], error_deg[row])
            high[block] = max(high[block], error_deg[row])
    return low, high


@kernel
def first_passing_s(time_s: Floats, error_deg: Floats, straight: Bools, limit_deg: float) -> Floats:
    """For each straight row, seconds until the error has moved by more than the limit on a straight row.

    Infinite where that does not happen in the flight; nan on rows that are not straight. Whole blocks
    that stay within the limit are passed over.
    """
    count = len(error_deg)
    low, high = _block_bounds(error_deg, straight)
    wait_s = np.full(count, np.nan)
    for start in range(count):
        if not straight[start]:
            continue
        wait_s[start] = np.inf
        floor, ceiling = error_deg[start] - limit_deg, error_deg[start] + limit_deg
        row = start + 1
        while row < count:
            block = row // BLOCK
            if row % BLOCK == 0 and low[block] >= floor and high[block] <= ceiling:
                row += BLOCK
                continue
            if straight[row] and not floor <= error_deg[row] <= ceiling:
                wait_s[start] = time_s[row] - time_s[start]
                break
            row += 1
    return wait_s


def interval(time_s: Floats, error_deg: Floats, straight: Bools, limit_deg: float) -> Interval:
    """The shortest and the median time that a correct setting lasts.

    Settings too late for their passing to fall within the flight count as lasting longer than all
    others in the median; when they are half or more, the median is nan ('longer than this flight').

    Args:
        time_s: of the rows.
        error_deg: the error as it would run on without settings.
        straight: rows on which bank and pitch are under 5 deg.
        limit_deg: the error to pass.
    """
    wait_s = first_passing_s(time_s, error_deg, straight, limit_deg)
    waits = wait_s[~np.isnan(wait_s)]
    if len(waits) == 0 or np.isinf(waits).all():
        return Interval(np.nan, np.nan, np.nan)
    shortest = float(np.min(waits))
    median = float(np.sort(waits)[len(waits) // 2])
    at = float(time_s[np.flatnonzero(wait_s == shortest)[0]])
    return Interval(shortest / 60.0, median / 60.0 if np.isfinite(median) else np.nan, at)
