"""The error of a heading indicator expected along a flight, and how unsure it is.

The engine flies the flight with this aircraft's instruments without chance, and once more with one degree
in 15 min of real wander added; the difference is how much each degree of the instrument's own wander
comes to along this flight, its rotor's speed and wear included.
"""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

from lubberline.flight.motion import Motion
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.heading_indicator.chance import SLOW_PART_S
from lubberline.simulation.heading_indicator.ledger import running_deg
from lubberline.simulation.heading_indicator.settings import SETTLING_S, actions_of, straight_rows
from lubberline.simulation.laws import PHYSICS
from lubberline.simulation.panel import ROW_EVERY, Panel, prepare, read
from lubberline.upkeep.plan_records import OwnWander

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

CAUSES = ("earth", "travel", "friction", "balance", "levelling", "tumble", "variation_change")


class Expected(msgspec.Struct, frozen=True):
    """The card's error as it runs on without settings, one value a second.

    Attributes:
        time_s: of the rows.
        causes: each cause, deg.
        total: their sum, bank and pitch left out.
        by_degree: what one deg in 15 min of own wander adds, deg.
        settled: rows on which a pilot can set it: straight and level for 20 s.
        random_deg_15min: standard deviation of the slow random part.
    """

    time_s: Floats
    causes: dict[str, Floats]
    total: Floats
    by_degree: Floats
    settled: Bools
    random_deg_15min: float


def _with_wander(aircraft: Aircraft, wander_deg_15min: float) -> Aircraft:
    """The aircraft without chance: its own wander as given, no random part, a pilot who reads rightly."""
    entry = msgspec.structs.replace(
        aircraft.heading_indicator,
        real_wander_deg_15min=wander_deg_15min,
        real_wander_sd_deg_15min=0.0,
        random_wander_deg_15min=0.0,
    )
    pilot = msgspec.structs.replace(aircraft.pilot, misreading_sd_deg=0.0)
    return msgspec.structs.replace(aircraft, heading_indicator=entry, pilot=pilot)


def _running(motion: Motion, aircraft: Aircraft, *, true_reference: bool) -> tuple[Panel, dict[str, Floats]]:
    panel = prepare(motion, aircraft, true_reference=true_reference)
    readings = read(panel, tuple(actions_of(motion, None, "truth")), PHYSICS, 0)
    return panel, running_deg(panel, readings)


def expected_of(
    motion: Motion, aircraft: Aircraft, wander: OwnWander, *, true_reference: bool = False
) -> tuple[Panel, Expected]:
    """The flight flown by the engine without chance, and what a degree of own wander adds."""
    mean, one_more = (_with_wander(aircraft, wander.mean_deg_15min + added) for added in (0.0, 1.0))
    panel, causes = _running(motion, mean, true_reference=true_reference)
    _, more = _running(motion, one_more, true_reference=true_reference)
    names = [f"{cause}_deg" for cause in CAUSES]
    total = np.sum([causes[name] for name in names], axis=0)
    by_degree = np.sum([more[name] for name in names], axis=0) - total
    straight = straight_rows(motion)[::ROW_EVERY][: len(total)]
    back = round(SETTLING_S)
    bent = np.concatenate(([0], np.cumsum(~straight)))
    here = np.arange(len(straight)) + 1
    return panel, Expected(
        time_s=motion.samples["time_s"][::ROW_EVERY][: len(total)],
        causes={cause: causes[f"{cause}_deg"] for cause in CAUSES},
        total=total,
        by_degree=by_degree,
        settled=np.asarray(bent[here] == bent[np.maximum(here - back, 0)]),
        random_deg_15min=aircraft.heading_indicator.random_wander_deg_15min,
    )


def spread_deg(expected: Expected, wander: OwnWander, first: int, setting_sd_deg: float) -> Floats:
    """Standard deviation of the error at every row from `first` on, when set there.

    The constant wander's part grows with time; the slow random part is the integral of a process with a
    time constant of 20 min, whose variance is 2 T^2 (t/T - 1 + exp(-t/T)) in units of its own.
    """
    added = expected.by_degree[first:] - expected.by_degree[first]
    minutes = (expected.time_s[first:] - expected.time_s[first]) / 60.0
    tau = SLOW_PART_S / 60.0
    strength = np.divide(added, minutes, out=np.zeros_like(added), where=minutes > 0.0)
    share = minutes / tau
    walked = tau * np.sqrt(np.maximum(2.0 * (share - 1.0 + np.exp(-share)), 0.0))
    random = strength * expected.random_deg_15min * walked
    spread: Floats = np.sqrt((wander.sd_deg_15min * added) ** 2 + random**2 + setting_sd_deg**2)
    return spread
