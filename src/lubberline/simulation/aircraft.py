"""The aircraft file: what instruments it carries, as they are, and how its pilot reads them."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta

from lubberline.instruments.faults import HEALTHY, Faults, with_fault
from lubberline.textfile import text_of, toml_of
from lubberline.typed_fields import typed

Drive = Literal["suction", "pressure", "electric"]
Setting = Literal["turns_card", "turns_gimbal"]
Tap = Literal["cabin", "instruments"]
Wander = Annotated[float, Meta(ge=-90.0, le=90.0)]
Spread = Annotated[float, Meta(ge=0.0, le=30.0)]
Deviation = Annotated[float, Meta(ge=-45.0, le=45.0)]

GREATEST_FILE_BYTES = 1_000_000


class HeadingIndicatorEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The heading indicator as it is.

    Attributes:
        drive: what turns its rotor.
        setting: what the knob does: 'turns_card' alone, or 'turns_gimbal' and card together.
        real_wander_deg_15min: its constant real wander at 12,000 rpm, positive: the card rises.
        real_wander_sd_deg_15min: how unsure that is; drawn anew for each seed.
        random_wander_deg_15min: standard deviation of its slow random part.
        balance_latitude_deg: latitude for which it is balanced; none when absent.
        spin_axis_deg: true azimuth of the spin axis at the start (knob turns the card alone).
    """

    drive: Drive = "suction"
    setting: Setting = "turns_card"
    real_wander_deg_15min: Wander = 0.0
    real_wander_sd_deg_15min: Spread = 0.0
    random_wander_deg_15min: Spread = 0.3
    balance_latitude_deg: Annotated[float, Meta(ge=-90.0, le=90.0)] | None = None
    spin_axis_deg: Annotated[float, Meta(ge=0.0, lt=360.0)] = 0.0


class SuctionEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The air system: where the gauge is tapped, and what the regulator is set to."""

    gauge_tap: Tap = "cabin"
    regulator_inhg: Annotated[float, Meta(ge=1.0, le=10.0)] = 4.9


class CompassEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The compass's deviation coefficients, east positive, by compass heading."""

    deviation_a_deg: Deviation = 0.0
    deviation_b_deg: Deviation = 0.0
    deviation_c_deg: Deviation = 0.0
    deviation_d_deg: Deviation = 0.0
    deviation_e_deg: Deviation = 0.0


class PilotEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How well the pilot reads the compass when setting: standard deviation of the misreading."""

    misreading_sd_deg: Annotated[float, Meta(ge=0.0, le=20.0)] = 0.0


class FaultEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A fault from a time of the flight on."""

    name: str
    size: Annotated[float, Meta(ge=0.0)] | None = None
    at_min: Annotated[float, Meta(ge=0.0, le=1440.0)] = 0.0


class Aircraft(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """An aircraft with its heading indicator, air system, compass and pilot; all keys are optional."""

    name: str = "healthy aircraft"
    note: str = ""
    heading_indicator: HeadingIndicatorEntry = HeadingIndicatorEntry(real_wander_sd_deg_15min=1.0)
    suction: SuctionEntry = SuctionEntry()
    compass: CompassEntry = CompassEntry()
    pilot: PilotEntry = PilotEntry()
    fault: tuple[FaultEntry, ...] = ()

    @property
    def faults_at_start(self) -> Faults:
        """The faults that are there from the beginning of a flight."""
        faults = HEALTHY
        for entry in self.fault:
            if entry.at_min == 0.0:
                faults = with_fault(faults, entry.name, _size(entry), where=f"{self.name}: fault")
        return faults


def _size(entry: FaultEntry) -> float:
    return math.nan if entry.size is None else entry.size


def aircraft_from_text(source: str, text: str) -> Aircraft:
    """An aircraft from the text of its file.

    Raises:
        InputError: naming `source` and the field, for anything that is not right.
    """
    return aircraft_from_fields(source, toml_of(source, text))


def aircraft_from_fields(source: str, fields: dict[str, Any]) -> Aircraft:
    """An aircraft from the plain fields of its file, or of a table in another file.

    Raises:
        InputError: naming `source` and the field, for anything that is not right.
    """
    aircraft = typed(source, fields, Aircraft, "see docs/instructors/aircraft.md")
    for number, entry in enumerate(aircraft.fault, start=1):
        with_fault(HEALTHY, entry.name, _size(entry), where=f"{source}, fault {number}")
    return aircraft


def read_aircraft(path: str | Path) -> Aircraft:
    """Read an aircraft file (TOML).

    Raises:
        InputError: when it cannot be read or is not right.
    """
    return aircraft_from_text(str(path), text_of(path, "an aircraft file (TOML)", GREATEST_FILE_BYTES))
