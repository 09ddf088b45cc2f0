"""Rough air step by step: the spectrum of `turbulence`, for flying live.

The filter of `turbulence.shape` as three states - the integral of an angle, the angle, the gust that
drives it - is carried exactly from step to step, so that its samples are those of the continuous process.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.compiled import kernel
from lubberline.flight.motion import STEP_S, Floats
from lubberline.flight.turbulence import ANSWER_DAMPING, ANSWER_HZ, GUST_TIME_S

# Motions that are each shaped by themselves: rocking, nodding, swinging of the nose, heaving.
CHANNELS = 4
STATES = 3


class Wobble(NamedTuple):
    """One shaped motion of unit standard deviation: its integral, itself, and the gust behind it."""

    integral: float = 0.0
    angle: float = 0.0
    gust: float = 0.0


class Shaping(NamedTuple):
    """How a `Wobble` goes on over a step: what is kept of it, and what three normal numbers add.

    Attributes:
        kept: (3, 3).
        kick: (3, 3), lower triangular.
        derivative_sd: standard deviation of the angle's own derivative, 1/s.
    """

    kept: NDArray[np.float64]
    kick: NDArray[np.float64]
    derivative_sd: float


def _dynamics() -> Floats:
    natural = 2.0 * math.pi * ANSWER_HZ
    return np.array(
        [
            [0.0, 1.0, 0.0],
            [-(natural**2), -2.0 * ANSWER_DAMPING * natural, 1.0],
            [0.0, 0.0, -1.0 / GUST_TIME_S],
        ]
    )


def shaping(step_s: float = STEP_S) -> Shaping:
    """The exact step of the filter, scaled so that the angle has unit standard deviation.

    The stationary covariance P solves A P + P A' + B B' = 0 (Lyapunov), and a step's own noise is
    P - K P K' with K = exp(A dt); any text on stochastic systems.
    """
    dynamics = _dynamics()
    one = np.eye(STATES)
    drive = np.zeros((STATES, STATES))
    drive[2, 2] = 1.0
    stacked = np.kron(one, dynamics) + np.kron(dynamics, one)
    covariance = np.linalg.solve(stacked, -drive.ravel()).reshape(STATES, STATES)
    covariance /= covariance[1, 1]
    values, vectors = np.linalg.eig(dynamics)
    kept = (vectors @ np.diag(np.exp(values * step_s)) @ np.linalg.inv(vectors)).real
    kick = np.linalg.cholesky(covariance - kept @ covariance @ kept.T)
    derivative = dynamics[1]
    return Shaping(
        np.ascontiguousarray(kept),
        np.ascontiguousarray(kick),
        math.sqrt(float(derivative @ covariance @ derivative)),
    )


@kernel
def wobble_step(wobble: Wobble, normal: Any, first: int, shaping: Shaping) -> Wobble:
    """A shaped motion one step later, driven by the three normal numbers from `first` on."""
    kept, kick = shaping.kept, shaping.kick
    a, b, c = normal[first], normal[first + 1], normal[first + 2]
    q, v, g = wobble.integral, wobble.angle, wobble.gust
    return Wobble(
        kept[0, 0] * q + kept[0, 1] * v + kept[0, 2] * g + kick[0, 0] * a,
        kept[1, 0] * q + kept[1, 1] * v + kept[1, 2] * g + kick[1, 0] * a + kick[1, 1] * b,
        kept[2, 2] * g + kick[2, 0] * a + kick[2, 1] * b + kick[2, 2] * c,
    )
