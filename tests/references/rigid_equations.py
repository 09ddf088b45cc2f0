"""Rotor, housing and vertical gimbal on a moving base: the equations of motion, for SciPy's solvers.

Written in momenta, so that only the base's rates are needed and not their derivatives:

    V = Q + db/dt                                        (turning of the housing about its own axis)
    L = Joz R - (Jix wIx + H) sin b + Iz wIz cos b       (momentum about the outer axis), R = r + da/dt
    Iy dV/dt = -H wIz + (Iz - Jix) wIx wIz + Qb
    dL/dt = (Jox - Joy) P Q + (Jix wIx + H) Q cos b - Iy V P + Iz wIz Q sin b + Qa
    dH/dt = spin torque

State (a, b, L, V, H): gimbal angle from the nose, housing tilt (spin end up positive), two momenta, spin.
"""

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline

from tests.references.base_motion import BaseMotion
from tests.references.gyro_values import ROTOR_RAD_S, Values, torques

Floats = NDArray[np.float64]
RATE_TABLE_S = 0.02


class RigidTrace(NamedTuple):
    """What a reference shows: the card turns against the gimbal, `card = -a`, unwrapped."""

    time_s: Floats
    card_deg: Floats
    tilt_deg: Floats
    rotor_rad_s: Floats


@njit
def _slope(y: Floats, p: float, q: float, r: float, v: Values) -> tuple[float, float, float, float, float]:
    a, b, momentum, inner_rate, spin = y[0], y[1], y[2], y[3], y[4]
    sa, ca, sb, cb = math.sin(a), math.cos(a), math.sin(b), math.cos(b)
    gimbal_p, gimbal_q = p * ca + q * sa, -p * sa + q * ca
    iy, iz = v.housing_y + v.rotor_jt, v.housing_z + v.rotor_jt
    inertia = v.outer_z + v.housing_x * sb * sb + iz * cb * cb
    gimbal_r = (momentum + spin * sb + (v.housing_x - iz) * gimbal_p * sb * cb) / inertia
    wx, wz = gimbal_p * cb - gimbal_r * sb, gimbal_p * sb + gimbal_r * cb
    adot, bdot = gimbal_r - r, inner_rate - gimbal_q
    outer, inner, spin_torque = torques(v, b, adot, bdot, spin / v.rotor_j)
    along = v.housing_x * wx + spin
    momentum_rate = (v.outer_x - v.outer_y) * gimbal_p * gimbal_q + along * gimbal_q * cb
    momentum_rate += -iy * inner_rate * gimbal_p + iz * wz * gimbal_q * sb + outer
    inner_acceleration = (-spin * wz + (iz - v.housing_x) * wx * wz + inner) / iy
    return adot, bdot, momentum_rate, inner_acceleration, spin_torque


@njit
def slope_from_table(t: float, y: Floats, step_s: float, table: Floats, v: Values, out: Floats) -> Floats:
    k = min(max(int(t / step_s), 0), table.shape[1] - 1)
    x = t - k * step_s
    p = ((table[0, k, 0] * x + table[1, k, 0]) * x + table[2, k, 0]) * x + table[3, k, 0]
    q = ((table[0, k, 1] * x + table[1, k, 1]) * x + table[2, k, 1]) * x + table[3, k, 1]
    r = ((table[0, k, 2] * x + table[1, k, 2]) * x + table[2, k, 2]) * x + table[3, k, 2]
    out[0], out[1], out[2], out[3], out[4] = _slope(y, p, q, r, v)
    return out


def rate_table(base: BaseMotion, duration_s: float) -> Floats:
    """Cubic coefficients of the base's inertial rates, for the compiled right-hand side."""
    grid = np.arange(0.0, duration_s + 2.0 * RATE_TABLE_S, RATE_TABLE_S)
    return np.ascontiguousarray(CubicSpline(grid, base.body_rates(grid)).c)


def steady_gimbal_rates(
    rates: Floats, a: float, b: float, rotor_rad_s: float, v: Values
) -> tuple[float, float]:
    """Gimbal rates without nutation: the spin axis moves as the torques precess it, no faster."""
    p, q, r = (float(rate) for rate in rates)
    spin = v.rotor_j * rotor_rad_s
    adot, bdot = -r, -(-p * math.sin(a) + q * math.cos(a))
    for _ in range(20):
        outer, inner, spin_torque = torques(v, b, adot, bdot, rotor_rad_s)
        wz = inner / spin
        wy = -(outer / math.cos(b) + spin_torque * math.tan(b)) / spin
        adot = (wz - (p * math.cos(a) + q * math.sin(a)) * math.sin(b)) / math.cos(b) - r
        bdot = wy - (-p * math.sin(a) + q * math.cos(a))
    return adot, bdot


def initial_state(rates: Floats, a: float, b: float, rotor_rad_s: float, v: Values) -> Floats:
    """The state (a, b, L, V, H) at rest but for the turning that the torques and the base force on it."""
    adot, bdot = steady_gimbal_rates(rates, a, b, rotor_rad_s, v)
    p, q, r = (float(rate) for rate in rates)
    sb, cb = math.sin(b), math.cos(b)
    gimbal_p, gimbal_q = p * math.cos(a) + q * math.sin(a), -p * math.sin(a) + q * math.cos(a)
    gimbal_r = r + adot
    wx, wz = gimbal_p * cb - gimbal_r * sb, gimbal_p * sb + gimbal_r * cb
    spin = v.rotor_j * rotor_rad_s
    momentum = v.outer_z * gimbal_r - (v.housing_x * wx + spin) * sb + (v.housing_z + v.rotor_jt) * wz * cb
    return np.array([a, b, momentum, gimbal_q + bdot, spin])


def solve_equations(
    base: BaseMotion,
    duration_s: float,
    *,
    values: Values,
    a_rad: float = 0.0,
    b_rad: float = 0.0,
    rotor_rad_s: float = ROTOR_RAD_S,
    every_s: float = 0.1,
    method: str = "DOP853",
    rtol: float = 1e-8,
    atol: float = 1e-10,
    table: Floats | None = None,
) -> RigidTrace:
    """The equations of motion by a SciPy solver (`atol` is scaled to each state's size)."""
    table = rate_table(base, duration_s) if table is None else table
    start = initial_state(table[3, 0], a_rad, b_rad, rotor_rad_s, values)
    time_s = np.arange(round(duration_s / every_s) + 1) * every_s
    out = np.empty(5)

    def slope(t: float, y: Floats) -> Floats:
        return slope_from_table(t, y, RATE_TABLE_S, table, values, out).copy()

    size = np.array([1.0, 1.0, values.rotor_j * ROTOR_RAD_S, 1.0, values.rotor_j * ROTOR_RAD_S])
    solved = solve_ivp(
        slope, (0.0, time_s[-1]), start, method=method, t_eval=time_s, rtol=rtol, atol=atol * size
    )
    if not solved.success:
        raise RuntimeError(solved.message)
    return RigidTrace(time_s, -np.degrees(solved.y[0]), np.degrees(solved.y[1]), solved.y[4] / values.rotor_j)
