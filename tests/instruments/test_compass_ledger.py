"""The compass ledger by cause, the laws that wrong ideas change, and the card's symmetries."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.flight.motion import STEP_S
from lubberline.instruments.compass.card import Compass
from lubberline.instruments.compass.reading import (
    deviation_rad,
    settle_compass,
)
from lubberline.units import DEG, STANDARD_GRAVITY_MPS2
from tests.instruments.compass_runs import (
    LEDGER,
    PHYSICS,
    compass_row,
    compass_step,
    difference_deg,
    field_of,
    flown,
    fly_compass,
    motion_of,
    steady_turn,
    straight,
    wild,
)

SWUNG = Compass(a_deg=1.0, b_deg=12.0, c_deg=8.0, d_deg=5.0, e_deg=1.5)


def test_deviation_is_subtracted_at_the_compass_heading():
    """NGA, Handbook of Magnetic Compass Adjustment (2004), ch. V; compass = magnetic - deviation."""
    for heading_deg in range(0, 360, 15):
        samples = straight(float(heading_deg), 0.0, 1.0)
        rows = flown(samples, 60.0, SWUNG)
        reading_deg = rows["reading_rad"][0] / DEG
        h = reading_deg * DEG
        by_hand_deg = (
            1.0 + 12.0 * math.sin(h) + 8.0 * math.cos(h) + 5.0 * math.sin(2 * h) + 1.5 * math.cos(2 * h)
        )
        assert difference_deg(reading_deg, heading_deg - by_hand_deg) == pytest.approx(0, abs=1e-4)
        assert rows["deviation_rad"][0] / DEG == pytest.approx(-by_hand_deg, abs=1e-4)
        assert deviation_rad(h, SWUNG) / DEG == pytest.approx(by_hand_deg, abs=1e-9)


def test_ledger_sums_to_the_error_of_the_reading():
    seconds = np.arange(0.0, 200.0, STEP_S)
    heading, pitch, bank, speed = wild(seconds, 2.0)
    samples = motion_of(heading, speed, pitch, bank)
    rows = fly_compass(samples, field_of(len(samples), 66.0, variation_deg=-14.0), SWUNG, PHYSICS)
    magnetic_rad = samples["heading_rad"] + 14.0 * DEG
    total = sum(rows[name] for name in LEDGER)
    apart = difference_deg(total / DEG, (rows["reading_rad"] - magnetic_rad) / DEG)
    np.testing.assert_allclose(apart, 0.0, atol=1e-9)
    for name in LEDGER:
        assert np.abs(rows[name]).max() > 0.5 * DEG
        assert (rows[name] > -math.pi).all()
        assert (rows[name] <= math.pi).all()
    assert (rows["reading_rad"] >= 0.0).all()
    assert (rows["reading_rad"] < 2.0 * math.pi).all()


def test_each_cause_stands_in_its_own_column():
    turn = flown(steady_turn(15.0, 3.0), 60.0, Compass())[5:-5]
    np.testing.assert_allclose(turn["acceleration_rad"], 0.0, atol=1e-6)
    assert np.abs(turn["turning_rad"]).max() > 20.0 * DEG
    speeding = flown(straight(90.0, 0.1), 60.0, Compass())[5:-5]
    np.testing.assert_allclose(speeding["turning_rad"], 0.0, atol=1e-9)
    assert speeding["acceleration_rad"].min() < -9.0 * DEG


def test_reading_of_exactly_north_stays_in_the_circle():
    rows = flown(straight(-1e-16 / DEG, 0.0, 1.0), 60.0, Compass())
    assert ((rows["reading_rad"] >= 0.0) & (rows["reading_rad"] < 2.0 * math.pi)).all()


def test_batch_and_live_are_the_same():
    seconds = np.arange(0.0, 30.0, STEP_S)
    heading, pitch, bank, speed = wild(seconds)
    samples = motion_of(heading, speed, pitch, bank)
    field = field_of(len(samples), -40.0)
    rows = fly_compass(samples, field, SWUNG, PHYSICS)
    state = settle_compass(samples, field, 0, SWUNG, PHYSICS)
    for i in range(len(samples)):
        assert compass_row(state, samples, field, i, SWUNG, PHYSICS) == pytest.approx(
            rows[i].tolist(), abs=1e-12
        )
        if i + 1 < len(samples):
            state = compass_step(state, samples, field, i, SWUNG, PHYSICS)


def test_laws_of_turning_and_acceleration():
    turn, speeding = steady_turn(25.0, 3.0), straight(90.0, 0.1)
    no_turning = flown(turn, 60.0, Compass(), PHYSICS._replace(compass_turning=0.0))
    np.testing.assert_allclose(no_turning["turning_rad"], 0.0, atol=1e-9)
    assert np.abs(no_turning["lag_rad"]).max() < 3.0 * DEG
    np.testing.assert_allclose(
        flown(speeding, 60.0, Compass(), PHYSICS._replace(compass_turning=0.0))["acceleration_rad"],
        flown(speeding, 60.0, Compass())["acceleration_rad"],
        atol=1e-9,
    )
    steady = flown(speeding, 60.0, Compass(), PHYSICS._replace(compass_acceleration=0.0))
    np.testing.assert_allclose(steady["reading_rad"], 90.0 * DEG, atol=1e-9)
    backwards = flown(speeding, 60.0, Compass(), PHYSICS._replace(compass_acceleration=-1.0))
    assert backwards["acceleration_rad"][-2] > 9.0 * DEG


def test_law_northern_everywhere():
    turn = steady_turn(15.0, 3.0)
    believed = flown(turn, -60.0, Compass(), PHYSICS._replace(compass_northern_everywhere=1.0))
    np.testing.assert_array_equal(believed, flown(turn, 60.0, Compass()))


def test_law_of_deviation():
    level = straight(40.0, 0.0, 1.0)
    turned_round = flown(level, 60.0, SWUNG, PHYSICS._replace(compass_deviation=-1.0))
    opposite = Compass(a_deg=-1.0, b_deg=-12.0, c_deg=-8.0, d_deg=-5.0, e_deg=-1.5)
    np.testing.assert_allclose(
        turned_round["reading_rad"], flown(level, 60.0, opposite)["reading_rad"], atol=1e-9
    )


@pytest.mark.parametrize("laws", [PHYSICS, PHYSICS._replace(compass_turning=0.0, compass_acceleration=2.0)])
def test_rolls_loops_and_weightlessness_leave_numbers(laws):
    seconds = np.arange(0.0, 60.0, STEP_S)
    loop = np.where(seconds > 30.0, 0.4 * (seconds - 30.0), 0.0)
    roll = np.where(seconds < 25.0, 0.7 * seconds, 0.7 * 25.0)
    falling = -STANDARD_GRAVITY_MPS2 * np.clip(seconds - 10.0, 0.0, 4.0)
    samples = motion_of(0.05 * seconds, 60.0, loop, roll, -falling)
    rows = flown(samples, 66.0, SWUNG, laws)
    for name in rows.dtype.names:
        assert np.isfinite(rows[name]).all()
    assert ((rows["reading_rad"] >= 0.0) & (rows["reading_rad"] < 2.0 * math.pi)).all()


@given(
    dip_deg=st.floats(10.0, 80.0),
    variation_deg=st.floats(-30.0, 30.0),
    bank_deg=st.floats(-35.0, 35.0),
    pitch_deg=st.floats(-12.0, 12.0),
    from_deg=st.floats(0.0, 360.0),
    acceleration_mps2=st.floats(-0.8, 0.8),
)
def test_mirror_in_the_other_hemisphere(
    dip_deg, variation_deg, bank_deg, pitch_deg, from_deg, acceleration_mps2
):
    """North and south changed round: the same flight is the same story, reading h as 180 - h."""
    seconds = np.arange(0.0, 40.0, STEP_S)
    bank = bank_deg * DEG * np.sin(0.2 * seconds)
    pitch = pitch_deg * DEG * np.sin(0.3 * seconds)
    speed = 60.0 + acceleration_mps2 * seconds
    heading = from_deg * DEG + np.cumsum(STANDARD_GRAVITY_MPS2 * np.tan(bank) / speed) * STEP_S
    north = fly_compass(
        motion_of(heading, speed, pitch, bank),
        field_of(len(seconds), dip_deg, variation_deg),
        Compass(),
        PHYSICS,
    )
    south = fly_compass(
        motion_of(math.pi - heading, speed, pitch, -bank),
        field_of(len(seconds), -dip_deg, -variation_deg),
        Compass(),
        PHYSICS,
    )
    mirrored_deg = 180.0 - north["reading_rad"] / DEG
    np.testing.assert_allclose(difference_deg(south["reading_rad"] / DEG, mirrored_deg), 0.0, atol=1e-4)
    for name in LEDGER:
        np.testing.assert_allclose(difference_deg((south[name] + north[name]) / DEG, 0.0), 0.0, atol=1e-4)
