"""The inputs of a gyro at one moment: attitude, turning of aircraft and level frame, and its drive."""

import math
from typing import Any, NamedTuple

from lubberline.compiled import inlined_kernel, kernel
from lubberline.instruments.heading_indicator.gyro import Gyro
from lubberline.units import EARTH_RATE_RAD_S, STANDARD_GRAVITY_MPS2

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
def earth_down_rad_s(sine: float, cosine: float, moving: bool, laws: Any) -> float:
    """The level frame's turning by the Earth about its down axis, at a latitude, under any laws."""
    earth_sine = abs(sine) if laws.earth_both_hemispheres != 0.0 else sine
    # An idea about how much keeps the truth about which way.
    side = -1.0 if earth_sine < 0.0 else 1.0
    turn: float = laws.earth_sine * earth_sine + side * (laws.earth_cosine * cosine + laws.earth_constant)
    if laws.earth_linear != 0.0:
        turn += laws.earth_linear * math.asin(earth_sine) / (0.5 * math.pi)
    if not moving:
        turn *= laws.earth_when_parked
    return -EARTH_RATE_RAD_S * turn


@inlined_kernel
def believed_travel_rad_s(
    north_rad_s: float, east_rad_s: float, down_rad_s: float, sine: float, cosine: float, laws: Any
) -> float:
    """The level frame's turning by travel about its down axis under any laws, from the true turning."""
    down: float = laws.travel * down_rad_s
    if laws.travel_flat != 0.0 or laws.travel_northing != 0.0:
        side = -1.0 if sine < 0.0 else 1.0
        down -= side * laws.travel_flat * north_rad_s
        down += laws.travel_northing * east_rad_s * sine / cosine
    return down


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
    moving = a.north_mps**2 + a.east_mps**2 > MOVING_MPS**2
    earth_down = earth_down_rad_s(sine, cosine, moving, laws)
    earth_north = EARTH_RATE_RAD_S * cosine
    travel_north = w * a.travel_north_rad_s + s * b.travel_north_rad_s
    travel_east = w * a.travel_east_rad_s + s * b.travel_east_rad_s
    travel_down = w * a.travel_down_rad_s + s * b.travel_down_rad_s
    travel_down = believed_travel_rad_s(travel_north, travel_east, travel_down, sine, cosine, laws)
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


class Gimbals(NamedTuple):
    """Gimbal angles as sines and cosines, and the housing's cross axes in the level frame.

    Outer angle from the nose, tilt spin end up; `y` is the housing's axis, `z` completes spin, y, z.
    """

    outer_cos: float
    outer_sin: float
    tilt_cos: float
    tilt_sin: float
    y_n: float
    y_e: float
    y_d: float
    z_n: float
    z_e: float
    z_d: float


@kernel
def gimbals_of(spin_n: float, spin_e: float, spin_d: float, m: Moment) -> Gimbals:
    """Gimbal angles and axes of a spin axis (level frame) in an aircraft's attitude."""
    forward = m.nose_n * spin_n + m.nose_e * spin_e + m.nose_d * spin_d
    right = m.wing_n * spin_n + m.wing_e * spin_e + m.wing_d * spin_d
    down = m.floor_n * spin_n + m.floor_e * spin_e + m.floor_d * spin_d
    flat = math.sqrt(forward * forward + right * right)
    length = math.sqrt(flat * flat + down * down)
    per_flat, per_length = 1.0 / flat, 1.0 / length
    ca, sa = forward * per_flat, right * per_flat
    cb, sb = flat * per_length, -down * per_length
    y_n = -sa * m.nose_n + ca * m.wing_n
    y_e = -sa * m.nose_e + ca * m.wing_e
    y_d = -sa * m.nose_d + ca * m.wing_d
    z_n = sb * (ca * m.nose_n + sa * m.wing_n) + cb * m.floor_n
    z_e = sb * (ca * m.nose_e + sa * m.wing_e) + cb * m.floor_e
    z_d = sb * (ca * m.nose_d + sa * m.wing_d) + cb * m.floor_d
    return Gimbals(ca, sa, cb, sb, y_n, y_e, y_d, z_n, z_e, z_d)


class Torques(NamedTuple):
    """Torques about the housing's axis (inner) and the outer gimbal's axis (outer), by law; N m."""

    wander_inner_nm: float
    balance_inner_nm: float
    balance_outer_nm: float
    levelling_outer_nm: float


@kernel
def torques_of(g: Gimbals, m: Moment, gyro: Gyro, laws: Any) -> Torques:
    """Real wander, latitude nut and erection.

    The balance mass sits on the spin axis and feels apparent gravity, so it works harder in a turn and
    turns its sense with nothing. The jets push the tilted housing back in proportion to sin(tilt).
    """
    balance_nm = gyro.balance_nm
    if laws.balance_everywhere != 0.0:
        balance_nm = gyro.full_momentum_nms * EARTH_RATE_RAD_S * m.latitude_sin
    if laws.balance_at_any_speed != 0.0:
        balance_nm *= m.momentum_nms / gyro.full_momentum_nms
    across = g.outer_cos * m.gravity_forward_g + g.outer_sin * m.gravity_right_g
    inner = -balance_nm * (g.tilt_sin * across + g.tilt_cos * m.gravity_down_g)
    outer = balance_nm * g.tilt_cos * (g.outer_cos * m.gravity_right_g - g.outer_sin * m.gravity_forward_g)
    if laws.balance_cancels_travel != 0.0:
        inner += gyro.full_momentum_nms * m.travel_down_rad_s
    # A positive torque about the housing's axis makes the reading decrease.
    wander_nm = abs(m.wander_nm) if laws.real_wander_falls != 0.0 else m.wander_nm
    return Torques(
        laws.real_wander * m.wear_factor * wander_nm,
        inner,
        outer,
        laws.levelling * gyro.levelling_nm * m.levelling_fraction * g.tilt_sin,
    )


@kernel
def shift_of_card(spin_n: float, spin_e: float, ds_n: float, ds_e: float) -> float:
    """Rate of a level card's reading when the spin axis moves at ds (level frame): minus its azimuth's."""
    return -(spin_n * ds_e - spin_e * ds_n) / (spin_n * spin_n + spin_e * spin_e)


@kernel
def shift_by_frame(
    spin_n: float, spin_e: float, spin_d: float, north_rad_s: float, east_rad_s: float, down_rad_s: float
) -> float:
    """Rate of a level card's reading because the level frame turns under a free spin axis."""
    flat_squared = spin_n * spin_n + spin_e * spin_e
    return down_rad_s - spin_d * (north_rad_s * spin_n + east_rad_s * spin_e) / flat_squared
