"""Flies the engine's heading indicator past the same motion that a reference is given."""

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.flight.motion import STEP_S, Samples, smooth_motion
from lubberline.instruments.heading_indicator.card import HEADING_ROW, fly_heading
from lubberline.instruments.heading_indicator.gyro import Gyro, GyroLaws, GyroState
from lubberline.instruments.suction.drive import DRIVE_SAMPLE
from tests.references.base_motion import BaseMotion
from tests.references.gyro_values import ROTOR_RAD_S, Values

PHYSICS = GyroLaws()

Floats = NDArray[np.float64]
NO_ACTIONS = np.zeros((0, 3))
NO_ROWS = np.zeros(0, dtype=HEADING_ROW)


class Shown(NamedTuple):
    """What the engine showed at every sample; the card unwrapped."""

    time_s: Floats
    card_deg: Floats
    tilt_deg: Floats
    on_stop: Floats
    rows: NDArray[np.void]


def samples_of(
    base: BaseMotion,
    duration_s: float,
    *,
    latitude_deg: float = 0.0,
    north_mps: float = 0.0,
    east_mps: float = 0.0,
    down_mps: Floats | float = 0.0,
    engine_rpm: float = 2400.0,
) -> Samples:
    """The engine's samples of a base motion, at one latitude and at sea level."""
    time_s = np.arange(round(duration_s / STEP_S) + 1) * STEP_S
    heading, pitch, bank = base.attitude(time_s)
    flat = np.ones_like(time_s)
    return smooth_motion(
        latitude_rad=math.radians(latitude_deg) * flat,
        longitude_rad=0.0 * flat,
        altitude_m=0.0 * flat,
        north_mps=north_mps * flat,
        east_mps=east_mps * flat,
        down_mps=down_mps * flat,
        airspeed_mps=50.0 * flat,
        heading_rad=heading,
        pitch_rad=pitch,
        bank_rad=bank,
        engine_rpm=engine_rpm * flat,
    )


def steady_drive(
    count: int, rotor_rad_s: Floats | float = ROTOR_RAD_S, spin_torque_nm: Floats | float = 0.0
) -> NDArray[np.void]:
    """A drive with full levelling and bearings as new."""
    drive = np.zeros(count, dtype=DRIVE_SAMPLE)
    drive["rotor_rad_s"], drive["spin_torque_nm"] = rotor_rad_s, spin_torque_nm
    drive["levelling_fraction"] = drive["wear_factor"] = 1.0
    return drive


def spin_down_drive(time_s: Floats, values: Values, rotor_rad_s: float = ROTOR_RAD_S) -> NDArray[np.void]:
    """A rotor left to its drag, by the closed solution of J dw/dt = -(T0 + c w^2)."""
    scale = math.sqrt(values.drag_nm / values.drag_square)
    phase = math.atan(rotor_rad_s / scale)
    phase = phase - math.sqrt(values.drag_nm * values.drag_square) / values.rotor_j * time_s
    speed = scale * np.tan(np.maximum(phase, 0.0))
    torque = np.where(speed > 0.0, -values.drag_nm - values.drag_square * speed**2, 0.0)
    return steady_drive(len(time_s), speed, torque)


def gyro_of(values: Values, **changes: float) -> Gyro:
    """The engine's gyro with the force laws of a reference's values."""
    return Gyro(
        rotor_inertia_kgm2=values.rotor_j,
        rotor_cross_inertia_kgm2=values.rotor_jt,
        outer_inertia_x_kgm2=values.outer_x,
        outer_inertia_y_kgm2=values.outer_y,
        outer_inertia_z_kgm2=values.outer_z,
        housing_inertia_x_kgm2=values.housing_x,
        housing_inertia_y_kgm2=values.housing_y,
        housing_inertia_z_kgm2=values.housing_z,
        full_momentum_nms=values.rotor_j * ROTOR_RAD_S,
        outer_friction_nm=values.outer_friction_nm,
        inner_friction_nm=values.inner_friction_nm,
        shaken_rate_rad_s=values.mount_vibration_rad_s,
        levelling_nm=values.levelling_nm,
        balance_nm=values.balance_nm,
        stop_rad=values.stop_rad,
        stop_stiffness_nm_rad=values.stop_stiffness,
        stop_damping_nms_rad=values.stop_damping,
    )._replace(**changes)


def axis_in_gimbals(samples: Samples, a_rad: float, b_rad: float, knob_rad: float = 0.0) -> GyroState:
    """A gyro whose gimbals stand at the given angles at the first sample."""
    first = samples[0]
    parts = (
        math.cos(a_rad) * math.cos(b_rad),
        math.sin(a_rad) * math.cos(b_rad),
        -math.sin(b_rad),
    )
    axis = [
        sum(
            part * first[f"{body}_{level}"]
            for part, body in zip(parts, ("nose", "wing", "floor"), strict=True)
        )
        for level in "ned"
    ]
    return GyroState(float(axis[0]), float(axis[1]), float(axis[2]), knob_rad)


def fly(
    samples: Samples,
    values: Values,
    *,
    a_rad: float = 0.0,
    b_rad: float = 0.0,
    drive: NDArray[np.void] | None = None,
    gyro: Gyro | None = None,
    laws: Any = PHYSICS,
) -> Shown:
    """Every sample's card and tilt, by the engine's batch function."""
    count = len(samples)
    rows = np.zeros(count, dtype=HEADING_ROW)
    fly_heading(
        axis_in_gimbals(samples, a_rad, b_rad),
        samples,
        steady_drive(count) if drive is None else drive,
        np.full(count, values.inner_torque_nm),
        np.zeros(count),
        NO_ACTIONS,
        STEP_S,
        1,
        gyro_of(values) if gyro is None else gyro,
        laws,
        rows,
        NO_ROWS,
        NO_ROWS,
    )
    return Shown(
        samples["time_s"],
        np.degrees(np.unwrap(rows["indicated_rad"]))
        - 360.0 * round(rows["indicated_rad"][0] / (2 * math.pi)),
        np.degrees(rows["tilt_rad"]),
        rows["on_stop"],
        rows,
    )
