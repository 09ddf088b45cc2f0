"""What each fault of the air drive shows at every size, from the engine's own model of it."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.instruments.faults import FAULTS, HEALTHY, with_fault
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.drive import settle_suction
from lubberline.instruments.suction.rotor import Rotor, run_down_s, wear_factor
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.panel import suction_system_of
from lubberline.simulation.symptoms import CRUISE_RPM, IDLE_RPM
from lubberline.units import INHG_PA
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
# In place of infinity, for a rotor that does not turn.
NEVER = 1e3
# Of its default size, which is large enough to be seen: how small and how large a fault may be.
SMALLEST_SHARE, LARGEST_SHARE = 0.25, 1.35


class Shown(NamedTuple):
    """What a class of faults shows, one row a size.

    `drift` is the factor on the instrument's own wander, `slowness` that on its latitude balance: full rotor
    speed over the rotor's speed at cruise.
    """

    sizes: Floats
    names: tuple[str, ...]
    idle_inhg: Floats
    cruise_inhg: Floats
    run_down_min: Floats
    drift: Floats
    slowness: Floats


def _seen(system: SuctionSystem, fault: str, size: float) -> tuple[float, ...]:
    faults = with_fault(HEALTHY, fault, size) if fault else HEALTHY
    rotor = Rotor()
    idle, cruise = (settle_suction(rpm, 0.0, system, rotor, faults) for rpm in (IDLE_RPM, CRUISE_RPM))
    speed = cruise.rotor_rad_s
    slowness = rotor.full_speed_rad_s / speed if speed > 0.0 else NEVER
    return (
        idle.gauge_pa / INHG_PA,
        cruise.gauge_pa / INHG_PA,
        run_down_s(speed, 1.0, faults.bearings_worn, rotor) / 60.0,
        slowness * wear_factor(faults.bearings_worn, rotor),
        slowness,
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


def shown(aircraft: Aircraft, fault: FaultClass) -> Shown:
    """What a class shows in this aircraft, with its gauge's tap and its regulator."""
    return _shown(suction_system_of(aircraft), fault)


@lru_cache(maxsize=512)
def _shown(system: SuctionSystem, fault: FaultClass) -> Shown:
    rows: list[tuple[float, str, tuple[float, ...]]] = []
    for name in CLASSES[fault]:
        rows += [(float(size), name, _seen(system, name, float(size))) for size in sizes_of(name)]
    if not rows:
        rows = [(0.0, "", _seen(system, "", 0.0))]
    table = np.array([seen for _, _, seen in rows])
    return Shown(
        np.array([size for size, _, _ in rows]),
        tuple(name for _, name, _ in rows),
        *(np.ascontiguousarray(column) for column in table.T),
    )
