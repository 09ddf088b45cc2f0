"""How well a paper measures: alpha and related numbers, correlations and their intervals.

A table of points has a row for each student and a column for each question; nan if a student was not
asked one. Variances and correlations use the pairs that exist.

Sources: Kuder and Richardson 1937 (formulas 20 and 21); Cronbach 1951; Feldt, Woodruff and Salih 1987 for
the interval; Wilson 1927 for shares; Fisher 1921 for correlations.
"""

import math

import numpy as np

from lubberline.arrays import Floats

LEVEL = 0.95
NORMAL_95 = 1.959963984540054


def covariances(points: Floats) -> Floats:
    """Covariances of the columns over n - 1, each pair from the rows that have both."""
    there = np.isfinite(points)
    count = there.astype(float).T @ there
    filled = np.where(there, points, 0.0)
    sums = filled.T @ there
    products = filled.T @ filled
    with np.errstate(invalid="ignore", divide="ignore"):
        found: Floats = (products - sums * sums.T / count) / (count - 1.0)
    return found


def alpha(points: Floats) -> float:
    """Cronbach's alpha; for points of 0 and 1 it equals Kuder-Richardson 20. nan for fewer than two."""
    table = covariances(points)
    k = len(table)
    whole = float(table.sum())
    if k < 2 or not math.isfinite(whole) or whole <= 0.0:
        return math.nan
    return k / (k - 1.0) * (1.0 - float(np.trace(table)) / whole)


def kr21(points: Floats) -> float:
    """Kuder-Richardson 21: as if all questions were equally hard; students with gaps are ignored."""
    totals = points[np.isfinite(points).all(axis=1)].sum(axis=1)
    k = points.shape[1]
    if len(totals) < 2 or k < 2 or totals.var() == 0.0:
        return math.nan
    mean = totals.mean()
    return float(k / (k - 1.0) * (1.0 - mean * (k - mean) / (k * totals.var())))


def feldt(found: float, students: int, questions: int) -> tuple[float, float]:
    """The 95% interval of an alpha: 1 - (1 - alpha) F with n - 1 and (n - 1)(k - 1) degrees of freedom."""
    from scipy.special import fdtri

    if not math.isfinite(found) or students < 3 or questions < 2:
        return math.nan, math.nan
    top, bottom = students - 1, (students - 1) * (questions - 1)
    tail = 0.5 * (1.0 - LEVEL)
    low, high = (float(fdtri(top, bottom, share)) for share in (1.0 - tail, tail))
    return 1.0 - (1.0 - found) * low, 1.0 - (1.0 - found) * high


def error_of_measurement(sd: float, reliability: float) -> float:
    """Standard error of a total: its spread times the root of (1 - reliability)."""
    return sd * math.sqrt(max(1.0 - reliability, 0.0)) if math.isfinite(reliability) else math.nan


def correlation(one: Floats, other: Floats) -> float:
    """Pearson's correlation of the pairs that exist; nan if one of the two never varies."""
    both = np.isfinite(one) & np.isfinite(other)
    x, y = one[both], other[both]
    if len(x) < 2 or np.ptp(x) == 0.0 or np.ptp(y) == 0.0:
        return math.nan
    return float(np.corrcoef(x, y)[0, 1])


def correlation_interval(found: float, count: int) -> tuple[float, float]:
    """Fisher's 95% interval of a correlation; nan for fewer than five pairs."""
    if not math.isfinite(found) or count < 5:
        return math.nan, math.nan
    middle = math.atanh(max(min(found, 1.0 - 1e-12), -1.0 + 1e-12))
    half = NORMAL_95 / math.sqrt(count - 3.0)
    return math.tanh(middle - half), math.tanh(middle + half)


def wilson(right: float, count: int) -> tuple[float, float]:
    """Wilson's 95% interval of a share; (0, 1) without students."""
    if count == 0:
        return 0.0, 1.0
    share, z2 = right / count, NORMAL_95**2
    middle = (share + z2 / (2.0 * count)) / (1.0 + z2 / count)
    spread = share * (1.0 - share) / count + z2 / (4.0 * count * count)
    half = NORMAL_95 / (1.0 + z2 / count) * math.sqrt(spread)
    # If everybody or nobody is right, the ends are exactly 1 and 0, despite rounding.
    return max(middle - half, 0.0), min(middle + half, 1.0)
