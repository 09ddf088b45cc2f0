"""What a bench has shown so far, thinned as it grows: one row a second at first."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lubberline.angles import wrapped_deg
from lubberline.flight.motion import STEP_S
from lubberline.simulation.flown import LEDGER_COLUMNS
from lubberline.simulation.heading_indicator.ledger import account
from lubberline.simulation.live.advance import Stretch
from lubberline.simulation.live.state import BenchState
from lubberline.units import DEG, INHG_PA, RAD_PER_RPM

SERIES = (
    "time_s",
    "heading_deg",
    "indicated_deg",
    "error_deg",
    "compass_deg",
    "rotor_rpm",
    "gauge_inhg",
    *LEDGER_COLUMNS[1:],
)
GREATEST_ROWS = 600
ROW_STEPS = round(1.0 / STEP_S)

Row = list[float | None]


class History:
    """Rows of `SERIES`, at most `GREATEST_ROWS`; when full, every second row goes and half as many come.

    Attributes:
        rows: in order of time.
    """

    def __init__(self) -> None:
        self.rows: list[Row] = []
        self._every = ROW_STEPS

    def add(self, after: BenchState, way: Stretch) -> None:
        """Take in a stretch that ended in a state."""
        number = np.arange(1, len(way.samples))
        number = number[(way.first_step + number) % self._every == 0]
        if len(number):
            self.rows.extend(_rows(after, way, number))
            if len(self.rows) > GREATEST_ROWS:
                self._every *= 2
                self.rows = [row for row in self.rows if round((row[0] or 0.0) / STEP_S) % self._every == 0]

    def back_to(self, time_s: float) -> None:
        """Forget what came after a time."""
        self.rows = [row for row in self.rows if (row[0] or 0.0) <= time_s]


def _rows(after: BenchState, way: Stretch, number: NDArray[np.int64]) -> list[Row]:
    samples, drive, rows = way.samples[number], way.drive[number], way.rows[number]
    variation, heading = way.variation_rad[number], samples["heading_rad"]
    ledger = account(
        after.carried[0].truth,
        samples["time_s"],
        rows,
        way.geometry_deg[number],
        variation,
        after.true_reference,
    )
    reference = heading if after.true_reference else heading - variation
    columns = {
        **ledger,
        "heading_deg": heading / DEG % 360.0,
        "indicated_deg": rows["indicated_rad"] / DEG % 360.0,
        "error_deg": wrapped_deg((rows["indicated_rad"] - reference) / DEG),
        "compass_deg": way.compass[number]["reading_rad"] / DEG % 360.0,
        "rotor_rpm": drive["rotor_rad_s"] / RAD_PER_RPM,
        "gauge_inhg": drive["gauge_pa"] / INHG_PA,
    }
    table = np.round(np.column_stack([columns[name] for name in SERIES]), 3)
    return [[float(x) if np.isfinite(x) else None for x in line] for line in table]
