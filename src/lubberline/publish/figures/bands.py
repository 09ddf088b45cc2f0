"""The ledger as stacked bands: positive parts upwards, negative parts downwards."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from lubberline.arrays import Bools, Floats
from lubberline.publish.figures.svg import MOST_POINTS, Rows, kept_rows
from lubberline.simulation.flown import Columns

# From the zero line outwards; the tumble is outermost, so that only the tumble is clipped.
STACK_ORDER = (
    "earth_deg",
    "travel_deg",
    "friction_deg",
    "balance_deg",
    "levelling_deg",
    "variation_change_deg",
    "set_deviation_deg",
    "set_turning_deg",
    "set_acceleration_deg",
    "set_misreading_deg",
    "rest_deg",
    "geometry_deg",
    "tumble_deg",
)
REST = "rest_deg"
# A column that never exceeds this, nor this share of the largest stack, has no separate band.
LEAST_PEAK_DEG = 0.02
LEAST_SHARE = 0.01
# Beyond this the instrument is useless: it does not affect the scale.
LOST_DEG = 30.0


@dataclass(frozen=True)
class Stack:
    """Bands ready for drawing.

    Attributes:
        rows: the rows of the ledger that are drawn.
        time_s: their times.
        causes: ledger columns with a separate band, from zero outwards; 'rest_deg' is the sum of the
            columns too small to see.
        values_deg: shape (causes, rows).
        total_deg: the ledger's own total.
        pieces: slices of the rows between settings; bands are not joined across them.
    """

    rows: Rows
    time_s: Floats
    causes: tuple[str, ...]
    values_deg: Floats
    total_deg: Floats
    pieces: tuple[slice, ...]

    def edges_deg(self, sign: float) -> tuple[Floats, Floats]:
        """Inner and outer edge of every band on one side of zero (`sign` +1 above, -1 below)."""
        part = np.maximum(sign * self.values_deg, 0.0) * sign
        outer = np.cumsum(part, axis=0)
        return outer - part, outer


def held_rows(total_deg: Floats, tumble_deg: Floats) -> Bools:
    """Rows at which the card, apart from a tumble, is still usable; all rows if there are none."""
    held: Bools = np.abs(total_deg - tumble_deg) <= LOST_DEG
    return held if held.any() else np.ones(len(total_deg), dtype=np.bool_)


def _grouped(ledger: Columns, least_deg: float) -> dict[str, Floats]:
    columns = [name for name in ledger if name not in ("time_s", "total_deg")]
    large = {}
    rest = np.zeros(ledger.row_count)
    small = 0
    for name in columns:
        column = np.asarray(ledger[name], dtype=np.float64)
        peak = float(np.nanmax(np.abs(column), initial=0.0))
        if peak >= least_deg:
            large[name] = column
        elif peak > 0.0:
            rest += column
            small += 1
    if small:
        large[REST] = rest
    ordered = [name for name in STACK_ORDER if name in large]
    return {name: large[name] for name in [*ordered, *(name for name in large if name not in ordered)]}


def stack_of(
    ledger: Columns, restarts: Sequence[int] = (), must: Sequence[int] = (), most: int = MOST_POINTS
) -> Stack:
    """Bands of a ledger.

    Args:
        ledger: `LEDGER_COLUMNS`.
        restarts: first rows after each setting, increasing.
        must: rows that are drawn in any case.
        most: how many rows to draw at most; extremes of total and of both sides are kept.
    """
    total = np.asarray(ledger["total_deg"], dtype=np.float64)
    sides = np.array(
        [ledger[name] for name in ledger if name not in ("time_s", "total_deg")], dtype=np.float64
    )
    upper, lower = np.maximum(sides, 0.0).sum(axis=0), np.minimum(sides, 0.0).sum(axis=0)
    tumble = np.asarray(ledger["tumble_deg"], dtype=np.float64)
    held = held_rows(total, tumble)
    above, below = (upper - np.maximum(tumble, 0.0))[held], (lower - np.minimum(tumble, 0.0))[held]
    span = max(np.nanmax(above, initial=0.0), -np.nanmin(below, initial=0.0))
    bands = _grouped(ledger, max(LEAST_PEAK_DEG, LEAST_SHARE * float(span)))
    inner = [row for row in restarts if 0 < row < len(total)]
    rows = kept_rows((total, upper, lower), [*must, *(r for row in inner for r in (row - 1, row))], most)
    cuts = [0, *np.searchsorted(rows, inner).tolist(), len(rows)]
    pieces = tuple(slice(a, b) for a, b in pairwise(cuts) if b > a)
    values = np.array([column[rows] for column in bands.values()]).reshape(len(bands), len(rows))
    return Stack(
        rows=rows,
        time_s=np.asarray(ledger["time_s"], dtype=np.float64)[rows],
        causes=tuple(bands),
        values_deg=values,
        total_deg=total[rows],
        pieces=pieces,
    )
