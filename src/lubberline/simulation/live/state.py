"""The bench at a step, its start, and the bench some steps later; a state is never changed but replaced."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from functools import lru_cache
from typing import Annotated, Any, Literal

import msgspec
import numpy as np
from msgspec import Meta

from lubberline.arrays import Floats
from lubberline.earth.magnetic import FIELD_SAMPLE, FieldNear, field_here, put_field, renewed
from lubberline.flight.motion import SAMPLE, STEP_S, Samples, decimal_year_of
from lubberline.flight.steering import HEADING, Steer, Steered, begin_steered, fly_steered
from lubberline.flight.turbulence import CHANNELS, STATES, shaping
from lubberline.instruments.heading_indicator import HeadingIndicatorEntry
from lubberline.instruments.instrument import PHYSICS, Laws, Met, Rows
from lubberline.simulation.aircraft import Aircraft, whole
from lubberline.simulation.fitted import Held, in_order, instruments
from lubberline.simulation.live.orders import Heading, Latitude, Longitude
from lubberline.units import DEG, FT_M, KT_MPS

TRUTH = ""
SHAPING = shaping()
DEFAULT_DATE = date(2026, 7, 1)
TAXI_KT = 12.0
FLYING_KT = 110.0
# On the bench there is no random drift unless the file says so.
QUIET = HeadingIndicatorEntry(random_wander_deg_15min=0.0)
BENCH_AIRCRAFT = Aircraft(name="bench", heading_indicator=QUIET)


@dataclass(frozen=True, slots=True)
class Believer:
    """The instruments under one set of laws: the truth, or a ghost.

    Attributes:
        id: of the wrong idea; `TRUTH` for the truth.
        laws: its laws.
        held: its instruments of which there are wrong ideas, by name.
    """

    id: str
    laws: Laws
    held: Mapping[str, Any]

    def holding(self, name: str, held: Held) -> Believer:
        """The same with another state of an instrument."""
        return replace(self, held={**self.held, name: held})


@dataclass(frozen=True, slots=True)
class Carried:
    """The instruments of one aircraft.

    Attributes:
        aircraft: what they are.
        seed: of what chance decides in them.
        fitted: their parameters, by name.
        faults: what is wrong with each now, by name.
        shared: instruments of which nobody has a wrong idea, by name.
        believers: the truth first, then the ghosts.
    """

    aircraft: Aircraft
    seed: int
    fitted: Mapping[str, Any]
    faults: Mapping[str, Any]
    shared: Mapping[str, Any]
    believers: tuple[Believer, ...]

    @property
    def truth(self) -> Believer:
        """The instruments as they are."""
        return self.believers[0]


@dataclass(frozen=True, slots=True)
class BenchState:
    """Everything at a step.

    Attributes:
        step: since the start, `STEP_S` each.
        seed: of the rough air and of what chance decides in the first instruments.
        decimal_year: the date, for the magnetic field.
        steered: the aircraft one step ahead.
        steer: what it is told to do.
        flying_mps: airspeed to go back to after taxiing.
        samples: `SAMPLE` records of the step before, of now (complete both) and of the next (begun).
        near: how the field is had from place.
        field: `FIELD_SAMPLE`, one record, now.
        variation_rad: unwrapped, now.
        finger_nm: a finger on the first aircraft's card.
        true_reference: errors and settings are by true heading.
        actions: settings and cagings so far, which number the pilot's misreadings.
        carried: the instruments of one aircraft, or of two side by side.
    """

    step: int
    seed: int
    decimal_year: float
    steered: Steered
    steer: Steer
    flying_mps: float
    samples: Samples
    near: FieldNear
    field: Rows
    variation_rad: float
    finger_nm: float
    true_reference: bool
    actions: int
    carried: tuple[Carried, ...]

    @property
    def time_s(self) -> float:
        """Since the start."""
        return self.step * STEP_S

    @property
    def reference_rad(self) -> float:
        """The heading that errors are against."""
        heading = float(self.samples[1]["heading_rad"])
        return heading if self.true_reference else heading - self.variation_rad


class Start(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Where and how a bench starts.

    Attributes:
        latitude_deg: north positive.
        longitude_deg: east positive.
        heading_deg: true.
        speed_kt: true airspeed.
        altitude_ft: above mean sea level.
        engine_rpm: engine speed.
        on_ground: turns are flat.
        seed: of rough air and of what chance decides in the instruments.
        utc: the date, for the magnetic field.
        set: what the card is set from.
        indicated_deg: what it is set to instead.
    """

    latitude_deg: Latitude = 45.0
    longitude_deg: Longitude = 10.0
    heading_deg: Heading = 0.0
    speed_kt: Annotated[float, Meta(ge=0.0, le=700.0)] = FLYING_KT
    altitude_ft: Annotated[float, Meta(ge=0.0, le=45000.0)] = 3000.0
    engine_rpm: Annotated[float, Meta(ge=0.0, le=2700.0)] = 2400.0
    on_ground: bool = False
    seed: Annotated[int, Meta(ge=0, le=2**31 - 1)] = 0
    utc: date = DEFAULT_DATE
    set: Literal["truth", "compass"] = "truth"
    indicated_deg: Heading | None = None


def carry_instruments(state: BenchState, aircraft: Aircraft, faults: Mapping[str, Any], seed: int) -> Carried:
    """An aircraft's instruments new and at rest at the bench's place, what is set by hand not yet set."""
    aircraft = whole(aircraft)
    fitted = {each.name: each.instrument.fit(aircraft) for each in in_order()}
    carried = Carried(aircraft, seed, fitted, faults, {}, (Believer(TRUTH, PHYSICS, {}),))
    variation = np.array([state.variation_rad])
    rows: dict[str, Rows] = {}
    for each in in_order():
        needed = {name: rows[name] for name in each.instrument.needs}
        held = each.begin(Met(state.samples[1:2], state.field, variation, needed), carried, PHYSICS)
        rows[each.name] = held.rows[-1:]
        if each.instrument.laws is None:
            carried = replace(carried, shared={**carried.shared, each.name: held})
        else:
            carried = replace(carried, believers=(carried.truth.holding(each.name, held),))
    return carried


def reset_instruments(state: BenchState, start: Start | None = None) -> BenchState:
    """The bench with its hand-set instruments set as the start says, otherwise correctly."""
    for each in in_order():
        state = each.reset(state, start)
    return state


def _flight(start: Start) -> BenchState:
    """A bench with a flying aircraft without instruments."""
    steer = Steer(
        turning=HEADING,
        turn_to=start.heading_deg * DEG,
        airspeed_mps=start.speed_kt * KT_MPS,
        on_ground=1.0 if start.on_ground else 0.0,
        engine_rpm=start.engine_rpm,
    )
    first = Steered(
        latitude_rad=start.latitude_deg * DEG,
        longitude_rad=start.longitude_deg * DEG,
        altitude_m=start.altitude_ft * FT_M,
        heading_rad=start.heading_deg * DEG,
        airspeed_mps=steer.airspeed_mps,
        engine_rpm=start.engine_rpm,
    )
    steered, samples = begin_steered(first, steer, SHAPING)
    year = decimal_year_of(datetime.combine(start.utc, time(tzinfo=UTC)))
    near = field_here(first.latitude_rad, first.longitude_rad, first.altitude_m, year)
    field, variation = np.zeros(2, dtype=FIELD_SAMPLE), np.zeros(2)
    put_field(near, 0, samples[[0, 0]], field, variation)
    return BenchState(
        step=0,
        seed=start.seed,
        decimal_year=year,
        steered=steered,
        steer=steer,
        flying_mps=FLYING_KT * KT_MPS if start.on_ground else steer.airspeed_mps,
        samples=samples[[0, 0, 1]],
        near=near,
        field=field[1:],
        variation_rad=float(variation[1]),
        finger_nm=0.0,
        true_reference=False,
        actions=0,
        carried=(),
    )


def begin(start: Start, aircraft: tuple[Aircraft, ...] = (BENCH_AIRCRAFT,)) -> BenchState:
    """The bench at its start with one aircraft's instruments, or with two side by side."""
    state = _flight(start)
    healthy = {name: each.instrument.healthy for name, each in instruments().items()}
    carried = tuple(
        carry_instruments(
            state,
            entry,
            {name: entry.faults_at_start(sizes) for name, sizes in healthy.items()},
            start.seed + number,
        )
        for number, entry in enumerate(aircraft)
    )
    return reset_instruments(replace(state, carried=carried), start)


# Steps between looks at the magnetic field; random numbers come in blocks of as many. No stretch that is
# advanced at once goes past a beat, so that it does not matter how a time is divided into stretches.
BEAT = 100


@dataclass(frozen=True, slots=True)
class Stretch:
    """What the steps of a stretch were like: index 0 is where it began.

    Attributes:
        first_step: number of its first sample.
        samples: (n + 1,) of `SAMPLE`.
        field: (n + 1,) of `FIELD_SAMPLE`.
        variation_rad: (n + 1,).
        rows: (n + 1,) each, of the instruments of the first aircraft's truth, by name.
    """

    first_step: int
    samples: Samples
    field: Rows
    variation_rad: Floats
    rows: Mapping[str, Rows]


@lru_cache(maxsize=4)
def _beat_normals(seed: int, beat: int) -> Floats:
    return np.random.default_rng((seed, 3, beat)).standard_normal((BEAT, CHANNELS * STATES))


def _carried(entry: Carried, met: Met) -> tuple[Carried, dict[str, Rows]]:
    """An aircraft's instruments at the last sample, and the rows of its truth at every sample."""
    shared, common, ordered = dict(entry.shared), dict[str, Rows](), in_order()
    chances = {each.name: each.chance(entry, met) for each in ordered}
    mets = {name: met if chance is None else met._replace(chance=chance) for name, chance in chances.items()}
    for each in ordered:
        if (name := each.name) in shared:
            shared[name], common[name] = each.advance(
                shared[name],
                mets[name],
                common,
                entry,
                PHYSICS,
            )
    believers, shown = [], []
    for believer in entry.believers:
        held, rows = dict(believer.held), dict(common)
        for each in ordered:
            if (name := each.name) in held:
                held[name], rows[name] = each.advance(
                    held[name],
                    mets[name],
                    rows,
                    entry,
                    believer.laws,
                )
        believers.append(Believer(believer.id, believer.laws, held))
        shown.append(rows)
    return replace(entry, shared=shared, believers=tuple(believers)), shown[0]


def _flown(state: BenchState, steps: int) -> tuple[BenchState, Samples]:
    """The aircraft alone, with all samples from now to the one that is begun."""
    samples = np.zeros(steps + 2, dtype=SAMPLE)
    samples[:2] = state.samples[1:]
    first = state.step % BEAT
    normal = _beat_normals(state.seed, state.step // BEAT)[first : first + steps]
    steered = fly_steered(state.steered, state.steer, state.step, normal, SHAPING, samples)
    return replace(
        state,
        step=state.step + steps,
        steered=steered,
        samples=samples[-3:].copy(),
    ), samples


def advanced(state: BenchState, steps: int) -> tuple[BenchState, Stretch]:
    """The bench some steps later, and what those steps were like.

    Args:
        state: where from.
        steps: 1 or more, not past the next beat.
    """
    near = state.near
    if state.step % BEAT == 0:
        names = ("latitude_rad", "longitude_rad", "altitude_m")
        latitude, longitude, altitude = (float(state.samples[1][name]) for name in names)
        near = renewed(near, state.step, latitude, longitude, altitude, state.decimal_year)
    after, samples = _flown(state, steps)
    samples = samples[:-1]
    field, variation = np.zeros(steps + 1, dtype=FIELD_SAMPLE), np.zeros(steps + 1)
    field[0], variation[0] = state.field[0], state.variation_rad
    put_field(near, state.step, samples, field, variation)

    met = Met(samples, field, variation, {})
    flown = [
        _carried(entry, met._replace(finger_nm=state.finger_nm if number == 0 else 0.0))
        for number, entry in enumerate(state.carried)
    ]
    after = replace(
        after,
        near=near,
        field=field[-1:].copy(),
        variation_rad=float(variation[-1]),
        carried=tuple(carried for carried, _ in flown),
    )
    return after, Stretch(state.step, samples, field, variation, flown[0][1])
