"""A gyro on a motion given by plain functions of time, for tests of the kernels."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lubberline.flight.motion import STEP_S, smooth_motion
from lubberline.instruments.heading_indicator.card import HEADING_ROW, fly_heading, spin_along
from lubberline.instruments.heading_indicator.gyro import FULL_SPEED_RAD_S, Gyro, GyroLaws, GyroState
from lubberline.instruments.suction.drive import DRIVE_SAMPLE
from lubberline.units import DEG

PHYSICS = GyroLaws()

Floats = NDArray[np.float64]
Angle = Callable[[Floats], Floats]

RATES = ("earth_rad", "travel_rad", "friction_rad", "balance_rad", "levelling_rad", "tumble_rad")
WORKING = Gyro()
FREE = Gyro(outer_friction_nm=0.0, inner_friction_nm=0.0, levelling_nm=0.0)


def motion(
    duration_s: float,
    latitude_deg: float = 45.0,
    heading: Angle | None = None,
    bank: Angle | None = None,
    pitch: Angle | None = None,
    north_mps: float = 0.0,
    east_mps: float = 0.0,
    force: bool = True,
) -> NDArray[np.void]:
    """Samples at a fixed latitude with the given attitude (deg), `force` in coordinated flight."""
    time = np.arange(round(duration_s / STEP_S) + 1) * STEP_S
    zero = np.zeros(len(time))
    samples = smooth_motion(
        latitude_rad=zero + latitude_deg * DEG,
        longitude_rad=zero,
        altitude_m=zero,
        north_mps=zero + north_mps,
        east_mps=zero + east_mps,
        down_mps=zero,
        airspeed_mps=zero + 50.0,
        heading_rad=zero if heading is None else heading(time) * DEG,
        pitch_rad=zero if pitch is None else pitch(time) * DEG,
        bank_rad=zero if bank is None else bank(time) * DEG,
        engine_rpm=zero + 2400.0,
    )
    if force:
        load = 1.0 / np.maximum(np.cos(samples["bank_rad"]), 0.2)
        samples["force_forward_mps2"] = 9.80665 * np.sin(samples["pitch_rad"])
        samples["force_right_mps2"] = 0.0
        samples["force_down_mps2"] = -9.80665 * load * np.cos(samples["pitch_rad"])
    return samples


def steady_drive(count: int, share: float | Floats = 1.0) -> NDArray[np.void]:
    """A rotor at a share of 12,000 rpm with full jets."""
    drive = np.zeros(count, dtype=DRIVE_SAMPLE)
    drive["rotor_rad_s"] = FULL_SPEED_RAD_S * share
    drive["levelling_fraction"] = 1.0
    drive["wear_factor"] = 1.0
    return drive


@dataclass(frozen=True)
class Card:
    """What `fly_card` found; angles in degrees, level error unwrapped by row."""

    rows: NDArray[np.void]
    state: GyroState
    level_deg: Floats

    @property
    def ledger_deg(self) -> Floats:
        """Sum of the rate columns at each row."""
        total = np.zeros(len(self.rows))
        for name in RATES:
            total = total + self.rows[name] / DEG
        return total


def fly_card(
    samples: NDArray[np.void],
    gyro: Gyro = WORKING,
    *,
    drive: NDArray[np.void] | None = None,
    wander_nm: float = 0.0,
    state: GyroState | None = None,
    actions: Floats | None = None,
    laws: GyroLaws = PHYSICS,
    every: int = 10,
    step_s: float = STEP_S,
) -> Card:
    """Fly a gyro along samples; the level error is heading less axis, from zero at the start."""
    count = len(samples)
    rows = np.zeros((count - 1) // every + 1, dtype=HEADING_ROW)
    table = np.zeros((0, 3)) if actions is None else actions
    marks = np.zeros((2, len(table)), dtype=HEADING_ROW)
    state = fly_heading(
        spin_along(0.0) if state is None else state,
        samples,
        steady_drive(count) if drive is None else drive,
        np.full(count, wander_nm),
        np.zeros(count),
        table,
        step_s,
        every,
        gyro,
        laws,
        rows,
        marks[0],
        marks[1],
    )
    level = np.unwrap(rows["level_rad"] - samples["heading_rad"][::every][: len(rows)]) / DEG
    return Card(rows, state, level - level[0])


def smooth_turn(start_s: float, rate_deg_s: float, total_deg: float, roll_s: float = 4.0) -> Angle:
    """Heading of a turn whose rate rises and falls smoothly (raised cosine) over `roll_s`."""
    long_s = total_deg / rate_deg_s - roll_s

    def heading(time: Floats) -> Floats:
        x = time - start_s
        begin = np.clip(x, 0.0, roll_s)
        part = begin / 2.0 - roll_s / (2.0 * np.pi) * np.sin(np.pi * begin / roll_s)
        steady = np.clip(x - roll_s, 0.0, long_s)
        end = np.clip(x - roll_s - long_s, 0.0, roll_s)
        last = end / 2.0 + roll_s / (2.0 * np.pi) * np.sin(np.pi * end / roll_s)
        return rate_deg_s * (part + steady + last)

    return heading


def smooth_bank(
    start_s: float, bank_deg: float, rate_deg_s: float, total_deg: float, roll_s: float = 4.0
) -> Angle:
    """The bank that goes with `smooth_turn`."""
    long_s = total_deg / rate_deg_s - roll_s

    def bank(time: Floats) -> Floats:
        x = time - start_s
        rise = 0.5 - 0.5 * np.cos(np.pi * np.clip(x / roll_s, 0.0, 1.0))
        fall = 0.5 - 0.5 * np.cos(np.pi * np.clip((x - roll_s - long_s) / roll_s, 0.0, 1.0))
        return bank_deg * (rise - fall)

    return bank
