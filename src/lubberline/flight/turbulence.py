"""Rough air: random bank, pitch, yaw and vertical motion with a stated spectrum.

The gusts are white noise through one lag, which is the shape of the longitudinal gust of the Dryden form in
MIL-F-8785C (a power density of 1 / (1 + (L w / V)^2); from memory), with L / V = `GUST_TIME_S`. The aircraft,
with the pilot keeping it on the whole level and on its heading, answers them as a resonance of second order
about `ANSWER_HZ`: slow gusts are flown out, fast ones die in inertia. So angles have a power density

    w^2 / ((w0^2 - w^2)^2 + (2 z w0 w)^2) / (1 + (GUST_TIME_S w)^2),

which rises by 20 dB a decade below the band and falls by 40 above it. Levels, ratios and time constants are
engineering choices for a light aeroplane, not measurements of one.
"""

import math
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.arrays import Floats
from lubberline.compiled import kernel
from lubberline.flight.motion import STEP_S
from lubberline.units import DEG, STANDARD_GRAVITY_MPS2

NDComplex = NDArray[np.complex128]

GUST_TIME_S = 0.5
ANSWER_HZ = 0.3
ANSWER_DAMPING = 0.35
# Standard deviation of bank by level.
LEVEL_BANK_SD_DEG = {"off": 0.0, "light": 2.0, "moderate": 5.0, "severe": 9.0}
# The other motions' standard deviations go with that of bank.
PITCH_PER_BANK = 0.4
YAW_PER_BANK = 0.3
# At the three levels 0.1, 0.25 and 0.45 g, of which the greatest in some minutes are about three times.
VERTICAL_G_PER_BANK_DEG = 0.05
FADE_S = 5.0
# In steeper banks the path answers as at this one.
STEEPEST_ANSWER_RAD = 60.0 * DEG


@dataclass(frozen=True)
class RoughAir:
    """The contribution of rough air to a flight, one value per step.

    Attributes:
        bank_rad: wings rocking; the lift tilts with them, so the path swings and the ball stays at rest.
        path_rad: how far the path, and the nose with it, swings by that rocking.
        pitch_rad: nodding about the path.
        yaw_rad: swinging of the nose about the path (sideslip; its side force is left out).
        rise_m: height above the smooth flight.
    """

    bank_rad: Floats
    path_rad: Floats
    pitch_rad: Floats
    yaw_rad: Floats
    rise_m: Floats


def rough_air(bank_sd_rad: Floats, bank_rad: Floats, airspeed_mps: Floats, seed: int) -> RoughAir:
    """Rough air along a flight.

    Args:
        bank_sd_rad: standard deviation of the rocking at every step, already faded in and out; 0 is calm.
        bank_rad: bank of the smooth flight.
        airspeed_mps: true airspeed.
        seed: the same seed gives the same air; a longer flight begins with nearly the same.
    """
    count = len(bank_sd_rad)
    rock, pitch, yaw, heave = np.random.default_rng(seed).spawn(4)
    roll, roll_integral, _ = shaped_noise(count, rock)
    _, heave_integral, heave_rate_sd = shaped_noise(count, heave)
    vertical_sd_mps2 = bank_sd_rad / DEG * VERTICAL_G_PER_BANK_DEG * STANDARD_GRAVITY_MPS2
    rise_m = vertical_sd_mps2 * heave_integral / heave_rate_sd
    # Lift stays in the aircraft's plane of symmetry: rocking tilts it, and in a turn more of it turns more.
    steep = np.clip(bank_rad, -STEEPEST_ANSWER_RAD, STEEPEST_ANSWER_RAD)
    sideways_mps = STANDARD_GRAVITY_MPS2 * bank_sd_rad * roll_integral / np.cos(steep) ** 2
    sideways_mps += np.tan(steep) * np.gradient(rise_m, STEP_S)
    return RoughAir(
        bank_rad=bank_sd_rad * roll,
        path_rad=sideways_mps / np.maximum(airspeed_mps, 1.0),
        pitch_rad=PITCH_PER_BANK * bank_sd_rad * shaped_noise(count, pitch)[0],
        yaw_rad=YAW_PER_BANK * bank_sd_rad * shaped_noise(count, yaw)[0],
        rise_m=rise_m,
    )


def shape(angular_frequency_rad_s: Floats) -> NDComplex:
    """Transfer function from white noise to the integral of an angle."""
    s = 1j * angular_frequency_rad_s
    natural = 2.0 * math.pi * ANSWER_HZ
    resonance = s * s + 2.0 * ANSWER_DAMPING * natural * s + natural**2
    return np.asarray(1.0 / (resonance * (1.0 + GUST_TIME_S * s)))


def shaped_noise(count: int, random: np.random.Generator) -> tuple[Floats, Floats, float]:
    """Gaussian noise of unit standard deviation, its integral, and the standard deviation of its derivative.

    The integral stays bounded, so that rough air leaves heading and altitude on the whole where they were.
    """
    size = 1 << max(count - 1, 1).bit_length()
    frequency: Floats = 2.0 * math.pi * np.fft.rfftfreq(size, STEP_S).astype(np.float64)
    white = np.fft.rfft(random.standard_normal(size))
    integral = shape(frequency)
    angle = 1j * frequency * integral
    gain = 1.0 / _sd(angle, size)
    derivative_sd = gain * _sd(frequency * angle, size)
    made = (gain * np.fft.irfft(white * part, size)[:count] for part in (angle, integral))
    return next(made), next(made), derivative_sd


def _sd(response: NDComplex, size: int) -> float:
    """Standard deviation of unit white noise of `size` samples after a response given at `rfftfreq`."""
    power = np.abs(response) ** 2
    return math.sqrt(float(power[0] + power[-1] + 2.0 * power[1:-1].sum()) / size)


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

    kept: Floats
    kick: Floats
    derivative_sd: float


def shaping(step_s: float = STEP_S) -> Shaping:
    """The exact step of the filter, scaled so that the angle has unit standard deviation.

    The stationary covariance P solves A P + P A' + B B' = 0 (Lyapunov), and a step's own noise is
    P - K P K' with K = exp(A dt); any text on stochastic systems.
    """
    natural = 2.0 * math.pi * ANSWER_HZ
    dynamics = np.array(
        [
            [0.0, 1.0, 0.0],
            [-(natural**2), -2.0 * ANSWER_DAMPING * natural, 1.0],
            [0.0, 0.0, -1.0 / GUST_TIME_S],
        ]
    )
    one, drive = np.eye(STATES), np.diag([0.0, 0.0, 1.0])
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
