"""A flown flight as data for the page: words, causes, events and columns."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

import msgspec
import numpy as np

from lubberline.publish.figures.axes import setting_rows
from lubberline.publish.figures.bands import REST, STACK_ORDER
from lubberline.publish.figures.causes import named_look
from lubberline.publish.figures.svg import Rows, kept_rows
from lubberline.publish.words import day, until
from lubberline.simulation.flown import COMPASS_LEDGER_COLUMNS, Believed, Columns, Flown, cause_name
from lubberline.simulation.misconceptions import Misconception
from lubberline.web.flights.query import FlightQuery

TRACE_NAMES = (
    "latitude_deg",
    "longitude_deg",
    "altitude_m",
    "groundspeed_kt",
    "track_deg",
    "true_heading_deg",
    "magnetic_heading_deg",
    "variation_deg",
    "bank_deg",
    "indicated_heading_deg",
    "heading_error_deg",
    "compass_deg",
    "compass_error_deg",
    "gauge_inhg",
    "instrument_suction_inhg",
    "rotor_rpm",
    "on_stop",
)
HEADING_CAUSES = tuple(name for name in STACK_ORDER if name != REST)
COMPASS_CAUSES = tuple(n for n in COMPASS_LEDGER_COLUMNS if n not in ("time_s", "total_deg"))
# The compass's causes use the colours of the heading's causes, in a different order.
COMPASS_LOOKS = {"deviation_deg": "set_deviation", "turning_deg": "geometry", "acceleration_deg": "earth"}
# A cause that never reaches this in the flight counts as zero.
LEAST_PART_DEG = 0.05
# Up to this many rows nothing is thinned out.
MOST_ROWS = 4000
PEAKS_OF = ("heading_error_deg", "compass_error_deg")


def answer_of(asked: FlightQuery, flown: Flown, ideas: tuple[Misconception, ...]) -> dict[str, Any]:
    """Everything the page shows of one flight, as plain values."""
    summary = flown.summary
    rows = drawn_rows(flown.trace)
    drift = summary["drift_deg_15min"]
    southern = bool(flown.trace["latitude_deg"][0] < 0.0)
    return {
        "asked": msgspec.to_builtins(asked),
        "address": asked.address(),
        "title": summary["title"],
        "aircraft": summary["aircraft"],
        "start": day(datetime.fromisoformat(summary["start_utc"])),
        "duration_min": summary["duration_min"],
        "field_model": summary["field_model"],
        "sentence": summary["sentence"],
        "error_at_end_deg": summary["error_at_end_deg"],
        # The sentence has the 3 deg limit already.
        "lasting": until(5, summary["interval_5deg_min"]),
        "causes": _causes(flown.ledger, HEADING_CAUSES, drift),
        "compass_causes": _causes(flown.compass_ledger, COMPASS_CAUSES, {}),
        "drift_total_deg_15min": drift["total_deg"],
        "notes": list(summary["notes"]),
        "warnings": list(summary["warnings"]),
        "cautions": list(summary["cautions"]),
        "events": _events(flown),
        "time_s": plain_columns(flown.trace, ["time_s"], rows)["time_s"],
        "trace": plain_columns(flown.trace, TRACE_NAMES, rows),
        "ledger": plain_columns(flown.ledger, [*HEADING_CAUSES, "total_deg"], rows),
        "compass_ledger": plain_columns(flown.compass_ledger, [*COMPASS_CAUSES, "total_deg"], rows),
        "believed": [_believed(believed, rows, ideas, southern=southern) for believed in flown.believed],
    }


def _causes(ledger: Columns, keys: tuple[str, ...], drift: dict[str, float]) -> list[dict[str, Any]]:
    return [
        {
            **named_look(COMPASS_LOOKS.get(key, key)),
            "key": key,
            "name": cause_name(key),
            "drift_deg_15min": drift.get(key),
            "has_part": bool(np.nanmax(np.abs(ledger[key]), initial=0.0) >= LEAST_PART_DEG),
        }
        for key in keys
    ]


def _events(flown: Flown) -> list[dict[str, Any]]:
    trace, settings = flown.trace, set(setting_rows(flown))
    return [
        {
            "time_s": round(float(trace["time_s"][row]), 1),
            "words": str(trace["event"][row]),
            "sets": row in settings,
        }
        for row in event_rows(trace)
    ]


def _believed(
    believed: Believed, rows: Any, ideas: tuple[Misconception, ...], *, southern: bool
) -> dict[str, Any]:
    said = (idea.mend_at(southern=southern) for idea in ideas if idea.id == believed.misconception_id)
    mending = next(said, "")
    return {
        "id": believed.misconception_id,
        "statement": believed.statement,
        "mending": mending,
        **plain_columns(believed.trace, ["indicated_heading_deg", "heading_error_deg"], rows),
        **plain_columns(believed.ledger, ["total_deg"], rows),
    }


def drawn_rows(trace: Columns, most_rows: int = MOST_ROWS) -> Rows:
    """Rows to draw: the peaks of both errors, and the rows on both sides of every event."""
    signals = [np.asarray(trace[name], dtype=np.float64) for name in PEAKS_OF]
    beside = [side for row in event_rows(trace) for side in (row - 1, row, row + 1)]
    return kept_rows(signals, beside, most_rows)


def event_rows(trace: Columns) -> list[int]:
    """Rows with an event."""
    return [row for row, event in enumerate(trace["event"].tolist()) if event]


def plain_columns(columns: Columns, names: Iterable[str], rows: Rows) -> dict[str, list[float]]:
    """The named columns at those rows, rounded by their unit; nan stays, and is null in JSON."""
    numbers = {name: np.asarray(columns[name][rows], dtype=np.float64) for name in names}
    return {name: np.round(values, _decimals(name)).tolist() for name, values in numbers.items()}


def _decimals(name: str) -> int:
    if name in ("latitude_deg", "longitude_deg"):
        return 6
    if name.endswith("_rpm") or name in ("on_stop", "caged"):
        return 0
    return 2 if name.endswith(("_deg", "_inhg")) else 1
