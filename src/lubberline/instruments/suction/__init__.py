"""The drive of the gyros: air or a motor, the rotor, and the gauge."""

from collections.abc import Callable
from typing import Annotated, Any, Literal

import msgspec

from lubberline.instruments.faults import FAULTS, HEALTHY, Faults
from lubberline.instruments.instrument import Instrument, Met, Rows
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.drive import (
    DRIVE_SAMPLE,
    DriveState,
    ElectricDrive,
    balanced_drive,
    carry_electric,
    carry_suction,
    settle_electric,
    settle_suction,
)
from lubberline.instruments.suction.rotor import Rotor
from lubberline.units import INHG_PA

Tap = Literal["cabin", "instruments"]
ROTOR = Rotor()


class SuctionEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The air system: where the gauge is tapped, and what the regulator is set to."""

    gauge_tap: Tap = "cabin"
    regulator_inhg: Annotated[float, msgspec.Meta(ge=1.0, le=10.0)] = 4.9


def suction_system_of(aircraft: Any) -> SuctionSystem:
    """The air system of an aircraft."""
    return SuctionSystem(
        gauge_tap=1.0 if aircraft.suction.gauge_tap == "instruments" else 0.0,
        regulator_setting_pa=aircraft.suction.regulator_inhg * INHG_PA,
        pressure_driven=1.0 if aircraft.heading_indicator.drive == "pressure" else 0.0,
    )


def drive_of(aircraft: Any) -> SuctionSystem | ElectricDrive:
    """What turns the rotor of an aircraft's gyro."""
    return ElectricDrive() if aircraft.heading_indicator.drive == "electric" else suction_system_of(aircraft)


def _settle(
    met: Met, system: SuctionSystem | ElectricDrive, before: Faults, faults: Faults, laws: None, rows: Rows
) -> DriveState:
    here = met.samples[0]
    altitude_m, engine_rpm = float(here["altitude_m"]), float(here["engine_rpm"])
    state: DriveState = (
        settle_electric(altitude_m, system, ROTOR, before)
        if isinstance(system, ElectricDrive)
        else settle_suction(engine_rpm, altitude_m, system, ROTOR, before)
    )
    return balanced_drive(state, here, faults, system, ROTOR, rows)


def _carry(
    state: DriveState, met: Met, system: SuctionSystem | ElectricDrive, faults: Faults, laws: None, rows: Rows
) -> DriveState:
    rows["finger_nm"][1:] = met.finger_nm
    carry: Callable[..., DriveState] = carry_electric if isinstance(system, ElectricDrive) else carry_suction
    return carry(state, met.samples, faults, system, ROTOR, rows)


SUCTION = Instrument(
    name="suction",
    table=SuctionEntry,
    fit=drive_of,
    row=DRIVE_SAMPLE,
    settle=_settle,
    carry=_carry,
    healthy=HEALTHY,
    faults=FAULTS,
    words={"instruments": ("gauge_tap", "instruments"), "setting": "regulator_inhg"},
    refit={"gauge_tap": (Tap, lambda tap: {"gauge_tap": tap})},
)
