"""The geometry of the two gimbals, and the torques about their axes that do not depend on their motion."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from lubberline.compiled import kernel
from lubberline.earth.constants import EARTH_RATE_RAD_S
from lubberline.instruments.gyro import Gyro
from lubberline.instruments.moment import Moment


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
    """Real wander, latitude balance and levelling.

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
    # A torque about the housing's axis that is positive makes the card fall.
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
