"""Which rows of a long flight to draw, so that no peak is lost."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lubberline.arrays import Floats

Rows = NDArray[np.intp]
MOST_POINTS = 1500


def _extremes(signal: Floats, bucket: int) -> list[Rows]:
    count = len(signal)
    buckets = -(-count // bucket)
    starts = np.arange(buckets) * bucket
    found = []
    for sign in (1.0, -1.0):
        padded = np.full(buckets * bucket, np.inf)
        padded[:count] = np.where(np.isnan(signal), np.inf, sign * signal)
        found.append(np.minimum(starts + padded.reshape(buckets, bucket).argmin(axis=1), count - 1))
    return found


def kept_rows(signals: Sequence[Floats], must: Sequence[int] = (), most: int = MOST_POINTS) -> Rows:
    """Rows to draw: the least and the greatest of every signal in each bucket of time, and both ends.

    Args:
        signals: arrays of equal length, drawn with the same rows.
        must: rows kept whatever happens (both sides of a setting).
        most: how many rows at most, less what `must` adds.

    Returns:
        Increasing row numbers; every row when there are no more than `most`.
    """
    count = len(signals[0])
    if count <= most:
        return np.arange(count)
    buckets = max(1, (most - 2) // (2 * len(signals)))
    bucket = -(-count // buckets)
    rows = [np.array([0, count - 1, *(row for row in must if 0 <= row < count)])]
    for signal in signals:
        rows.extend(_extremes(signal, bucket))
    return np.unique(np.concatenate(rows))
