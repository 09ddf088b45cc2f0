"""What a gyro feels at one moment: the aircraft's attitude and turning, the level frame's, its drive."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from lubberline.compiled import inlined_kernel
from lubberline.earth.constants import EARTH_RATE_RAD_S, STANDARD_GRAVITY_MPS2
from lubberline.instruments.gyro import Gyro

# Slower than this the mount no longer shakes the friction loose.
ENGINE_TURNING_RPM = 100.0
MOVING_MPS = 2.0
G_PER_MPS2 = 1.0 / STANDARD_GRAVITY_MPS2


class Moment(NamedTuple):
    """Everything outside the gyro that moves it; SI units, level and body axes as in the conventions."""

    nose_n: float
    nose_e: float
    nose_d: float
    wing_n: float
    wing_e: float
    wing_d: float
    floor_n: float
    floor_e: float
    floor_d: float
    # The body's turning in inertial space, and its change, in body axes.
    roll_rad_s: float
    pitch_rad_s: float
    yaw_rad_s: float
    roll_rad_s2: float
    pitch_rad_s2: float
    # Apparent gravity in body axes, in g.
    gravity_forward_g: float
    gravity_right_g: float
    gravity_down_g: float
    # The level frame's turning by the Earth and by travel, in the level frame.
    earth_north_rad_s: float
    earth_down_rad_s: float
    travel_north_rad_s: float
    travel_east_rad_s: float
    travel_down_rad_s: float
    latitude_sin: float
    momentum_nms: float
    spin_torque_nm: float
    levelling_fraction: float
    wear_factor: float
    wander_nm: float
    finger_nm: float
    friction_rate_rad_s: float


@inlined_kernel
def moment_at(
    samples: Any, drive: Any, wander_nm: Any, i: int, share: float, step_s: float, gyro: Gyro, laws: Any
) -> Moment:
    """The moment `share` of the way (0 to 1) from sample i to sample i + 1, linearly between them."""
    a, b = samples[i], samples[i + 1]
    u, v = drive[i], drive[i + 1]
    s = share
    w = 1.0 - share
    sine = w * a.latitude_sin + s * b.latitude_sin
    cosine = w * a.latitude_cos + s * b.latitude_cos
    earth_sine = abs(sine) if laws.earth_both_hemispheres != 0.0 else sine
    earth_turn = laws.earth_sine * earth_sine + laws.earth_cosine * cosine + laws.earth_constant
    if laws.earth_linear != 0.0:
        earth_turn += laws.earth_linear * math.asin(sine) / (0.5 * math.pi)
    moving = a.north_mps**2 + a.east_mps**2 > MOVING_MPS**2
    if not moving:
        earth_turn *= laws.earth_when_parked
    earth_down = -EARTH_RATE_RAD_S * earth_turn
    earth_north = EARTH_RATE_RAD_S * cosine
    travel_north = w * a.travel_north_rad_s + s * b.travel_north_rad_s
    travel_east = w * a.travel_east_rad_s + s * b.travel_east_rad_s
    travel_down = laws.travel * (w * a.travel_down_rad_s + s * b.travel_down_rad_s)
    if laws.travel_flat != 0.0 or laws.travel_northing != 0.0:
        travel_down -= laws.travel_flat * travel_north
        travel_down += laws.travel_northing * travel_east * sine / cosine
    nose_n, nose_e, nose_d = (
        w * a.nose_n + s * b.nose_n,
        w * a.nose_e + s * b.nose_e,
        w * a.nose_d + s * b.nose_d,
    )
    wing_n, wing_e, wing_d = (
        w * a.wing_n + s * b.wing_n,
        w * a.wing_e + s * b.wing_e,
        w * a.wing_d + s * b.wing_d,
    )
    floor_n, floor_e, floor_d = (
        w * a.floor_n + s * b.floor_n,
        w * a.floor_e + s * b.floor_e,
        w * a.floor_d + s * b.floor_d,
    )
    level_n, level_e, level_d = earth_north + travel_north, travel_east, earth_down + travel_down
    shaken = moving or a.engine_rpm > ENGINE_TURNING_RPM or laws.bench_shakes != 0.0
    per_step = 1.0 / step_s
    return Moment(
        nose_n,
        nose_e,
        nose_d,
        wing_n,
        wing_e,
        wing_d,
        floor_n,
        floor_e,
        floor_d,
        w * a.roll_rate_rad_s
        + s * b.roll_rate_rad_s
        + nose_n * level_n
        + nose_e * level_e
        + nose_d * level_d,
        w * a.pitch_rate_rad_s
        + s * b.pitch_rate_rad_s
        + wing_n * level_n
        + wing_e * level_e
        + wing_d * level_d,
        w * a.yaw_rate_rad_s
        + s * b.yaw_rate_rad_s
        + floor_n * level_n
        + floor_e * level_e
        + floor_d * level_d,
        (b.roll_rate_rad_s - a.roll_rate_rad_s) * per_step,
        (b.pitch_rate_rad_s - a.pitch_rate_rad_s) * per_step,
        -(w * a.force_forward_mps2 + s * b.force_forward_mps2) * G_PER_MPS2,
        -(w * a.force_right_mps2 + s * b.force_right_mps2) * G_PER_MPS2,
        -(w * a.force_down_mps2 + s * b.force_down_mps2) * G_PER_MPS2,
        earth_north,
        earth_down,
        travel_north,
        travel_east,
        travel_down,
        sine,
        gyro.rotor_inertia_kgm2 * (w * u.rotor_rad_s + s * v.rotor_rad_s),
        w * u.spin_torque_nm + s * v.spin_torque_nm,
        w * u.levelling_fraction + s * v.levelling_fraction,
        w * u.wear_factor + s * v.wear_factor,
        w * wander_nm[i] + s * wander_nm[i + 1],
        w * u.finger_nm + s * v.finger_nm,
        gyro.shaken_rate_rad_s if shaken else gyro.still_rate_rad_s,
    )
