"""How noisy the fixes are and how briskly the aircraft manoeuvres, judged from the fixes themselves.

Both are chosen by likelihood: the filter is run with each candidate, and that under which the fixes
were least surprising is taken. The noise is one number for the flight; the briskness (density of the
white jerk) is chosen anew along the flight, so that a straight leg is calm and a turn is not cut.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from lubberline.flight.smoothing import Floats, fix_costs, smooth_states


@dataclass(frozen=True)
class Candidates:
    """What is tried for one kind of coordinate, and over how long a stretch briskness is judged.

    `slack_mps` is what speed and track may be wrong by beyond their rounding (most often by coming late).
    """

    jerk_density_m2_s5: Floats
    noise_m: Floats
    slack_mps: tuple[float, ...]
    window_s: float


# Half decades from a straight airliner to a steep turn.
ACROSS = Candidates(
    np.logspace(-3.0, 2.0, 11),
    # Positions whose times are of receipt are off along the track by seconds of flight.
    np.array([3.0, 5.0, 7.0, 10.0, 15.0, 20.0, 30.0, 50.0, 70.0, 100.0, 150.0]),
    (0.0, 1.0, 3.0, 10.0),
    20.0,
)
UP = Candidates(np.logspace(-6.0, -1.0, 6), np.array([2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0]), (0.0,), 60.0)
# The noise is judged on so many stretches of so many fixes, spread over the flight.
STRETCHES, STRETCH_FIXES = 4, 400
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
    # Beyond this a noise is not believed: it would explain any manoeuvre away.
    greatest_noise_m: float = 30.0

    @property
    def velocity_guess(self) -> Floats:
        """From the first fix to the second."""
        guess: Floats = (self.position[1] - self.position[0]) / (self.time_s[1] - self.time_s[0])
        return guess

    def part(self, within: slice) -> Measured:
        """A stretch of it."""
        return Measured(
            self.time_s[within],
            self.position[within],
            self.noise_factor[within],
            self.velocity[within],
            self.velocity_variance[within],
            self.greatest_noise_m,
        )

    def costs(self, noise_m: float, slack_mps: float, density: float) -> Floats:
        """How surprising each fix is under one set of candidates."""
        cost: Floats = fix_costs(
            self.time_s,
            self.position,
            noise_m**2 * self.noise_factor,
            self.velocity,
            self.velocity_variance + slack_mps**2,
            density,
            self.velocity_guess,
        )
        return cost

    def states(self, noise_m: float, slack_mps: float, density: Floats) -> Floats:
        """Smoothed states at the fixes, (fix, axis, 3)."""
        states: Floats = smooth_states(
            self.time_s,
            self.position,
            noise_m**2 * self.noise_factor,
            self.velocity,
            self.velocity_variance + slack_mps**2,
            density,
            self.velocity_guess,
        )
        return states


def _box(values: Floats, half: int) -> Floats:
    """Moving sum over `half` values to either side along the last axis, fewer at the ends."""
    sums = np.cumsum(values, axis=-1)
    sums = np.concatenate([np.zeros((*values.shape[:-1], 1)), sums], axis=-1)
    index = np.arange(values.shape[-1])
    upper = np.minimum(index + half + 1, values.shape[-1])
    box: Floats = sums[..., upper] - sums[..., np.maximum(index - half, 0)]
    return box


def _stretches(measured: Measured) -> list[Measured]:
    count = len(measured.time_s)
    if count <= STRETCHES * STRETCH_FIXES:
        return [measured]
    starts = np.linspace(0, count - STRETCH_FIXES, STRETCHES).astype(int)
    return [measured.part(slice(start, start + STRETCH_FIXES)) for start in starts]


def _noise(measured: Measured, candidates: Candidates) -> tuple[float, float]:
    """The likeliest noise of the positions, in m, and slack of the velocities, in m/s.

    All combinations are tried on a coarse grid, then the noise is refined.
    """
    stretches = _stretches(measured)

    def cost(noise_m: float, slack_mps: float, density: float) -> float:
        return float(sum(part.costs(noise_m, slack_mps, density).sum() for part in stretches))

    slacks = candidates.slack_mps if np.isfinite(measured.velocity_variance).any() else (0.0,)
    noises = candidates.noise_m[candidates.noise_m <= measured.greatest_noise_m]
    coarse = list(product(noises[::3], slacks, candidates.jerk_density_m2_s5[::3]))
    _, slack_mps, density = min(coarse, key=lambda tried: cost(*tried))
    noise_m = min(noises, key=lambda tried: cost(tried, slack_mps, density))
    return float(noise_m), slack_mps


def smoothed(measured: Measured, candidates: Candidates) -> Floats:
    """States at the fixes, (fix, axis, 3), under the likeliest noise and briskness."""
    noise_m, slack_mps = _noise(measured, candidates)
    densities = candidates.jerk_density_m2_s5
    costs = np.array([measured.costs(noise_m, slack_mps, density) for density in densities])

    usual_s = float(np.median(np.diff(measured.time_s)))
    half = max(LEAST_FIXES, round(candidates.window_s / usual_s))
    local = densities[np.argmin(_box(costs, half), axis=0)]
    half = max(2, round(EASED_S / usual_s))
    eased = np.exp(_box(np.log(local), half) / _box(np.ones(len(local)), half))
    return measured.states(noise_m, slack_mps, eased)
