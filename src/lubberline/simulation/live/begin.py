"""The bench at its start: an aircraft at a place, its rotor at speed, its compass at rest, its card set."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Annotated, Any, Literal

import msgspec
import numpy as np
from msgspec import Meta

from lubberline.earth.magnetic import FIELD_SAMPLE
from lubberline.flight.steering import HEADING, Steer, Steered, begin_steered
from lubberline.flight.turbulence import shaping
from lubberline.instruments.compass.reading import COMPASS_ROW, carry_compass, settle_compass
from lubberline.instruments.faults import Faults
from lubberline.instruments.heading_indicator.card import HEADING_ROW, spin_along
from lubberline.instruments.heading_indicator.gyro import Gyro
from lubberline.instruments.suction.drive import (
    DRIVE_SAMPLE,
    ElectricDrive,
    ElectricState,
    SuctionState,
    put_drive,
    put_electric,
    settle_electric,
    settle_suction,
)
from lubberline.instruments.suction.rotor import Rotor
from lubberline.simulation.aircraft import Aircraft, HeadingIndicatorEntry
from lubberline.simulation.heading_indicator.knob import set_from, set_to
from lubberline.simulation.laws import PHYSICS
from lubberline.simulation.live.field import field_here, put_field
from lubberline.simulation.live.orders import Heading, Latitude, Longitude
from lubberline.simulation.live.state import TRUTH, Believer, BenchState, Carried, Rows, Setting
from lubberline.simulation.panel import compass_of, gyro_of, suction_system_of
from lubberline.units import DEG, FT_M, KT_MPS

SHAPING = shaping()
DRIVE = ElectricDrive()
ROTOR = Rotor()
DEFAULT_DATE = date(2026, 7, 1)
TAXI_KT = 12.0
FLYING_KT = 110.0
# On the bench nothing drifts by chance unless its file says so.
QUIET = HeadingIndicatorEntry(random_wander_deg_15min=0.0)
BENCH_AIRCRAFT = Aircraft(name="bench", heading_indicator=QUIET)


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


def decimal_year_of(day: date) -> float:
    """A date as a year with its fraction."""
    start = datetime(day.year, 1, 1, tzinfo=UTC)
    length = datetime(day.year + 1, 1, 1, tzinfo=UTC) - start
    return day.year + (datetime(day.year, day.month, day.day, tzinfo=UTC) - start) / length


def drive_rows(drive_state: SuctionState | ElectricState) -> Rows:
    """`DRIVE_SAMPLE` records of the step before and of now, alike."""
    rows = np.zeros(2, dtype=DRIVE_SAMPLE)
    put: Any = put_drive if isinstance(drive_state, SuctionState) else put_electric
    for row in range(2):
        put(rows[row], drive_state)
    return rows


def settled(aircraft: Aircraft, faults: Faults, altitude_m: float, engine_rpm: float) -> Any:
    """An aircraft's drive after a long time in these conditions."""
    if aircraft.heading_indicator.drive == "electric":
        return settle_electric(altitude_m, DRIVE, ROTOR, faults)
    return settle_suction(engine_rpm, altitude_m, suction_system_of(aircraft), ROTOR, faults)


def carry_instruments(state: BenchState, aircraft: Aircraft, faults: Faults, seed: int) -> Carried:
    """An aircraft's instruments new and at rest at the bench's place, the card not yet set."""
    here = state.samples[1]
    drive_state = settled(aircraft, faults, float(here["altitude_m"]), float(here["engine_rpm"]))
    compass = compass_of(aircraft)
    card = settle_compass(state.samples[1:2], state.field, 0, compass, PHYSICS)
    compass_row = np.zeros(1, dtype=COMPASS_ROW)
    carry_compass(card, state.samples[1:2], state.field, compass, PHYSICS, compass_row)
    believer = Believer(
        id=TRUTH,
        laws=PHYSICS,
        gyro=spin_along(aircraft.heading_indicator.spin_axis_deg * DEG),
        compass=card,
        setting=Setting(state.step, state.variation_rad, {}),
        geometry_deg=0.0,
        rows=np.zeros(1, dtype=HEADING_ROW),
        compass_row=compass_row,
    )
    gyro = Gyro(*(float(value) for value in gyro_of(aircraft, ROTOR)))
    return Carried(
        aircraft=aircraft,
        seed=seed,
        gyro=gyro,
        compass=compass,
        faults=faults,
        drive_state=drive_state,
        drive=drive_rows(drive_state),
        believers=(believer,),
        rotor_turns=0.0,
    )


def _flight(start: Start) -> BenchState:
    """A bench with an aircraft that flies and carries nothing."""
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
    year = decimal_year_of(start.utc)
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
    carried = tuple(
        carry_instruments(state, entry, entry.faults_at_start, start.seed + number)
        for number, entry in enumerate(aircraft)
    )
    state = replace(state, carried=carried)
    if start.indicated_deg is not None:
        state = set_to(state, start.indicated_deg)
    else:
        state = set_from(state, start.set, by_hand=False)
    return state
