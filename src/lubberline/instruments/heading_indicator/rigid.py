"""The gyro as a rigid body: for the seconds of a tumble, and for a rotor too slow to average.

Rotor, housing and outer gimbal with three degrees of freedom; equations from the angular momentum of
the housing about its axis and of the whole about the outer axis, checked against a rigid-body engine in
the tests. The gimbals' rates are kept in shares, one for each law that drives them, each with its own
equation of motion, so that the ledger needs no remainder. On the stop everything is the tumble's.
"""

import math
from typing import Any, NamedTuple

from lubberline.compiled import kernel
from lubberline.instruments.heading_indicator.averaged import inertia_torque_nm
from lubberline.instruments.heading_indicator.gyro import (
    HELD,
    NO_DRIFT,
    RIGID,
    STILL,
    Booked,
    Gyro,
    GyroState,
    Shares,
)
from lubberline.instruments.heading_indicator.torques import (
    Gimbals,
    Moment,
    gimbals_of,
    moment_at,
    shift_by_frame,
    shift_of_card,
    torques_of,
)

# Runge-Kutta's limit against the nutation of the default gyro is 3.5 ms.
GREATEST_STEP_S = 0.002
LEAST_STEP_S = 1e-5
# The spin axis may turn this far, as seen from the vertical, in one step.
GREATEST_SWEEP_RAD = 0.05


class Swing(NamedTuple):
    """What the Runge-Kutta step carries: axis, rate shares, and the ledger; also used for its rates."""

    spin_n: float
    spin_e: float
    spin_d: float
    shares: Shares
    earth: float
    travel: float
    rest: float
    levelling: float
    balance: float


@kernel
def plus(s: Swing, r: Swing, dt_s: float) -> Swing:
    """The swing after `dt_s` at the rates r."""
    a, b = s.shares, r.shares
    return Swing(
        s.spin_n + dt_s * r.spin_n,
        s.spin_e + dt_s * r.spin_e,
        s.spin_d + dt_s * r.spin_d,
        Shares(
            a.rest_housing + dt_s * b.rest_housing,
            a.rest_gimbal + dt_s * b.rest_gimbal,
            a.levelling_housing + dt_s * b.levelling_housing,
            a.levelling_gimbal + dt_s * b.levelling_gimbal,
            a.balance_housing + dt_s * b.balance_housing,
            a.balance_gimbal + dt_s * b.balance_gimbal,
        ),
        s.earth + dt_s * r.earth,
        s.travel + dt_s * r.travel,
        s.rest + dt_s * r.rest,
        s.levelling + dt_s * r.levelling,
        s.balance + dt_s * r.balance,
    )


@kernel
def gimbal_motion(shares: Shares) -> tuple[float, float]:
    """Inertial rates of the housing and of the outer gimbal, all shares together."""
    return (
        shares.rest_housing + shares.levelling_housing + shares.balance_housing,
        shares.rest_gimbal + shares.levelling_gimbal + shares.balance_gimbal,
    )


@kernel
def dry(rate_rad_s: float, torque_nm: float, friction_rate_rad_s: float) -> float:
    """Friction torque of a bearing turning at a rate."""
    return -torque_nm * math.tanh(rate_rad_s / friction_rate_rad_s)


@kernel
def stop_torque_nm(g: Gimbals, tilt_rate_rad_s: float, gyro: Gyro) -> float:
    """Torque of the stop on the housing: a stiff spring with damping, pushing only."""
    tilt = math.atan2(g.tilt_sin, g.tilt_cos)
    beyond = abs(tilt) - gyro.stop_rad
    if beyond <= 0.0:
        return 0.0
    side = 1.0 if tilt > 0.0 else -1.0
    push = gyro.stop_stiffness_nm_rad * beyond + gyro.stop_damping_nms_rad * side * tilt_rate_rad_s
    return -side * max(push, 0.0)


@kernel
def swing_rates(s: Swing, contact: float, m: Moment, gyro: Gyro, laws: Any) -> Swing:
    """Time derivatives of a swing at a moment; on the stop (contact 1) all torques drive the rest."""
    g = gimbals_of(s.spin_n, s.spin_e, s.spin_d, m)
    t = torques_of(g, m, gyro, laws)
    ca, sa, cb, sb = g.outer_cos, g.outer_sin, g.tilt_cos, g.tilt_sin
    h = m.momentum_nms
    inertia_x = gyro.housing_inertia_x_kgm2
    inertia_y = gyro.housing_inertia_y_kgm2 + gyro.rotor_cross_inertia_kgm2
    inertia_z = gyro.housing_inertia_z_kgm2 + gyro.rotor_cross_inertia_kgm2
    p = m.roll_rad_s * ca + m.pitch_rad_s * sa
    q = -m.roll_rad_s * sa + m.pitch_rad_s * ca
    share = s.shares
    housing, gimbal = gimbal_motion(share)
    outer_rate, tilt_rate = gimbal - m.yaw_rad_s, housing - q
    about_x, about_z = p * cb - gimbal * sb, p * sb + gimbal * cb

    inner_nm = t.wander_inner_nm + dry(
        tilt_rate, gyro.inner_friction_nm * m.wear_factor, m.friction_rate_rad_s
    )
    inner_nm += stop_torque_nm(g, tilt_rate, gyro)
    outer_nm = m.finger_nm + dry(outer_rate, gyro.outer_friction_nm * m.wear_factor, m.friction_rate_rad_s)
    free = 1.0 - contact
    inner_nm += contact * t.balance_inner_nm
    outer_nm += contact * (t.balance_outer_nm + t.levelling_outer_nm)

    # Inertia about the outer axis, its change, and the change of the base's part of the momentum.
    mass = gyro.outer_inertia_z_kgm2 + inertia_x * sb * sb + inertia_z * cb * cb
    mass_change = 2.0 * (inertia_x - inertia_z) * sb * cb * tilt_rate
    p_change = m.roll_rad_s2 * ca + m.pitch_rad_s2 * sa + q * outer_rate
    base_change = (inertia_z - inertia_x) * (p_change * sb * cb + p * (cb * cb - sb * sb) * tilt_rate)
    swirl = (
        m.spin_torque_nm * sb
        + inertia_x * about_x * q * cb
        - inertia_y * housing * p
        + inertia_z * about_z * q * sb
        + (gyro.outer_inertia_x_kgm2 - gyro.outer_inertia_y_kgm2) * p * q
        - mass_change * gimbal
        - base_change
    )
    rest_housing = -h * (p * sb + share.rest_gimbal * cb) + (inertia_z - inertia_x) * about_x * about_z
    rest_gimbal = h * cb * share.rest_housing + swirl + outer_nm
    levelling_gimbal = h * cb * share.levelling_housing + free * t.levelling_outer_nm
    balance_housing = -h * share.balance_gimbal * cb + free * t.balance_inner_nm
    balance_gimbal = h * cb * share.balance_housing + free * t.balance_outer_nm

    north, east = m.earth_north_rad_s + m.travel_north_rad_s, m.travel_east_rad_s
    down = m.earth_down_rad_s + m.travel_down_rad_s
    by_z = shift_of_card(s.spin_n, s.spin_e, g.y_n, g.y_e)
    by_y = -shift_of_card(s.spin_n, s.spin_e, g.z_n, g.z_e)
    return Swing(
        about_z * g.y_n - housing * g.z_n - (east * s.spin_d - down * s.spin_e),
        about_z * g.y_e - housing * g.z_e - (down * s.spin_n - north * s.spin_d),
        about_z * g.y_d - housing * g.z_d - (north * s.spin_e - east * s.spin_n),
        Shares(
            rest_housing=(rest_housing + inner_nm) / inertia_y,
            rest_gimbal=rest_gimbal / mass,
            levelling_housing=-h * share.levelling_gimbal * cb / inertia_y,
            levelling_gimbal=levelling_gimbal / mass,
            balance_housing=balance_housing / inertia_y,
            balance_gimbal=balance_gimbal / mass,
        ),
        shift_by_frame(s.spin_n, s.spin_e, s.spin_d, m.earth_north_rad_s, 0.0, m.earth_down_rad_s),
        shift_by_frame(
            s.spin_n, s.spin_e, s.spin_d, m.travel_north_rad_s, m.travel_east_rad_s, m.travel_down_rad_s
        ),
        (p * sb + share.rest_gimbal * cb) * by_z + share.rest_housing * by_y,
        share.levelling_gimbal * cb * by_z + share.levelling_housing * by_y,
        share.balance_gimbal * cb * by_z + share.balance_housing * by_y,
    )


@kernel
def rigid_start(state: GyroState, m: Moment, gyro: Gyro, laws: Any) -> GyroState:
    """Take an averaged gyro over into the rigid body, with the rates its precession has."""
    g = gimbals_of(state.spin_n, state.spin_e, state.spin_d, m)
    t = torques_of(g, m, gyro, laws)
    # A rotor at rest has no precession to take over, and division by its momentum no meaning.
    h = max(m.momentum_nms, 0.01 * gyro.full_momentum_nms)
    p = m.roll_rad_s * g.outer_cos + m.pitch_rad_s * g.outer_sin
    q = -m.roll_rad_s * g.outer_sin + m.pitch_rad_s * g.outer_cos
    levelling_housing = -t.levelling_outer_nm / (g.tilt_cos * h)
    balance_housing = -t.balance_outer_nm / (g.tilt_cos * h)
    balance_gimbal = t.balance_inner_nm / (g.tilt_cos * h)
    rest_gimbal = (t.wander_inner_nm / h - p * g.tilt_sin) / g.tilt_cos
    swing = inertia_torque_nm(g, m, rest_gimbal - m.yaw_rad_s, -q, gyro)
    reaction_nm = swing + m.finger_nm + m.spin_torque_nm * g.tilt_sin
    rest_housing = -reaction_nm / (g.tilt_cos * h)
    return GyroState(
        spin_n=state.spin_n,
        spin_e=state.spin_e,
        spin_d=state.spin_d,
        knob_rad=state.knob_rad,
        booked=state.booked,
        regime=RIGID,
        caged=0.0,
        on_stop=0.0,
        shares=Shares(
            rest_housing=rest_housing,
            rest_gimbal=rest_gimbal,
            levelling_housing=levelling_housing,
            levelling_gimbal=0.0,
            balance_housing=balance_housing,
            balance_gimbal=balance_gimbal,
        ),
        drift=NO_DRIFT,
    )


@kernel
def longest_step_s(s: Swing, m: Moment, gyro: Gyro) -> float:
    """The step that nutation, friction on a still mount, and an axis near the vertical allow."""
    outer = gyro.outer_friction_nm * m.wear_factor
    inner = gyro.inner_friction_nm * m.wear_factor
    step = GREATEST_STEP_S
    if outer > 0.0:
        step = min(step, gyro.outer_inertia_z_kgm2 * m.friction_rate_rad_s / outer)
    if inner > 0.0:
        inertia = gyro.housing_inertia_y_kgm2 + gyro.rotor_cross_inertia_kgm2
        step = min(step, inertia * m.friction_rate_rad_s / inner)
    share = s.shares
    gimbal = abs(share.rest_gimbal) + abs(share.levelling_gimbal) + abs(share.balance_gimbal)
    housing = abs(share.rest_housing) + abs(share.levelling_housing) + abs(share.balance_housing)
    rate = gimbal + housing + abs(m.roll_rad_s) + abs(m.pitch_rad_s) + 1e-9
    flat = math.sqrt(s.spin_n * s.spin_n + s.spin_e * s.spin_e)
    return max(min(step, GREATEST_SWEEP_RAD * flat / rate), LEAST_STEP_S)


@kernel
def on_the_stop(s: Swing) -> Swing:
    """On the stop all motion of the gimbals is the tumble's: the other shares go over to the rest."""
    housing, gimbal = gimbal_motion(s.shares)
    shares = Shares(
        rest_housing=housing,
        rest_gimbal=gimbal,
        levelling_housing=0.0,
        levelling_gimbal=0.0,
        balance_housing=0.0,
        balance_gimbal=0.0,
    )
    return Swing(s.spin_n, s.spin_e, s.spin_d, shares, s.earth, s.travel, s.rest, s.levelling, s.balance)


@kernel
def of_unit_length(s: Swing) -> Swing:
    """The same with its spin axis of unit length, and its rest column emptied into the ledger."""
    length = math.sqrt(s.spin_n * s.spin_n + s.spin_e * s.spin_e + s.spin_d * s.spin_d)
    return Swing(
        s.spin_n / length,
        s.spin_e / length,
        s.spin_d / length,
        s.shares,
        s.earth,
        s.travel,
        0.0,
        s.levelling,
        s.balance,
    )


@kernel
def runge_kutta(
    s: Swing, contact: float, first: Moment, middle: Moment, last: Moment, dt_s: float, gyro: Gyro, laws: Any
) -> Swing:
    """One classical Runge-Kutta step of fourth order."""
    k1 = swing_rates(s, contact, first, gyro, laws)
    k2 = swing_rates(plus(s, k1, 0.5 * dt_s), contact, middle, gyro, laws)
    k3 = swing_rates(plus(s, k2, 0.5 * dt_s), contact, middle, gyro, laws)
    k4 = swing_rates(plus(s, k3, dt_s), contact, last, gyro, laws)
    sixth = dt_s / 6.0
    return plus(plus(plus(plus(s, k1, sixth), k2, 2.0 * sixth), k3, 2.0 * sixth), k4, sixth)


@kernel
def rigid_step(
    state: GyroState,
    samples: Any,
    drive: Any,
    wander_nm: Any,
    i: int,
    step_s: float,
    gyro: Gyro,
    laws: Any,
) -> GyroState:
    """From sample i to i + 1 by Runge-Kutta steps of 2 ms or less."""
    booked = state.booked
    s = Swing(
        spin_n=state.spin_n,
        spin_e=state.spin_e,
        spin_d=state.spin_d,
        shares=state.shares,
        earth=booked.earth_rad,
        travel=booked.travel_rad,
        rest=0.0,
        levelling=booked.levelling_rad,
        balance=booked.balance_rad,
    )
    friction, tumble, touched = booked.friction_rad, booked.tumble_rad, 0.0
    done_s = 0.0
    m = moment_at(samples, drive, wander_nm, i, 0.0, step_s, gyro, laws)
    while done_s < step_s - 1e-9:
        g = gimbals_of(s.spin_n, s.spin_e, s.spin_d, m)
        contact = 1.0 if abs(math.atan2(g.tilt_sin, g.tilt_cos)) >= gyro.stop_rad else 0.0
        if contact != 0.0:
            touched = 1.0
            s = on_the_stop(s)
        dt_s = min(longest_step_s(s, m, gyro), step_s - done_s)
        half, whole = (done_s + 0.5 * dt_s) / step_s, (done_s + dt_s) / step_s
        middle = moment_at(samples, drive, wander_nm, i, half, step_s, gyro, laws)
        last = moment_at(samples, drive, wander_nm, i, whole, step_s, gyro, laws)
        s = runge_kutta(s, contact, m, middle, last, dt_s, gyro, laws)
        if contact != 0.0:
            tumble += s.rest
        else:
            friction += s.rest
        s = of_unit_length(s)
        done_s += dt_s
        m = last
    return GyroState(
        spin_n=s.spin_n,
        spin_e=s.spin_e,
        spin_d=s.spin_d,
        knob_rad=state.knob_rad,
        booked=Booked(
            earth_rad=s.earth,
            travel_rad=s.travel,
            friction_rad=friction,
            balance_rad=s.balance,
            levelling_rad=s.levelling,
            tumble_rad=tumble,
            seeking_rad=booked.seeking_rad,
        ),
        regime=RIGID,
        caged=0.0,
        on_stop=touched,
        shares=s.shares,
        drift=NO_DRIFT,
    )


@kernel
def held_step(
    state: GyroState,
    samples: Any,
    drive: Any,
    wander_nm: Any,
    i: int,
    step_s: float,
    gyro: Gyro,
    laws: Any,
) -> GyroState:
    """From sample i to i + 1 with the axis fixed in the body.

    What holds it turns it with the body, and that turning in inertial space is booked as friction: the
    body's turning against the level frame, and against the Earth's and the travel's turning of that.
    """
    a, b = samples[i], samples[i + 1]
    n, e, d = state.spin_n, state.spin_e, state.spin_d
    forward = a.nose_n * n + a.nose_e * e + a.nose_d * d
    right = a.wing_n * n + a.wing_e * e + a.wing_d * d
    down = a.floor_n * n + a.floor_e * e + a.floor_d * d
    next_n = forward * b.nose_n + right * b.wing_n + down * b.floor_n
    next_e = forward * b.nose_e + right * b.wing_e + down * b.floor_e
    next_d = forward * b.nose_d + right * b.wing_d + down * b.floor_d
    turned = math.atan2(n * next_e - e * next_n, n * next_n + e * next_e)
    m = moment_at(samples, drive, wander_nm, i, 0.5, step_s, gyro, laws)
    earth = step_s * shift_by_frame(n, e, d, m.earth_north_rad_s, 0.0, m.earth_down_rad_s)
    travel = step_s * shift_by_frame(n, e, d, m.travel_north_rad_s, m.travel_east_rad_s, m.travel_down_rad_s)
    length = math.sqrt(next_n * next_n + next_e * next_e + next_d * next_d)
    booked = state.booked
    return GyroState(
        spin_n=next_n / length,
        spin_e=next_e / length,
        spin_d=next_d / length,
        knob_rad=state.knob_rad,
        booked=Booked(
            earth_rad=booked.earth_rad + earth,
            travel_rad=booked.travel_rad + travel,
            friction_rad=booked.friction_rad - turned - earth - travel,
            balance_rad=booked.balance_rad,
            levelling_rad=booked.levelling_rad,
            tumble_rad=booked.tumble_rad,
            seeking_rad=booked.seeking_rad,
        ),
        regime=HELD,
        caged=state.caged,
        on_stop=0.0,
        shares=STILL,
        drift=NO_DRIFT,
    )
