"""Deviation of a compass from a swing: the five coefficients, by hand and by least squares, and the card.

Deviation = A + B sin h + C cos h + D sin 2h + E cos 2h, h the compass heading, east positive. A stands for a
lubber line out of line, B and C for permanent magnetism along and across the aircraft, D and E for soft iron.
B and C go as 1 / (horizontal field), so a swing holds for the region where it was done.

The hand method takes each coefficient from few headings, least squares from all: on the same swing the two
may rightly differ in B and C. Source: NGA, Handbook of Magnetic Compass Adjustment (2004), ch. V.

For teaching: a compass in service is swung and its card signed by those licensed to do so.
"""

import math
from collections.abc import Mapping
from typing import NamedTuple

import msgspec
import numpy as np

from lubberline.angles import rose_deg
from lubberline.arrays import Floats
from lubberline.errors import InputError
from lubberline.units import DEG

HAND_HEADINGS_DEG = (0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 270.0, 315.0)
CARD_STEP_DEG = 30
# No aircraft compass in service is further out than this; more is a writing error, or the wrong sign.
GREATEST_DEVIATION_DEG = 90.0


class Coefficients(NamedTuple):
    """Coefficients of deviation, east positive, by compass heading."""

    a_deg: float
    b_deg: float
    c_deg: float
    d_deg: float
    e_deg: float


class CardLine(msgspec.Struct, frozen=True):
    """For a magnetic heading, what to steer by compass."""

    for_deg: float
    steer_deg: float
    deviation_deg: float


def terms_of(headings_deg: Floats) -> Floats:
    """The five terms at compass headings, shape (n, 5): the deviation by each coefficient of one degree."""
    h = headings_deg * DEG
    return np.column_stack((np.ones_like(h), np.sin(h), np.cos(h), np.sin(2.0 * h), np.cos(2.0 * h)))


def _checked(swing: Mapping[float, float]) -> None:
    for heading_deg, found_deg in swing.items():
        if not math.isfinite(heading_deg):
            raise InputError(
                "swing", f"heading {heading_deg} is not a number", "give a compass heading in degrees"
            )
        if not abs(found_deg) <= GREATEST_DEVIATION_DEG:
            raise InputError(
                f"swing, heading {heading_deg:g}",
                f"deviation {found_deg} deg",
                f"give degrees, east positive, no larger than {GREATEST_DEVIATION_DEG:g}",
            )


def deviation_deg(heading_deg: Floats | float, coefficients: Coefficients) -> Floats:
    """Deviation at compass headings (any shape), east positive."""
    headings = np.asarray(heading_deg, dtype=np.float64)
    return np.asarray((terms_of(headings.ravel()) @ np.array(coefficients)).reshape(headings.shape))


def coefficients_by_hand(swing: Mapping[float, float]) -> Coefficients:
    """The coefficients by the hand method, from the deviations on the eight cardinal and quarter headings.

    Args:
        swing: deviation in degrees, east positive, by compass heading in degrees: 0, 45, ... 315.

    Raises:
        InputError: a heading missing or besides the eight, or an invalid deviation.
    """
    _checked(swing)
    for heading_deg in HAND_HEADINGS_DEG:
        if heading_deg not in swing:
            raise InputError(
                "swing", f"no deviation on heading {heading_deg:g}", "the hand method needs 0, 45, 90 ... 315"
            )
    if len(swing) != len(HAND_HEADINGS_DEG):
        extra = next(h for h in swing if h not in HAND_HEADINGS_DEG)
        raise InputError(
            "swing",
            f"heading {extra:g} cannot be used in the hand method",
            "use least squares for other headings",
        )
    n, ne, e, se, s, sw, w, nw = (swing[heading_deg] for heading_deg in HAND_HEADINGS_DEG)
    return Coefficients(
        a_deg=(n + ne + e + se + s + sw + w + nw) / 8.0,
        b_deg=(e - w) / 2.0,
        c_deg=(n - s) / 2.0,
        d_deg=(ne - se + sw - nw) / 4.0,
        e_deg=(n - e + s - w) / 4.0,
    )


def fit_swing(swing: Mapping[float, float]) -> Coefficients:
    """The coefficients by least squares, from any five or more headings spread over the circle.

    Args:
        swing: deviation in degrees, east positive, by compass heading in degrees.

    Raises:
        InputError: too few headings to tell the five coefficients apart, or an invalid deviation.
    """
    _checked(swing)
    headings, found = (np.array([*values], dtype=np.float64) for values in (swing, swing.values()))
    terms = terms_of(headings)
    if len(headings) < terms.shape[1] or np.linalg.matrix_rank(terms, tol=1e-6) < terms.shape[1]:
        raise InputError(
            "swing",
            f"{len(headings)} headings do not tell the five coefficients apart",
            "give at least five different headings spread over the circle",
        )
    return Coefficients(*np.linalg.lstsq(terms, found)[0].tolist())


def steer_deg(magnetic_deg: float, coefficients: Coefficients) -> float:
    """The compass heading h with h + deviation(h) = magnetic, halving an interval that must hold it."""
    reach_deg = sum(abs(value) for value in coefficients) + 1.0
    low, high = magnetic_deg - reach_deg, magnetic_deg + reach_deg
    for _ in range(50):
        middle = 0.5 * (low + high)
        if middle + float(deviation_deg(middle, coefficients)) < magnetic_deg:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def correction_card(coefficients: Coefficients) -> tuple[CardLine, ...]:
    """A correction card for every 30 deg: what to steer by compass to fly a magnetic heading.

    Closer than the 45 deg of 14 CFR 25.1547. Deviation is that at the heading to steer, and
    steer = magnetic - deviation.
    """
    rows = []
    for magnetic_deg in range(0, 360, CARD_STEP_DEG):
        steer = steer_deg(magnetic_deg, coefficients)
        rows.append(
            CardLine(
                float(magnetic_deg),
                rose_deg(steer),
                float(deviation_deg(steer, coefficients)),
            )
        )
    return tuple(rows)
