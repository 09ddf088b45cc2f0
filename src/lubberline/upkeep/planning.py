"""A flight planned for its heading indicator: expected drift by leg and cause, and when to set it.

The interval adds up what is not known beforehand: the instrument's constant wander, its slow random part,
and how exactly it is set.

For teaching only: not for navigation.
"""

import math
from dataclasses import replace

import numpy as np

from lubberline.angles import wrapped_deg
from lubberline.arrays import Floats
from lubberline.earth.magnetic import zone_of
from lubberline.errors import InputError
from lubberline.flight.motion import Motion
from lubberline.instruments.compass.deviation import Coefficients, deviation_deg
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.panel import ROW_EVERY, Panel
from lubberline.units import DEG
from lubberline.upkeep.expected import Expected, Stretch, expected_of, spread_deg, stretches_of
from lubberline.upkeep.plan_records import OwnWander, Plan, PlannedLeg, PlannedSetting, own_wander_of

# A compass is read to about a degree (common practice, no source).
READING_SD_DEG = 1.0
# Nineteen in twenty, of a normal distribution.
TIMES_SD = 1.96
LEAST_WAIT_MIN = 3.0
DRAWN_EVERY_S = 60
STEEP_DIP_DEG = 70.0
STEERING_ROUNDS = 40


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


def coefficients_of(aircraft: Aircraft) -> Coefficients:
    """The deviation coefficients that an aircraft's file states."""
    entry = aircraft.compass
    return Coefficients(
        entry.deviation_a_deg,
        entry.deviation_b_deg,
        entry.deviation_c_deg,
        entry.deviation_d_deg,
        entry.deviation_e_deg,
    )


def steer_deg(magnetic_deg: float, coefficients: Coefficients) -> float:
    """The compass reading on a magnetic heading: h with h + deviation(h) = magnetic."""
    steered = magnetic_deg
    for _ in range(STEERING_ROUNDS):
        steered = magnetic_deg - float(deviation_deg(steered, coefficients))
    return steered % 360.0


def _leg(number: int, stretch: Stretch, panel: Panel, expected: Expected, wander: OwnWander) -> PlannedLeg:
    samples = panel.motion.samples
    middle = (stretch.first + stretch.last) // 2
    first, last = (min(row // ROW_EVERY, len(expected.total) - 1) for row in stretch)
    true_deg = float(samples["heading_rad"][middle] / DEG) % 360.0
    variation = float(panel.variation_rad[middle] / DEG)
    magnetic = (true_deg - variation) % 360.0
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
        steer_deg=steer_deg(magnetic, coefficients_of(panel.aircraft)),
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
        wander: what is believed of its own wander; what the file says when not given.
        limit_deg: error to stay within, nineteen times in twenty.
        true_reference: it is set to true headings, as where the compass is of no use.

    Raises:
        InputError: a limit out of range.
    """
    if not 1.0 <= limit_deg <= 45.0:
        raise InputError("limit", f"{limit_deg:g} deg is out of range", "give 1 to 45 deg")
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
    planned = tuple(_setting(row, kept, _before(error, spread, row), legs, panel) for row, kept in settings)
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


def _before(error: Floats, spread: Floats, row: int) -> tuple[float, float]:
    """Error expected just before a setting, and its standard deviation; none is known before the first."""
    return (0.0, 0.0) if row == 0 else (float(error[row - 1]), float(spread[row - 1]))


def _notes(
    panel: Panel,
    settings: tuple[PlannedSetting, ...],
    legs: tuple[PlannedLeg, ...],
    limit_deg: float,
    setting_sd_deg: float,
) -> list[str]:
    """What the reader has to know."""
    notes = [*panel.motion.warnings, *panel.field.warnings]
    if TIMES_SD * setting_sd_deg >= limit_deg:
        notes.append(
            f"Reading the compass is itself unsure by {TIMES_SD * setting_sd_deg:.1f} deg, so no way of "
            f"setting keeps {limit_deg:g} deg nineteen times in twenty."
        )
    elif not all(setting.kept for setting in settings):
        notes.append(
            f"Where a setting is marked late, the flight gives no straight and level moment before "
            f"{limit_deg:g} deg may be passed."
        )
    if any(setting.zone for setting in settings):
        notes.append(
            "Where the level part of the field is weak the compass is no sure source: set it there from a "
            "known direction, such as a runway or a fix to fix track, and to true north where charts say so."
        )
    steep = max((leg.dip_deg for leg in legs), default=0.0)
    if steep >= STEEP_DIP_DEG:
        notes.append(
            f"The field dips by {steep:.0f} deg: turning and acceleration errors of the compass are large. "
            "Read it only in straight, level, unaccelerated flight."
        )
    return notes
