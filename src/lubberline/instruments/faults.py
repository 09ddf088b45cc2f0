"""What can be wrong with the drive of a gyro: one size each, and the names used on the command line.

A fault changes parameters of the model and nothing else; what the gauge then reads and how the card
then drifts comes from running the model.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

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
    "pump": Fault("pump_weak", 0.45, "weak pump: share of its efficiency that is lost, 1 = failed", 1.0),
    "regulator": Fault(
        "regulator_low_inhg", 1.4, "regulator set low: inHg below its right setting", 5.0, "inHg"
    ),
    "filter": Fault("filter_clogged", 0.87, "clogged central filter: share of its area blocked", 1.0),
    "leak": Fault(
        "hose_leak", 0.25, "leaking hose beyond the instruments: share of its bore, 1 = hose off", 1.0
    ),
    "bearings": Fault(
        "bearings_worn", 1.0, "worn rotor bearings: 0 = as new, 1 = three times the friction", 2.0
    ),
    "supply": Fault(
        "supply_failing", 0.4, "failing electric supply: share of its voltage that is lost, 1 = none", 1.0
    ),
}


def with_fault(faults: Faults, name: str, size: float = math.nan, *, where: str = "fault") -> Faults:
    """The faults with the one called `name` set to `size` (nan: its default size; 0: mended).

    Args:
        faults: what is wrong already.
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
            f"the fault '{name}' can't have size {chosen:g}{unit}",
            f"give a size from 0 to {fault.greatest_size:g}{unit} ({fault.description})",
        )
    return faults._replace(**{fault.field: chosen})


def fault_segments(
    first: Faults, events: Iterable[FlightEvent], step_s: float
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Faults along a flight as segments of samples in which they do not change.

    Args:
        first: what is wrong from the start.
        events: of the flight, in order of time; only those of kind 'fault' count.
        step_s: time between samples.

    Returns:
        `starts` (k,): the sample with which each segment begins, the first 0; and `sizes` (k, 6): the
        fields of `Faults` in each segment.

    Raises:
        InputError: as `with_fault`.
    """
    starts, sizes, faults = [0], [first], first
    for event in events:
        if event.kind != "fault":
            continue
        faults = with_fault(faults, event.name, event.size, where=f"fault at {event.time_s:g} s")
        start = math.ceil(event.time_s / step_s - 1e-6)
        if start <= starts[-1]:
            sizes[-1] = faults
        else:
            starts.append(start)
            sizes.append(faults)
    return np.array(starts, dtype=np.int64), np.array(sizes, dtype=np.float64)
