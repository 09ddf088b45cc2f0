"""The heading indicator: its card, its knob, and the choice of how its gyro is computed."""

import math
from typing import Any, NamedTuple

import numpy as np

from lubberline.angles import rose_rad, wrapped_rad
from lubberline.compiled import inlined_kernel, kernel
from lubberline.instruments.heading_indicator.averaged import averaged_step, precession
from lubberline.instruments.heading_indicator.gyro import (
    AVERAGED,
    HELD,
    NO_DRIFT,
    NOTHING_BOOKED,
    RIGID,
    STILL,
    Gyro,
    GyroState,
)
from lubberline.instruments.heading_indicator.rigid import (
    dry,
    gimbal_motion,
    held_step,
    rigid_start,
    rigid_step,
    stop_torque_nm,
)
from lubberline.instruments.heading_indicator.torques import (
    Moment,
    gimbals_of,
    moment_at,
    shift_of_card,
    torques_of,
)

# Shares of full momentum at which the way of computing changes, with room between out and back.
SLOW_SHARE = 0.05
WORKING_SHARE = 0.055
STOPPED_SHARE = 0.005
WAKING_SHARE = 0.006
NEAR_STOP_RAD = math.radians(1.5)
CLEAR_OF_STOP_RAD = math.radians(3.0)
CARD_AT_REST_RAD_S = 0.02
# Where a step of two samples is as exact as two steps: a brisk rotor, no quick roll, a tilt under 60 deg.
BRISK_SHARE = 0.3
QUICK_ROLL_RAD_S = 0.35
FLAT_SINE = 0.866
# Nutation left over when the average takes a tumbled gyro back; about 0.2 deg of card.
CALM_RAD_S = 0.3

SET, CAGE, UNCAGE = 0, 1, 2

HEADING_ROW = np.dtype(
    [
        ("indicated_rad", "f8"),
        ("level_rad", "f8"),  # what the card would read in a level aircraft
        ("geometry_rad", "f8"),  # indicated less level, in (-pi, pi]
        ("tilt_rad", "f8"),
        ("on_stop", "f8"),
        ("caged", "f8"),
        ("earth_rad", "f8"),
        ("travel_rad", "f8"),
        ("friction_rad", "f8"),
        ("balance_rad", "f8"),
        ("levelling_rad", "f8"),
        ("tumble_rad", "f8"),
        ("seeking_rad", "f8"),
    ]
)


@kernel
def outer_of_axis_rad(n: float, e: float, d: float, knob_rad: float, here: Any, laws: Any) -> float:
    """Angle of the outer gimbal from the nose with the spin axis at n, e, d, as `outer_angle_rad`."""
    if laws.bank_by_quadrant != 0.0:
        n, e = axis_by_card(n, e, knob_rad)
    if laws.geometry == 1.0 and laws.geometry_pitch == 1.0:
        forward = here.nose_n * n + here.nose_e * e + here.nose_d * d
        right = here.wing_n * n + here.wing_e * e + here.wing_d * d
        angle = math.atan2(right, forward)
        return angle + knob_rad if laws.bank_by_quadrant != 0.0 else angle
    bank, pitch = laws.geometry * here.bank_rad, laws.geometry * laws.geometry_pitch * here.pitch_rad
    sh, ch = math.sin(here.heading_rad), math.cos(here.heading_rad)
    along, across = ch * n + sh * e, -sh * n + ch * e
    forward = math.cos(pitch) * along - math.sin(pitch) * d
    below = math.sin(pitch) * along + math.cos(pitch) * d
    return math.atan2(math.cos(bank) * across + math.sin(bank) * below, forward)


@kernel
def outer_angle_rad(state: GyroState, samples: Any, i: int, laws: Any) -> float:
    """Angle of the outer gimbal from the nose, clockwise from above, by the geometry of the laws."""
    return outer_of_axis_rad(state.spin_n, state.spin_e, state.spin_d, state.knob_rad, samples[i], laws)


@kernel
def level_reading_rad(state: GyroState, samples: Any, i: int) -> float:
    """What the card would read with the same spin axis in a level aircraft on the same heading."""
    heading: float = samples[i].heading_rad
    return heading - math.atan2(state.spin_e, state.spin_n) + state.knob_rad


@kernel
def tilt_rad(state: GyroState, samples: Any, i: int) -> float:
    """Tilt of the housing against the outer gimbal, spin end up positive."""
    here = samples[i]
    down = here.floor_n * state.spin_n + here.floor_e * state.spin_e + here.floor_d * state.spin_d
    return -math.asin(max(-1.0, min(1.0, down)))


@inlined_kernel
def believed_rate_rad_s(
    state: GyroState, samples: Any, variation_rad: Any, i: int, step_s: float, laws: Any
) -> float:
    """The card's rate that only a wrong idea expects, from sample i on; 0 under physics."""
    rate = 0.0
    if laws.north_seeking_per_s != 0.0:
        here = samples[i].heading_rad - variation_rad[i]
        rate -= laws.north_seeking_per_s * wrapped_rad(level_reading_rad(state, samples, i) - here)
    if laws.turn_drag != 0.0:
        rate -= laws.turn_drag * (samples[i + 1].heading_rad - samples[i].heading_rad) / step_s
    if laws.tumble_spin_rad_s != 0.0 and state.booked.tumble_rad != 0.0:
        rate += laws.tumble_spin_rad_s
    return rate


@kernel
def heading_step(
    state: GyroState,
    samples: Any,
    drive: Any,
    wander_nm: Any,
    variation_rad: Any,
    i: int,
    step_s: float,
    gyro: Gyro,
    laws: Any,
) -> GyroState:
    """The gyro from sample i to i + 1.

    Averaged at working speed, as a rigid body near the stops and below 5% of full momentum, held by
    friction below 0.5% with its gimbals at rest, or by the cage.
    """
    momentum = gyro.rotor_inertia_kgm2 * drive[i].rotor_rad_s
    tilt = abs(tilt_rad(state, samples, i))
    caged = state.caged != 0.0 and laws.caging != 0.0
    if caged or (state.regime == HELD and momentum < WAKING_SHARE * gyro.full_momentum_nms):
        return held_step(state, samples, drive, wander_nm, i, step_s, gyro, laws)
    slow = momentum < SLOW_SHARE * gyro.full_momentum_nms
    if state.regime != RIGID and (slow or tilt > gyro.stop_rad - NEAR_STOP_RAD):
        start = moment_at(samples, drive, wander_nm, i, 0.0, step_s, gyro, laws)
        state = rigid_start(state, start, gyro, laws)
    if state.regime == RIGID and stays_rigid(state, momentum, tilt, gyro):
        return rigid_step(state, samples, drive, wander_nm, i, step_s, gyro, laws)
    if state.regime == RIGID and momentum < STOPPED_SHARE * gyro.full_momentum_nms:
        return held_step(state, samples, drive, wander_nm, i, step_s, gyro, laws)
    believed = believed_rate_rad_s(state, samples, variation_rad, i, step_s, laws)
    return averaged_step(state, samples, drive, wander_nm, believed, i, 0.5, step_s, step_s, gyro, laws)


@kernel
def is_calm(state: GyroState, samples: Any, drive: Any, i: int, gyro: Gyro) -> bool:
    """Whether one step may take in the two samples after i: a working gyro, off its stops, no quick roll."""
    if state.regime != AVERAGED or state.caged != 0.0 or i + 2 >= samples.shape[0]:
        return False
    momentum = gyro.rotor_inertia_kgm2 * min(drive[i].rotor_rad_s, drive[i + 2].rotor_rad_s)
    here = samples[i + 1]
    down = here.floor_n * state.spin_n + here.floor_e * state.spin_e + here.floor_d * state.spin_d
    return bool(
        momentum >= BRISK_SHARE * gyro.full_momentum_nms
        and max(abs(here.roll_rate_rad_s), abs(samples[i + 2].roll_rate_rad_s)) <= QUICK_ROLL_RAD_S
        and abs(down) < FLAT_SINE
    )


@kernel
def stays_rigid(state: GyroState, momentum_nms: float, tilt_rad: float, gyro: Gyro) -> bool:
    """Whether a gyro computed as a rigid body must be so for another step."""
    housing, gimbal = gimbal_motion(state.shares)
    if momentum_nms < STOPPED_SHARE * gyro.full_momentum_nms:
        return abs(gimbal) > CARD_AT_REST_RAD_S or abs(housing) > CARD_AT_REST_RAD_S
    if momentum_nms < WORKING_SHARE * gyro.full_momentum_nms:
        return True
    return tilt_rad > gyro.stop_rad - CLEAR_OF_STOP_RAD or abs(housing) > CALM_RAD_S


@kernel
def turn_knob(state: GyroState, samples: Any, i: int, target_rad: float, gyro: Gyro, laws: Any) -> GyroState:
    """Set the card to a reading by this instrument's mechanism, and begin the ledger afresh.

    One mechanism turns the card alone; the other cages and levels the gyro and turns gimbal and card
    together, so that the axis keeps its place on the card.
    """
    n, e, d, knob = state.spin_n, state.spin_e, state.spin_d, state.knob_rad
    here = samples[i]
    if gyro.knob_turns_gimbal != 0.0:
        outer = knob - target_rad
        ca, sa = math.cos(outer), math.sin(outer)
        n = ca * here.nose_n + sa * here.wing_n
        e = ca * here.nose_e + sa * here.wing_e
        d = ca * here.nose_d + sa * here.wing_d
        if laws.geometry != 1.0 or laws.geometry_pitch != 1.0:
            # A card that is believed to see another bank still shows what it was set to.
            knob = target_rad + outer_of_axis_rad(n, e, d, knob, here, laws)
    elif laws.bank_by_quadrant != 0.0:
        knob = knob_by_quadrant(n, e, d, target_rad, here)
    else:
        knob = target_rad + outer_angle_rad(state, samples, i, laws)
    regime = AVERAGED if gyro.knob_turns_gimbal != 0.0 and state.regime == RIGID else state.regime
    return GyroState(
        spin_n=n,
        spin_e=e,
        spin_d=d,
        knob_rad=knob,
        booked=NOTHING_BOOKED,
        regime=regime,
        caged=state.caged,
        on_stop=0.0,
        shares=STILL if gyro.knob_turns_gimbal != 0.0 else state.shares,
        drift=NO_DRIFT,
    )


@kernel
def cage(state: GyroState, caged: float) -> GyroState:
    """Lock the gimbals to the case (caged 1) or let them go (0)."""
    return GyroState(
        spin_n=state.spin_n,
        spin_e=state.spin_e,
        spin_d=state.spin_d,
        knob_rad=state.knob_rad,
        booked=state.booked,
        regime=HELD if caged != 0.0 else AVERAGED,
        caged=caged,
        on_stop=0.0,
        shares=STILL,
        drift=NO_DRIFT,
    )


@kernel
def put_row(row: Any, state: GyroState, samples: Any, i: int, touched: float, laws: Any) -> None:
    """Write what the instrument shows at sample i, and its ledger, into a `HEADING_ROW`."""
    level = level_reading_rad(state, samples, i)
    indicated = state.knob_rad - outer_angle_rad(state, samples, i, laws)
    row.indicated_rad = rose_rad(indicated)
    row.level_rad = level
    row.geometry_rad = wrapped_rad(indicated - level)
    row.tilt_rad = tilt_rad(state, samples, i)
    row.on_stop = touched
    row.caged = state.caged
    row.earth_rad = state.booked.earth_rad
    row.travel_rad = state.booked.travel_rad
    row.friction_rad = state.booked.friction_rad
    row.balance_rad = state.booked.balance_rad
    row.levelling_rad = state.booked.levelling_rad
    row.tumble_rad = state.booked.tumble_rad
    row.seeking_rad = state.booked.seeking_rad


@kernel
def fly_heading(
    state: GyroState,
    samples: Any,
    drive: Any,
    wander_nm: Any,
    variation_rad: Any,
    actions: Any,
    step_s: float,
    row_every: int,
    gyro: Gyro,
    laws: Any,
    rows: Any,
    before: Any,
    after: Any,
) -> GyroState:
    """Fly a whole motion; fills `rows` (every `row_every` samples), `before` and `after` (one an action).

    In calm flight a step takes in two samples, the middle one as it is; a row or an action never falls
    inside one.

    Args:
        state: where the gyro starts.
        samples: the motion.
        drive: one drive sample for each motion sample.
        wander_nm: real wander's torque at each sample.
        variation_rad: at each sample.
        actions: float array (k, 3): sample index, SET / CAGE / UNCAGE, target reading in rad.
        step_s: time between samples.
        row_every: samples between rows.
        gyro: the instrument.
        laws: the laws.
        rows: filled with `HEADING_ROW` records.
        before: filled with the row just before each action.
        after: filled with the row just after each action.

    Returns:
        The gyro at the last sample.
    """
    count = samples.shape[0]
    action = 0
    touched = 0.0
    i = 0
    while i < count:
        while action < actions.shape[0] and int(actions[action, 0]) == i:
            put_row(before[action], state, samples, i, touched, laws)
            kind = int(actions[action, 1])
            if kind == SET:
                state = turn_knob(state, samples, i, actions[action, 2], gyro, laws)
            else:
                state = cage(state, 1.0 if kind == CAGE else 0.0)
            put_row(after[action], state, samples, i, touched, laws)
            action += 1
        if i % row_every == 0:
            put_row(rows[i // row_every], state, samples, i, touched, laws)
            touched = 0.0
        if i == count - 1:
            break
        awaited = action < actions.shape[0] and int(actions[action, 0]) == i + 1
        if (i + 1) % row_every != 0 and not awaited and is_calm(state, samples, drive, i, gyro):
            believed = believed_rate_rad_s(state, samples, variation_rad, i, step_s, laws)
            span_s = 2.0 * step_s
            state = averaged_step(
                state, samples, drive, wander_nm, believed, i + 1, 0.0, span_s, step_s, gyro, laws
            )
            i += 2
        else:
            state = heading_step(state, samples, drive, wander_nm, variation_rad, i, step_s, gyro, laws)
            touched = max(touched, state.on_stop)
            i += 1
    return state


class Inside(NamedTuple):
    """Torques about the housing's and the outer gimbal's axis, and the motion that they bring.

    Attributes:
        inner_nm: about the housing's axis: imbalance, latitude nut, friction, the stop.
        outer_nm: about the outer gimbal's axis: levelling, balance, friction, a finger on the card.
        card_rad_s: rate of a level card by torques alone, Earth and travel left out.
        tilt_rad_s: rate of the housing about its axis in space, spin end up positive.
    """

    inner_nm: float
    outer_nm: float
    card_rad_s: float
    tilt_rad_s: float


@kernel
def _swinging(state: GyroState, m: Moment, gyro: Gyro, laws: Any) -> Inside:
    """The same of a gyro that is computed as a rigid body."""
    g = gimbals_of(state.spin_n, state.spin_e, state.spin_d, m)
    t = torques_of(g, m, gyro, laws)
    p = m.roll_rad_s * g.outer_cos + m.pitch_rad_s * g.outer_sin
    q = -m.roll_rad_s * g.outer_sin + m.pitch_rad_s * g.outer_cos
    housing, gimbal = gimbal_motion(state.shares)
    inner_dry = dry(housing - q, gyro.inner_friction_nm * m.wear_factor, m.friction_rate_rad_s)
    outer_dry = dry(gimbal - m.yaw_rad_s, gyro.outer_friction_nm * m.wear_factor, m.friction_rate_rad_s)
    by_z = shift_of_card(state.spin_n, state.spin_e, g.y_n, g.y_e)
    by_y = -shift_of_card(state.spin_n, state.spin_e, g.z_n, g.z_e)
    return Inside(
        t.wander_inner_nm + t.balance_inner_nm + inner_dry + stop_torque_nm(g, housing - q, gyro),
        t.levelling_outer_nm + t.balance_outer_nm + outer_dry + m.finger_nm,
        (p * g.tilt_sin + gimbal * g.tilt_cos) * by_z + housing * by_y,
        housing,
    )


@kernel
def inside(
    state: GyroState,
    samples: Any,
    drive: Any,
    wander_nm: Any,
    i: int,
    share: float,
    step_s: float,
    gyro: Gyro,
    laws: Any,
) -> Inside:
    """Torques and precession `share` of the way from sample i to i + 1; nothing where the gyro is held.

    Source: as `averaged.precession` and `rigid.swing_rates`.
    """
    if state.regime == HELD:
        return Inside(0.0, 0.0, 0.0, 0.0)
    m = moment_at(samples, drive, wander_nm, i, share, step_s, gyro, laws)
    if state.regime != AVERAGED:
        return _swinging(state, m, gyro, laws)
    r = precession(state.spin_n, state.spin_e, state.spin_d, 0.0, m, gyro, laws)
    by_torques = r.friction_rad_s + r.balance_rad_s + r.levelling_rad_s
    return Inside(r.inner_nm, r.outer_nm, by_torques, r.tilt_rad_s)


def spin_along(azimuth_rad: float, knob_rad: float = 0.0) -> GyroState:
    """A level, undisturbed gyro whose spin axis points along a true azimuth."""
    return GyroState(math.cos(azimuth_rad), math.sin(azimuth_rad), 0.0, knob_rad)


@kernel
def axis_by_card(spin_n: float, spin_e: float, knob_rad: float) -> tuple[float, float]:
    """The level parts of a spin axis turned back by the knob, so that the card's zero lies along it."""
    s, c = math.sin(knob_rad), math.cos(knob_rad)
    return c * spin_n + s * spin_e, c * spin_e - s * spin_n


@kernel
def knob_by_quadrant(spin_n: float, spin_e: float, spin_d: float, target_rad: float, here: Any) -> float:
    """The knob's angle at which such a card shows a reading in the attitude of a sample.

    Sought is the azimuth of an axis of this tilt that lies in the plane of the floor axis and the gimbal's
    direction at that reading: flat (v_n cos + v_e sin) + d v_d = 0, v across that plane.
    """
    outer = -target_rad
    s, c = math.sin(outer), math.cos(outer)
    across_n = c * here.wing_n - s * here.nose_n
    across_e = c * here.wing_e - s * here.nose_e
    across_d = c * here.wing_d - s * here.nose_d
    flat = math.hypot(spin_n, spin_e)
    share = -spin_d * across_d / (flat * math.hypot(across_n, across_e))
    middle = math.atan2(across_e, across_n)
    half = math.acos(max(-1.0, min(1.0, share)))
    azimuth = middle - half
    along = math.cos(azimuth) * (c * here.nose_n + s * here.wing_n)
    along += math.sin(azimuth) * (c * here.nose_e + s * here.wing_e)
    along = flat * along + spin_d * (c * here.nose_d + s * here.wing_d)
    if along < 0.0:
        azimuth = middle + half
    return math.atan2(spin_e, spin_n) - azimuth
