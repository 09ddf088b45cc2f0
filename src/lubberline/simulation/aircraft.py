"""The aircraft file: its instruments, their condition, and how its pilot reads them."""

import math
from functools import cache
from pathlib import Path
from typing import Annotated, Any, cast

import msgspec
from msgspec import Meta

from lubberline.errors import Faults, within
from lubberline.instruments.compass import CompassEntry
from lubberline.instruments.faults import HEALTHY, Sizes, size_of, with_fault
from lubberline.instruments.heading_indicator import HeadingIndicatorEntry
from lubberline.instruments.suction import SuctionEntry
from lubberline.simulation.fitted import instruments
from lubberline.textfile import text_of, toml_of
from lubberline.typed_fields import typed

GREATEST_FILE_BYTES = 1_000_000


class PilotEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How well the pilot reads the compass when setting: standard deviation of the misreading."""

    misreading_sd_deg: Annotated[float, Meta(ge=0.0, le=20.0)] = 0.0


class FaultEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A fault that begins at a time of the flight."""

    name: str
    size: Annotated[float, Meta(ge=0.0)] | None = None
    at_min: Annotated[float, Meta(ge=0.0, le=1440.0)] = 0.0

    @property
    def given(self) -> float:
        """The size; nan if none is given."""
        return math.nan if self.size is None else self.size


class Aircraft(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """An aircraft with its instruments and pilot; all keys are optional.

    Tables of other instruments of the registry stand in an `aircraft_kind`.
    """

    name: str = "healthy aircraft"
    note: str = ""
    heading_indicator: HeadingIndicatorEntry = HeadingIndicatorEntry(real_wander_sd_deg_15min=1.0)
    suction: SuctionEntry = SuctionEntry()
    pilot: PilotEntry = PilotEntry()
    compass: CompassEntry = CompassEntry()
    fault: tuple[FaultEntry, ...] = ()

    def faults_at_start(self, healthy: Sizes = HEALTHY) -> Sizes:  # type: ignore[assignment]
        """The faults of an instrument that are there from the beginning of a flight.

        Args:
            healthy: its record of sizes, all nothing; that of the drive where it is left out.
        """
        faults = healthy
        for entry in self.fault:
            if entry.at_min == 0.0:
                faults = with_fault(faults, entry.name, entry.given, where=f"{self.name}: fault")
        return faults


@cache
def _kind(tables: tuple[tuple[str, type[msgspec.Struct]], ...]) -> type[Aircraft]:
    fields = [(name, table, table()) for name, table in tables]
    kind = msgspec.defstruct(
        "Aircraft",
        fields,
        bases=(Aircraft,),
        frozen=True,
        forbid_unknown_fields=True,
    )
    return cast(type[Aircraft], kind)


def aircraft_kind() -> type[Aircraft]:
    """An aircraft as its file may describe it: with a table for every instrument of the registry."""
    tables = ((name, each.instrument.table) for name, each in instruments().items())
    more = tuple((name, table) for name, table in tables if name not in Aircraft.__struct_fields__)
    return _kind(more) if more else Aircraft


def whole(aircraft: Aircraft) -> Aircraft:
    """The aircraft with a table for every instrument of the registry."""
    kind = aircraft_kind()
    return aircraft if isinstance(aircraft, kind) else msgspec.convert(msgspec.to_builtins(aircraft), kind)


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
    aircraft = typed(source, fields, aircraft_kind(), "see docs/instructors/aircraft.md")
    faults = Faults()
    for number, entry in enumerate(aircraft.fault, start=1):
        with faults.noted(), within("fault", number - 1):
            size_of(entry.name, entry.given, where=f"{source}, fault {number}")
    faults.tell()
    return aircraft


def read_aircraft(path: str | Path) -> Aircraft:
    """Read an aircraft file (TOML).

    Raises:
        InputError: when it cannot be read or is not right.
    """
    return aircraft_from_text(
        str(path),
        text_of(
            path,
            "an aircraft file (TOML)",
            GREATEST_FILE_BYTES,
        ),
    )
