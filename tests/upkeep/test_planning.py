"""Plans against the engine's own flights, against sums by hand, and against geodesy by others."""

import math
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest

from lubberline import fly
from lubberline.errors import InputError
from lubberline.flight.flights import read_flight
from lubberline.flight.tracks.motion import Wind
from lubberline.instruments.compass import coefficients_of
from lubberline.instruments.compass.deviation import steer_deg
from lubberline.simulation.aircraft import Aircraft, HeadingIndicatorEntry, read_aircraft
from lubberline.simulation.flying import fly_ensemble, prepare_flight
from lubberline.simulation.heading_indicator.ledger import DRIFT_COLUMNS
from lubberline.upkeep.planning import HEALTHY, expected_of, own_wander_of, plan_of, spread_deg
from lubberline.upkeep.records import OwnWander
from lubberline.upkeep.routes import (
    Flying,
    Waypoint,
    heading_in_wind_deg,
    motion_of,
    parse_day,
    read_route,
    rhumb,
    route_from_text,
    waypoints_from_csv,
    waypoints_from_gpx,
)

DEMO = Path(__file__).parents[2] / "demo"
EASTBOUND = DEMO / "flights" / "eastbound_60n.toml"
NO_CHANCE = Aircraft(
    name="without chance",
    heading_indicator=HeadingIndicatorEntry(
        real_wander_deg_15min=0.8, random_wander_deg_15min=0.0, balance_latitude_deg=45.0
    ),
)
NOON = datetime(2026, 5, 12, 12, 0, tzinfo=UTC)


def level_flight(latitude_deg: float, to: Waypoint | None = None) -> object:
    """An hour or so due north at 100 kt, or to a place."""
    start = Waypoint("A", latitude_deg, 10.0)
    return motion_of("route", (start, to or Waypoint("B", latitude_deg + 1.5, 10.0)), Flying(NOON))


def test_drift_by_cause_is_that_of_the_same_flight_flown() -> None:
    plan = plan_of(read_route(EASTBOUND), NO_CHANCE)
    flown = fly(EASTBOUND, NO_CHANCE, set_from="truth")
    for name in DRIFT_COLUMNS:
        planned = sum(leg.drift_deg[name.removesuffix("_deg")] for leg in plan.legs)
        planned *= 15.0 / plan.duration_min
        assert planned == pytest.approx(flown.summary["drift_deg_15min"][name], abs=0.02), name


def test_error_between_settings_is_that_of_the_same_flight_flown() -> None:
    # A plan sets it at its own moments, so the flight is compared up to the first of them.
    motion = level_flight(58.0)
    plan = plan_of(motion, NO_CHANCE, limit_deg=8.0)
    flown = fly(motion, NO_CHANCE)
    first = plan.settings[1].at_min if len(plan.settings) > 1 else plan.duration_min
    for minute, expected in zip(plan.time_min, plan.expected_deg, strict=True):
        if minute < first:
            row = round(minute * 60.0)
            assert expected == pytest.approx(flown.trace["heading_error_deg"][row], abs=0.05)


def test_the_interval_holds_what_many_such_instruments_do() -> None:
    # Each member of the ensemble draws its own constant wander and its own slow random part.
    entry = HeadingIndicatorEntry(real_wander_sd_deg_15min=1.0, random_wander_deg_15min=0.6)
    aircraft = Aircraft(heading_indicator=entry)
    motion = level_flight(50.0, Waypoint("B", 50.75, 10.0))
    panel, actions = prepare_flight(motion, aircraft, set_from="truth")
    found = fly_ensemble(panel, actions, 150, seed=3).columns
    _, expected = expected_of(motion, aircraft, OwnWander(0.0, 1.0, "test"))
    last = len(expected.total) - 1
    sd = float(spread_deg(expected, OwnWander(0.0, 1.0, "test"), 0, 0.0)[last])
    low, high = (float(found[f"error_p{share}_deg"][last]) for share in ("05", "95"))
    # 150 draws: the two quantiles are known to about 13 %.
    assert (high - low) / (2.0 * 1.645) == pytest.approx(sd, rel=0.2)


def test_the_sum_on_the_blackboard() -> None:
    # 15.041 sin(60) + 100 kt tan(60) / 60 nm a degree: an hour due east at 60 N, by hand.
    east = Waypoint("B", 60.0, 10.0 + 100.0 / 60.0 / math.cos(math.radians(60.0)))
    aircraft = Aircraft(heading_indicator=HeadingIndicatorEntry(random_wander_deg_15min=0.0))
    (leg,) = plan_of(level_flight(60.0, east), aircraft).legs
    hours = (leg.end_min - leg.begin_min) / 60.0
    assert hours == pytest.approx(1.0, abs=0.01)
    assert leg.drift_deg["earth"] / hours == pytest.approx(-15.041 * math.sin(math.radians(60.0)), abs=0.02)
    assert leg.drift_deg["travel"] / hours == pytest.approx(
        -100 / 60 * math.tan(math.radians(60.0)), abs=0.02
    )


def test_south_of_the_equator_the_drift_is_the_other_way() -> None:
    aircraft = Aircraft(heading_indicator=HeadingIndicatorEntry(random_wander_deg_15min=0.0))
    north, south = (
        plan_of(level_flight(latitude), aircraft).legs[0].drift_deg["earth"] for latitude in (44.25, -45.75)
    )
    assert south == pytest.approx(-north, rel=0.01)
    assert north < 0.0


@pytest.mark.parametrize("limit_deg", [5.0, 6.0, 10.0])
def test_set_as_planned_it_stays_within_the_limit(limit_deg: float) -> None:
    plan = plan_of(
        read_route(EASTBOUND), read_aircraft(DEMO / "aircraft" / "zz_oak.toml"), HEALTHY, limit_deg
    )
    assert all(setting.kept for setting in plan.settings)
    assert max(plan.high_deg) <= limit_deg + 0.05
    assert min(plan.low_deg) >= -limit_deg - 0.05


def test_a_tighter_limit_asks_for_more_settings() -> None:
    motion, aircraft = read_route(EASTBOUND), Aircraft()
    counts = [len(plan_of(motion, aircraft, HEALTHY, limit).settings) for limit in (4.0, 6.0, 12.0)]
    assert counts[0] > counts[1] > counts[2]


def test_a_limit_no_reading_can_keep_is_said() -> None:
    plan = plan_of(level_flight(50.0), Aircraft(), limit_deg=1.5)
    assert any("no setting keeps the error within 1.5 deg" in note for note in plan.notes)
    # It goes on setting all the same, and does not hang.
    assert len(plan.settings) > 3


def test_where_the_level_field_is_weak_the_compass_is_not_trusted() -> None:
    # WMM-2025: under 6,000 nT to the north of Canada, under 2,000 nT round the pole itself.
    plan = plan_of(
        motion_of("north", (Waypoint("A", 66.0, -80.0), Waypoint("B", 74.0, -95.0)), Flying(NOON)),
        Aircraft(),
    )
    assert plan.legs[-1].zone == "caution"
    assert any(setting.zone == "caution" for setting in plan.settings)
    assert any("not reliable" in note for note in plan.notes)
    home = plan_of(level_flight(45.0), Aircraft())
    assert home.legs[0].zone == ""
    assert not any("not reliable" in note for note in home.notes)


def test_set_to_true_headings_the_change_of_variation_is_no_drift() -> None:
    motion = read_route(EASTBOUND)
    magnetic, true = (plan_of(motion, Aircraft(), true_reference=to) for to in (False, True))
    assert abs(sum(leg.drift_deg["variation_change"] for leg in magnetic.legs)) > 1.0
    assert all(leg.drift_deg["variation_change"] == 0.0 for leg in true.legs)


def test_the_heading_to_steer_brings_the_magnetic_heading() -> None:
    aircraft = read_aircraft(DEMO / "aircraft" / "zz_ash.toml")
    fit = coefficients_of(aircraft)
    for magnetic in (0.0, 77.0, 200.0, 359.0):
        h = math.radians(steer_deg(magnetic, fit))
        deviation = (
            fit.a_deg
            + fit.b_deg * math.sin(h)
            + fit.c_deg * math.cos(h)
            + fit.d_deg * math.sin(2 * h)
            + fit.e_deg * math.cos(2 * h)
        )
        reached = math.degrees(h) + deviation
        assert math.remainder(reached - magnetic, 360.0) == pytest.approx(0.0, abs=1e-9)


def test_what_is_believed_of_an_aircraft_comes_from_its_file_or_from_health() -> None:
    assert own_wander_of(Aircraft(heading_indicator=HeadingIndicatorEntry())) == HEALTHY
    assert own_wander_of(NO_CHANCE).mean_deg_15min == 0.8
    assert own_wander_of(Aircraft()).sd_deg_15min == 1.0


def test_the_events_of_the_flight_that_set_it_are_left_to_the_plan() -> None:
    with_settings = read_flight(EASTBOUND)
    without = replace(with_settings, events=())
    assert any(event.kind == "set" for event in with_settings.events)
    assert plan_of(with_settings, NO_CHANCE) == plan_of(without, NO_CHANCE)


@pytest.mark.parametrize(
    ("start", "end"),
    [
        ((47.0, 8.0), (52.0, 20.0)),
        ((60.0, 10.0), (60.0, 14.0)),
        ((-35.0, 170.0), (-30.0, -175.0)),
        ((10.0, 0.0), (-20.0, 0.0)),
    ],
)
def test_a_rhumb_line_walked_in_small_geodesics_arrives(start: tuple, end: tuple) -> None:
    # An independent way: GeographicLib's geodesics, 200 m at a time at a constant azimuth.
    from geographiclib.geodesic import Geodesic

    line = rhumb(Waypoint("A", *start), Waypoint("B", *end))
    latitude, longitude = start
    steps = round(line.distance_nm * 1852.0 / 2000.0)
    for _ in range(steps):
        at = Geodesic.WGS84.Direct(latitude, longitude, line.track_deg, line.distance_nm * 1852.0 / steps)
        # The azimuth in the middle of a step is the constant one.
        bent = line.track_deg - (at["azi2"] - line.track_deg) / 2.0
        at = Geodesic.WGS84.Direct(latitude, longitude, bent, line.distance_nm * 1852.0 / steps)
        latitude, longitude = at["lat2"], at["lon2"]
    missed = Geodesic.WGS84.Inverse(latitude, longitude, *end)["s12"]
    assert missed < 30.0


def test_a_route_in_a_wind_arrives_near_its_waypoints() -> None:
    route = (Waypoint("A", 47.0, 8.0), Waypoint("B", 47.8, 9.4), Waypoint("C", 47.1, 10.2))
    motion = motion_of("route", route, Flying(NOON, 100.0, 3000.0, Wind(270.0, 30.0)))
    end = motion.samples[-1]
    from geographiclib.geodesic import Geodesic

    missed_m = Geodesic.WGS84.Inverse(
        math.degrees(end["latitude_rad"]), math.degrees(end["longitude_rad"]), 47.1, 10.2
    )["s12"]
    # The turn's own size, at 100 kt and 15 deg of bank, is about 1 km.
    assert missed_m < 2500.0


def test_the_wind_triangle_of_a_navigation_exercise() -> None:
    # By hand: track 090, 100 kt, wind 360/20: 11.54 deg into the wind.
    assert heading_in_wind_deg(90.0, 100.0, Wind(0.0, 20.0)) == pytest.approx(78.46, abs=0.005)
    with pytest.raises(InputError, match="too strong"):
        heading_in_wind_deg(90.0, 20.0, Wind(90.0, 30.0))


CSV = "name,latitude_deg,longitude_deg\nHome,47.5,8.5\nLake,47.9,9.4\n"
GPX = """<?xml version="1.0"?>
<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><rte>
<rtept lat="47.5" lon="8.5"><name>Home</name></rtept>
<rtept lat="47.9" lon="9.4"><name>Lake</name></rtept></rte></gpx>"""


def test_waypoints_are_read_alike_from_csv_and_gpx() -> None:
    assert waypoints_from_csv("r.csv", CSV) == waypoints_from_gpx("r.gpx", GPX)
    assert waypoints_from_csv("r.csv", CSV)[1] == Waypoint("Lake", 47.9, 9.4)
    only = waypoints_from_gpx("w.gpx", GPX.replace("rtept", "wpt").replace("<rte>", "").replace("</rte>", ""))
    assert [point.name for point in only] == ["Home", "Lake"]


@pytest.mark.parametrize(
    ("name", "text", "wrong"),
    [
        ("r.csv", "", "the file is empty"),
        ("r.csv", "name,lat,longitude_deg\nA,1,2\n", "line 1: unknown column 'lat'"),
        ("r.csv", "name,latitude_deg,longitude_deg\nA,47,5,8\n", "line 2: 4 cells"),
        ("r.csv", "name,latitude_deg,longitude_deg\nA,x,8\nB,1,1\n", "line 2, latitude: 'x'"),
        ("r.csv", "name,latitude_deg,longitude_deg\nA,91,8\nB,1,1\n", "line 2, latitude: 91"),
        (
            "r.csv",
            "name,latitude_deg,longitude_deg\nA,nan,8\nB,1,1\n",
            "line 2, latitude: 'nan' is not a number",
        ),
        ("r.csv", "name,latitude_deg,longitude_deg\nA,1,8\n", "1 waypoints"),
        ("r.csv", "name,latitude_deg,longitude_deg\nA,1,8\nB,1,8\n", "'B' is 0.00 nm from the one before"),
        ("r.gpx", "<gpx><rte></rte></gpx>", "no route and no waypoints"),
        ("r.gpx", "<!DOCTYPE gpx [<!ENTITY a 'b'>]><gpx>&a;</gpx>", "a document type or an entity"),
        ("r.gpx", "<gpx><rte>", "not well-formed"),
        ("r.gpx", "<gpx><rtept lat='1'/><rtept lat='2' lon='3'/></gpx>", "longitude: '' is not a number"),
    ],
)
def test_a_wrong_route_is_told_with_its_place(name: str, text: str, wrong: str) -> None:
    with pytest.raises(InputError, match=wrong):
        route_from_text(name, text, date(2026, 5, 12))


def test_a_day_moves_a_legs_file_and_waypoints_need_one() -> None:
    assert read_route(EASTBOUND, date(2019, 3, 1)).start_utc.isoformat().startswith("2019-03-01T08:30")
    with pytest.raises(InputError, match="waypoints have no date"):
        route_from_text("r.csv", CSV)
    with pytest.raises(InputError, match="'2026-13-01' is not a day"):
        parse_day("2026-13-01")
    with pytest.raises(InputError, match="--kt: 5 is out of range"):
        route_from_text("r.csv", CSV, date(2026, 5, 12), airspeed_kt=5.0)
    with pytest.raises(InputError, match="limit: 0 deg"):
        plan_of(read_route(EASTBOUND), Aircraft(), limit_deg=0.0)


def test_a_recorded_track_is_a_route_too() -> None:
    track = "time_utc,latitude_deg,longitude_deg,altitude_m\n" + "".join(
        f"2026-06-21T09:{k // 60:02d}:{k % 60:02d}Z,{50 + k * 0.0005:.6f},8.0,1500\n"
        for k in range(0, 900, 5)
    )
    motion = route_from_text("track.csv", track, date(2025, 1, 2))
    assert motion.kind == "track"
    assert motion.start_utc.date() == date(2025, 1, 2)
    assert np.isclose(plan_of(motion, Aircraft()).duration_min, 895 / 60, atol=0.1)
