"""The motion that every side of the benchmark flies: hours of turns in rough air."""

from collections.abc import Callable

import numpy as np
from scipy.interpolate import CubicSpline

from tests.references.base_motion import DEG, Attitude, BaseMotion, Floats, level_rate, ramp, rough

CYCLE_S = 600.0
# Of each ten minutes: start s, bank deg (right positive), rate of turn deg/s, length s with its rolls of 4 s.
TURNS = (
    (30.0, 30.0, 3.0, 124.0),
    (200.0, -45.0, 6.0, 34.0),
    (280.0, 20.0, 2.0, 94.0),
    (420.0, -30.0, 3.0, 64.0),
    (520.0, 15.0, 1.5, 44.0),
)
ROLL_S = 4.0
PLACE = {"latitude_deg": 45.0, "north_mps": 20.0, "east_mps": 50.0}


def turning(duration_s: float) -> Callable[[Floats], Attitude]:
    """The turns alone, cycle after cycle, in still air."""

    def bank_and_rate(time_s: Floats) -> tuple[Floats, Floats]:
        now = np.mod(time_s, CYCLE_S)
        bank, rate = np.zeros_like(now), np.zeros_like(now)
        for start_s, bank_deg, rate_deg_s, length_s in TURNS:
            rolled = ramp(now, start_s, ROLL_S) - ramp(now, start_s + length_s - ROLL_S, ROLL_S)
            bank += bank_deg * DEG * rolled
            rate += (
                np.sign(bank_deg)
                * rate_deg_s
                * DEG
                * np.tan(abs(bank_deg) * DEG * rolled)
                / np.tan(abs(bank_deg) * DEG)
            )
        return bank, rate

    grid = np.arange(0.0, duration_s + 1.0, 0.02)
    heading = CubicSpline(grid, bank_and_rate(grid)[1]).antiderivative()

    def attitude(time_s: Floats) -> Attitude:
        return Attitude(np.asarray(heading(time_s)), np.zeros_like(time_s), bank_and_rate(time_s)[0])

    return attitude


def training_flight(duration_s: float) -> BaseMotion:
    """Turns at 15 to 45 deg of bank in rough air (rms 5 deg in bank, 2 in pitch and heading), at 45 N."""
    attitude = rough(turning(duration_s), seed=8, heading_deg=2.0, pitch_deg=2.0, bank_deg=5.0)
    return BaseMotion(attitude, level_rate(*PLACE.values()))
