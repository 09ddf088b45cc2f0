"""What differs from one instrument and pilot to the next: drawn from a seed, so that it comes again."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lubberline.instruments.gyro import wander_torque_nm
from lubberline.simulation.aircraft import HeadingIndicatorEntry

Floats = NDArray[np.float64]

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
    draw = np.random.default_rng((seed, 1))
    constant = entry.real_wander_deg_15min + entry.real_wander_sd_deg_15min * draw.standard_normal()
    knots = np.arange(0.0, float(time_s[-1]) + 2.0 * KNOT_S, KNOT_S)
    kept = math.exp(-KNOT_S / SLOW_PART_S)
    kicks = draw.standard_normal(len(knots)) * entry.random_wander_deg_15min
    slow = np.empty(len(knots))
    slow[0] = kicks[0]
    for k in range(1, len(knots)):
        slow[k] = kept * slow[k - 1] + math.sqrt(1.0 - kept * kept) * kicks[k]
    wander_deg_15min = constant + np.interp(time_s, knots, slow)
    return wander_deg_15min * wander_torque_nm(1.0, full_momentum_nms)


def misreadings_deg(sd_deg: float, count: int, seed: int) -> Floats:
    """What the pilot reads too high at each of `count` settings."""
    return np.random.default_rng((seed, 2)).normal(0.0, sd_deg, count)
