"""What each fault of the air drive shows at every size, from the engine's own model of it."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.instruments.faults import FAULTS, HEALTHY, with_fault
from lubberline.instruments.rotor import Rotor
from lubberline.instruments.symptoms import LIMIT_DRIFT_DEG_15MIN, symptoms
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.faults_seen import CRUISE_RPM, IDLE_RPM
from lubberline.simulation.panel import suction_system_of
from lubberline.upkeep.records import FaultClass

Floats = NDArray[np.float64]

# The engine's faults that make up each class; those of one class look alike at the gauge.
CLASSES: dict[FaultClass, tuple[str, ...]] = {
    "healthy": (),
    "low flow": ("pump", "leak"),
    "regulator": ("regulator",),
    "filter": ("filter",),
    "bearings": ("bearings",),
    "latitude balance": (),
}
SIZES = 12
# Of its default size, which is large enough to be seen: how small and how large a fault may be.
SMALLEST_SHARE, LARGEST_SHARE = 0.25, 1.35


class Shown(NamedTuple):
    """What a class of faults shows, one row a size; `drift` is the factor on the instrument's own wander."""

    sizes: Floats
    names: tuple[str, ...]
    idle_inhg: Floats
    cruise_inhg: Floats
    run_down_min: Floats
    drift: Floats


def _seen(aircraft: Aircraft, fault: str, size: float) -> tuple[float, float, float, float]:
    faults = with_fault(HEALTHY, fault, size) if fault else HEALTHY
    system, rotor = suction_system_of(aircraft), Rotor()
    idle = symptoms(IDLE_RPM, 0.0, system, rotor, faults)
    cruise = symptoms(CRUISE_RPM, 0.0, system, rotor, faults)
    cabin = aircraft.suction.gauge_tap == "cabin"
    return (
        idle.cabin_gauge_inhg if cabin else idle.instrument_gauge_inhg,
        cruise.cabin_gauge_inhg if cabin else cruise.instrument_gauge_inhg,
        cruise.run_down_min,
        cruise.limit_drift_deg_15min / LIMIT_DRIFT_DEG_15MIN,
    )


def sizes_of(fault: str) -> Floats:
    """Sizes of a fault from hardly to be seen to severe."""
    own = FAULTS[fault]
    largest = min(own.default_size * LARGEST_SHARE, own.greatest_size * 0.999)
    found: Floats = np.linspace(own.default_size * SMALLEST_SHARE, largest, SIZES)
    if fault == "filter":
        # A filter shows nothing until it is nearly closed: sizes by what is left open.
        found = 1.0 - np.geomspace(0.6, 1.0 - largest, SIZES)
    return found


@lru_cache(maxsize=128)
def shown(aircraft: Aircraft, fault: FaultClass) -> Shown:
    """What a class shows in this aircraft, with its gauge's tap and its regulator."""
    rows: list[tuple[float, str, tuple[float, float, float, float]]] = []
    for name in CLASSES[fault]:
        rows += [(float(size), name, _seen(aircraft, name, float(size))) for size in sizes_of(name)]
    if not rows:
        rows = [(0.0, "", _seen(aircraft, "", 0.0))]
    table = np.array([seen for _, _, seen in rows])
    table[~np.isfinite(table)] = 1e3
    return Shown(
        np.array([size for size, _, _ in rows]),
        tuple(name for _, name, _ in rows),
        *(np.ascontiguousarray(column) for column in table.T),
    )
