"""A flight planned for its heading indicator: expected drift by leg and cause, and when to set it.

The engine flies the flight with this aircraft's instruments without chance, and once more with one degree
in 15 min of real wander added; the difference is how much each degree of the instrument's own wander
comes to along this flight, its rotor's speed and wear included. The interval adds up what is not known
beforehand: the instrument's constant wander, its slow random part, and how exactly it is set.

For teaching only: not for navigation.
"""

import math
from dataclasses import replace
from typing import NamedTuple

import msgspec
import numpy as np

from lubberline.angles import rose_deg, wrapped_deg
from lubberline.arrays import Bools, Floats
from lubberline.earth.magnetic import zone_of
from lubberline.errors import in_range
from lubberline.flight.motion import STEP_S, Motion
from lubberline.instruments.compass import coefficients_of
from lubberline.instruments.compass.deviation import steer_deg
from lubberline.instruments.instrument import PHYSICS
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.heading_indicator.ledger import DRIFT_COLUMNS, running_deg
from lubberline.simulation.heading_indicator.settings import (
    SETTLING_S,
    SLOW_PART_S,
    actions_of,
    settled,
    straight_rows,
)
from lubberline.simulation.panel import ROW_EVERY, Panel, prepare, read
from lubberline.simulation.symptoms import wander_factor
from lubberline.units import DEG
from lubberline.upkeep.estimating import HEALTHY_SD_DEG_15MIN
from lubberline.upkeep.records import Estimate, OwnWander, Plan, PlannedLeg, PlannedSetting

# A compass is read to about a degree (common practice, no source).
READING_SD_DEG = 1.0
# 95% of a normal distribution.
TIMES_SD = 1.96
LEAST_WAIT_MIN = 3.0
DRAWN_EVERY_S = 60
STEEP_DIP_DEG = 70.0

HEALTHY = OwnWander(
    0.0,
    HEALTHY_SD_DEG_15MIN,
    "a healthy instrument of which nothing else is known",
)


def own_wander_of(aircraft: Aircraft) -> OwnWander:
    """The real wander from an aircraft's file; that of a healthy instrument if the file has none."""
    entry = aircraft.heading_indicator
    mean, sd = entry.real_wander_deg_15min, entry.real_wander_sd_deg_15min
    return OwnWander(mean, sd, "the aircraft's file") if mean or sd else HEALTHY


def own_wander_from(estimate: Estimate, aircraft: Aircraft) -> OwnWander:
    """The estimate, made at cruise, as wander at 12,000 rpm, of which the engine makes more or less.

    The faults that the aircraft's file has from the start are flown again, so that they are taken out here.
    """
    factor = wander_factor(aircraft, aircraft.faults_at_start())
    if not (math.isfinite(factor) and factor > 0.0):
        return HEALTHY
    spread = (estimate.high_deg_15min - estimate.low_deg_15min) / (2.0 * TIMES_SD)
    return OwnWander(
        estimate.mean_deg_15min / factor,
        max(spread, 0.0) / factor,
        "the aircraft's log",
    )


# A change of heading by less is no new stretch.
SAME_HEADING_DEG = 8.0
# Shorter ones are joined to the next: nobody plans a single minute.
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
    for row in np.arange(0, len(heading), stride)[straight[::stride]]:
        if held is not None and abs(heading[row] - held) <= SAME_HEADING_DEG:
            continue
        if held is not None:
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
    return tuple(Stretch(first, last) for first, last in zip(kept, [*kept[1:], end], strict=True))


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
    """The aircraft without randomness: real wander as given, no random part, no reading errors."""
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
    return panel, running_deg(
        panel,
        read(
            panel,
            tuple(actions_of(motion, None, "truth")),
            PHYSICS,
            0,
        ),
    )


def expected_of(
    motion: Motion, aircraft: Aircraft, wander: OwnWander, *, true_reference: bool = False
) -> tuple[Panel, Expected]:
    """The flight flown by the engine without randomness, and the effect of one degree of real wander."""
    mean, one_more = (_with_wander(aircraft, wander.mean_deg_15min + added) for added in (0.0, 1.0))
    panel, causes = _running(motion, mean, true_reference=true_reference)
    _, more = _running(motion, one_more, true_reference=true_reference)
    total, raised = (np.sum([ran[name] for name in DRIFT_COLUMNS], axis=0) for ran in (causes, more))
    return panel, Expected(
        time_s=motion.samples["time_s"][::ROW_EVERY][: len(total)],
        causes={name.removesuffix("_deg"): causes[name] for name in DRIFT_COLUMNS},
        total=total,
        by_degree=raised - total,
        settled=settled(straight_rows(motion)[::ROW_EVERY][: len(total)], round(SETTLING_S)),
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
    return np.asarray(np.sqrt((wander.sd_deg_15min * added) ** 2 + random**2 + setting_sd_deg**2))


def _settings(
    expected: Expected, wander: OwnWander, limit_deg: float, setting_sd_deg: float
) -> list[tuple[int, bool]]:
    """Rows to set it at, each as late as the limit allows, and whether the limit holds until then."""
    rows = [(0, True)]
    last = len(expected.total) - 1
    while True:
        first = rows[-1][0]
        error = expected.total[first:] - expected.total[first]
        reach = np.abs(error) + TIMES_SD * spread_deg(expected, wander, first, setting_sd_deg)
        over = np.flatnonzero(reach > limit_deg)
        if len(over) == 0:
            return rows
        least = first + round(LEAST_WAIT_MIN * 60.0)
        # Whole minutes: nobody sets it by the second.
        latest = (first + int(over[0])) // 60 * 60
        fit = np.flatnonzero(expected.settled[least : latest + 1])
        later = np.flatnonzero(expected.settled[max(least, latest) :])
        if len(fit):
            rows.append((least + int(fit[-1]), True))
        elif len(later):
            rows.append((max(least, latest) + int(later[0]), False))
        else:
            return rows
        if rows[-1][0] >= last - 60:
            return rows[:-1]


def _lines(
    expected: Expected, wander: OwnWander, settings: list[tuple[int, bool]], setting_sd_deg: float
) -> tuple[Floats, Floats]:
    """Error expected along the flight set as planned, and its standard deviation."""
    error, spread = np.empty_like(expected.total), np.empty_like(expected.total)
    ends = [*(row for row, _ in settings[1:]), len(error)]
    for (first, _), end in zip(settings, ends, strict=True):
        error[first:end] = expected.total[first:end] - expected.total[first]
        spread[first:end] = spread_deg(expected, wander, first, setting_sd_deg)[: end - first]
    return error, spread


def _leg(number: int, stretch: Stretch, panel: Panel, expected: Expected, wander: OwnWander) -> PlannedLeg:
    samples = panel.motion.samples
    middle = (stretch.first + stretch.last) // 2
    first, last = (min(row // ROW_EVERY, len(expected.total) - 1) for row in stretch)
    true_deg = rose_deg(float(samples["heading_rad"][middle] / DEG))
    variation = float(panel.variation_rad[middle] / DEG)
    magnetic = rose_deg(true_deg - variation)
    along = panel.field.samples[stretch.first : stretch.last + 1]
    level = np.hypot(along["north_nt"], along["east_nt"])
    weakest = float(level.min())
    drift = {name: float(values[last] - values[first]) for name, values in expected.causes.items()}
    return PlannedLeg(
        number=number,
        begin_min=float(samples["time_s"][stretch.first]) / 60.0,
        end_min=float(samples["time_s"][stretch.last]) / 60.0,
        true_deg=true_deg,
        magnetic_deg=magnetic,
        variation_deg=wrapped_deg(variation),
        steer_deg=rose_deg(steer_deg(magnetic, coefficients_of(panel.aircraft))),
        latitude_deg=float(samples["latitude_rad"][middle] / DEG),
        drift_deg={**drift, "total": sum(drift.values())},
        sd_deg=float(spread_deg(expected, wander, first, 0.0)[last - first]),
        horizontal_nt=weakest,
        zone=zone_of(weakest),
        dip_deg=float(np.abs(np.arctan2(along["down_nt"], level)).max() / DEG),
    )


def _setting(
    row: int, kept: bool, before: tuple[float, float], legs: tuple[PlannedLeg, ...], panel: Panel
) -> PlannedSetting:
    sample = panel.field.samples[row * ROW_EVERY]
    at_min = row / 60.0
    number = next((leg.number for leg in legs if at_min <= leg.end_min), len(legs))
    zone = zone_of(math.hypot(float(sample["north_nt"]), float(sample["east_nt"])))
    return PlannedSetting(at_min, number, before[0], before[1], zone, kept)


def plan_of(
    motion: Motion,
    aircraft: Aircraft,
    wander: OwnWander | None = None,
    limit_deg: float = 5.0,
    *,
    true_reference: bool = False,
) -> Plan:
    """A flight planned.

    Args:
        motion: the flight; its own settings are left out, for the plan says when to set.
        aircraft: its instruments as the file says.
        wander: the estimate of its real wander; from the file if not given.
        limit_deg: error to stay within, with 95% probability.
        true_reference: it is set to true headings, as where the compass is unusable.

    Raises:
        InputError: a limit out of range.
    """
    in_range("limit", limit_deg, 1.0, 45.0, "{:g} deg is out of range")
    motion = replace(motion, events=tuple(event for event in motion.events if event.kind == "fault"))
    believed = wander or own_wander_of(aircraft)
    panel, expected = expected_of(motion, aircraft, believed, true_reference=true_reference)
    sure = max(aircraft.pilot.misreading_sd_deg, READING_SD_DEG)
    settings = _settings(expected, believed, limit_deg, sure)
    error, spread = _lines(expected, believed, settings, sure)
    legs = tuple(
        _leg(number, stretch, panel, expected, believed)
        for number, stretch in enumerate(stretches_of(motion), start=1)
    )
    # Nothing is known of an error before the first setting.
    errors = [(0.0, 0.0), *zip(error[:-1].tolist(), spread[:-1].tolist(), strict=True)]
    planned = tuple(_setting(row, kept, errors[row], legs, panel) for row, kept in settings)
    shown = np.unique(np.append(np.arange(0, len(error), DRAWN_EVERY_S), len(error) - 1))
    return Plan(
        title=motion.title,
        aircraft=aircraft.name,
        start_utc=motion.start_utc.isoformat(),
        duration_min=motion.duration_s / 60.0,
        limit_deg=limit_deg,
        reference="true" if true_reference else "magnetic",
        wander=believed,
        setting_sd_deg=sure,
        field_model=panel.field.model,
        legs=legs,
        settings=planned,
        time_min=tuple((shown / 60.0).tolist()),
        expected_deg=tuple(error[shown].tolist()),
        low_deg=tuple((error - TIMES_SD * spread)[shown].tolist()),
        high_deg=tuple((error + TIMES_SD * spread)[shown].tolist()),
        notes=tuple(_notes(panel, planned, legs, limit_deg, sure)),
        about=motion.notes,
    )


def _notes(
    panel: Panel,
    settings: tuple[PlannedSetting, ...],
    legs: tuple[PlannedLeg, ...],
    limit_deg: float,
    setting_sd_deg: float,
) -> list[str]:
    """Notes for the reader."""
    unsure_deg, steep_deg = TIMES_SD * setting_sd_deg, max((leg.dip_deg for leg in legs), default=0.0)
    late = not all(setting.kept for setting in settings)
    told = {
        f"The compass reading itself is uncertain by {unsure_deg:.1f} deg, so no setting keeps the "
        f"error within {limit_deg:g} deg with 95% probability.": unsure_deg >= limit_deg,
        f"A setting is marked late if there is no straight and level flight before the error may "
        f"exceed {limit_deg:g} deg.": late and unsure_deg < limit_deg,
        "Where the horizontal field is weak the compass is not reliable: set the heading indicator there "
        "from a known direction, such as a runway or a track from fix to fix, and to true north if the "
        "charts say so.": any(setting.zone for setting in settings),
        f"The field dips by {steep_deg:.0f} deg: turning and acceleration errors of the compass are large. "
        "Read it only in straight, level, unaccelerated flight.": steep_deg >= STEEP_DIP_DEG,
    }
    own = (words for words, holds in told.items() if holds)
    return [*panel.motion.warnings, *panel.field.warnings, *own]
