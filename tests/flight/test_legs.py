"""Motions made of legs, against formulas of flight mechanics and a geodesic library."""

import math

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from lubberline.flight.motion import STEP_S
from lubberline.units import DEG, FPM_MPS, FT_M, KT_MPS, NM_M
from tests.flight.hand_written import degrees, flown, leg

G = 9.80665


def distance_m(samples, i, j):
    ends = [math.degrees(samples[name][k]) for k in (i, j) for name in ("latitude_rad", "longitude_rad")]
    return Geodesic.WGS84.Inverse(*ends)["s12"]


def test_a_full_turn_at_30_degrees_has_the_radius_and_time_of_the_formulas():
    """R = V^2 / (g tan bank), T = 2 pi V / (g tan bank): any text on flight mechanics."""
    motion = flown(leg("turn", by_deg=720, bank_deg=30), altitude_ft=0)
    heading, bank = degrees(motion, "heading_rad"), degrees(motion, "bank_rad")
    assert heading[-1] == pytest.approx(720.0, abs=0.01)
    assert bank.max() == pytest.approx(30.0, abs=1e-9)
    speed = 100 * KT_MPS
    first, second = (int(np.argmin(np.abs(heading - at))) for at in (180.0, 540.0))
    time_s = 2 * math.pi * speed / (G * math.tan(30 * DEG))
    assert (second - first) * STEP_S == pytest.approx(time_s, abs=STEP_S)
    half_way = int(np.argmin(np.abs(heading - 360.0)))
    radius_m = speed**2 / (G * math.tan(30 * DEG))
    assert distance_m(motion.samples, first, half_way) == pytest.approx(2 * radius_m, rel=1e-3)
    assert distance_m(motion.samples, first, second) < 5.0


# Bank for 3 deg/s from true airspeed: tan(bank) = rate x V / g, the table of standard-rate turns.
@pytest.mark.parametrize(("airspeed_kt", "bank_deg"), [(60, 9.36), (80, 12.39), (100, 15.36), (120, 18.24)])
def test_rate_one_takes_two_minutes_at_the_bank_of_the_table(airspeed_kt, bank_deg):
    motion = flown(leg("turn", by_deg=720, rate_deg_s=3), airspeed_kt=airspeed_kt)
    assert degrees(motion, "bank_rad").max() == pytest.approx(bank_deg, abs=0.005)
    heading = degrees(motion, "heading_rad")
    # ICAO: a rate one turn is 3 deg/s, a full circle in two minutes.
    assert np.interp([180, 540], heading, motion.samples["time_s"]) @ [-1, 1] == pytest.approx(
        120.0, abs=0.01
    )


def test_a_turn_to_the_left_is_the_mirror_of_one_to_the_right():
    right = flown(leg("turn", by_deg=130, bank_deg=25)).samples
    left = flown(leg("turn", by_deg=-130, bank_deg=25)).samples
    for name in ("heading_rad", "bank_rad", "east_mps", "yaw_rate_rad_s", "roll_rate_rad_s"):
        np.testing.assert_allclose(left[name], -right[name], atol=1e-12)
    assert right["bank_rad"].max() > 0.4
    assert right["yaw_rate_rad_s"].max() > 0.05


@pytest.mark.parametrize(
    ("start", "to", "direction", "by"),
    [
        (350, 10, "shortest", 20),
        (10, 350, "shortest", -20),
        (10, 350, "right", 340),
        (350, 10, "left", -340),
        (0, 180, "shortest", 180),
        (90, 360, "left", -90),
    ],
)
def test_turns_go_the_way_they_are_told(start, to, direction, by):
    heading = degrees(flown(leg("turn", to_deg=to, direction=direction), heading_deg=start), "heading_rad")
    assert heading[-1] - heading[0] == pytest.approx(by, abs=0.001)
    assert np.all(np.sign(np.diff(heading)) == np.sign(by))


@pytest.mark.parametrize(("bank_deg", "load"), [(30, 1.155), (45, 1.414), (60, 2.0)])
def test_turns_are_coordinated_and_carry_their_load_factor(bank_deg, load):
    """Load factor 1 / cos(bank): 2 at 60 deg, as in every handbook's chart (common practice)."""
    motion = flown(leg("turn", by_deg=400, bank_deg=bank_deg), airspeed_kt=120)
    steady = np.abs(degrees(motion, "bank_rad") - bank_deg) < 1e-6
    assert steady.sum() > 100
    steady[[0, -1]] = False
    inner = steady[1:-1] & steady[:-2] & steady[2:]
    samples = motion.samples[1:-1][inner]
    np.testing.assert_allclose(samples["force_down_mps2"], -G * load, rtol=2e-3)
    # A ball at rest: the side force stays under a hundredth of g, rolling in and out included.
    assert np.abs(motion.samples["force_right_mps2"]).max() < 0.01 * G


def test_a_small_turn_banks_less_than_asked_and_ends_on_its_heading():
    motion = flown(leg("turn", by_deg=2, bank_deg=45))
    assert degrees(motion, "heading_rad")[-1] == pytest.approx(2.0, abs=1e-9)
    assert 1.0 < degrees(motion, "bank_rad").max() < 20.0
    assert np.abs(np.degrees(motion.samples["roll_rate_rad_s"])).max() < 10.5


def test_the_roll_is_no_faster_than_asked():
    motion = flown(leg("turn", by_deg=180, bank_deg=30, roll_rate_deg_s=5))
    fastest = np.degrees(np.abs(motion.samples["roll_rate_rad_s"]).max())
    assert fastest == pytest.approx(5.0, abs=0.1)


@pytest.mark.parametrize(("latitude_deg", "heading_deg"), [(-3.0, 0), (50.0, 180), (0.0, 90), (0.0, 270)])
def test_great_distances_agree_with_geodesics_on_meridians_and_the_equator(latitude_deg, heading_deg):
    """GeographicLib (Karney 2013): a meridian and the equator are geodesics."""
    motion = flown(
        leg("straight", minutes=180), latitude_deg=latitude_deg, heading_deg=heading_deg, altitude_ft=0
    )
    end = Geodesic.WGS84.Direct(latitude_deg, 10.0, heading_deg, 100 * KT_MPS * 10800)
    assert degrees(motion, "latitude_rad")[-1] == pytest.approx(end["lat2"], abs=1e-6)
    assert degrees(motion, "longitude_rad")[-1] == pytest.approx(end["lon2"], abs=1e-6)


def test_a_held_heading_is_a_rhumb_line():
    motion = flown(leg("straight", minutes=60), latitude_deg=60, heading_deg=90)
    np.testing.assert_allclose(degrees(motion, "latitude_rad"), 60.0, atol=1e-9)
    np.testing.assert_allclose(degrees(motion, "heading_rad"), 90.0)


def test_climb_and_descent_reach_their_altitudes_at_their_rates():
    motion = flown(
        leg("climb", to_altitude_ft=7000, rate_fpm=500), leg("descend", to_altitude_ft=4000, rate_fpm=800)
    )
    altitude_ft = motion.samples["altitude_m"] / FT_M
    top = int(np.argmax(altitude_ft))
    assert altitude_ft[top] == pytest.approx(7000, abs=1e-6)
    assert altitude_ft[-1] == pytest.approx(4000, abs=1e-6)
    climb = -motion.samples["down_mps"] / FPM_MPS
    assert climb.max() == pytest.approx(500, abs=1e-6)
    assert climb.min() == pytest.approx(-800, abs=1e-6)
    assert top * STEP_S == pytest.approx(8 * 60 + 4.07, abs=0.2)
    steepest = math.degrees(math.asin(500 * FPM_MPS / (100 * KT_MPS)))
    assert degrees(motion, "pitch_rad").max() == pytest.approx(steepest, abs=1e-6)
    over_ground = np.hypot(motion.samples["north_mps"], motion.samples["east_mps"])
    through_air = np.hypot(over_ground, motion.samples["down_mps"])
    np.testing.assert_allclose(through_air, 100 * KT_MPS, rtol=1e-12)
    assert np.abs(motion.samples["force_down_mps2"] + G).max() < 0.11 * G


def test_acceleration_is_felt_as_asked():
    motion = flown(leg("accelerate", to_kt=120, at_g=0.1), leg("accelerate", to_kt=90, kt_s=2))
    forward = motion.samples["force_forward_mps2"]
    assert forward.max() == pytest.approx(0.1 * G, rel=1e-6)
    assert forward.min() == pytest.approx(-2 * KT_MPS, rel=1e-6)
    assert motion.samples["airspeed_mps"][-1] == pytest.approx(90 * KT_MPS, abs=1e-12)


def test_a_whole_flight_stands_still_takes_off_and_stops():
    motion = flown(
        leg("wait", minutes=1),
        leg("accelerate", to_kt=15),
        leg("turn", to_deg=90, rate_deg_s=12),
        leg("accelerate", to_kt=70, at_g=0.2),
        leg("climb", to_altitude_ft=3500),
        leg("straight", minutes=2),
        leg("descend", to_altitude_ft=3000),
        leg("accelerate", to_kt=0, at_g=0.2, on_ground=True),
        leg("wait", seconds=30),
        airspeed_kt=0,
        wind_from_deg=180,
        wind_kt=20,
    )
    samples = motion.samples
    still = samples["airspeed_mps"] == 0.0
    assert still[:601].all()
    assert still[-301:].all()
    assert np.abs(samples["north_mps"][still]).max() == 0.0
    assert (samples["bank_rad"] == 0.0).all()
    taxiing = samples["airspeed_mps"] < 20 * KT_MPS
    assert np.abs(samples["yaw_rate_rad_s"][taxiing]).max() == pytest.approx(12 * DEG, rel=0.05)
    # In the air the wind is whole, and it neither comes nor goes with a jolt.
    assert samples["north_mps"].max() == pytest.approx(20 * KT_MPS, rel=1e-9)
    assert np.abs(samples["force_right_mps2"]).max() < 0.35 * G
    flying = samples["altitude_m"] > 3050 * FT_M
    assert np.abs(samples["force_right_mps2"][flying]).max() < 0.11 * G
    assert motion.slow[:601].all()
    assert samples["engine_rpm"][[300, -1]] == pytest.approx(800)
    assert samples["engine_rpm"].max() == pytest.approx(2500)
    assert np.abs(np.diff(samples["engine_rpm"])).max() < 2500 / 3.0 * 2.0 * STEP_S + 1.0


def test_distance_is_over_the_ground_and_wind_drifts_the_path():
    motion = flown(leg("straight", distance_nm=50), wind_from_deg=270, wind_kt=30, altitude_ft=0)
    assert distance_m(motion.samples, 0, -1) == pytest.approx(50 * NM_M, rel=1e-3)
    np.testing.assert_allclose(motion.samples["east_mps"], 30 * KT_MPS, rtol=1e-12)
    np.testing.assert_allclose(motion.samples["north_mps"], 100 * KT_MPS, rtol=1e-12)
    assert (motion.samples["heading_rad"] == 0.0).all()


# Distance over ground speed: 50 NM at 100 kt against 30 kt of wind ahead, and with them behind.
@pytest.mark.parametrize(("wind_from_deg", "groundspeed_kt"), [(0, 70), (180, 130)])
def test_a_distance_takes_longer_against_the_wind_than_with_it(wind_from_deg, groundspeed_kt):
    motion = flown(leg("straight", distance_nm=50), wind_from_deg=wind_from_deg, wind_kt=30, altitude_ft=0)
    assert (len(motion.samples) - 1) * STEP_S == pytest.approx(50 / groundspeed_kt * 3600.0, rel=1e-3)
    assert distance_m(motion.samples, 0, -1) == pytest.approx(50 * NM_M, rel=1e-3)


@pytest.mark.parametrize("rough", ["off", "severe"])
def test_the_derivative_of_position_is_the_velocity(rough):
    motion = flown(
        leg("rough", level=rough),
        leg("climb", to_altitude_ft=4000, rate_fpm=700),
        leg("turn", by_deg=500, bank_deg=45),
        leg("accelerate", to_kt=130),
        leg("straight", minutes=1),
        wind_from_deg=200,
        wind_kt=25,
    )
    samples = motion.samples
    step = slice(100, -100, 200)
    for i in range(len(samples))[step]:
        inverse = Geodesic.WGS84.Inverse(
            *(math.degrees(samples[n][k]) for k in (i, i + 1) for n in ("latitude_rad", "longitude_rad"))
        )
        height = 1.0 + samples["altitude_m"][i] / 6.37e6
        moved = inverse["s12"] * height / STEP_S
        along = samples["north_mps"][i : i + 2].mean()
        across = samples["east_mps"][i : i + 2].mean()
        assert moved == pytest.approx(math.hypot(along, across), rel=1e-4)
        assert math.radians(inverse["azi1"]) == pytest.approx(math.atan2(across, along), abs=1e-3)
    rise = np.gradient(samples["altitude_m"], STEP_S)
    np.testing.assert_allclose(-samples["down_mps"][1:-1], rise[1:-1], atol=0.02)


def test_the_other_hemisphere_is_the_mirror():
    def flight(sign):
        return flown(
            leg("turn", by_deg=sign * 200, bank_deg=30),
            leg("climb", to_altitude_ft=5000),
            leg("straight", minutes=20),
            leg("turn", by_deg=sign * -90, rate_deg_s=3),
            latitude_deg=sign * 50,
            heading_deg=30 if sign > 0 else 150,
            wind_from_deg=80 if sign > 0 else 100,
            wind_kt=20,
        ).samples

    north, south = flight(1), flight(-1)
    for name in ("latitude_rad", "north_mps", "bank_rad", "travel_down_rad_s", "yaw_rate_rad_s"):
        np.testing.assert_allclose(south[name], -north[name], atol=1e-9)
    for name in ("longitude_rad", "east_mps", "altitude_m", "pitch_rad", "force_down_mps2"):
        np.testing.assert_allclose(south[name], north[name], atol=1e-9)
    np.testing.assert_allclose(south["heading_rad"], math.pi - north["heading_rad"], atol=1e-9)


@pytest.mark.parametrize(
    ("key", "column", "other"),
    [("bank_deg", "bank_rad", "pitch_rad"), ("pitch_deg", "pitch_rad", "bank_rad")],
)
def test_an_upset_reaches_its_attitude_and_comes_back(key, column, other):
    motion = flown(leg("upset", **{key: -86}, rate_deg_s=40, hold_seconds=3), leg("straight", seconds=5))
    attitude = degrees(motion, column)
    assert attitude.min() == pytest.approx(-86, abs=1e-9)
    assert (attitude < -85.99).sum() * STEP_S == pytest.approx(3.0, abs=0.3)
    assert np.abs(np.gradient(attitude, STEP_S)).max() == pytest.approx(40, abs=0.5)
    assert attitude[-1] == 0.0
    assert (motion.samples[other] == 0.0).all()
    assert (motion.samples["heading_rad"] == 0.0).all()
    assert any("Leg 1 is an upset" in note for note in motion.notes)


def test_events_come_at_their_moments_in_order_of_time():
    motion = flown(
        leg("set", from_="compass", misreading_deg=-2, after_seconds=90),
        leg("fault", name="filter", size=0.4),
        leg("straight", minutes=1),
        leg("cage"),
        leg("fault", name="pump"),
        leg("straight", minutes=1),
        leg("uncage"),
        leg("set", from_="truth"),
    )
    seen = [(event.time_s, event.kind, event.name) for event in motion.events]
    assert [kind for _, kind, _ in seen] == ["fault", "cage", "fault", "set", "uncage", "set"]
    np.testing.assert_allclose([time for time, _, _ in seen], [0, 60, 60, 90, 120, 120])
    assert seen[3][2] == "compass"
    assert motion.events[3].misreading_deg == -2
    assert motion.events[0].size == 0.4
    assert math.isnan(motion.events[2].size)
    assert motion.duration_s == pytest.approx(120.0)


def test_the_start_is_kept_in_utc_and_the_notes_say_what_was_assumed():
    motion = flown(leg("straight", minutes=1), start_utc="2026-03-01T12:00:00+02:00")
    assert motion.start_utc.isoformat() == "2026-03-01T10:00:00+00:00"
    assert motion.title == "test"
    assert "No wind." in motion.notes
    assert any("Engine speed is assumed" in note for note in motion.notes)
    told = flown(leg("straight", minutes=1, engine_rpm=2200), wind_from_deg=10, wind_kt=5)
    assert not any("Engine speed" in note for note in told.notes)
    assert any("Wind from 10 deg at 5 kt" in note for note in told.notes)
