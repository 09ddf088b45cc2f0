"""What differs from one instrument and pilot to the next: drawn from a seed, so that it comes again."""

from __future__ import annotations

import math

import numpy as np

from lubberline.arrays import Floats
from lubberline.instruments.heading_indicator.gyro import wander_torque_nm
from lubberline.simulation.aircraft import HeadingIndicatorEntry

# The slow part of real wander keeps its sense for about this long; an assumption.
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
    torque: Floats = np.interp(time_s, at_s, knots_deg_15min) * wander_torque_nm(1.0, full_momentum_nms)
    return torque


def misreadings_deg(sd_deg: float, count: int, seed: int) -> Floats:
    """What the pilot reads too high at each of `count` settings."""
    return np.random.default_rng((seed, 2)).normal(0.0, sd_deg, count)
