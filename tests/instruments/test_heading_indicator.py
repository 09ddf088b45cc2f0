"""The heading indicator's kernels against closed forms, and the properties they must have.

The published figures are those of any text on gyroscopic theory for pilots: apparent wander is
15.04 deg/h x sin(latitude) and transport wander (v_E / R) tan(latitude). Gimballing error: the
universal-joint relation tan(card) = cos(bank) tan(heading), headings from the spin axis; US patent
3,870,940 says about 12 deg for bank 30 with pitch 20.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.flight import motion as motion_module
from lubberline.instruments.heading_indicator.card import CAGE, SET, UNCAGE, spin_along
from lubberline.instruments.heading_indicator.gyro import (
    Gyro,
    GyroLaws,
    GyroState,
    balance_torque_nm,
    wander_torque_nm,
)
from lubberline.units import DEG
from tests.bench import FREE, fly_card, motion, smooth_bank, smooth_turn, steady_drive

PHYSICS = GyroLaws()

H = Gyro().full_momentum_nms


@pytest.mark.parametrize(
    ("latitude_deg", "rate_deg_h"),
    [
        (0.0, 0.0),
        (15.0, -3.893),
        (30.0, -7.520),
        (45.0, -10.636),
        (60.0, -13.026),
        (75.0, -14.528),
        (89.9, -15.041),
        (-30.0, 7.520),
        (-89.9, 15.041),
    ],
)
def test_apparent_wander(latitude_deg: float, rate_deg_h: float) -> None:
    """15.041 sin(latitude): table in any text on gyroscopic theory, sidereal rate 15.041 deg/h."""
    card = fly_card(motion(900.0, latitude_deg), FREE)
    assert card.level_deg[-1] * 4.0 == pytest.approx(rate_deg_h, abs=0.01)


@pytest.mark.parametrize(
    ("speed_kt", "latitude_deg", "rate_deg_h"),
    [
        (120.0, 45.0, -2.000),
        (120.0, 60.0, -3.464),
        (300.0, 60.0, -8.660),
        (480.0, 60.0, -13.856),
        (-240.0, 50.0, 4.767),
        (120.0, -45.0, 2.0),
    ],
)
def test_transport_wander(speed_kt: float, latitude_deg: float, rate_deg_h: float) -> None:
    """(speed / 60) tan(latitude) with a minute of arc as 1 NM: texts; the ellipsoid differs by 0.6%."""
    card = fly_card(motion(900.0, latitude_deg, east_mps=speed_kt * 1852.0 / 3600.0), FREE)
    travel = card.rows["travel_rad"][-1] / DEG * 4.0
    assert travel == pytest.approx(rate_deg_h, rel=0.007)


@pytest.mark.parametrize(
    ("bank_deg", "peak_deg"), [(15.0, 0.993), (20.0, 1.782), (30.0, 4.117), (45.0, 9.879), (60.0, 19.471)]
)
def test_gimballing_error_peak(bank_deg: float, peak_deg: float) -> None:
    """Peak atan((1 - cos bank) / (2 sqrt(cos bank))): the universal-joint relation."""
    samples = motion(130.0, 0.0, lambda t: 3.0 * t, lambda t: bank_deg + 0.0 * t)
    card = fly_card(samples, FREE, every=1)
    assert np.max(np.abs(card.rows["geometry_rad"])) / DEG == pytest.approx(peak_deg, abs=0.01)


def test_gimballing_error_in_a_climbing_turn() -> None:
    """Bank 30 and pitch 20: about 12 deg by US patent 3,870,940; 11.30 by the formula."""
    samples = motion(130.0, 0.0, lambda t: 3.0 * t, lambda t: 30.0 + 0.0 * t, lambda t: 20.0 + 0.0 * t)
    card = fly_card(samples, FREE, every=1)
    assert np.max(np.abs(card.rows["geometry_rad"])) / DEG == pytest.approx(11.30, abs=0.03)


def test_gimballing_error_leaves_no_memory() -> None:
    samples = motion(160.0, 0.0, smooth_turn(5.0, 3.0, 400.0), smooth_bank(5.0, 30.0, 3.0, 400.0))
    card = fly_card(samples, FREE)
    assert abs(card.rows["geometry_rad"][-1]) / DEG < 1e-6
    assert np.max(np.abs(card.rows["geometry_rad"])) / DEG > 4.0


@pytest.mark.parametrize(("bank_deg", "left_deg"), [(30.0, -0.16), (45.0, -0.43)])
def test_levelling_in_a_turn_leaves_a_little(bank_deg: float, left_deg: float) -> None:
    """A whole turn at rate one: levelling to the wrong plane (reference study, rigid body)."""
    samples = motion(140.0, 0.0, smooth_turn(5.0, 3.0, 360.0), smooth_bank(5.0, bank_deg, 3.0, 360.0))
    card = fly_card(samples)
    assert card.rows["levelling_rad"][-1] / DEG == pytest.approx(left_deg, rel=0.15)


def test_slow_rotor_multiplies_what_a_turn_leaves() -> None:
    samples = motion(140.0, 0.0, smooth_turn(5.0, 3.0, 360.0), smooth_bank(5.0, 45.0, 3.0, 360.0))
    left = [
        fly_card(samples, drive=steady_drive(len(samples), share)).level_deg[-1] for share in (1.0, 0.5, 0.2)
    ]
    assert left[1] == pytest.approx(-1.6, rel=0.15)
    assert left[2] == pytest.approx(-8.8, rel=0.15)


def test_real_wander_at_the_usual_limit_grows_as_the_rotor_slows() -> None:
    """3 deg in 15 min: common practice, no source."""
    torque = wander_torque_nm(3.0, H)
    assert torque == pytest.approx(-4.2e-6, rel=0.005)
    for share, drift in ((1.0, 3.0), (0.5, 6.0)):
        samples = motion(900.0, 0.0)
        card = fly_card(samples, FREE, drive=steady_drive(len(samples), share), wander_nm=torque)
        assert card.level_deg[-1] == pytest.approx(drift, abs=0.01)


@pytest.mark.parametrize(
    ("latitude_deg", "rate_deg_h"), [(0.0, 10.636), (45.0, 0.0), (60.0, -2.39), (-35.0, 19.263)]
)
def test_latitude_balance(latitude_deg: float, rate_deg_h: float) -> None:
    gyro = FREE._replace(balance_nm=balance_torque_nm(45.0, H))
    card = fly_card(motion(360.0, latitude_deg), gyro)
    assert card.level_deg[-1] * 10.0 == pytest.approx(rate_deg_h, abs=0.03)


def test_still_bench_flatters() -> None:
    """On a still bench friction holds the card: 10.6 becomes 2.2 deg/h at 45 deg (reference study).

    Without the levelling jets; with them the hold loosens as they stop the tilt that friction drives.
    """
    samples = motion(900.0, 45.0)
    samples["engine_rpm"] = 0.0
    shaken = fly_card(motion(900.0, 45.0))
    still = fly_card(samples, Gyro(levelling_nm=0.0))
    levelled = fly_card(samples)
    assert shaken.level_deg[-1] * 4.0 == pytest.approx(-10.6, abs=0.1)
    assert still.level_deg[-1] * 4.0 == pytest.approx(-2.2, abs=0.1)
    assert -10.0 < levelled.level_deg[-1] * 4.0 < -3.0


def _tumble(axis_deg: float, every: int = 1):
    def pitch(t):
        return 100.0 * (0.5 - 0.5 * np.cos(np.pi * np.clip((t - 5.0) / 6.0, 0.0, 1.0)))

    samples = motion(40.0, 45.0, lambda t: axis_deg + 0.0 * t, pitch=pitch, force=False)
    samples["force_down_mps2"] = -9.8
    return samples, fly_card(samples, every=every)


def test_tumble_begins_at_the_stop_and_the_ledger_still_closes() -> None:
    samples, card = _tumble(2.0)
    first = int(np.argmax(card.rows["on_stop"] > 0.0))
    reached = abs(math.sin(samples["pitch_rad"][first]) * math.cos(2.0 * DEG))
    assert reached == pytest.approx(math.sin(85.0 * DEG), abs=0.02)
    assert abs(card.rows["tumble_rad"][-1]) / DEG > 0.2
    swing_deg_s = np.abs(np.diff(np.unwrap(card.rows["indicated_rad"]))) / DEG / 0.1
    assert 150.0 < np.max(swing_deg_s) < 1500.0
    apart = (card.ledger_deg - card.level_deg + 180.0) % 360.0 - 180.0
    assert np.max(np.abs(apart)) < 0.01


def test_no_tumble_more_than_five_degrees_from_the_axis() -> None:
    _, card = _tumble(8.0)
    assert not card.rows["on_stop"].any()


def test_run_down_rotor_ends_held_and_turns_with_the_aircraft() -> None:
    samples = motion(1200.0, 45.0, smooth_turn(1000.0, 3.0, 90.0), smooth_bank(1000.0, 15.0, 3.0, 90.0))
    share = np.clip(1.0 - samples["time_s"] / 686.0, 0.0, 1.0) ** 1.5
    drive = steady_drive(len(samples), share)
    drive["levelling_fraction"] = 0.0
    card = fly_card(samples, drive=drive)
    assert card.state.regime == 2.0
    before, after = card.rows["indicated_rad"][990], card.rows["indicated_rad"][-1]
    assert abs(math.remainder(after - before, 2.0 * math.pi)) < 0.5 * DEG
    apart = (card.ledger_deg - card.level_deg + 180.0) % 360.0 - 180.0
    assert np.max(np.abs(apart)) < 0.01


def test_caged_card_keeps_its_reading_through_a_turn() -> None:
    samples = motion(60.0, 45.0, lambda t: 3.0 * t)
    actions = np.array([[0, SET, 1.0], [100, CAGE, 0.0], [400, UNCAGE, 0.0]])
    card = fly_card(samples, actions=actions)
    shown = card.rows["indicated_rad"] / DEG
    assert np.ptp(shown[11:40]) < 1e-6
    assert card.rows["caged"][11:40].all()
    assert (shown[55] - shown[45]) == pytest.approx(30.0, abs=0.1)


@pytest.mark.parametrize("turns_gimbal", [0.0, 1.0])
def test_knob_sets_the_card_by_either_mechanism(turns_gimbal: float) -> None:
    samples = motion(30.0, 45.0, lambda t: 3.0 * t, lambda t: 20.0 + 0.0 * t)
    gyro = Gyro(knob_turns_gimbal=turns_gimbal)
    card = fly_card(samples, gyro, actions=np.array([[100, SET, 123.0 * DEG]]))
    assert card.rows["indicated_rad"][10] / DEG == pytest.approx(123.0, abs=1e-6)
    if turns_gimbal:
        outer = card.state.knob_rad - 123.0 * DEG
        assert outer == pytest.approx(-123.0 * DEG)
        assert abs(card.rows["tilt_rad"][10]) < 1e-9


banks = st.floats(-45.0, 45.0)
latitudes = st.floats(-80.0, 80.0)


@given(
    bank_deg=banks, latitude_deg=latitudes, east_mps=st.floats(-100.0, 100.0), axis_deg=st.floats(0.0, 360.0)
)
def test_ledger_sums_and_axis_keeps_unit_length(
    bank_deg: float, latitude_deg: float, east_mps: float, axis_deg: float
) -> None:
    samples = motion(
        90.0,
        latitude_deg,
        smooth_turn(5.0, 3.0, 200.0),
        smooth_bank(5.0, bank_deg, 3.0, 200.0),
        east_mps=east_mps,
    )
    gyro = Gyro(balance_nm=balance_torque_nm(50.0, H))
    card = fly_card(samples, gyro, wander_nm=3e-6, state=spin_along(axis_deg * DEG))
    assert np.max(np.abs(card.ledger_deg - card.level_deg)) < 1e-4
    s = card.state
    assert math.sqrt(s.spin_n**2 + s.spin_e**2 + s.spin_d**2) == pytest.approx(1.0, abs=1e-12)


@given(
    bank_deg=banks,
    latitude_deg=st.floats(5.0, 75.0),
    east_mps=st.floats(-80.0, 80.0),
    axis_deg=st.floats(0.0, 360.0),
)
def test_mirror_in_the_other_hemisphere(
    bank_deg: float, latitude_deg: float, east_mps: float, axis_deg: float
) -> None:
    """Mirrored in the plane of the equator, every error changes sign and nothing else.

    The spin axis is an axial vector, so its mirror image points along minus its azimuth.
    """
    turn, bank = smooth_turn(5.0, 3.0, 200.0), smooth_bank(5.0, bank_deg, 3.0, 200.0)
    north = motion(90.0, latitude_deg, turn, bank, east_mps=east_mps)
    south = motion(90.0, -latitude_deg, lambda t: 180.0 - turn(t), lambda t: -bank(t), east_mps=east_mps)
    balance = balance_torque_nm(50.0, H)
    here = fly_card(north, Gyro(balance_nm=balance), wander_nm=3e-6, state=spin_along(axis_deg * DEG))
    there = fly_card(south, Gyro(balance_nm=-balance), wander_nm=-3e-6, state=spin_along(-axis_deg * DEG))
    assert np.max(np.abs(here.level_deg + there.level_deg)) < 1e-6
    geometry = here.rows["geometry_rad"] + there.rows["geometry_rad"]
    assert np.max(np.abs((geometry + np.pi) % (2.0 * np.pi) - np.pi)) < 1e-7


@pytest.mark.parametrize("bank_deg", [30.0, 45.0])
def test_halving_the_step_changes_little(bank_deg: float, monkeypatch: pytest.MonkeyPatch) -> None:
    def flown(step_s: float):
        monkeypatch.setattr(motion_module, "STEP_S", step_s)
        monkeypatch.setattr("tests.bench.STEP_S", step_s)
        samples = motion(140.0, 45.0, smooth_turn(5.0, 3.0, 360.0), smooth_bank(5.0, bank_deg, 3.0, 360.0))
        return fly_card(samples, every=round(1.0 / step_s), step_s=step_s)

    coarse, fine = flown(0.1), flown(0.05)
    assert np.max(np.abs(coarse.level_deg - fine.level_deg)) < 0.02
    assert np.max(np.abs(coarse.rows["geometry_rad"] - fine.rows["geometry_rad"])) / DEG < 0.02


def test_wrong_laws_run_in_the_same_kernel() -> None:
    samples = motion(900.0, 45.0)
    everywhere = PHYSICS._replace(earth_sine=0.0, earth_constant=1.0)
    assert fly_card(samples, FREE, laws=everywhere).level_deg[-1] * 4.0 == pytest.approx(-15.041, abs=0.01)
    flat = PHYSICS._replace(geometry=0.0)
    banked = motion(60.0, 0.0, lambda t: 3.0 * t, lambda t: 30.0 + 0.0 * t)
    assert np.max(np.abs(fly_card(banked, FREE, laws=flat).rows["geometry_rad"])) < 1e-9


def test_nothing_hangs_on_a_rotor_at_rest() -> None:
    samples = motion(20.0, 45.0, lambda t: 3.0 * t)
    start = GyroState(1.0, 0.0, 0.0, 0.0)
    card = fly_card(samples, drive=steady_drive(len(samples), 0.0), state=start)
    assert np.isfinite(card.level_deg).all()


@pytest.mark.parametrize("share", [1.0, 0.04])
def test_finger_on_the_card_tilts_the_housing_instead(share: float) -> None:
    """Precession at right angles: a torque about the outer axis moves the housing, at T / H."""
    samples = motion(12.0, 0.0)
    drive = steady_drive(len(samples), share)
    torque_nm = 2e-3 * share
    drive["finger_nm"][:101] = torque_nm
    drive["levelling_fraction"] = 0.0
    card = fly_card(samples, FREE, drive=drive)
    assert card.rows["tilt_rad"][10] == pytest.approx(-torque_nm * 10.0 / (H * share), rel=0.02)
    assert abs(card.level_deg[10]) < 0.5
