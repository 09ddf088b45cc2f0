"""What explains a check without the instrument, beside the engine that flies it and beside worked numbers.

Earth's rate 15.041067 deg in a sidereal hour's terms: IERS Conventions (2010), table 1.2, 7.292115e-5 rad/s.
"""

import math

import numpy as np
import pytest

from lubberline.angles import wrapped_deg
from lubberline.flight.legs.motion import read_legs_text
from lubberline.instruments.faults import HEALTHY
from lubberline.instruments.suction import suction_system_of
from lubberline.instruments.suction.rotor import Rotor
from lubberline.simulation.aircraft import Aircraft, CompassEntry, HeadingIndicatorEntry, SuctionEntry
from lubberline.simulation.flying import fly
from lubberline.simulation.symptoms import symptoms
from lubberline.upkeep.explained import Explained, balance_deg_15min, explained, slowness
from lubberline.upkeep.records import Check

FREE = Aircraft(heading_indicator=HeadingIndicatorEntry(random_wander_deg_15min=0.0))
EARTH_DEG_H = 7.292115e-5 * 3600.0 * 180.0 / math.pi


def check(
    latitude_deg: float = 60.0,
    *,
    longitude_deg: float = 25.0,
    minutes: float = 15.0,
    indicated_deg: float = 0.0,
    compass_deg: float = 0.0,
    set_compass_deg: float = 0.0,
    speed_kt: float = 0.0,
    track_deg: float = 0.0,
) -> Check:
    time_s = 1_780_000_000.0
    return Check(
        row=2,
        time_s=time_s,
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        indicated_deg=indicated_deg,
        compass_deg=compass_deg,
        set_s=time_s - 60.0 * minutes,
        set_compass_deg=set_compass_deg,
        groundspeed_kt=speed_kt,
        track_deg=track_deg,
        idle_inhg=math.nan,
        cruise_inhg=math.nan,
        run_down_min=math.nan,
        typed={},
    )


def of(one: Check, aircraft: Aircraft = FREE) -> Explained:
    return explained([one], aircraft, slowness(aircraft))


@pytest.mark.parametrize("latitude", [-70.0, -33.0, 0.0, 45.0, 68.0, 80.0])
def test_the_earth_takes_its_rate_times_the_sine_of_latitude(latitude: float) -> None:
    found = of(check(latitude, minutes=60.0)).earth[0]
    assert found == pytest.approx(-EARTH_DEG_H * math.sin(math.radians(latitude)), abs=1e-6)


def test_a_journey_east_at_60_north() -> None:
    """120 kt east at 60 N: (v / R) tan L on a sphere, 3.46 deg/h; within 0.5% on WGS 84."""
    found = of(check(60.0, minutes=60.0, speed_kt=120.0, track_deg=90.0)).travel[0]
    sphere = -math.degrees(120.0 / 3440.065) * math.tan(math.radians(60.0))
    assert found == pytest.approx(sphere, rel=0.005)
    west = of(check(60.0, minutes=60.0, speed_kt=120.0, track_deg=270.0)).travel[0]
    assert west == pytest.approx(-found, abs=1e-9)


def test_both_hemispheres_are_mirrors() -> None:
    north = of(check(52.0, minutes=40.0, speed_kt=110.0, track_deg=80.0))
    south = of(check(-52.0, minutes=40.0, speed_kt=110.0, track_deg=100.0))
    assert south.earth[0] == pytest.approx(-north.earth[0], abs=1e-9)
    assert south.travel[0] == pytest.approx(-north.travel[0], abs=1e-9)


def test_a_balance_holds_the_card_at_its_latitude_and_full_speed() -> None:
    balanced = Aircraft(heading_indicator=HeadingIndicatorEntry(balance_latitude_deg=45.0))
    assert balance_deg_15min(balanced, 1.0) == pytest.approx(
        EARTH_DEG_H / 4.0 * math.sin(math.radians(45.0)), abs=1e-9
    )
    assert balance_deg_15min(balanced, 2.0) == pytest.approx(2.0 * balance_deg_15min(balanced, 1.0))
    assert balance_deg_15min(FREE, 1.0) == 0.0


def test_slowness_is_that_of_the_rotor_at_cruise() -> None:
    low = Aircraft(suction=SuctionEntry(regulator_inhg=3.5))
    for aircraft in (FREE, low):
        rpm = symptoms(2400.0, 0.0, suction_system_of(aircraft), Rotor(), HEALTHY).rotor_rpm
        assert slowness(aircraft) == pytest.approx(12_000.0 / rpm)
    assert slowness(low) > slowness(FREE)


def test_deviation_where_it_was_set_and_where_it_is_read() -> None:
    """Set on compass north with 5 deg of deviation east (C), read on compass south: 10 deg between them."""
    aircraft = Aircraft(compass=CompassEntry(deviation_c_deg=5.0))
    # On compass north magnetic heading is 5, and the card is set to 0. Turned by 170 to magnetic 175, which
    # is compass 180, the card shows 170.
    found = of(check(0.0, indicated_deg=170.0, compass_deg=180.0, set_compass_deg=0.0), aircraft)
    assert found.deviation[0] == pytest.approx(-10.0)
    assert found.left[0] == pytest.approx(0.0, abs=1e-9)


def test_a_setting_not_written_is_taken_on_the_heading_of_the_check() -> None:
    aircraft = Aircraft(compass=CompassEntry(deviation_c_deg=5.0))
    assert of(check(compass_deg=123.0, set_compass_deg=math.nan), aircraft).deviation[0] == 0.0


def test_turning_all_headings_changes_nothing_without_deviation() -> None:
    one, other = (
        of(check(indicated_deg=(350.0 + turn) % 360.0, compass_deg=(3.0 + turn) % 360.0)).left[0]
        for turn in (0.0, 221.0)
    )
    assert one == pytest.approx(other, abs=1e-9)


def test_angles_are_wrapped_into_half_a_circle() -> None:
    assert wrapped_deg(np.array([180.0, -180.0, 190.0, -350.0, 0.0])).tolist() == [
        180.0,
        180.0,
        -170.0,
        10.0,
        0.0,
    ]


LEGS = """
title = "x"
start_utc = 2026-06-21T09:00:00Z
latitude_deg = {latitude}
longitude_deg = {longitude}
altitude_ft = 3000
heading_deg = {heading}
airspeed_kt = 120
[[leg]]
kind = "straight"
minutes = 2
[[leg]]
kind = "set"
[[leg]]
kind = "straight"
minutes = 45
"""
PLACES = [
    (68.0, 20.0, 90.0),
    (47.0, 9.0, 270.0),
    (0.0, 30.0, 45.0),
    (-35.0, 150.0, 135.0),
    (80.0, -20.0, 300.0),
]


@pytest.mark.parametrize(("latitude", "longitude", "heading"), PLACES)
@pytest.mark.parametrize("balance", [None, 45.0])
def test_of_a_perfect_instrument_nothing_is_left(
    latitude: float, longitude: float, heading: float, balance: float | None
) -> None:
    """The full engine flies it: Earth, journey, variation, deviation and balance are its own there."""
    aircraft = Aircraft(
        heading_indicator=HeadingIndicatorEntry(random_wander_deg_15min=0.0, balance_latitude_deg=balance),
        compass=CompassEntry(0.5, 2.0, -1.0, 0.5, 0.3),
    )
    text = LEGS.format(latitude=latitude, longitude=longitude, heading=heading)
    trace = fly(read_legs_text("x.toml", text), aircraft, set_from="compass").trace
    at, end = 120, len(trace.time_s) - 1
    one = check(
        float(trace.latitude_deg[end]),
        longitude_deg=float(trace.longitude_deg[end]),
        minutes=(end - at) / 60.0,
        indicated_deg=float(trace.indicated_heading_deg[end]),
        compass_deg=float(trace.compass_deg[end]),
        set_compass_deg=float(trace.compass_deg[at - 1]),
        speed_kt=float(np.mean(trace.groundspeed_kt[at:])),
        track_deg=float(trace.track_deg[(at + end) // 2]),
    )
    rpm = float(np.median(trace.rotor_rpm))
    parts = explained([one], aircraft, 12_000.0 / rpm)
    assert abs(parts.earth[0]) + abs(parts.travel[0]) + abs(parts.variation[0]) > 0.0
    assert abs(parts.left[0]) < 0.25
