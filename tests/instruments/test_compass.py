"""The compass card against closed forms, published rules, a second implementation, and its own symmetries.

Sources: E. Williams, Compass Errors (2001), eqs. 2 to 4 (`williams_turn`, `williams_acceleration`);
tests/authorities/gyro_cases.json, cases C01 to C03; FAA handbook rules as named at each test.
"""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from lubberline.flight.motion import STEP_S
from lubberline.instruments.compass.card import Compass
from lubberline.instruments.compass.reading import (
    dip_tilt_rad,
    settle_compass,
)
from lubberline.units import DEG, KT_MPS, STANDARD_GRAVITY_MPS2
from tests.instruments.compass_runs import (
    LEDGER,
    PHYSICS,
    TOTAL_NT,
    compass_step,
    difference_deg,
    field_of,
    flown,
    motion_of,
    settled_deg,
    steady_turn,
    straight,
    wild,
    williams_acceleration,
    williams_turn,
)

CASES = {
    case["id"]: case
    for case in json.loads((Path(__file__).parents[1] / "authorities" / "gyro_cases.json").read_text())[
        "cases"
    ]
}


# The static card


def test_case_c01_static_turn():
    case = CASES["C01_static_turn"]
    given_, tolerance = case["inputs"], case["tolerance"]
    for heading_deg, card_deg in zip(given_["true_mag"], case["outputs"]["card"], strict=True):
        samples = steady_turn(given_["bank_deg"], 3.0, 0.2, from_deg=heading_deg - 15.0)
        assert samples["heading_rad"][50] == pytest.approx(heading_deg * DEG)
        assert difference_deg(settled_deg(samples, given_["dip"]), card_deg) == pytest.approx(
            0, abs=tolerance
        )


def test_case_c02_acceleration():
    case = CASES["C02_accel"]
    given_, tolerance = case["inputs"], case["tolerance"]
    for heading_deg, error_deg in zip(given_["true_mag"], case["outputs"]["err"], strict=True):
        reading_deg = settled_deg(straight(heading_deg, given_["a_g"]), given_["dip"])
        assert difference_deg(reading_deg, heading_deg) == pytest.approx(error_deg, abs=tolerance)


def test_case_c03_the_card_reads_the_other_side_above_the_critical_bank():
    case = CASES["C03_critical_bank"]
    given_, tolerance = case["inputs"], case["tolerance"]
    samples = steady_turn(given_["bank_deg"], 3.0, 0.2, from_deg=given_["true_mag"] - 15.0)
    assert difference_deg(settled_deg(samples, given_["dip"]), case["outputs"]["card"]) == pytest.approx(
        0, abs=tolerance
    )
    critical_deg = case["outputs"]["critical_bank_deg"]
    for bank_deg, east_deg in ((critical_deg - 0.5, 90.0), (critical_deg + 0.5, 270.0)):
        samples = steady_turn(bank_deg, 3.0, 0.2, from_deg=75.0)
        assert difference_deg(settled_deg(samples, given_["dip"]), east_deg) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    ("dip_deg", "bank_deg", "readings_deg"),
    [
        (55.0, 10.0, (346.07, 32.38, 90, 147.62, 193.93, 233.18, 270, 306.82)),
        (55.0, 20.0, (333.97, 13.98, 90, 166.02, 206.03, 238.48, 270, 301.52)),
        (70.0, 10.0, (334.49, 17.23, 90, 162.77, 205.51, 238.93, 270, 301.07)),
        (70.0, 15.0, (324.58, 357.73, 90, 182.27, 215.42, 243.11, 270, 296.89)),
    ],
)
def test_rows_derived_from_williams_eq_2(dip_deg, bank_deg, readings_deg):
    for k, reading_deg in enumerate(readings_deg):
        samples = steady_turn(bank_deg, 3.0, 0.2, from_deg=45.0 * k - 15.0)
        assert difference_deg(settled_deg(samples, dip_deg), reading_deg) == pytest.approx(0, abs=0.006)


def test_residual_tilt_from_dip():
    """A card hangs 2 to 3 deg from level because of dip (public pages; common practice, no source)."""
    (earth,) = field_of(1, 70.0)
    assert 2.0 < dip_tilt_rad(earth, Compass()) / DEG < 3.0


# The moving card


@pytest.mark.parametrize("dip_deg", [55.0, 70.0, -55.0, -70.0])
@pytest.mark.parametrize("bank_deg", [6.0, 10.0, 15.0, 18.0, -6.0, -15.0, -18.0])
def test_steady_turn_passes_north_and_south_as_williams_says(dip_deg, bank_deg):
    """Liquid at rest (no drag by the case); a turn slow enough that the card itself keeps up."""
    samples = steady_turn(bank_deg, 0.6)
    rows = flown(samples, dip_deg, Compass(liquid_fraction=0.0))
    heading_deg = samples["heading_rad"] / DEG
    for passed_deg in (360.0, 540.0, 720.0, 900.0):
        i = int(np.argmin(np.abs(np.abs(heading_deg) - passed_deg)))
        expected_deg = williams_turn(heading_deg[i], bank_deg, dip_deg)
        assert difference_deg(rows["reading_rad"][i] / DEG, expected_deg) == pytest.approx(0, abs=0.3)


@pytest.mark.parametrize("dip_deg", [55.0, 70.0, -55.0, -70.0])
@pytest.mark.parametrize("bank_deg", [10.0, 15.0, 18.0, -15.0])
def test_rate_one_lags_by_what_still_liquid_holds_back(dip_deg, bank_deg):
    """Eq. 2 sweeps through space at a known rate; a card in still liquid follows damping / magnet later."""
    samples = steady_turn(bank_deg, 3.0)
    compass = Compass(liquid_fraction=0.0)
    rows = flown(samples, dip_deg, compass)
    heading_deg = samples["heading_rad"] / DEG
    horizontal_t = TOTAL_NT * 1e-9 * math.cos(dip_deg * DEG)
    lean = math.tan(dip_deg * DEG) * math.sin(bank_deg * DEG)
    delay_s = compass.damping_nms / (compass.magnet_moment_am2 * horizontal_t * math.hypot(1.0, lean))
    share = 1.0 - math.cos(bank_deg * DEG) / (1.0 + lean * lean)
    behind_deg = math.copysign(3.0, bank_deg) * share * delay_s
    for passed_deg in (360.0, 540.0, 720.0, 900.0):
        i = int(np.argmin(np.abs(np.abs(heading_deg) - passed_deg)))
        expected_deg = williams_turn(heading_deg[i], bank_deg, dip_deg) + behind_deg
        assert difference_deg(rows["reading_rad"][i] / DEG, expected_deg) == pytest.approx(0, abs=0.3)


@pytest.mark.parametrize("hemisphere", [1.0, -1.0])
def test_through_north_and_south_at_rate_one(hemisphere):
    """Rate one at 105 kt, dip 70: 37 deg behind through north and ahead through south, reversed in the south.

    The figure is atan(tan dip sin bank); direction by FAA-H-8083-25, 'undershoot north, overshoot south'.
    """
    bank_deg = math.degrees(math.atan(3.0 * DEG * 105.0 * KT_MPS / STANDARD_GRAVITY_MPS2))
    samples = steady_turn(bank_deg, 3.0)
    rows = flown(samples, 70.0 * hemisphere, Compass())
    error_deg = difference_deg(rows["reading_rad"] / DEG, samples["heading_rad"] / DEG)
    north, south = 2 * 1200, 1200 + 600
    assert error_deg[north] == pytest.approx(-37.0 * hemisphere, abs=1.0)
    assert error_deg[south] == pytest.approx(37.0 * hemisphere, abs=1.0)
    for east_or_west in (1500, 2100):
        assert rows["turning_rad"][east_or_west] / DEG == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize(("latitude_deg", "rate_one_deg"), [(30.0, 17.0), (40.0, 24.0), (52.0, 34.0)])
def test_lead_and_lag_rule_in_a_dipole_field(latitude_deg, rate_one_deg):
    """FAA text: lead or lag on N and S about equals the latitude; exact at 30 deg of bank in a dipole field.

    Rate one at 100 kt gives the smaller figures of the reference study.
    """
    dip_deg = math.degrees(math.atan(2.0 * math.tan(latitude_deg * DEG)))
    steep = steady_turn(30.0, 3.0, 0.2, from_deg=-15.0)
    assert settled_deg(steep, dip_deg) == pytest.approx(-latitude_deg, abs=1e-4)
    bank_deg = math.degrees(math.atan(3.0 * DEG * 100.0 * KT_MPS / STANDARD_GRAVITY_MPS2))
    gentle = steady_turn(bank_deg, 3.0)
    rows = flown(gentle, dip_deg, Compass())
    assert difference_deg(rows["reading_rad"][2400] / DEG, 0.0) == pytest.approx(-rate_one_deg, abs=1.0)


def test_size_at_middle_latitudes():
    """Williams (2001): at dip 55 and 15 to 20 deg of bank the greatest lead or lag is about 20 to 30 deg."""
    for bank_deg in (15.0, 20.0):
        rows = flown(steady_turn(bank_deg, 3.0), 55.0, Compass())
        assert 18.0 < np.abs(rows["turning_rad"][1200:]).max() / DEG < 32.0


def test_above_the_critical_bank_the_card_cannot_turn_through():
    samples = steady_turn(25.0, 3.0, turns=4.0)
    reading_deg = flown(samples, 70.0, Compass())["reading_rad"][1200:] / DEG
    assert (reading_deg > 180.0).all()
    below = flown(steady_turn(10.0, 3.0, turns=4.0), 70.0, Compass())["reading_rad"][1200:] / DEG
    assert (np.histogram(below, bins=8, range=(0.0, 360.0))[0] > 0).all()


@pytest.mark.parametrize("dip_deg", [55.0, 70.0, -55.0, -70.0])
@pytest.mark.parametrize("acceleration_g", [0.1, 0.2, -0.1])
@pytest.mark.parametrize("heading_deg", [0.0, 45.0, 90.0, 135.0, 180.0, 270.0])
def test_straight_acceleration_settles_where_williams_says(dip_deg, acceleration_g, heading_deg):
    samples = straight(heading_deg, acceleration_g)
    reading_deg = flown(samples, dip_deg, Compass())["reading_rad"][-2] / DEG
    expected_deg = williams_acceleration(heading_deg, acceleration_g, dip_deg)
    assert difference_deg(reading_deg, expected_deg) == pytest.approx(0, abs=0.3)


@pytest.mark.parametrize("hemisphere", [1.0, -1.0])
def test_accelerate_north_decelerate_south(hemisphere):
    """FAA-H-8083-25, ch. 8 (ANDS); nothing on north and south; 15 deg at 0.1 g and dip 70."""
    for heading_deg, toward_north in ((90.0, -1.0), (270.0, 1.0)):
        for sign in (1.0, -1.0):
            rows = flown(straight(heading_deg, 0.1 * sign), 70.0 * hemisphere, Compass())
            error_deg = difference_deg(rows["reading_rad"][-2] / DEG, heading_deg)
            assert error_deg * toward_north * hemisphere * sign == pytest.approx(15.3, abs=0.5)
    for heading_deg in (0.0, 180.0):
        rows = flown(straight(heading_deg, 0.1), 70.0 * hemisphere, Compass())
        assert difference_deg(rows["reading_rad"][-2] / DEG, heading_deg) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("pitch_deg", [8.0, -8.0, 15.0])
def test_steady_climb_tilts_the_case_not_the_card(pitch_deg):
    heading_rad = np.full(600, 70.0 * DEG)
    ground_mps = 60.0 * math.cos(pitch_deg * DEG)
    down_mps = -60.0 * math.sin(pitch_deg * DEG)
    samples = motion_of(heading_rad, ground_mps, pitch_rad=pitch_deg * DEG, down_mps=down_mps)
    rows = flown(samples, 70.0, Compass())
    np.testing.assert_allclose(rows["reading_rad"], 70.0 * DEG, atol=1e-9)
    for name in LEDGER:
        np.testing.assert_allclose(rows[name], 0.0, atol=1e-9)


def test_card_leans_no_further_than_its_limit():
    """0.6 g along the nose asks for 31 deg; at the limit of 18 deg the card reads as at atan(a/g) = 18."""
    samples = straight(90.0, 0.6)
    expected_deg = williams_acceleration(90.0, math.tan(18.0 * DEG), 55.0)
    assert settled_deg(samples, 55.0) == pytest.approx(expected_deg, abs=0.01)


def test_free_swing_has_the_stated_period_and_damping():
    """Reference study: 0.94 rad/s and damping ratio 0.58 at 52 uT and dip 70."""
    samples = straight(0.0, 0.0, 20.0)
    field = field_of(len(samples), 70.0)
    compass = Compass()
    state = settle_compass(samples, field, 0, compass, PHYSICS)._replace(card_rad=4.0 * DEG)
    swing = []
    for i in range(len(samples) - 1):
        swing.append((state.card_rad, state.rate_rad_s))
        state = compass_step(state, samples, field, i, compass, PHYSICS)
    angle, rate = np.array(swing).T
    # h' = -v: the card turns back where its rate changes sign; half a damped period lies between.
    turns = np.flatnonzero(rate[1:-1] * rate[2:] < 0.0) + 1
    crossing_s = (turns + rate[turns] / (rate[turns] - rate[turns + 1])) * STEP_S
    damped_rad_s = math.pi / (crossing_s[1] - crossing_s[0])
    decrement = math.log(-angle[turns[0]] / angle[turns[1]])
    ratio = decrement / math.hypot(math.pi, decrement)
    assert ratio == pytest.approx(0.58, abs=0.01)
    assert damped_rad_s / math.sqrt(1.0 - ratio**2) == pytest.approx(0.94, abs=0.01)


def test_liquid_drags_the_card_along():
    """In a long level turn on the spot the liquid turns at 35 % of the case's rate and leads the card on."""
    seconds = np.arange(0.0, 120.0, STEP_S)
    samples = motion_of(3.0 * DEG * seconds, 0.0)
    compass = Compass()
    rows = flown(samples, 70.0, compass)
    pull_nm = compass.magnet_moment_am2 * TOTAL_NT * 1e-9 * math.cos(70.0 * DEG)
    held_rad = math.asin(compass.damping_nms * 0.35 * 3.0 * DEG / pull_nm)
    assert rows["lag_rad"][-1] == pytest.approx(-held_rad, rel=1e-3)
    assert flown(samples, 70.0, Compass(liquid_fraction=0.0))["lag_rad"][-1] == pytest.approx(0.0, abs=1e-6)


# A second implementation


def body_axes(heading, pitch, bank):
    sh, ch, sp, cp = math.sin(heading), math.cos(heading), math.sin(pitch), math.cos(pitch)
    sb, cb = math.sin(bank), math.cos(bank)
    yaw = np.array([[ch, sh, 0], [-sh, ch, 0], [0, 0, 1.0]])
    nod = np.array([[cp, 0, -sp], [0, 1, 0], [sp, 0, cp]])
    roll = np.array([[1, 0, 0], [0, cb, sb], [0, -sb, cb]])
    return roll @ nod @ yaw


def card_equations(t, y, compass, field):
    """The card's motion by vectors in the level frame and differences in time, no formula of the kernel's."""
    eps = 1e-4
    normal, card, rate, liquid = y[:3] / np.linalg.norm(y[:3]), y[3], y[4], y[5]
    axes = [body_axes(*wild(t + k * eps)[:3]) for k in (-1, 0, 1)]
    velocity = []
    for k in (-1, 1):
        heading, _, _, speed = wild(t + k * eps)
        velocity.append(speed * np.array([math.cos(heading), math.sin(heading), 0.0]))
    acceleration = (velocity[1] - velocity[0]) / (2 * eps)
    aim = axes[1] @ (np.array([0.0, 0.0, STANDARD_GRAVITY_MPS2]) - acceleration)
    aim /= np.linalg.norm(aim)
    lean = math.acos(aim[2])
    limit = compass.tilt_limit_deg * DEG
    if lean > limit:
        across = aim[:2] / np.linalg.norm(aim[:2])
        aim = np.array([*(math.sin(limit) * across), math.cos(limit)])
    normal_dot = (aim - normal * (aim @ normal)) / compass.tilt_lag_s

    def plane(k):
        n = normal + k * eps * normal_dot
        n /= np.linalg.norm(n)
        e1 = np.array([1.0, 0, 0]) - n[0] * n
        e1 /= np.linalg.norm(e1)
        return axes[k + 1].T @ e1, axes[k + 1].T @ np.cross(n, e1)

    e1_dot = (plane(1)[0] - plane(-1)[0]) / (2 * eps)
    e1, e2 = plane(0)
    spin = (axes[2] - axes[0]) / (2 * eps) @ axes[1].T
    case_rate = np.dot(normal, [spin[1, 2], spin[2, 0], spin[0, 1]])
    plane_rate = e1_dot @ e2
    magnet = math.cos(card) * e1 - math.sin(card) * e2
    torque = compass.magnet_moment_am2 * np.cross(magnet, field) @ np.cross(e1, e2)
    push = (torque - compass.damping_nms * (rate - liquid)) / compass.inertia_kgm2
    liquid_dot = (compass.liquid_fraction * case_rate - liquid) / compass.liquid_lag_s
    return [*normal_dot, plane_rate - rate, push, liquid_dot]


@pytest.mark.parametrize("tilt_lag_s", [0.17, 2.0])
def test_against_scipy_on_vector_equations(tilt_lag_s):
    seconds = np.arange(0.0, 30.0, STEP_S)
    heading, pitch, bank, speed = wild(seconds)
    samples = motion_of(heading, speed, pitch, bank)
    field = field_of(len(samples), 66.0)
    compass = Compass(tilt_lag_s=tilt_lag_s)
    state = settle_compass(samples, field, 0, compass, PHYSICS)
    begin = list(state)
    ours = [state.card_rad]
    for i in range(len(samples) - 1):
        state = compass_step(state, samples, field, i, compass, PHYSICS)
        ours.append(state.card_rad)
    earth_t = 1e-9 * np.array([field["north_nt"][0], field["east_nt"][0], field["down_nt"][0]])
    other = solve_ivp(
        card_equations,
        (0.0, seconds[-1]),
        begin,
        t_eval=seconds,
        args=(compass, earth_t),
        rtol=1e-6,
        atol=1e-8,
        max_step=0.2,
    )
    assert np.ptp(np.unwrap(other.y[3])) > 1.0
    apart_deg = difference_deg(np.array(ours) / DEG, other.y[3] / DEG)
    assert np.abs(apart_deg).max() < 0.03
