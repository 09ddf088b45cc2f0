"""Noisy fixes to a smooth path: a Kalman filter run forward and swept back, with white jerk.

Each coordinate is a chain of position, velocity and acceleration whose jerk is white noise; given what
the fixes say, the likeliest path between two fixes is then the quintic through their states. The three
coordinates of a point on the ellipsoid (Earth-centred) share their noise, hence one covariance serves
all; the altitude is smoothed separately. Source of filter and sweep: Kalman filter with the
Bryson-Frazier sweep (Bierman, Factorization Methods for Discrete Sequential Estimation, 1977; from
memory); it needs no inverse of a covariance.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np

from lubberline.arrays import Floats
from lubberline.compiled import kernel

STATES = 3


@kernel
def _predict(state: Any, spread: Any, step_s: float, jerk_density: float) -> None:
    """Carry states (axis, 3) and their common covariance over a step, in place."""
    half = 0.5 * step_s * step_s
    for axis in range(state.shape[0]):
        state[axis, 0] += step_s * state[axis, 1] + half * state[axis, 2]
        state[axis, 1] += step_s * state[axis, 2]
    pp, pv, pa = spread[0, 0], spread[0, 1], spread[0, 2]
    vv, va, aa = spread[1, 1], spread[1, 2], spread[2, 2]
    # F P, rows of position and velocity; then times F transposed.
    fpp, fpv, fpa = pp + step_s * pv + half * pa, pv + step_s * vv + half * va, pa + step_s * va + half * aa
    fvv, fva = vv + step_s * va, va + step_s * aa
    noise = jerk_density * step_s
    spread[0, 0] = fpp + step_s * fpv + half * fpa + noise * step_s**4 / 20.0
    spread[0, 1] = fpv + step_s * fpa + noise * step_s**3 / 8.0
    spread[0, 2] = fpa + noise * step_s**2 / 6.0
    spread[1, 1] = fvv + step_s * fva + noise * step_s**2 / 3.0
    spread[1, 2] = fva + noise * step_s / 2.0
    spread[2, 2] = aa + noise
    spread[1, 0], spread[2, 0], spread[2, 1] = spread[0, 1], spread[0, 2], spread[1, 2]


@kernel
def _update(
    state: Any, spread: Any, kind: int, measured: Any, variance: float, surprise: Any, gain: Any
) -> float:
    """Take in one measurement of the position (kind 0) or velocity (kind 1) of every axis, in place.

    Fills `surprise` (axis) and `gain` (3), and gives the variance that the surprise was expected to have.
    """
    expected: float = spread[kind, kind] + variance
    for row in range(STATES):
        gain[row] = spread[row, kind] / expected
    for axis in range(state.shape[0]):
        surprise[axis] = measured[axis] - state[axis, kind]
        for row in range(STATES):
            state[axis, row] += gain[row] * surprise[axis]
    across = spread[kind].copy()
    for row in range(STATES):
        for column in range(STATES):
            spread[row, column] -= gain[row] * across[column]
    return expected


@kernel
def _start(position: Any, position_variance: Any, velocity_guess: Any) -> tuple[Any, Any]:
    """States and covariance before the first fix is taken in: about there, about that fast."""
    axes = position.shape[1]
    state, spread = np.zeros((axes, STATES)), np.zeros((STATES, STATES))
    for axis in range(axes):
        state[axis, 0] = position[0, axis]
        state[axis, 1] = velocity_guess[axis]
    spread[0, 0], spread[1, 1], spread[2, 2] = 4.0 * position_variance[0] + 100.0, 50.0**2, 3.0**2
    return state, spread


@kernel
def fix_costs(
    time_s: Any,
    position: Any,
    position_variance: Any,
    velocity: Any,
    velocity_variance: Any,
    jerk_density: float,
    velocity_guess: Any,
) -> Any:
    """How surprising each fix is given those before it (-2 log likelihood, less a constant), (fix,).

    Arguments as in `smooth_states`, but with one density for the whole flight.
    """
    count, axes = position.shape
    cost = np.zeros(count)
    state, spread = _start(position, position_variance, velocity_guess)
    surprise, gain = np.zeros(axes), np.zeros(STATES)
    for i in range(count):
        if i > 0:
            _predict(state, spread, time_s[i] - time_s[i - 1], jerk_density)
        for kind in range(2):
            variance = position_variance[i] if kind == 0 else velocity_variance[i]
            if np.isfinite(variance):
                measured = position[i] if kind == 0 else velocity[i]
                expected = _update(state, spread, kind, measured, variance, surprise, gain)
                cost[i] += axes * np.log(expected)
                for axis in range(axes):
                    cost[i] += surprise[axis] ** 2 / expected
    return cost


@kernel
def smooth_states(
    time_s: Any,
    position: Any,
    position_variance: Any,
    velocity: Any,
    velocity_variance: Any,
    jerk_density: Any,
    velocity_guess: Any,
) -> Any:
    """Likeliest position, velocity and acceleration at every fix, given all fixes: (fix, axis, 3).

    Args:
        time_s: (fix,), strictly growing.
        position: (fix, axis).
        position_variance: (fix,), m2.
        velocity: (fix, axis); read only where its variance is finite.
        velocity_variance: (fix,), m2/s2; inf where no velocity was measured.
        jerk_density: (fix,), m2/s5, of the step that ends at the fix.
        velocity_guess: (axis,), about the velocity at the first fix.
    """
    count, axes = position.shape
    states = np.empty((count, axes, STATES))
    spreads = np.empty((count, STATES, STATES))
    surprises = np.zeros((count, 2, axes))
    gains = np.zeros((count, 2, STATES))
    expected = np.ones((count, 2))
    state, spread = _start(position, position_variance, velocity_guess)
    for i in range(count):
        if i > 0:
            _predict(state, spread, time_s[i] - time_s[i - 1], jerk_density[i])
        for kind in range(2):
            variance = position_variance[i] if kind == 0 else velocity_variance[i]
            if np.isfinite(variance):
                measured = position[i] if kind == 0 else velocity[i]
                expected[i, kind] = _update(
                    state, spread, kind, measured, variance, surprises[i, kind], gains[i, kind]
                )
        states[i] = state
        spreads[i] = spread
    _sweep_back(time_s, states, spreads, surprises, gains, expected)
    return states


@kernel
def _sweep_back(time_s: Any, states: Any, spreads: Any, surprises: Any, gains: Any, expected: Any) -> None:
    """Turn filtered states into smoothed ones, in place (the adjoint's sweep, per axis)."""
    count, axes = states.shape[0], states.shape[1]
    for axis in range(axes):
        pull_p, pull_v, pull_a = 0.0, 0.0, 0.0
        for i in range(count - 1, -1, -1):
            for row in range(STATES):
                spread = spreads[i, row]
                states[i, axis, row] -= spread[0] * pull_p + spread[1] * pull_v + spread[2] * pull_a
            for kind in range(1, -1, -1):
                gain = gains[i, kind]
                back = gain[0] * pull_p + gain[1] * pull_v + gain[2] * pull_a
                back += surprises[i, kind, axis] / expected[i, kind]
                if kind == 0:
                    pull_p -= back
                else:
                    pull_v -= back
            if i > 0:
                step_s = time_s[i] - time_s[i - 1]
                pull_a += step_s * pull_v + 0.5 * step_s * step_s * pull_p
                pull_v += step_s * pull_p


@kernel
def sample_path(time_s: Any, states: Any, step_s: float, count: int) -> tuple[Any, Any, Any]:
    """Position, velocity and acceleration (sample, axis) every `step_s`, by quintics between states."""
    axes = states.shape[1]
    position, velocity = np.empty((count, axes)), np.empty((count, axes))
    acceleration = np.empty((count, axes))
    here = 0
    last = time_s.shape[0] - 2
    for i in range(count):
        moment = time_s[0] + i * step_s
        while here < last and time_s[here + 1] <= moment:
            here += 1
        span = time_s[here + 1] - time_s[here]
        t = moment - time_s[here]
        for axis in range(axes):
            p0, v0, a0 = states[here, axis]
            p1, v1, a1 = states[here + 1, axis]
            # What the quintic adds to the motion of constant acceleration from the first state.
            dp = p1 - p0 - span * v0 - 0.5 * span * span * a0
            dv = (v1 - v0 - span * a0) * span
            da = (a1 - a0) * span * span
            c3 = (10.0 * dp - 4.0 * dv + 0.5 * da) / span**3
            c4 = (-15.0 * dp + 7.0 * dv - da) / span**4
            c5 = (6.0 * dp - 3.0 * dv + 0.5 * da) / span**5
            position[i, axis] = p0 + t * (v0 + t * (0.5 * a0 + t * (c3 + t * (c4 + t * c5))))
            velocity[i, axis] = v0 + t * (a0 + t * (3.0 * c3 + t * (4.0 * c4 + t * 5.0 * c5)))
            acceleration[i, axis] = a0 + t * (6.0 * c3 + t * (12.0 * c4 + t * 20.0 * c5))
    return position, velocity, acceleration


@dataclass(frozen=True)
class Candidates:
    """The candidates for one kind of coordinate, and the length of the stretches for the jerk.

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
UP = Candidates(
    np.logspace(-6.0, -1.0, 6),
    np.array([2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0]),
    (0.0,),
    60.0,
)
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
    # A larger noise is not accepted: it would explain away any manoeuvre.
    greatest_noise_m: float = 30.0

    @property
    def velocity_guess(self) -> Floats:
        """From the first fix to the second."""
        return np.asarray((self.position[1] - self.position[0]) / (self.time_s[1] - self.time_s[0]))

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
        return np.asarray(
            fix_costs(
                *self._weighed(noise_m, slack_mps),
                density,
                self.velocity_guess,
            )
        )

    def states(self, noise_m: float, slack_mps: float, density: Floats) -> Floats:
        """Smoothed states at the fixes, (fix, axis, 3)."""
        return np.asarray(
            smooth_states(
                *self._weighed(noise_m, slack_mps),
                density,
                self.velocity_guess,
            )
        )

    def _weighed(self, noise_m: float, slack_mps: float) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        variances = noise_m**2 * self.noise_factor, self.velocity_variance + slack_mps**2
        return self.time_s, self.position, variances[0], self.velocity, variances[1]


def _box(values: Floats, half: int) -> Floats:
    """Moving sum over `half` values to either side along the last axis, fewer at the ends."""
    sums = np.cumsum(values, axis=-1)
    sums = np.concatenate([np.zeros((*values.shape[:-1], 1)), sums], axis=-1)
    index = np.arange(values.shape[-1])
    upper = np.minimum(index + half + 1, values.shape[-1])
    return np.asarray(sums[..., upper] - sums[..., np.maximum(index - half, 0)])


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
