"""How the base of a reference model moves: attitude as functions of time, rates derived from them.

Nothing here comes from the project: the references must not share a mistake with it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

Floats = NDArray[np.float64]
DEG = np.pi / 180.0
EARTH_RATE_RAD_S = 7.292115e-5  # WGS 84
EARTH_A_M, EARTH_E2 = 6378137.0, 6.69437999014e-3  # WGS 84
DIFFERENCE_S = 1e-3


class Attitude(NamedTuple):
    """Heading (unwrapped), pitch and bank, radians, arrays of equal length."""

    heading_rad: Floats
    pitch_rad: Floats
    bank_rad: Floats


@dataclass(frozen=True)
class BaseMotion:
    """Attitude against the level frame, and how that frame turns in inertial space (in its own axes)."""

    attitude: Callable[[Floats], Attitude]
    level_rate_rad_s: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def body_rates(self, time_s: Floats) -> Floats:
        """Inertial turning of the body in body axes, rows (p, q, r)."""
        step = DIFFERENCE_S
        near = [np.asarray(self.attitude(time_s + k * step)) for k in (-2, -1, 1, 2)]
        rate = (near[0] - 8.0 * near[1] + 8.0 * near[2] - near[3]) / (12.0 * step)
        heading, pitch, bank = self.attitude(time_s)
        sp, cp, sb, cb = np.sin(pitch), np.cos(pitch), np.sin(bank), np.cos(bank)
        body = np.stack(
            (
                rate[2] - rate[0] * sp,
                rate[1] * cb + rate[0] * cp * sb,
                -rate[1] * sb + rate[0] * cp * cb,
            ),
            axis=1,
        )
        to_level = level_from_body(heading, pitch, bank)
        return body + np.einsum("nji,j->ni", to_level, np.asarray(self.level_rate_rad_s))


def level_from_body(heading_rad: Floats, pitch_rad: Floats, bank_rad: Floats) -> Floats:
    """Matrices whose columns are the body axes (forward, right, down) in north, east, down."""
    sh, ch = np.sin(heading_rad), np.cos(heading_rad)
    sp, cp = np.sin(pitch_rad), np.cos(pitch_rad)
    sb, cb = np.sin(bank_rad), np.cos(bank_rad)
    rows = (
        (ch * cp, ch * sp * sb - sh * cb, ch * sp * cb + sh * sb),
        (sh * cp, sh * sp * sb + ch * cb, sh * sp * cb - ch * sb),
        (-sp, cp * sb, cp * cb),
    )
    return np.moveaxis(np.asarray(rows), 2, 0)


def level_rate(
    latitude_deg: float, north_mps: float = 0.0, east_mps: float = 0.0
) -> tuple[float, float, float]:
    """The level frame's turning in inertial space at sea level, in north, east, down."""
    sin_l, cos_l = np.sin(latitude_deg * DEG), np.cos(latitude_deg * DEG)
    prime = EARTH_A_M / np.sqrt(1.0 - EARTH_E2 * sin_l**2)
    meridian = prime * (1.0 - EARTH_E2) / (1.0 - EARTH_E2 * sin_l**2)
    return (
        float(EARTH_RATE_RAD_S * cos_l + east_mps / prime),
        float(-north_mps / meridian),
        float(-EARTH_RATE_RAD_S * sin_l - east_mps / prime * sin_l / cos_l),
    )


def held(
    heading_deg: float = 0.0, pitch_deg: float = 0.0, bank_deg: float = 0.0
) -> Callable[[Floats], Attitude]:
    """An attitude that does not change."""

    def attitude(time_s: Floats) -> Attitude:
        return Attitude(*(np.full_like(time_s, angle * DEG) for angle in (heading_deg, pitch_deg, bank_deg)))

    return attitude


def ramp(time_s: Floats, start_s: float, length_s: float) -> Floats:
    """From 0 to 1 with no jump of rate or acceleration."""
    x = np.clip((time_s - start_s) / length_s, 0.0, 1.0)
    return np.asarray(x**3 * (10.0 - 15.0 * x + 6.0 * x**2))


def turn(
    *,
    bank_deg: float,
    rate_deg_s: float,
    heading_change_deg: float,
    roll_s: float = 4.0,
    start_s: float = 5.0,
) -> tuple[Callable[[Floats], Attitude], float]:
    """A turn through any heading change, rolled into and out of; also when the wings are level again.

    The turn rate goes with the tangent of the bank, as in a coordinated turn at one speed.
    """
    grid = np.arange(0.0, start_s + heading_change_deg / rate_deg_s + 4.0 * roll_s, 0.01)

    def rate(bank: Floats) -> Floats:
        return np.asarray(rate_deg_s * DEG * np.tan(bank) / np.tan(bank_deg * DEG))

    rolling = CubicSpline(grid, rate(bank_deg * DEG * ramp(grid, start_s, roll_s))).integrate(
        start_s, start_s + roll_s
    )
    steady_s = (heading_change_deg * DEG - 2.0 * float(rolling)) / (rate_deg_s * DEG)
    out_s = start_s + roll_s + steady_s

    def bank(time_s: Floats) -> Floats:
        return np.asarray(bank_deg * DEG * (ramp(time_s, start_s, roll_s) - ramp(time_s, out_s, roll_s)))

    heading = CubicSpline(grid, rate(bank(grid))).antiderivative()

    def attitude(time_s: Floats) -> Attitude:
        inside = np.clip(time_s, 0.0, grid[-1])
        return Attitude(np.asarray(heading(inside)), np.zeros_like(time_s), bank(time_s))

    return attitude, out_s + roll_s


def rough(
    smooth: Callable[[Floats], Attitude], *, seed: int, heading_deg: float, pitch_deg: float, bank_deg: float
) -> Callable[[Floats], Attitude]:
    """Adds disturbances to an attitude: a dozen sines of 0.02 to 0.8 Hz, with the given rms amplitudes.

    The amplitudes fall with frequency, so that the rates stay those of an aircraft in rough air.
    """
    rng = np.random.default_rng(seed)
    frequency_hz = np.geomspace(0.02, 0.8, 12) * rng.uniform(0.9, 1.1, 12)
    weight = 1.0 / (1.0 + (frequency_hz / 0.2) ** 2)
    weight *= np.sqrt(2.0 / np.sum(weight**2))
    phase_rad = rng.uniform(0.0, 2.0 * np.pi, (3, 12))

    def attitude(time_s: Floats) -> Attitude:
        angles = list(smooth(time_s))
        for axis, rms_deg in enumerate((heading_deg, pitch_deg, bank_deg)):
            waves = np.sin(2.0 * np.pi * np.outer(time_s, frequency_hz) + phase_rad[axis])
            angles[axis] = angles[axis] + rms_deg * DEG * (waves @ weight)
        return Attitude(*angles)

    return attitude
