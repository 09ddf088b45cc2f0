"""How noisy the fixes are and how briskly the aircraft manoeuvres, judged from the fixes themselves.

Both are chosen by likelihood: the filter is run with each candidate, and that under which the fixes
were least surprising is taken. The noise is one number for the flight; the briskness (density of the
white jerk) is chosen anew along the flight, so that a straight leg is calm and a turn is not cut.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lubberline.flight.smoothing import Floats, smooth_states


@dataclass(frozen=True)
class Candidates:
    """What is tried for one kind of coordinate, and over how long a stretch briskness is judged."""

    jerk_density_m2_s5: Floats
    noise_m: Floats
    window_s: float


# Half decades from a straight airliner to a glider's steep circles.
ACROSS = Candidates(np.logspace(-3.0, 1.0, 9), np.array([3.0, 5.0, 7.0, 10.0, 15.0, 20.0, 30.0]), 20.0)
UP = Candidates(np.logspace(-6.0, -1.0, 6), np.array([2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0]), 60.0)
FIRST_NOISE_M = 10.0
# Fewer fixes than this say nothing about a stretch.
LEAST_FIXES = 5
EASED_S = 10.0


@dataclass(frozen=True)
class Measured:
    """Measurements of one kind of coordinate; shapes as in `smoothing.smooth_states`.

    `noise_factor` multiplies the position's variance fix by fix.
    """

    time_s: Floats
    position: Floats
    noise_factor: Floats
    velocity: Floats
    velocity_variance: Floats

    def states(self, noise_m: float, jerk_density: Floats) -> tuple[Floats, Floats]:
        """Smoothed states, and the cost of each fix."""
        guess = (self.position[1] - self.position[0]) / (self.time_s[1] - self.time_s[0])
        states, cost = smooth_states(
            self.time_s,
            self.position,
            noise_m**2 * self.noise_factor,
            self.velocity,
            self.velocity_variance,
            jerk_density,
            guess,
        )
        return states, cost


def _box(values: Floats, half: int) -> Floats:
    """Moving sum over `half` values to either side along the last axis, fewer at the ends."""
    sums = np.cumsum(values, axis=-1)
    sums = np.concatenate([np.zeros((*values.shape[:-1], 1)), sums], axis=-1)
    index = np.arange(values.shape[-1])
    upper = np.minimum(index + half + 1, values.shape[-1])
    box: Floats = sums[..., upper] - sums[..., np.maximum(index - half, 0)]
    return box


def smoothed(measured: Measured, candidates: Candidates) -> tuple[Floats, float]:
    """States at the fixes (fix, axis, 3) under the likeliest noise and briskness, and the noise in m."""
    count = len(measured.time_s)
    densities = candidates.jerk_density_m2_s5

    def costs(noise_m: float, tried: Floats) -> Floats:
        return np.array([measured.states(noise_m, np.full(count, density))[1] for density in tried])

    # For the noise alone a coarse choice of the briskness is enough.
    by_density = costs(FIRST_NOISE_M, densities[::2]).sum(axis=1)
    likeliest = np.full(count, densities[::2][int(np.argmin(by_density))])
    by_noise = [measured.states(float(noise), likeliest)[1].sum() for noise in candidates.noise_m]
    noise_m = float(candidates.noise_m[int(np.argmin(by_noise))])

    usual_s = float(np.median(np.diff(measured.time_s)))
    half = max(LEAST_FIXES, round(candidates.window_s / usual_s))
    local = densities[np.argmin(_box(costs(noise_m, densities), half), axis=0)]
    half = max(2, round(EASED_S / usual_s))
    eased = np.exp(_box(np.log(local), half) / _box(np.ones(count), half))
    return measured.states(noise_m, eased)[0], noise_m
