"""Coefficients of deviation against a published swing.

NGA, Handbook of Magnetic Compass Adjustment (2004), ch. V, sec. 501, fig. 501: the deviations are printed
there; the coefficients by hand come out as A 1.0, B 12.0, C 8.0, D 5.0, E 1.5 (printed answers from memory).
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.errors import InputError
from lubberline.instruments.compass.card import Compass
from lubberline.instruments.compass.deviation import (
    Coefficients,
    coefficients_by_hand,
    correction_card,
    deviation_deg,
    fit_swing,
)
from lubberline.instruments.compass.reading import deviation_and_slope
from lubberline.units import DEG

SWING = {0.0: 10.5, 45.0: 20.0, 90.0: 11.5, 135.0: -1.2, 180.0: -5.5, 225.0: -8.0, 270.0: -12.5, 315.0: -6.8}
BY_HAND = (1.0, 12.0, 8.0, 5.0, 1.5)
BY_FIT = (1.0000, 11.9397, 7.9598, 5.0000, 1.5000)
RESIDUALS_DEG = (0.04, -0.07, 0.06, -0.01, -0.04, 0.07, -0.06, 0.01)

sizes = st.floats(-8.0, 8.0)
anything = st.builds(Coefficients, sizes, sizes, sizes, st.floats(-4, 4), st.floats(-4, 4))


def test_published_swing_by_hand():
    assert coefficients_by_hand(SWING) == pytest.approx(BY_HAND, abs=1e-9)


def test_published_swing_by_least_squares():
    fit = fit_swing(SWING)
    assert fit == pytest.approx(BY_FIT, abs=0.00006)
    left = np.array([*SWING.values()]) - deviation_deg(np.array([*SWING]), fit)
    assert left == pytest.approx(RESIDUALS_DEG, abs=0.0051)


@given(anything)
def test_a_swing_gives_back_its_coefficients(coefficients):
    headings = np.arange(0.0, 360.0, 30.0)
    swing = dict(zip(headings.tolist(), deviation_deg(headings, coefficients).tolist(), strict=True))
    assert fit_swing(swing) == pytest.approx(coefficients, abs=1e-9)
    eight = {h: float(deviation_deg(h, coefficients)) for h in SWING}
    assert coefficients_by_hand(eight) == pytest.approx(coefficients, abs=1e-9)


@given(anything, st.floats(0.0, 360.0))
def test_the_compass_uses_the_same_deviation(coefficients, heading_deg):
    flown = Compass(**coefficients._asdict())
    assert deviation_and_slope(heading_deg * DEG, flown)[0] / DEG == pytest.approx(
        float(deviation_deg(heading_deg, coefficients)), abs=1e-9
    )


def test_signs_of_each_coefficient():
    """B east on east, C east on north, D east on north-east, E east on north (same handbook)."""
    for place, heading_deg in enumerate((0.0, 90.0, 0.0, 45.0, 0.0)):
        values = [0.0] * 5
        values[place] = 3.0
        assert float(deviation_deg(heading_deg, Coefficients(*values))) == pytest.approx(3.0)


def test_correction_card_of_the_published_swing():
    card = correction_card(Coefficients(*BY_HAND))
    assert [row.for_deg for row in card] == [30.0 * k for k in range(12)]
    for row in card:
        h = row.steer_deg * DEG
        by_hand_deg = 1 + 12 * math.sin(h) + 8 * math.cos(h) + 5 * math.sin(2 * h) + 1.5 * math.cos(2 * h)
        assert row.deviation_deg == pytest.approx(by_hand_deg, abs=1e-9)
        apart_deg = row.for_deg - row.steer_deg - row.deviation_deg
        assert (apart_deg + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-9)
        assert 0.0 <= row.steer_deg < 360.0


def test_bad_swings_say_what_is_right():
    with pytest.raises(InputError, match="no deviation on heading 90"):
        coefficients_by_hand({h: d for h, d in SWING.items() if h != 90.0})
    with pytest.raises(InputError, match="heading 10 cannot be used in the hand method"):
        coefficients_by_hand({**SWING, 10.0: 1.0})
    with pytest.raises(InputError, match="at least five different headings"):
        fit_swing({0.0: 1.0, 90.0: 2.0, 180.0: 0.0, 270.0: 1.0})
    with pytest.raises(InputError, match="at least five different headings"):
        fit_swing({0.0: 1.0, 90.0: 2.0, 180.0: 0.0, 270.0: 1.0, 360.0: 1.0})
    with pytest.raises(InputError, match="east positive"):
        fit_swing({**SWING, 10.0: math.nan})
    with pytest.raises(InputError, match="heading inf is not a number"):
        fit_swing({**SWING, math.inf: 1.0})
