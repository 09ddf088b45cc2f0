"""A recorded flight joined to a log by time."""

import numpy as np
import pytest

from lubberline.flight.tracks.fixes import Fixes
from lubberline.simulation.aircraft import Aircraft
from lubberline.upkeep.explained import explained
from lubberline.upkeep.log import join_fixes, log_from_text
from lubberline.upkeep.records import Log
from tests.references.geodesics import destination, meridian_convergence_deg

HEAD = "time_utc,place,indicated,compass,set_at\n"
START_S = 1_778_576_400.0  # 2026-05-12T09:00Z


def fixes(latitude: np.ndarray, longitude: np.ndarray, minutes: float = 60.0) -> Fixes:
    count = len(latitude)
    nothing = np.full(count, np.nan)
    return Fixes(
        source="flight.gpx",
        time_utc_s=START_S + np.linspace(0.0, 60.0 * minutes, count),
        latitude_deg=latitude,
        longitude_deg=longitude,
        altitude_m=np.full(count, 1000.0),
        groundspeed_kt=nothing,
        track_deg=nothing,
        line=np.arange(count),
        title="",
    )


def log(set_at: str, time: str) -> Log:
    return log_from_text("log.csv", HEAD + f"2026-05-12T{time}Z,0 0,1,1,{set_at}Z\n")


def test_place_speed_and_track_come_from_the_flight() -> None:
    flown = fixes(np.linspace(60.0, 60.0, 61), np.linspace(10.0, 14.0, 61))
    joined, told = join_fixes(log("09:15", "09:45"), flown)
    assert told == 1
    (check,) = joined.checks
    assert (check.latitude_deg, check.longitude_deg) == pytest.approx((60.0, 13.0))
    assert check.track_deg == pytest.approx(90.0)
    # Four degrees of longitude in an hour at 60 north: 4 x 60 x cos 60 = 120 nautical miles (spherical).
    assert check.groundspeed_kt == pytest.approx(120.0, rel=0.005)


def test_a_flight_of_another_hour_tells_nothing() -> None:
    flown = fixes(np.linspace(60.0, 61.0, 61), np.linspace(10.0, 14.0, 61))
    before = log("08:15", "08:45")
    joined, told = join_fixes(before, flown)
    assert told == 0
    assert joined == before


def test_the_date_line_is_no_journey_round_the_earth() -> None:
    longitude = (np.linspace(178.0, 182.0, 61) + 180.0) % 360.0 - 180.0
    (check,) = join_fixes(log("09:00", "10:00"), fixes(np.full(61, 60.0), longitude))[0].checks
    assert check.groundspeed_kt == pytest.approx(120.0, rel=0.005)
    assert check.longitude_deg == pytest.approx(-178.0)


@pytest.mark.parametrize(("latitude", "azimuth"), [(60.0, 70.0), (-45.0, 250.0), (78.0, 40.0), (5.0, 130.0)])
def test_the_journey_is_minus_the_convergence_of_the_great_circle(latitude: float, azimuth: float) -> None:
    """GeographicLib's azimuths at both ends of a geodesic; a free gyro keeps its angle to it."""
    steps = [destination(latitude, 20.0, azimuth, 2000.0 * k) for k in range(61)]
    flown = fixes(
        np.array([step.latitude_deg for step in steps]), np.array([step.longitude_deg for step in steps])
    )
    checks = join_fixes(log("09:00", "10:00"), flown)[0].checks
    end = steps[-1]
    turned = meridian_convergence_deg(latitude, 20.0, end.latitude_deg, end.longitude_deg)
    assert explained(checks, Aircraft(), 1.0).travel[0] == pytest.approx(-turned, abs=0.02)
