"""How long a right setting lasts: the time until the error first passes a limit, from every moment."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.compiled import kernel

Floats = NDArray[np.float64]

BLOCK = 64


class Interval(NamedTuple):
    """Minutes from a right setting until the error first passes a limit; nan when it never does.

    `shortest_from_s` is the time of the setting that lasted shortest.
    """

    shortest_min: float
    median_min: float
    shortest_from_s: float


@kernel
def _block_bounds(error_deg: Floats, straight: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Least and greatest error on straight rows, by block."""
    count = (len(error_deg) + BLOCK - 1) // BLOCK
    low = np.full(count, np.inf)
    high = np.full(count, -np.inf)
    for row in range(len(error_deg)):
        if straight[row]:
            block = row // BLOCK
            low[block] = min(low[block], error_deg[row])
            high[block] = max(high[block], error_deg[row])
    return low, high


@kernel
def first_passing_s(
    time_s: Floats, error_deg: Floats, straight: NDArray[np.bool_], limit_deg: float
) -> Floats:
    """For each straight row, seconds until the error has moved by more than the limit on a straight row.

    Infinite where that does not happen in the flight; nan on rows that are not straight. Whole blocks
    that stay within the limit are passed over.
    """
    count = len(error_deg)
    low, high = _block_bounds(error_deg, straight)
    wait_s = np.full(count, np.nan)
    for start in range(count):
        if not straight[start]:
            continue
        wait_s[start] = np.inf
        floor, ceiling = error_deg[start] - limit_deg, error_deg[start] + limit_deg
        row = start + 1
        while row < count:
            block = row // BLOCK
            if row % BLOCK == 0 and low[block] >= floor and high[block] <= ceiling:
                row += BLOCK
                continue
            if straight[row] and not floor <= error_deg[row] <= ceiling:
                wait_s[start] = time_s[row] - time_s[start]
                break
            row += 1
    return wait_s


def interval(time_s: Floats, error_deg: Floats, straight: NDArray[np.bool_], limit_deg: float) -> Interval:
    """The shortest and the median time that a right setting lasts.

    Settings too late for their passing to fall within the flight count as lasting longer than all
    others in the median; when they are half or more, the median is nan ('longer than this flight').

    Args:
        time_s: of the rows.
        error_deg: the error as it would run on without settings.
        straight: rows on which bank and pitch are under 5 deg.
        limit_deg: the error to pass.
    """
    wait_s = first_passing_s(time_s, error_deg, straight, limit_deg)
    waits = wait_s[~np.isnan(wait_s)]
    if len(waits) == 0 or np.isinf(waits).all():
        return Interval(np.nan, np.nan, np.nan)
    shortest = float(np.min(waits))
    median = float(np.sort(waits)[len(waits) // 2])
    at = float(time_s[np.flatnonzero(wait_s == shortest)[0]])
    return Interval(shortest / 60.0, median / 60.0 if np.isfinite(median) else np.nan, at)
