"""Attitude of coordinated flight along a path: heading, pitch and bank from velocity and acceleration."""

from dataclasses import dataclass

import numpy as np

from lubberline.arrays import Bools, Floats
from lubberline.flight.motion import CLIMB_RPM, CRUISE_RPM, DESCENT_RPM, IDLE_RPM, STEP_S
from lubberline.units import DEG, KT_MPS, STANDARD_GRAVITY_MPS2

SLOW_MPS = 20.0 * KT_MPS
# Bank and pitch come in from nothing at the slow speed to the whole here.
WHOLE_MPS = 30.0 * KT_MPS
FADE_S = 2.0
# A shorter spell of speed within slowness gives no direction.
SHORTEST_SPELL_S = 5.0
# A held heading is turned onto the next good one at no more than this, where there is time.
TURN_RAD_S = 3.0 * DEG
STEEPEST_BANK_RAD, STEEPEST_PITCH_RAD = 75.0 * DEG, 60.0 * DEG
LEAST_LOAD = 0.1


@dataclass(frozen=True)
class Path:
    """Velocity over the ground and acceleration in the level frame, every `STEP_S`; wind as it blows to."""

    north_mps: Floats
    east_mps: Floats
    down_mps: Floats
    north_mps2: Floats
    east_mps2: Floats
    down_mps2: Floats
    wind_north_mps: float
    wind_east_mps: float


@dataclass(frozen=True)
class Attitude:
    """Attitude every `STEP_S`; `held` where the heading is not the path's, the rest where cut off."""

    heading_rad: Floats
    pitch_rad: Floats
    bank_rad: Floats
    airspeed_mps: Floats
    slow: Bools
    held: Bools
    bank_cut: Bools
    pitch_cut: Bools


def runs(flags: Bools) -> list[tuple[int, int]]:
    """First and one-past-last index of each run of True."""
    edges = np.diff(np.concatenate(([False], flags, [False])).astype(np.int8))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    return list(zip(starts.tolist(), ends.tolist(), strict=True))


def moving_mean(values: Floats, over_s: float) -> Floats:
    """Mean over `over_s` centred on each sample, the ends repeated outward."""
    half = max(1, round(0.5 * over_s / STEP_S))
    padded = np.concatenate((np.full(half + 1, values[0]), values, np.full(half, values[-1])))
    sums = np.cumsum(padded)
    return np.asarray((sums[2 * half + 1 :] - sums[: -2 * half - 1]) / (2 * half + 1))


def _held(slow: Bools) -> Bools:
    """Slow samples, with spells of speed between them too short to give a direction."""
    held = slow.copy()
    for first, end in runs(~slow):
        if (first > 0 or end < len(slow)) and (end - first) * STEP_S < SHORTEST_SPELL_S:
            held[first:end] = True
    return held


def _heading(direction_rad: Floats, held: Bools) -> Floats:
    """Unwrapped direction; where held, that of before, turned onto that of after in good time."""
    good = ~held
    heading = np.zeros(len(direction_rad))
    heading[good] = np.unwrap(direction_rad[good])
    for first, end in runs(held):
        if first == 0:
            heading[:end] = heading[end]
        elif end == len(held):
            heading[first:] = heading[first - 1]
        else:
            before, after = heading[first - 1], heading[end]
            # The mean rate of an eased turn is under two thirds of its greatest.
            turn = min(end - first, round(1.6 * abs(after - before) / TURN_RAD_S / STEP_S) + 1)
            heading[first : end - turn] = before
            share = np.arange(1, turn + 1) / (turn + 1)
            heading[end - turn : end] = before + (after - before) * (0.5 - 0.5 * np.cos(np.pi * share))
    return heading


def coordinated(path: Path) -> Attitude:
    """Heading along the air velocity, pitch its climb angle, bank that of a turn without side force.

    With V the airspeed, heading rate h' and climb angle c that is tan(bank) = V h' cos(c) / (g cos(c) +
    V c'), in any text on flight mechanics. Under 20 kt over the ground (or through the air) the heading is
    held and bank and pitch fade to nothing.
    """
    air_north, air_east = path.north_mps - path.wind_north_mps, path.east_mps - path.wind_east_mps
    level_air = np.hypot(air_north, air_east)
    ground = np.hypot(path.north_mps, path.east_mps)
    slow = ground < SLOW_MPS
    held = _held(slow | (level_air < SLOW_MPS))
    # Never fast enough to show a direction: the way it went on the whole.
    whole = np.full(len(held), np.arctan2(path.east_mps.mean(), path.north_mps.mean()))
    heading = whole if held.all() else _heading(np.arctan2(air_east, air_north), held)
    climb_rad = np.arctan2(-path.down_mps, np.maximum(level_air, SLOW_MPS))
    sin_h, cos_h = np.sin(heading), np.cos(heading)
    sin_c, cos_c = np.sin(climb_rad), np.cos(climb_rad)
    sideways = -sin_h * path.north_mps2 + cos_h * path.east_mps2
    floorwards = (cos_h * path.north_mps2 + sin_h * path.east_mps2) * sin_c + path.down_mps2 * cos_c
    load = np.maximum(STANDARD_GRAVITY_MPS2 * cos_c - floorwards, LEAST_LOAD * STANDARD_GRAVITY_MPS2)
    bank = np.arctan2(sideways, load)

    share = np.clip((ground - SLOW_MPS) / (WHOLE_MPS - SLOW_MPS), 0.0, 1.0)
    faded = moving_mean(np.where(held, 0.0, share * share * (3.0 - 2.0 * share)), FADE_S)
    faded[held] = 0.0
    bank, pitch = faded * bank, faded * climb_rad
    return Attitude(
        heading_rad=heading,
        pitch_rad=np.clip(pitch, -STEEPEST_PITCH_RAD, STEEPEST_PITCH_RAD),
        bank_rad=np.clip(bank, -STEEPEST_BANK_RAD, STEEPEST_BANK_RAD),
        airspeed_mps=np.hypot(level_air, path.down_mps),
        slow=slow,
        held=held,
        bank_cut=np.abs(bank) > STEEPEST_BANK_RAD,
        pitch_cut=np.abs(pitch) > STEEPEST_PITCH_RAD,
    )


CLIMB_FROM_MPS = 1.0
ENGINE_EASE_S = 4.0


def engine_rpm(ground_slow: Bools, down_mps: Floats) -> Floats:
    """Engine speed assumed from the phase of flight: idle when slow, else climb, descent or cruise."""
    climb = moving_mean(-down_mps, 10.0)
    rpm = np.full(len(climb), CRUISE_RPM)
    rpm[climb > CLIMB_FROM_MPS] = CLIMB_RPM
    rpm[climb < -CLIMB_FROM_MPS] = DESCENT_RPM
    rpm[ground_slow] = IDLE_RPM
    return moving_mean(moving_mean(rpm, ENGINE_EASE_S), ENGINE_EASE_S)
