"""The gyro at working speed: torques make its axis precess, its nutation is averaged out.

Source of the equations: classical theory of the symmetric gyro in the limit of great spin, with exact
gimbal geometry; checked against a rigid-body engine in the tests. The axis is carried as a unit vector
in the level frame: stepping the gimbal angles instead goes wrong in rough air.
"""

import math
from typing import Any, NamedTuple

from lubberline.compiled import inlined_kernel, kernel
from lubberline.instruments.heading_indicator.gyro import AVERAGED, STILL, Booked, Drift, Gyro, GyroState
from lubberline.instruments.heading_indicator.torques import (
    Gimbals,
    Moment,
    gimbals_of,
    moment_at,
    shift_by_frame,
    shift_of_card,
    torques_of,
)

# Where friction's grip on the gimbals is weaker than this share of the gyro's, one solve is enough.
WEAK_COUPLING = 0.02
GREATEST_ROUNDS = 60
SETTLED = 1e-9
# The wrong laws of a slow rotor count down to this share of momentum: below, the axis would outrun the steps.
LEAST_SHARE = 0.2


class Precession(NamedTuple):
    """Motion of the spin axis (level frame, 1/s) and the rates of a level card by law (rad/s)."""

    spin_n: float
    spin_e: float
    spin_d: float
    earth_rad_s: float
    travel_rad_s: float
    friction_rad_s: float
    balance_rad_s: float
    levelling_rad_s: float
    seeking_rad_s: float
    # What brings it about: torques about the housing's axis and the outer gimbal's, and the tilt's rate.
    inner_nm: float
    outer_nm: float
    tilt_rad_s: float


@kernel
def grip(rate_rad_s: float, torque_nm: float, friction_rate_rad_s: float) -> float:
    """Viscosity that stands for dry friction `torque x tanh(rate / friction rate)` at a rate."""
    x = abs(rate_rad_s) / friction_rate_rad_s
    if x < 1e-4:
        return torque_nm / friction_rate_rad_s
    return torque_nm * math.tanh(x) / abs(rate_rad_s)


@kernel
def gimbal_rates(
    free_outer_rad_s: float,
    free_inner_rad_s: float,
    stiffness_nms: float,
    m: Moment,
    gyro: Gyro,
) -> tuple[float, float, float, float]:
    """Gimbal rates under friction in both bearings, and the friction torques (outer, inner).

    Friction about one axis moves the other one, so the two are solved together, with a viscosity that
    stands for the dry friction at the rates found so far. `stiffness_nms` is momentum x cos(tilt).
    """
    outer_nm = gyro.outer_friction_nm * m.wear_factor
    inner_nm = gyro.inner_friction_nm * m.wear_factor
    strong = outer_nm > WEAK_COUPLING * stiffness_nms * m.friction_rate_rad_s
    rounds = GREATEST_ROUNDS if strong else 1
    per_stiffness = 1.0 / stiffness_nms
    outer, inner = free_outer_rad_s, free_inner_rad_s
    outer_grip = inner_grip = 0.0
    for _ in range(rounds):
        outer_grip = grip(outer, outer_nm, m.friction_rate_rad_s)
        inner_grip = grip(inner, inner_nm, m.friction_rate_rad_s)
        ko = outer_grip * per_stiffness
        ki = inner_grip * per_stiffness
        before = outer
        outer = (free_outer_rad_s - ki * free_inner_rad_s) / (1.0 + ki * ko)
        inner = free_inner_rad_s + ko * outer
        if abs(outer - before) < SETTLED * m.friction_rate_rad_s:
            break
    return outer, inner, -outer_grip * outer, -inner_grip * inner


@kernel
def inertia_torque_nm(g: Gimbals, m: Moment, outer_rad_s: float, inner_rad_s: float, gyro: Gyro) -> float:
    """Torque about the outer axis from swinging the gimbal's own mass about in a quick roll."""
    p = m.roll_rad_s * g.outer_cos + m.pitch_rad_s * g.outer_sin
    q = -m.roll_rad_s * g.outer_sin + m.pitch_rad_s * g.outer_cos
    p_change = m.roll_rad_s2 * g.outer_cos + m.pitch_rad_s2 * g.outer_sin + q * outer_rad_s
    turn_change = -(p_change * g.tilt_sin * g.tilt_cos + p * inner_rad_s) / (g.tilt_cos * g.tilt_cos)
    return (
        -gyro.outer_inertia_z_kgm2 * turn_change
        + (gyro.outer_inertia_x_kgm2 - gyro.outer_inertia_y_kgm2) * p * q
    )


@inlined_kernel
def precession(
    spin_n: float, spin_e: float, spin_d: float, believed_rad_s: float, m: Moment, gyro: Gyro, laws: Any
) -> Precession:
    """How the spin axis moves at a moment, and what each law adds to a level card's rate.

    `believed_rad_s` is the card's rate that only a wrong idea expects; 0 under physics.
    """
    g = gimbals_of(spin_n, spin_e, spin_d, m)
    t = torques_of(g, m, gyro, laws)
    h = m.momentum_nms
    if laws.slow_rotor_power != 1.0:
        share = (m.momentum_nms / gyro.full_momentum_nms) ** laws.slow_rotor_power
        h = gyro.full_momentum_nms * max(share, LEAST_SHARE)
    cb, per_cb, per_h = g.tilt_cos, 1.0 / g.tilt_cos, 1.0 / h
    tan_tilt = g.tilt_sin * per_cb
    p = m.roll_rad_s * g.outer_cos + m.pitch_rad_s * g.outer_sin
    q = -m.roll_rad_s * g.outer_sin + m.pitch_rad_s * g.outer_cos
    free_z = (t.wander_inner_nm + t.balance_inner_nm) * per_h
    spin_reaction = m.spin_torque_nm * tan_tilt
    pushed_nm = t.levelling_outer_nm + t.balance_outer_nm + m.finger_nm
    free_y = -(pushed_nm * per_cb + spin_reaction) * per_h
    free_outer = (free_z - p * g.tilt_sin) * per_cb - m.yaw_rad_s
    free_inner = free_y - q
    outer, inner, outer_friction, inner_friction = gimbal_rates(free_outer, free_inner, h * cb, m, gyro)
    swing = inertia_torque_nm(g, m, outer, inner, gyro)

    friction_z = (t.wander_inner_nm + inner_friction) * per_h
    friction_y = -((outer_friction + swing + m.finger_nm) * per_cb + spin_reaction) * per_h
    balance_z = t.balance_inner_nm * per_h
    balance_y = -t.balance_outer_nm * per_cb * per_h
    levelling_y = -t.levelling_outer_nm * per_cb * per_h
    # What a turning of the axis about the housing's z and y axes does to a level card.
    by_z = shift_of_card(spin_n, spin_e, g.y_n, g.y_e)
    by_y = -shift_of_card(spin_n, spin_e, g.z_n, g.z_e)

    z_rate = friction_z + balance_z
    y_rate = friction_y + balance_y + levelling_y
    north = m.earth_north_rad_s + m.travel_north_rad_s
    east = m.travel_east_rad_s
    down = m.earth_down_rad_s + m.travel_down_rad_s + believed_rad_s
    return Precession(
        z_rate * g.y_n - y_rate * g.z_n - (east * spin_d - down * spin_e),
        z_rate * g.y_e - y_rate * g.z_e - (down * spin_n - north * spin_d),
        z_rate * g.y_d - y_rate * g.z_d - (north * spin_e - east * spin_n),
        shift_by_frame(spin_n, spin_e, spin_d, m.earth_north_rad_s, 0.0, m.earth_down_rad_s),
        shift_by_frame(
            spin_n, spin_e, spin_d, m.travel_north_rad_s, m.travel_east_rad_s, m.travel_down_rad_s
        ),
        friction_z * by_z + friction_y * by_y,
        balance_z * by_z + balance_y * by_y,
        levelling_y * by_y,
        believed_rad_s,
        t.wander_inner_nm + t.balance_inner_nm + inner_friction,
        pushed_nm + outer_friction + swing,
        y_rate,
    )


@inlined_kernel
def averaged_step(
    state: GyroState,
    samples: Any,
    drive: Any,
    wander_nm: Any,
    believed_rad_s: float,
    i: int,
    share: float,
    span_s: float,
    step_s: float,
    gyro: Gyro,
    laws: Any,
) -> GyroState:
    """Over `span_s` by the midpoint rule, the ledger by the same rule.

    The middle is `share` of the way from sample i to i + 1: half of it for a step of one sample, none
    of it for a step of two, of which sample i is the middle one.

    The axis at the midpoint is carried there at the last step's rate: it moves so little in half a step
    that this is as good as asking for the rate at the start as well, at half the cost.
    """
    n, e, d = state.spin_n, state.spin_e, state.spin_d
    half = 0.5 * span_s
    middle = moment_at(samples, drive, wander_nm, i, share, step_s, gyro, laws)
    r = precession(
        n + half * state.drift.n,
        e + half * state.drift.e,
        d + half * state.drift.d,
        believed_rad_s,
        middle,
        gyro,
        laws,
    )
    n += span_s * r.spin_n
    e += span_s * r.spin_e
    d += span_s * r.spin_d
    length = math.sqrt(n * n + e * e + d * d)
    booked = state.booked
    return GyroState(
        spin_n=n / length,
        spin_e=e / length,
        spin_d=d / length,
        knob_rad=state.knob_rad,
        booked=Booked(
            earth_rad=booked.earth_rad + span_s * r.earth_rad_s,
            travel_rad=booked.travel_rad + span_s * r.travel_rad_s,
            friction_rad=booked.friction_rad + span_s * r.friction_rad_s,
            balance_rad=booked.balance_rad + span_s * r.balance_rad_s,
            levelling_rad=booked.levelling_rad + span_s * r.levelling_rad_s,
            tumble_rad=booked.tumble_rad,
            seeking_rad=booked.seeking_rad + span_s * r.seeking_rad_s,
        ),
        regime=AVERAGED,
        caged=0.0,
        on_stop=0.0,
        shares=STILL,
        drift=Drift(n=r.spin_n, e=r.spin_e, d=r.spin_d),
    )
