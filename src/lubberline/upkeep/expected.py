"""The error of a heading indicator expected along a flight, and how unsure it is.

The engine flies the flight with this aircraft's instruments without chance, and once more with one degree
in 15 min of real wander added; the difference is how much each degree of the instrument's own wander
comes to along this flight, its rotor's speed and wear included.
"""

from typing import NamedTuple

import msgspec
import numpy as np
from numpy.typing import NDArray

from lubberline.arrays import Floats
from lubberline.flight.motion import STEP_S, Motion
from lubberline.instruments.instrument import PHYSICS
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.heading_indicator.ledger import DRIFT_COLUMNS, running_deg
from lubberline.simulation.heading_indicator.settings import (
    SETTLING_S,
    SLOW_PART_S,
    actions_of,
    straight_rows,
)
from lubberline.simulation.panel import ROW_EVERY, Panel, prepare, read
from lubberline.units import DEG
from lubberline.upkeep.plan_records import OwnWander

# A change of heading by less is no new stretch.
SAME_HEADING_DEG = 8.0
# Shorter ones are taken with what follows: nobody plans a minute by itself.
LEAST_S = 120.0
BLOCK_S = 10.0


class Stretch(NamedTuple):
    """Samples of a motion from `first` to `last`, both included."""

    first: int
    last: int


def stretches_of(motion: Motion) -> tuple[Stretch, ...]:
    """The stretches of a flight in order, without gaps.

    A stretch ends where a turn onto another heading begins; short ones go with what follows them, the
    last with what came before.
    """
    heading = motion.samples["heading_rad"] / DEG
    straight = straight_rows(motion)
    stride = round(BLOCK_S / STEP_S)
    starts = [0]
    held: float | None = None
    for row in range(0, len(heading), stride):
        if not straight[row]:
            continue
        if held is None:
            held = float(heading[row])
        elif abs(heading[row] - held) > SAME_HEADING_DEG:
            starts.append(_turn_began(heading, row, held))
            held = float(heading[row])
    return _long_enough(starts, len(heading) - 1)


def _turn_began(heading: np.ndarray, row: int, held_deg: float) -> int:
    """The last sample before `row` that was still on the heading held before."""
    on = np.flatnonzero(np.abs(heading[:row] - held_deg) <= 1.0)
    return int(on[-1]) + 1 if len(on) else row


def _long_enough(starts: list[int], end: int) -> tuple[Stretch, ...]:
    least = LEAST_S / STEP_S
    kept = [starts[0]]
    for start, after in zip(starts[1:], [*starts[2:], end], strict=False):
        if start - kept[-1] >= least and after - start >= least:
            kept.append(start)
    ends = [*(start for start in kept[1:]), end]
    return tuple(Stretch(first, last) for first, last in zip(kept, ends, strict=True))


Bools = NDArray[np.bool_]


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
    total = np.sum([causes[name] for name in DRIFT_COLUMNS], axis=0)
    by_degree = np.sum([more[name] for name in DRIFT_COLUMNS], axis=0) - total
    straight = straight_rows(motion)[::ROW_EVERY][: len(total)]
    back = round(SETTLING_S)
    bent = np.concatenate(([0], np.cumsum(~straight)))
    here = np.arange(len(straight)) + 1
    return panel, Expected(
        time_s=motion.samples["time_s"][::ROW_EVERY][: len(total)],
        causes={name.removesuffix("_deg"): causes[name] for name in DRIFT_COLUMNS},
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
