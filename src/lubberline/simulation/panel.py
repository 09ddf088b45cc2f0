"""One motion past one panel: the field, the drive, the compass and the heading indicator, in that order.

Each instrument is one pass of its own step function over all samples. What does not depend on the laws
or on chance (field, drive) is computed once and shared by every wrong idea and ensemble member.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lubberline.arrays import Floats
from lubberline.earth.magnetic import FieldAlong, field_along
from lubberline.flight.motion import STEP_S, FlightEvent, Motion
from lubberline.instruments.compass.reading import Compass, fly_compass
from lubberline.instruments.faults import fault_segments
from lubberline.instruments.heading_indicator.card import HEADING_ROW, SET, fly_heading, spin_along
from lubberline.instruments.heading_indicator.gyro import Gyro, balance_torque_nm
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.drive import (
    ElectricDrive,
    fly_electric,
    fly_suction,
    settle_electric,
    settle_suction,
)
from lubberline.instruments.suction.rotor import Rotor
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.heading_indicator.chance import misreadings_deg, real_wander_nm
from lubberline.simulation.heading_indicator.settings import Action
from lubberline.simulation.laws import Laws
from lubberline.units import DEG, INHG_PA

ROW_EVERY = round(1.0 / STEP_S)


@dataclass(frozen=True)
class Panel:
    """An aircraft's instruments on one motion, with all that chance and laws do not change.

    Attributes:
        motion: the flight.
        aircraft: the instruments.
        field: the magnetic field along the flight.
        variation_rad: at each sample, east positive.
        drive: `DRIVE_SAMPLE` records, one a sample.
        gyro: the heading indicator's gyro.
        compass: the compass.
        faults: the faults along the flight, in order of time.
        true_reference: errors are against true heading, and settings to true.
    """

    motion: Motion
    aircraft: Aircraft
    field: FieldAlong
    variation_rad: Floats
    drive: NDArray[np.void]
    gyro: Gyro
    compass: Compass
    faults: tuple[FlightEvent, ...]
    true_reference: bool


@dataclass(frozen=True)
class Readings:
    """What the instruments showed under one set of laws.

    Attributes:
        rows: `HEADING_ROW` records, one a second.
        before: the row just before each action.
        after: the row just after each action.
        compass: `COMPASS_ROW` records, one a sample.
        actions: the actions, in order.
        misreading_deg: of each action (0 where it is no setting).
        reference_rad: the heading that errors are against, at each sample.
    """

    rows: NDArray[np.void]
    before: NDArray[np.void]
    after: NDArray[np.void]
    compass: NDArray[np.void]
    actions: tuple[Action, ...]
    misreading_deg: Floats
    reference_rad: Floats


def gyro_of(aircraft: Aircraft, rotor: Rotor) -> Gyro:
    """The gyro of an aircraft's heading indicator."""
    entry = aircraft.heading_indicator
    full = rotor.inertia_kgm2 * rotor.full_speed_rad_s
    balance = 0.0
    if entry.balance_latitude_deg is not None:
        balance = balance_torque_nm(entry.balance_latitude_deg, full)
    return Gyro(
        rotor_inertia_kgm2=rotor.inertia_kgm2,
        full_momentum_nms=full,
        balance_nm=balance,
        knob_turns_gimbal=1.0 if entry.setting == "turns_gimbal" else 0.0,
    )


def suction_system_of(aircraft: Aircraft) -> SuctionSystem:
    """The air system of an aircraft."""
    return SuctionSystem(
        gauge_tap=1.0 if aircraft.suction.gauge_tap == "instruments" else 0.0,
        regulator_setting_pa=aircraft.suction.regulator_inhg * INHG_PA,
        pressure_driven=1.0 if aircraft.heading_indicator.drive == "pressure" else 0.0,
    )


def compass_of(aircraft: Aircraft) -> Compass:
    """The compass of an aircraft."""
    entry = aircraft.compass
    return Compass(
        a_deg=entry.deviation_a_deg,
        b_deg=entry.deviation_b_deg,
        c_deg=entry.deviation_c_deg,
        d_deg=entry.deviation_d_deg,
        e_deg=entry.deviation_e_deg,
    )


def _fault_events(aircraft: Aircraft, more: tuple[FlightEvent, ...]) -> tuple[FlightEvent, ...]:
    """The aircraft's faults and those of the flight or the command line, in order of time."""
    own = tuple(
        FlightEvent(entry.at_min * 60.0, "fault", entry.name, math.nan if entry.size is None else entry.size)
        for entry in aircraft.fault
    )
    return tuple(sorted((*own, *more), key=lambda event: event.time_s))


def _drive(motion: Motion, aircraft: Aircraft, rotor: Rotor, events: tuple[FlightEvent, ...]) -> Any:
    """Drive samples along the flight, the rotor at its settled speed when the flight begins."""
    starts, sizes = fault_segments(aircraft.faults_at_start, events, STEP_S)
    first = aircraft.faults_at_start
    samples = motion.samples
    altitude_m, engine_rpm = float(samples["altitude_m"][0]), float(samples["engine_rpm"][0])
    if aircraft.heading_indicator.drive == "electric":
        motor = ElectricDrive()
        settled = settle_electric(altitude_m, motor, rotor, first)
        return fly_electric(samples, starts, sizes, motor, rotor, settled)
    system = suction_system_of(aircraft)
    state = settle_suction(engine_rpm, altitude_m, system, rotor, first)
    return fly_suction(samples, starts, sizes, system, rotor, state)


def prepare(
    motion: Motion, aircraft: Aircraft, faults: tuple[FlightEvent, ...] = (), true_reference: bool = False
) -> Panel:
    """Everything about a flight past a panel that neither laws nor chance change.

    Raises:
        InputError: for a fault that does not exist or whose size is out of range.
    """
    samples = motion.samples
    field = field_along(
        samples["latitude_rad"], samples["longitude_rad"], samples["altitude_m"], motion.decimal_year
    )
    variation = np.arctan2(field.samples["east_nt"], field.samples["north_nt"])
    rotor = Rotor()
    in_flight = tuple(event for event in motion.events if event.kind == "fault")
    events = _fault_events(aircraft, (*in_flight, *faults))
    return Panel(
        motion=motion,
        aircraft=aircraft,
        field=field,
        variation_rad=np.unwrap(variation),
        drive=_drive(motion, aircraft, rotor, events),
        gyro=gyro_of(aircraft, rotor),
        compass=compass_of(aircraft),
        faults=events,
        true_reference=true_reference,
    )


def card_targets(
    *,
    heading_rad: Floats,
    compass_rad: Floats,
    variation_rad: Floats,
    from_compass: NDArray[np.bool_],
    misreading_deg: Floats,
    laws: Laws,
    true_reference: bool,
) -> Floats:
    """Readings to which cards are set from the compass, or else from the truth, rad; arrays alike."""
    variation = laws.variation_sign * variation_rad
    by_compass = compass_rad + (variation if true_reference else 0.0)
    by_truth = heading_rad - (0.0 if true_reference else variation)
    targets: Floats = np.where(from_compass, by_compass, by_truth) + misreading_deg * DEG
    return targets


def _targets(
    panel: Panel, actions: tuple[Action, ...], compass: Any, misreading_deg: Floats, laws: Laws
) -> Floats:
    """Reading to which the card is set at each action, rad."""
    index = np.array([a.index for a in actions], dtype=np.int64)
    return card_targets(
        heading_rad=panel.motion.samples["heading_rad"][index],
        compass_rad=compass["reading_rad"][index],
        variation_rad=panel.variation_rad[index],
        from_compass=np.array([a.source == "compass" for a in actions]),
        misreading_deg=misreading_deg,
        laws=laws,
        true_reference=panel.true_reference,
    )


def read(panel: Panel, actions: tuple[Action, ...], laws: Laws, seed: int) -> Readings:
    """Fly the panel: what compass and heading indicator show under these laws."""
    compass = fly_compass(panel.motion.samples, panel.field.samples, panel.compass, laws)
    return read_heading(panel, actions, compass, laws, seed)


def read_heading(
    panel: Panel, actions: tuple[Action, ...], compass: NDArray[np.void], laws: Laws, seed: int
) -> Readings:
    """Fly the heading indicator, the compass having been flown."""
    samples = panel.motion.samples
    is_set = np.array([a.kind == SET for a in actions])
    misreading = np.array([a.misreading_deg for a in actions])
    by_hand = np.array([a.why != "start" for a in actions])
    drawn = misreadings_deg(panel.aircraft.pilot.misreading_sd_deg, len(actions), seed)
    misreading = np.where(is_set & by_hand, misreading + drawn, 0.0)
    table = np.zeros((len(actions), 3))
    table[:, 0] = [a.index for a in actions]
    table[:, 1] = [a.kind for a in actions]
    table[:, 2] = _targets(panel, actions, compass, misreading, laws)
    rows = np.zeros((len(samples) - 1) // ROW_EVERY + 1, dtype=HEADING_ROW)
    before = np.zeros(len(actions), dtype=HEADING_ROW)
    after = np.zeros(len(actions), dtype=HEADING_ROW)
    entry = panel.aircraft.heading_indicator
    wander = real_wander_nm(entry, samples["time_s"], panel.gyro.full_momentum_nms, seed)
    fly_heading(
        spin_along(entry.spin_axis_deg * DEG),
        samples,
        panel.drive,
        wander,
        panel.variation_rad,
        table,
        STEP_S,
        ROW_EVERY,
        panel.gyro,
        laws,
        rows,
        before,
        after,
    )
    shift = 0.0 if panel.true_reference else panel.variation_rad
    return Readings(rows, before, after, compass, actions, misreading, samples["heading_rad"] - shift)
