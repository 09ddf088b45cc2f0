"""Smooth manoeuvres add up to what they must, whatever is asked."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.flight.legs.motion import eased_after, eased_within
from lubberline.flight.legs.turns import (
    Swell,
    accumulated,
    coordinated_turn,
    heading_rate_rad_s,
    ramp_s,
    swell_of_area,
)
from lubberline.flight.motion import STEP_S
from lubberline.units import DEG, KT_MPS


@given(steps=st.integers(2, 400), part=st.floats(0.01, 1.0), peak=st.floats(0.01, 10.0))
def test_the_area_is_that_of_the_values(steps, part, peak):
    swell = Swell(peak, steps, max(0.5 * steps * part, 0.5))
    flow = np.tanh
    assert swell.area(flow) == pytest.approx(accumulated(flow(swell.values()))[-1], rel=1e-9)


@given(area=st.floats(1e-3, 1e4), peak=st.floats(0.01, 30.0), rate=st.floats(0.1, 10.0))
def test_a_swell_reaches_its_area_below_its_peak_and_slope(area, peak, rate):
    swell = swell_of_area(area, peak, lambda top: ramp_s(top, rate), lambda value: value)
    values = swell.values()
    assert accumulated(values)[-1] == pytest.approx(area, rel=1e-6)
    assert values.max() <= peak * (1 + 1e-9)
    assert values[0] == values[-1] == 0.0
    assert np.abs(np.diff(values)).max() / STEP_S <= rate * 1.12


@given(
    by_deg=st.floats(-1500, 1500).filter(lambda by: abs(by) > 0.01),
    bank_deg=st.floats(1, 75),
    airspeed_kt=st.floats(40, 250),
    start_deg=st.floats(0, 360),
)
def test_every_turn_ends_on_its_heading_within_its_bank(by_deg, bank_deg, airspeed_kt, start_deg):
    turn = coordinated_turn(by_deg * DEG, bank_deg * DEG, airspeed_kt * KT_MPS, 10 * DEG)
    heading, bank = turn.fly(start_deg * DEG)
    assert np.abs(bank).max() <= bank_deg * DEG * (1 + 1e-9)
    rate = np.sign(by_deg) * heading_rate_rad_s(np.abs(bank), airspeed_kt * KT_MPS)
    reached = start_deg + np.degrees(accumulated(rate)[-1])
    assert reached == pytest.approx(start_deg + by_deg, abs=0.001)
    assert np.degrees(heading[-1]) == pytest.approx(start_deg + by_deg, abs=1e-6)


def test_eased_values_never_pass_the_jump_and_arrive():
    jumps = np.repeat([0.0, 2.0, 0.0, 1.0], 300)
    within = eased_within(jumps, 5.0)
    assert (within <= jumps + 1e-12).all()
    assert within[450] == pytest.approx(2.0)
    assert np.abs(np.diff(within)).max() < 2.0 / 50 * 2.2
    after = eased_after(jumps, 3.0)
    assert after[300] < 0.01
    assert after[[299, 331, 899]] == pytest.approx([0.0, 2.0, 0.0])
