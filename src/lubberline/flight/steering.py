"""Flying by command: the motion of an aircraft ordered to hold, turn, climb, speed up, or tumble.

State in, state out, in steps of `STEP_S`. Turns in the air are coordinated and level, pitch is the angle of
climb (no angle of attack), as in flights from legs; attitudes past that leave the path as it is. Limits are
those of a gentle hand on a light aeroplane: engineering choices.
"""

import math
from typing import Any, NamedTuple

import numpy as np

from lubberline.angles import wrapped_rad
from lubberline.compiled import kernel
from lubberline.earth.geodesy import walk_step
from lubberline.flight.motion import SAMPLE, STEP_S, Samples, put_derived
from lubberline.flight.turbulence import (
    PITCH_PER_BANK,
    STEEPEST_ANSWER_RAD,
    VERTICAL_G_PER_BANK_DEG,
    YAW_PER_BANK,
    Shaping,
    Wobble,
    wobble_step,
)
from lubberline.units import DEG, KT_MPS, STANDARD_GRAVITY_MPS2


@kernel
def chase(
    value: float, rate: float, target: float, greatest_rate: float, greatest_change: float, step_s: float
) -> tuple[float, float]:
    """A value and its rate one step later, on the way to a target and stopping there.

    The rate wanted is the greatest from which the value still comes to rest at the target,
    v dt + v^2 / (2 a) = distance.

    Args:
        value: now.
        rate: now, 1/s.
        target: where to.
        greatest_rate: of the value.
        greatest_change: of the rate, 1/s2 (a in the formula).
        step_s: the step.
    """
    gap = target - value
    stopping = greatest_change * (math.sqrt(step_s * step_s + 2.0 * abs(gap) / greatest_change) - step_s)
    wanted = math.copysign(min(stopping, greatest_rate), gap)
    reach = greatest_change * step_s
    after = rate + min(max(wanted - rate, -reach), reach)
    return value + step_s * after, after


@kernel
def follow(value: float, target: float, greatest_rate: float, step_s: float) -> float:
    """A value one step later, moving to a target at no more than a rate."""
    reach = greatest_rate * step_s
    return value + min(max(target - value, -reach), reach)


BANK, RATE, HEADING = 0.0, 1.0, 2.0

ROLL_RAD_S, ROLL_RAD_S2 = 15.0 * DEG, 30.0 * DEG
# A heading is approached as if rolling out at this rate, the rest being for the roll's own beginning.
ROLL_OUT_RAD_S = 6.0 * DEG
HEADING_LAG_S = 2.0
STEEPEST_BANK_RAD = 75.0 * DEG
# Attitudes for tumbling: quick, but within what the gyro is computed well at.
ATTITUDE_RAD_S, ATTITUDE_RAD_S2 = 30.0 * DEG, 60.0 * DEG
FLAT_TURN_RAD_S, FLAT_TURN_RAD_S2 = 10.0 * DEG, 10.0 * DEG
CLIMB_MPS2, CLIMB_MPS3 = 0.08 * STANDARD_GRAVITY_MPS2, 0.1 * STANDARD_GRAVITY_MPS2
SPEED_MPS3 = 0.2 * STANDARD_GRAVITY_MPS2
ENGINE_RPM_S = 800.0
ROUGH_RAD_S, ROUGH_RAD_S2 = 3.0 * DEG, 2.0 * DEG
STEEPEST_CLIMB_SINE = 0.5
# Bank turns the path in full above the second speed, and not at all below the first.
SLOW_MPS, WHOLE_MPS = 20.0 * KT_MPS, 30.0 * KT_MPS
LOWEST_M, HIGHEST_M, MARGIN_S = 0.0, 15000.0, 5.0
NEAREST_POLE_RAD = 89.9 * DEG


class Steer(NamedTuple):
    """The orders to the aircraft.

    Attributes:
        turning: BANK, RATE or HEADING, which `turn_to` is.
        turn_to: bank or heading in rad, or heading rate in rad/s.
        heading_bank_rad: with which a heading is turned to.
        roll_rad: attitude that leaves heading and path alone, added to the bank; for tumbling.
        pitch_rad: the whole pitch; 0 leaves pitch to the climb.
        climb_mps: rate of climb.
        airspeed_mps: true airspeed.
        speed_mps2: how fast the airspeed may change.
        on_ground: 1: turns are flat.
        bank_sd_rad: standard deviation of the rocking in rough air; 0 is calm.
        engine_rpm: engine speed.
    """

    turning: float = BANK
    turn_to: float = 0.0
    heading_bank_rad: float = 25.0 * DEG
    roll_rad: float = 0.0
    pitch_rad: float = 0.0
    climb_mps: float = 0.0
    airspeed_mps: float = 0.0
    speed_mps2: float = 0.1 * STANDARD_GRAVITY_MPS2
    on_ground: float = 0.0
    bank_sd_rad: float = 0.0
    engine_rpm: float = 0.0


class Steered(NamedTuple):
    """The aircraft at a step: where its smooth path is, its attitude and speeds with their rates.

    `heading_rad` is that of the smooth path, unwrapped; rough air comes on top of it, in the sample alone.
    """

    latitude_rad: float
    longitude_rad: float
    altitude_m: float
    heading_rad: float
    airspeed_mps: float
    engine_rpm: float
    heading_rate_rad_s: float = 0.0
    bank_rad: float = 0.0
    bank_rate_rad_s: float = 0.0
    flat_rate_rad_s: float = 0.0
    roll_rad: float = 0.0
    roll_rate_rad_s: float = 0.0
    pitch_rad: float = 0.0
    pitch_rate_rad_s: float = 0.0
    airspeed_rate_mps2: float = 0.0
    climb_mps: float = 0.0
    climb_rate_mps2: float = 0.0
    bank_sd_rad: float = 0.0
    bank_sd_rate_rad_s: float = 0.0
    rock: Wobble = Wobble()
    nod: Wobble = Wobble()
    swing: Wobble = Wobble()
    heave: Wobble = Wobble()


@kernel
def path_share(airspeed_mps: float, on_ground: float) -> float:
    """How much of the bank turns the path: none on the ground or all but standing, all when flying."""
    if on_ground != 0.0:
        return 0.0
    share = min(max((airspeed_mps - SLOW_MPS) / (WHOLE_MPS - SLOW_MPS), 0.0), 1.0)
    return share * share * (3.0 - 2.0 * share)


@kernel
def wanted_bank_rad(state: Steered, steer: Steer) -> float:
    """The bank to go to: the one asked for, or the one that brings the rate or heading asked for."""
    if steer.on_ground != 0.0:
        return 0.0
    speed = max(state.airspeed_mps, SLOW_MPS)
    steepest = STEEPEST_BANK_RAD
    if steer.turning == BANK:
        wanted = steer.turn_to
    elif steer.turning == RATE:
        wanted = math.atan(steer.turn_to * speed / STANDARD_GRAVITY_MPS2)
    else:
        gap = wrapped_rad(steer.turn_to - state.heading_rad)
        # What a steady roll-out turns the nose by: g / (V p) x -ln cos(bank); this is its inverse.
        out = math.acos(math.exp(-abs(gap) * speed * ROLL_OUT_RAD_S / STANDARD_GRAVITY_MPS2))
        near = abs(gap) * speed / (STANDARD_GRAVITY_MPS2 * HEADING_LAG_S)
        wanted = math.copysign(min(out, near), gap)
        steepest = steer.heading_bank_rad
    return min(max(wanted, -steepest), steepest)


@kernel
def wanted_flat_rate_rad_s(state: Steered, steer: Steer, share: float) -> float:
    """The heading rate without bank: on the ground and when all but standing."""
    if share >= 1.0 or steer.turning == BANK:
        return 0.0
    if steer.turning == RATE:
        return (1.0 - share) * steer.turn_to
    gap = wrapped_rad(steer.turn_to - state.heading_rad)
    change = FLAT_TURN_RAD_S2
    stopping = change * (math.sqrt(STEP_S * STEP_S + 2.0 * abs(gap) / change) - STEP_S)
    return (1.0 - share) * math.copysign(min(stopping, FLAT_TURN_RAD_S), gap)


@kernel
def levelling_off_mps(distance_m: float) -> float:
    """The fastest climb or descent so far from a height that is not to be passed; negative beyond it."""
    if distance_m <= 0.0:
        return distance_m / MARGIN_S
    return min(distance_m / MARGIN_S, math.sqrt(CLIMB_MPS2 * distance_m))


@kernel
def wanted_climb_mps(state: Steered, steer: Steer) -> float:
    """The rate of climb to go to, within what the speed and the bench's floor and ceiling allow."""
    if steer.on_ground != 0.0:
        return 0.0
    steepest = STEEPEST_CLIMB_SINE * state.airspeed_mps
    climb = min(max(steer.climb_mps, -steepest), steepest)
    below, above = state.altitude_m - LOWEST_M, HIGHEST_M - state.altitude_m
    return min(max(climb, -levelling_off_mps(below)), levelling_off_mps(above))


@kernel
def climb_angle_rad(state: Steered) -> float:
    """Angle of the path above the horizon."""
    if state.airspeed_mps < 1.0:
        return 0.0
    return math.asin(min(max(state.climb_mps / state.airspeed_mps, -1.0), 1.0))


@kernel
def level_speed_mps(state: Steered) -> float:
    """Speed along the ground, in air at rest."""
    return math.sqrt(max(state.airspeed_mps**2 - state.climb_mps**2, 0.0))


@kernel
def steer_step(state: Steered, steer: Steer, normal: Any, shaping: Shaping) -> Steered:
    """The aircraft one step later, following its orders; `normal` (12,) are the step's random numbers."""
    dt = STEP_S
    airspeed, airspeed_rate = chase(
        state.airspeed_mps, state.airspeed_rate_mps2, steer.airspeed_mps, steer.speed_mps2, SPEED_MPS3, dt
    )
    bank, bank_rate = chase(
        state.bank_rad, state.bank_rate_rad_s, wanted_bank_rad(state, steer), ROLL_RAD_S, ROLL_RAD_S2, dt
    )
    share = path_share(airspeed, steer.on_ground)
    flat = follow(
        state.flat_rate_rad_s,
        wanted_flat_rate_rad_s(state, steer, share),
        FLAT_TURN_RAD_S2,
        dt,
    )
    heading_rate = flat + share * STANDARD_GRAVITY_MPS2 * math.tan(bank) / max(airspeed, SLOW_MPS)
    heading = state.heading_rad + 0.5 * dt * (state.heading_rate_rad_s + heading_rate)
    climb, climb_rate = chase(
        state.climb_mps, state.climb_rate_mps2, wanted_climb_mps(state, steer), CLIMB_MPS2, CLIMB_MPS3, dt
    )
    roll, roll_rate = chase(
        state.roll_rad, state.roll_rate_rad_s, steer.roll_rad, ATTITUDE_RAD_S, ATTITUDE_RAD_S2, dt
    )
    nose_up = steer.pitch_rad - climb_angle_rad(state) if steer.pitch_rad != 0.0 else 0.0
    pitch, pitch_rate = chase(
        state.pitch_rad, state.pitch_rate_rad_s, nose_up, ATTITUDE_RAD_S, ATTITUDE_RAD_S2, dt
    )
    bank_sd, bank_sd_rate = chase(
        state.bank_sd_rad, state.bank_sd_rate_rad_s, steer.bank_sd_rad, ROUGH_RAD_S, ROUGH_RAD_S2, dt
    )
    after = Steered(
        state.latitude_rad,
        state.longitude_rad,
        state.altitude_m + 0.5 * dt * (state.climb_mps + climb),
        heading,
        airspeed,
        follow(state.engine_rpm, steer.engine_rpm, ENGINE_RPM_S, dt),
        heading_rate,
        bank,
        bank_rate,
        flat,
        roll,
        roll_rate,
        pitch,
        pitch_rate,
        airspeed_rate,
        climb,
        climb_rate,
        bank_sd,
        bank_sd_rate,
        wobble_step(state.rock, normal, 0, shaping),
        wobble_step(state.nod, normal, 3, shaping),
        wobble_step(state.swing, normal, 6, shaping),
        wobble_step(state.heave, normal, 9, shaping),
    )
    return carried_along(state, after)


@kernel
def carried_along(before: Steered, after: Steered) -> Steered:
    """The second state moved over the Earth from where the first is; stopped short of the poles."""
    first, last = level_speed_mps(before), level_speed_mps(after)
    north = 0.5 * (first * math.cos(before.heading_rad) + last * math.cos(after.heading_rad))
    east = 0.5 * (first * math.sin(before.heading_rad) + last * math.sin(after.heading_rad))
    height = 0.5 * (before.altitude_m + after.altitude_m)
    latitude, change = walk_step(before.latitude_rad, height, north, east, STEP_S)
    return placed(
        after, min(max(latitude, -NEAREST_POLE_RAD), NEAREST_POLE_RAD), before.longitude_rad + change
    )


@kernel
def placed(state: Steered, latitude_rad: float, longitude_rad: float) -> Steered:
    """The same aircraft at another place."""
    return Steered(
        latitude_rad,
        longitude_rad,
        state.altitude_m,
        state.heading_rad,
        state.airspeed_mps,
        state.engine_rpm,
        state.heading_rate_rad_s,
        state.bank_rad,
        state.bank_rate_rad_s,
        state.flat_rate_rad_s,
        state.roll_rad,
        state.roll_rate_rad_s,
        state.pitch_rad,
        state.pitch_rate_rad_s,
        state.airspeed_rate_mps2,
        state.climb_mps,
        state.climb_rate_mps2,
        state.bank_sd_rad,
        state.bank_sd_rate_rad_s,
        state.rock,
        state.nod,
        state.swing,
        state.heave,
    )


@kernel
def put_sample(sample: Any, time_s: float, state: Steered, shaping: Shaping) -> None:
    """Write position, velocity, attitude and engine speed, with the rough air of `turbulence.rough_air`."""
    speed = level_speed_mps(state)
    sd, sd_rate = state.bank_sd_rad, state.bank_sd_rate_rad_s
    heave = VERTICAL_G_PER_BANK_DEG * STANDARD_GRAVITY_MPS2 / DEG / shaping.derivative_sd
    rise_m = heave * sd * state.heave.integral
    rise_mps = heave * (sd * state.heave.angle + sd_rate * state.heave.integral)
    steep = min(max(state.bank_rad, -STEEPEST_ANSWER_RAD), STEEPEST_ANSWER_RAD)
    sideways_mps = STANDARD_GRAVITY_MPS2 * sd * state.rock.integral / math.cos(steep) ** 2
    sideways_mps += math.tan(steep) * rise_mps
    path = state.heading_rad + sideways_mps / max(state.airspeed_mps, SLOW_MPS)
    sample.time_s = time_s
    sample.latitude_rad = state.latitude_rad
    sample.longitude_rad = state.longitude_rad
    sample.altitude_m = state.altitude_m + rise_m
    sample.north_mps = speed * math.cos(path)
    sample.east_mps = speed * math.sin(path)
    sample.down_mps = -state.climb_mps - rise_mps
    sample.airspeed_mps = state.airspeed_mps
    sample.heading_rad = path + YAW_PER_BANK * sd * state.swing.angle
    sample.pitch_rad = climb_angle_rad(state) + state.pitch_rad + PITCH_PER_BANK * sd * state.nod.angle
    sample.bank_rad = state.bank_rad + state.roll_rad + sd * state.rock.angle
    sample.engine_rpm = state.engine_rpm


@kernel
def fly_steered(
    state: Steered, steer: Steer, first_step: int, normal: Any, shaping: Shaping, samples: Any
) -> Steered:
    """Fly n steps by command; samples are complete one step behind the aircraft.

    Args:
        state: the aircraft at sample 1.
        steer: what it is told, all the while.
        first_step: number of sample 0 since the start, which is at time 0.
        normal: (n, 12) normal random numbers.
        shaping: of the rough air.
        samples: (n + 2,) `SAMPLE` records; 0 complete and 1 begun on entry, n complete and n + 1 begun
            on return, every derived field exactly as `smooth_motion` would give it.

    Returns:
        The aircraft at sample n + 1.
    """
    for k in range(normal.shape[0]):
        state = steer_step(state, steer, normal[k], shaping)
        put_sample(samples[k + 2], (first_step + k + 2) * STEP_S, state, shaping)
        put_derived(samples, k + 1, k, k + 2, 2.0 * STEP_S)
    return state


def begin_steered(state: Steered, steer: Steer, shaping: Shaping) -> tuple[Steered, Samples]:
    """The first two samples of a flight by command, and the aircraft at the second.

    Both are complete; the second will be completed again once the third is there.
    """
    samples = np.zeros(2, dtype=SAMPLE)
    put_sample(samples[0:1][0], 0.0, state, shaping)
    after = steer_step(state, steer, np.zeros(12), shaping)
    put_sample(samples[1:2][0], STEP_S, after, shaping)
    for i in range(2):
        put_derived(samples, i, 0, 1, STEP_S)
    return after, samples
