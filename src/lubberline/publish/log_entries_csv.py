"""The entries of a log as CSV: as typed beside as understood, and what is left of each for the instrument."""

from __future__ import annotations

import math
from datetime import UTC, datetime

from lubberline.csvfile import csv_text
from lubberline.upkeep.records import Judgement, Log

UNDERSTOOD = (
    "minutes",
    "latitude_deg",
    "longitude_deg",
    "indicated_deg",
    "compass_deg",
    "set_compass_deg",
    "groundspeed_kt",
    "track_deg",
    "idle_inhg",
    "cruise_inhg",
    "run_down_min",
)
EXPLAINED = (
    "seen_deg",
    "earth_deg",
    "travel_deg",
    "balance_deg",
    "variation_deg",
    "deviation_deg",
    "left_deg",
    "outlier",
)


def _number(value: float) -> str:
    return "" if math.isnan(value) else f"{round(value, 4) + 0.0:g}"


def _moment(time_s: float) -> str:
    return f"{datetime.fromtimestamp(time_s, UTC):%Y-%m-%dT%H:%M:%SZ}"


def entries_csv(judgement: Judgement, log: Log) -> bytes:
    """Every row of a log: 'judged', 'maintenance' or 'refused', its cells as typed, and what became of it."""
    typed = list(dict.fromkeys(name for check in log.checks for name in check.typed))
    typed = list(dict.fromkeys([*typed, *(name for one in log.refused for name in one.typed)]))
    columns = [
        "row",
        "state",
        *(f"typed_{name}" for name in typed),
        "time_utc",
        "set_utc",
        *UNDERSTOOD,
        *EXPLAINED,
        "words",
    ]
    rows: list[dict[str, str]] = []
    explained = {id(one.check): one for one in judgement.residuals}
    by_row = {one.check.row: one for one in judgement.residuals}
    for check in log.checks:
        one = explained.get(id(check)) or by_row.get(check.row)
        cells = {f"typed_{name}": cell for name, cell in check.typed.items()}
        cells |= {"row": str(check.row), "state": "judged" if one else "taken"}
        cells |= {"time_utc": _moment(check.time_s), "set_utc": _moment(check.set_s)}
        cells |= {name: _number(getattr(check, name)) for name in UNDERSTOOD}
        if one:
            cells |= {name: _number(getattr(one, name)) for name in EXPLAINED}
        rows.append(cells)
    for event in log.events:
        row = {"row": str(event.row), "state": "maintenance", "time_utc": _moment(event.time_s)}
        rows.append({**row, "words": event.words})
    for refusal in log.refused:
        cells = {f"typed_{name}": cell for name, cell in refusal.typed.items()}
        words = f"{refusal.where}: {refusal.wrong}; {refusal.right}"
        rows.append({**cells, "state": "refused", "words": words})
    return csv_text(columns, ([row.get(name, "") for name in columns] for row in rows)).encode("utf-8")
