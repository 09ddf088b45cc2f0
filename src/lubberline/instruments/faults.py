"""The faults of the drive of a gyro: one size each, and the names used on the command line.

A fault changes parameters of the model and nothing else; what the gauge then reads and how the card
then drifts comes from running the model.
"""

import math
from collections.abc import Iterable
from typing import Any, NamedTuple, TypeVar, cast

from lubberline.errors import InputError, nearest_of
from lubberline.flight.motion import FlightEvent


class Faults(NamedTuple):
    """Sizes of all faults; 0.0 is healthy.

    Attributes:
        pump_weak: share of the pump's efficiency that is lost; 1 = failed.
        regulator_low_inhg: how far the regulator opens below its setting, in inHg.
        filter_clogged: share of the filter's area that is blocked.
        hose_leak: leak beyond the instruments as a share of the hose's bore; 1 = hose off.
        bearings_worn: wear of the rotor's bearings; 1 = the drag and wander of `Rotor.worn_*`.
        supply_failing: share of the voltage that an electric drive has lost; 1 = no supply.
    """

    pump_weak: float = 0.0
    regulator_low_inhg: float = 0.0
    filter_clogged: float = 0.0
    hose_leak: float = 0.0
    bearings_worn: float = 0.0
    supply_failing: float = 0.0


HEALTHY = Faults()


class Sound(NamedTuple):
    """The faults of an instrument that has none."""


SOUND = Sound()
# A record of sizes, 0.0 healthy: one kind for each instrument.
Sizes = TypeVar("Sizes", bound=Any)


class Fault(NamedTuple):
    """One fault as a person names it.

    Attributes:
        field: its size's name in `Faults`.
        default_size: the size when none is given: large enough to be seen.
        description: what is wrong, and what the size means.
        greatest_size: sizes from 0 to this are allowed.
        unit: of the size; '' for a share.
    """

    field: str
    default_size: float
    description: str
    greatest_size: float
    unit: str = ""


FAULTS: dict[str, Fault] = {
    "pump": Fault(
        "pump_weak",
        0.45,
        "weak pump: share of its efficiency lost, 1 = failed",
        1.0,
    ),
    "regulator": Fault(
        "regulator_low_inhg", 1.4, "regulator set low: inHg below its correct setting", 5.0, "inHg"
    ),
    "filter": Fault(
        "filter_clogged",
        0.87,
        "clogged central filter: share of its area blocked",
        1.0,
    ),
    "leak": Fault(
        "hose_leak", 0.25, "leaking hose beyond the instruments: share of its bore, 1 = hose off", 1.0
    ),
    "bearings": Fault(
        "bearings_worn", 1.0, "worn rotor bearings: 0 = as new, 1 = three times the friction", 2.0
    ),
    "supply": Fault(
        "supply_failing", 0.4, "failing electric supply: share of its voltage lost, 1 = no voltage", 1.0
    ),
}


def size_of(name: str, size: float = math.nan, *, where: str = "fault") -> float:
    """The size of a fault as a person gives it, checked (nan: its default size; 0: no fault).

    Args:
        name: a name of `FAULTS`.
        size: in the unit that `FAULTS` gives.
        where: file and field, or the option, for the message.

    Raises:
        InputError: for a name that is not in `FAULTS`, or a size outside its range.
    """
    if name not in FAULTS:
        raise InputError(where, f"there is no fault '{name}'", nearest_of(name, list(FAULTS)))
    fault = FAULTS[name]
    chosen = fault.default_size if math.isnan(size) else float(size)
    if not 0.0 <= chosen <= fault.greatest_size:
        unit = f" {fault.unit}" if fault.unit else ""
        raise InputError(
            where,
            f"the fault '{name}' cannot have size {chosen:g}{unit}",
            f"give a size from 0 to {fault.greatest_size:g}{unit} ({fault.description})",
        )
    return chosen


def with_fault(faults: Sizes, name: str, size: float = math.nan, *, where: str = "fault") -> Sizes:
    """An instrument's faults with the one called `name` at a size; the same if it is another instrument's.

    Args:
        faults: what is wrong with the instrument already: its record of sizes.
        name: see `size_of`.
        size: see `size_of`.
        where: see `size_of`.

    Raises:
        InputError: as `size_of`.
    """
    chosen = size_of(name, size, where=where)
    field = FAULTS[name].field
    return cast(Sizes, faults._replace(**{field: chosen})) if field in faults._fields else faults


def fault_segments(first: Sizes, events: Iterable[FlightEvent], step_s: float) -> list[tuple[int, Sizes]]:
    """Faults along a flight as segments of samples in which they do not change.

    Args:
        first: what is wrong with an instrument from the start.
        events: of the flight, in order of time; only those of kind 'fault' count.
        step_s: time between samples.

    Returns:
        The sample with which each segment begins, the first 0, and what is wrong in it.

    Raises:
        InputError: as `with_fault`.
    """
    segments, faults = {0: first}, first
    for event in events:
        if event.kind == "fault":
            after = with_fault(faults, event.name, event.size, where=f"fault at {event.time_s:g} s")
            if after != faults:
                faults = after
                segments[max(math.ceil(event.time_s / step_s - 1e-6), *segments)] = faults
    return [*segments.items()]
