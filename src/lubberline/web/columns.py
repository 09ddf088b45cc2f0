"""The columns of a trace as plain numbers, no finer than they mean."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from lubberline.publish.figures.decimation import Rows, kept_rows
from lubberline.simulation.flown import Columns

# Below this many rows nothing is left out.
MOST_ROWS = 4000
PEAKS_OF = ("heading_error_deg", "compass_error_deg")


def drawn_rows(trace: Columns, most_rows: int = MOST_ROWS) -> Rows:
    """Rows to draw: the peaks of both errors, and what stands on both sides of every event."""
    signals = [np.asarray(trace[name], dtype=np.float64) for name in PEAKS_OF]
    beside = [side for row in event_rows(trace) for side in (row - 1, row, row + 1)]
    return kept_rows(signals, beside, most_rows)


def event_rows(trace: Columns) -> list[int]:
    """Rows on which something was done."""
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
