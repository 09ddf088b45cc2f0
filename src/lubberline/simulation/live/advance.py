"""The bench some steps later: aircraft, field, drives and every card, each in one compiled pass."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from lubberline.angles import wrapped_deg
from lubberline.arrays import Floats
from lubberline.earth.magnetic import FIELD_SAMPLE
from lubberline.flight.motion import SAMPLE, STEP_S, Samples
from lubberline.flight.steering import fly_steered
from lubberline.flight.turbulence import CHANNELS, STATES
from lubberline.instruments.compass.reading import COMPASS_ROW, carry_compass
from lubberline.instruments.heading_indicator.card import HEADING_ROW, fly_heading
from lubberline.instruments.suction.drive import (
    DRIVE_SAMPLE,
    ElectricState,
    SuctionState,
    carry_electric,
    carry_suction,
)
from lubberline.simulation.aircraft import HeadingIndicatorEntry
from lubberline.simulation.heading_indicator.chance import KNOT_S, wander_between_nm, wander_knots
from lubberline.simulation.heading_indicator.knob import NO_ACTIONS, NO_ROWS
from lubberline.simulation.live.begin import DRIVE, ROTOR, SHAPING
from lubberline.simulation.live.field import put_field, renewed
from lubberline.simulation.live.state import RECENT, Believer, BenchState, Carried, Rows
from lubberline.simulation.panel import suction_system_of
from lubberline.units import DEG

# Steps between looks at the magnetic field; random numbers come in blocks of as many. No stretch that is
# advanced at once goes past a beat, so that it does not matter how a time is divided into stretches.
BEAT = 100
# The rotor is shown this much slower than it turns.
SLOWED = 400.0


@dataclass(frozen=True, slots=True)
class Stretch:
    """What the steps of a stretch were like: index 0 is where it began.

    Attributes:
        first_step: number of its first sample.
        samples: (n + 1,) of `SAMPLE`.
        field: (n + 1,) of `FIELD_SAMPLE`.
        variation_rad: (n + 1,).
        drive: (n + 1,) of `DRIVE_SAMPLE`, of the first aircraft.
        wander_nm: (n + 1,), likewise.
        rows: (n + 1,) of `HEADING_ROW`, of its truth.
        geometry_deg: (n + 1,), likewise.
        compass: (n + 1,) of `COMPASS_ROW`, likewise.
    """

    first_step: int
    samples: Samples
    field: Rows
    variation_rad: Floats
    drive: Rows
    wander_nm: Floats
    rows: Rows
    geometry_deg: Floats
    compass: Rows


@lru_cache(maxsize=4)
def _beat_normals(seed: int, beat: int) -> Floats:
    return np.random.default_rng((seed, 3, beat)).standard_normal((BEAT, CHANNELS * STATES))


@lru_cache(maxsize=16)
def _knots(entry: HeadingIndicatorEntry, count: int, seed: int) -> Floats:
    return wander_knots(entry, count, seed)


def wander_along_nm(carried: Carried, first_step: int, count: int) -> Floats:
    """Torque of real wander at `count` samples from one on."""
    time_s: Floats = np.arange(first_step, first_step + count, dtype=np.float64) * STEP_S
    needed = int(time_s[-1] / KNOT_S) + 3
    knots = _knots(carried.aircraft.heading_indicator, 1 << (needed + 64).bit_length(), carried.seed)
    return wander_between_nm(knots, time_s, carried.gyro.full_momentum_nms)


def _driven(carried: Carried, samples: Samples, finger_nm: float) -> tuple[Carried, Rows]:
    """The instruments with their drive at the last sample, and the drive at every sample."""
    rows = np.zeros(len(samples), dtype=DRIVE_SAMPLE)
    rows[0] = carried.drive[1]
    rows["finger_nm"][1:] = finger_nm
    state = carried.drive_state
    after: SuctionState | ElectricState
    if isinstance(state, ElectricState):
        after = carry_electric(state, samples, carried.faults, DRIVE, ROTOR, rows)
    else:
        system = suction_system_of(carried.aircraft)
        after = carry_suction(state, samples, carried.faults, system, ROTOR, rows)
    turns = rows["rotor_rad_s"] * (STEP_S / (2.0 * math.pi) / SLOWED)
    turns[0] = carried.rotor_turns
    return replace(
        carried, drive_state=after, drive=rows[-2:].copy(), rotor_turns=float(np.cumsum(turns)[-1])
    ), rows


def _believed(believer: Believer, carried: Carried, way: Stretch) -> tuple[Believer, Rows, Floats, Rows]:
    """A believer at the last sample; its rows, geometry and compass rows at every sample."""
    count = len(way.samples)
    rows = np.zeros(count, dtype=HEADING_ROW)
    gyro = fly_heading(
        believer.gyro,
        way.samples,
        way.drive,
        way.wander_nm,
        way.variation_rad,
        NO_ACTIONS,
        STEP_S,
        1,
        carried.gyro,
        believer.laws,
        rows,
        NO_ROWS,
        NO_ROWS,
    )
    compass_rows = np.zeros(count, dtype=COMPASS_ROW)
    compass = carry_compass(
        believer.compass, way.samples, way.field, carried.compass, believer.laws, compass_rows
    )
    moved = np.cumsum(wrapped_deg(np.diff(rows["geometry_rad"]) / DEG))
    geometry = np.concatenate([[believer.geometry_deg], believer.geometry_deg + moved])
    after = replace(
        believer,
        gyro=gyro,
        compass=compass,
        geometry_deg=float(geometry[-1]),
        rows=np.concatenate([believer.rows, rows[1:]])[-RECENT:].copy(),
        compass_row=compass_rows[-1:].copy(),
    )
    return after, rows, geometry, compass_rows


def _flown(state: BenchState, steps: int) -> tuple[BenchState, Samples]:
    """The aircraft alone, with all samples from now to the one that is begun."""
    samples = np.zeros(steps + 2, dtype=SAMPLE)
    samples[:2] = state.samples[1:]
    first = state.step % BEAT
    normal = _beat_normals(state.seed, state.step // BEAT)[first : first + steps]
    steered = fly_steered(state.steered, state.steer, state.step, normal, SHAPING, samples)
    return replace(state, step=state.step + steps, steered=steered, samples=samples[-3:].copy()), samples


def advanced(state: BenchState, steps: int) -> tuple[BenchState, Stretch]:
    """The bench some steps later, and what those steps were like.

    Args:
        state: where from.
        steps: 1 or more, not past the next beat.
    """
    here = state.samples[1]
    near = state.near
    if state.step % BEAT == 0:
        place = (float(here["latitude_rad"]), float(here["longitude_rad"]), float(here["altitude_m"]))
        near = renewed(near, state.step, *place, state.decimal_year)
    after, samples = _flown(state, steps)
    samples = samples[:-1]
    field, variation = np.zeros(steps + 1, dtype=FIELD_SAMPLE), np.zeros(steps + 1)
    field[0], variation[0] = state.field[0], state.variation_rad
    put_field(near, state.step, samples, field, variation)

    stretches: list[Stretch] = []
    aircraft: list[Carried] = []
    for number, entry in enumerate(state.carried):
        carried, drive = _driven(entry, samples, state.finger_nm if number == 0 else 0.0)
        wander = wander_along_nm(entry, state.step, steps + 1)
        way = Stretch(state.step, samples, field, variation, drive, wander, NO_ROWS, wander, NO_ROWS)
        done = [_believed(believer, entry, way) for believer in entry.believers]
        _, rows, geometry, compass = done[0]
        stretches.append(replace(way, rows=rows, geometry_deg=geometry, compass=compass))
        aircraft.append(replace(carried, believers=tuple(believer for believer, *_ in done)))
    after = replace(
        after,
        near=near,
        field=field[-1:].copy(),
        variation_rad=float(variation[-1]),
        carried=tuple(aircraft),
    )
    return after, stretches[0]
