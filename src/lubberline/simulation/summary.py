"""What a flight comes to: drift by cause, how long a setting lasts, and a sentence a pilot can read."""

import math
from importlib.metadata import version
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lubberline.angles import wrapped_deg
from lubberline.arrays import Floats
from lubberline.instruments.instrument import Laws
from lubberline.simulation import CAUTIONS
from lubberline.simulation.flown import Columns, cause_name
from lubberline.simulation.heading_indicator.ledger import (
    DRIFT_COLUMNS,
    cards_of,
    running_deg,
    set_errors,
    settings_of,
)
from lubberline.simulation.heading_indicator.settings import Interval, interval, straight_rows
from lubberline.simulation.panel import ROW_EVERY, Panel, Readings
from lubberline.units import DEG

LIMITS_DEG = (3.0, 5.0)
# A twentieth of full speed: below it the gyro no longer rules its own motion.
NO_GYRO_RPM = 600.0


def drift_deg_15min(running: dict[str, Floats], duration_s: float) -> dict[str, float]:
    """Mean drift by cause, in degrees a quarter of an hour; bank and pitch left out."""
    per_quarter = 900.0 / max(duration_s, 1.0)
    drift = {name: float(running[name][-1] - running[name][0]) * per_quarter for name in DRIFT_COLUMNS}
    return {**drift, "total_deg": sum(drift.values())}


def _number(value: float, digits: int) -> float | None:
    # Adding 0.0 turns a negative zero into a plain one.
    return round(float(value), digits) + 0.0 if math.isfinite(value) else None


def _interval_entry(found: Interval) -> dict[str, float | None]:
    return {
        "shortest": _number(found.shortest_min, 2),
        "median": _number(found.median_min, 2),
        "shortest_from_s": _number(found.shortest_from_s, 1),
    }


def _settings_entry(panel: Panel, readings: Readings, laws: Laws) -> list[dict[str, Any]]:
    errors, cards = set_errors(panel, readings, laws), cards_of(readings)
    entries = []
    for k in settings_of(readings):
        action = readings.actions[k]
        reference = panel.reference_rad[action.index]
        before = wrapped_deg((cards.before["indicated_rad"][k] - reference) / DEG)
        after = wrapped_deg((cards.after["indicated_rad"][k] - reference) / DEG)
        entries.append(
            {
                "time_s": round(float(panel.motion.samples["time_s"][action.index]), 1),
                "from": action.source,
                "why": action.why,
                "error_before_deg": None if k == 0 else _number(before, 2),
                "error_deg": _number(after, 2),
                "deviation_deg": _number(errors["set_deviation_deg"][k], 2),
                "turning_deg": _number(errors["set_turning_deg"][k], 2),
                "acceleration_deg": _number(errors["set_acceleration_deg"][k], 2),
                "misreading_deg": _number(errors["set_misreading_deg"][k], 2),
            }
        )
    return entries


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes >= 10.0 else f"{minutes:.1f} min"


def _lasting(found: Interval, limit_deg: float) -> str:
    if not math.isfinite(found.shortest_min):
        return f"Set correctly, it stays within {limit_deg:g} deg for the whole flight."
    words = (
        f"Set correctly, it exceeds {limit_deg:g} deg after {_minutes(found.shortest_min)} at the earliest"
    )
    if math.isfinite(found.median_min):
        return f"{words} (median {_minutes(found.median_min)})."
    return f"{words}, but most settings last longer than the rest of this flight."


def _stopped_min(trace: Columns) -> float | None:
    """When the rotor was first too slow to hold its direction, in minutes; None when it never was."""
    slow = trace["rotor_rpm"] < NO_GYRO_RPM
    return float(trace["time_s"][int(np.argmax(slow))]) / 60.0 if slow.any() else None


def sentence(drift: dict[str, float], three: Interval, tumbled: bool, stopped_min: float | None) -> str:
    """What the flight says in a few sentences."""
    causes = sorted(DRIFT_COLUMNS, key=lambda name: -abs(drift[name]))
    side = "high" if drift["total_deg"] > 0.0 else "low"
    total = abs(drift["total_deg"])
    if total < 0.05:
        start = "Over this flight the card hardly drifts"
    else:
        start = f"On average the card drifts {total:.1f} deg {side} in 15 min"
    parts = [f"{cause_name(name)} {drift[name]:+.1f}" for name in causes if abs(drift[name]) >= 0.05]
    because = f": {', '.join(parts[:4])}" if parts else ""
    upset = " It tumbled." if tumbled else ""
    if stopped_min is None:
        return f"{start}{because}.{upset} {_lasting(three, LIMITS_DEG[0])}"
    return (
        f"From {_minutes(stopped_min)} on, the rotor is too slow to hold a direction, and the card shows "
        f"nothing of use. Before that: {start[0].lower()}{start[1:]}{because}.{upset}"
    )


def _field_entry(panel: Panel) -> str:
    return f"{panel.field.model}, {panel.motion.decimal_year:.2f}"


def summary_of(
    panel: Panel, readings: Readings, laws: Laws, trace: Columns, ledger: Columns, seed: int
) -> dict[str, Any]:
    """What `summary.json` holds: plain numbers, strings, lists and dicts."""
    running = running_deg(panel, readings)
    time_s = trace["time_s"]
    error = np.zeros(len(time_s))
    for column in running.values():
        error = error + column
    working = trace["rotor_rpm"] >= NO_GYRO_RPM
    straight = straight_rows(panel.motion)[::ROW_EVERY][: len(time_s)] & working
    lasting = [interval(time_s, error, straight, limit) for limit in LIMITS_DEG]
    # A stopped rotor is no gyro: its card spins or stands, and a mean drift would mean nothing.
    last = len(time_s) - 1 if working.all() else max(int(np.argmin(working)) - 1, 0)
    drift = drift_deg_15min(
        {name: column[: last + 1] for name, column in running.items()}, float(time_s[last])
    )
    worst = int(np.argmax(np.abs(trace["heading_error_deg"])))
    motion = panel.motion
    tumbled = bool(np.any(trace["on_stop"]))
    return {
        "title": motion.title,
        "aircraft": panel.aircraft.name,
        "start_utc": motion.start_utc.isoformat(),
        "duration_min": round(motion.duration_s / 60.0, 2),
        "reference": "true" if panel.true_reference else "magnetic",
        "field_model": _field_entry(panel),
        "seed": seed,
        "versions": {"lubberline": version("lubberline"), "numpy": np.__version__},
        "sentence": sentence(drift, lasting[0], tumbled, _stopped_min(trace)),
        "drift_deg_15min": {name: round(value, 3) for name, value in drift.items()},
        "interval_3deg_min": _interval_entry(lasting[0]),
        "interval_5deg_min": _interval_entry(lasting[1]),
        "error_at_end_deg": round(float(trace["heading_error_deg"][-1]), 2),
        "worst_error_deg": round(float(trace["heading_error_deg"][worst]), 2),
        "worst_error_at_s": float(time_s[worst]),
        "tumbled": tumbled,
        "ledger_gap_deg": _gap(trace, ledger),
        "settings": _settings_entry(panel, readings, laws),
        "sparse_share": _share(motion.sparse),
        "slow_share": _share(motion.slow),
        "notes": list(motion.notes),
        "warnings": [*motion.warnings, *panel.field.warnings],
        "cautions": list(CAUTIONS),
    }


def _share(flags: NDArray[np.bool_]) -> float:
    return round(float(np.mean(flags)), 4) if len(flags) else 0.0


def _gap(trace: Columns, ledger: Columns) -> float:
    """How far the ledger's sum is from the error, modulo 360, at the worst row."""
    apart = wrapped_deg(ledger["total_deg"] - trace["heading_error_deg"])
    return float(f"{np.max(np.abs(apart)):.2e}")
