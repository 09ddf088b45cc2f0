"""Real recorded flights, from the sample data inside the wheel of the PyPI package `traffic` 2.13.

Fetched by `tools/write/fetch_recorded_flights.py` and kept outside the tree. Without them and without a
network these tests are skipped; where the environment variable `CI` is set they must run.
"""

import os
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from lubberline.errors import InputError
from lubberline.flight.flights import read_flight, read_flight_bytes
from lubberline.flight.motion import Motion
from lubberline.flight.tracks.files import read_fixes
from lubberline.units import KT_MPS
from tests.flight.synthetic_tracks import off_deg, rms
from tools.write.fetch_recorded_flights import CannotFetch, recorded_flights


@pytest.fixture(scope="module")
def flights() -> dict[str, Path]:
    try:
        return recorded_flights()
    except CannotFetch as why:
        if os.environ.get("CI"):
            raise
        pytest.skip(f"no recorded flights here: {why}")


@cache
def flown(path: Path) -> Motion:
    """The motion of a recorded flight, read once for all that is claimed of it."""
    return read_flight(path)


# Hours, and the greatest share of samples that may be sparse and slow.
FLOWN = {
    "glider_franconia": (7.51, 0.3, 0.1),
    "glider_oxford": (6.82, 0.4, 0.25),
    "helicopter_st_gallen": (0.33, 0.1, 0.1),
    "helicopter_toulouse": (0.10, 0.1, 0.2),
    "light_aircraft_berlin": (2.29, 0.02, 0.02),
    "survey_toulouse": (4.67, 0.1, 0.02),
    "calibration_kiruna": (2.35, 0.02, 0.05),
    "calibration_perth": (4.31, 0.02, 0.05),
    "parabolas_biscay": (2.88, 0.02, 0.05),
}
LONG = {"glider_franconia"}


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=pytest.mark.acceptance if name in LONG else ()) for name in FLOWN]
)
def test_a_recorded_flight_flies(flights: dict[str, Path], name: str) -> None:
    hours, most_sparse, most_slow = FLOWN[name]
    motion = flown(flights[name])
    assert motion.duration_s / 3600.0 == pytest.approx(hours, abs=0.01)
    assert motion.sparse.mean() < most_sparse
    assert motion.slow.mean() < most_slow
    for column in motion.samples.dtype.names or ():
        assert np.isfinite(motion.samples[column]).all()
    speed_kt = np.hypot(motion.samples["north_mps"], motion.samples["east_mps"]) / KT_MPS
    assert speed_kt.max() < 520.0
    assert rms(np.degrees(motion.samples["bank_rad"])) < 20.0
    assert any("pressure_altitude_m" in warning for warning in motion.warnings)


@pytest.mark.parametrize("name", ["light_aircraft_berlin", "helicopter_st_gallen", "helicopter_toulouse"])
def test_positions_alone_say_what_the_columns_said(flights: dict[str, Path], name: str) -> None:
    """Speed and track as the aircraft broadcast them, against those found from the positions alone."""
    text = flights[name].read_text(encoding="utf-8").splitlines()
    places = "\n".join(",".join(line.split(",")[:4]) for line in text)
    given = read_fixes("given.csv", "\n".join(text).encode())
    motion = read_flight_bytes("bare.csv", places.encode())
    time_s = given.time_utc_s - given.time_utc_s[0]
    sample_s = motion.samples["time_s"]
    north = np.interp(time_s, sample_s, motion.samples["north_mps"])
    east = np.interp(time_s, sample_s, motion.samples["east_mps"])
    fast = given.groundspeed_kt > 60.0
    off_kt = np.hypot(north, east)[fast] / KT_MPS - given.groundspeed_kt[fast]
    turned_deg = off_deg(np.degrees(np.arctan2(east, north)), given.track_deg)[fast]
    assert np.median(np.abs(off_kt)) < 3.0
    assert np.median(np.abs(turned_deg)) < 3.0


def test_bank_against_the_roll_the_aircraft_reported(flights: dict[str, Path]) -> None:
    """An airliner flying parabolas broadcast its own roll; ours is found from fixes every 10 s."""
    path = flights["parabolas_biscay"]
    motion = flown(path)
    time_s, roll_deg = np.loadtxt(path.with_suffix(".roll"), delimiter=",", skiprows=1, unpack=True)
    within = time_s <= motion.duration_s
    time_s, roll_deg = time_s[within], roll_deg[within]
    bank_deg = np.interp(time_s, motion.samples["time_s"], np.degrees(motion.samples["bank_rad"]))
    pitch_deg = np.interp(time_s, motion.samples["time_s"], np.degrees(motion.samples["pitch_rad"]))
    # In the parabolas there is hardly a weight to bank against.
    calm = np.abs(pitch_deg) < 8.0
    assert calm.mean() > 0.7
    assert rms(roll_deg[calm]) > 7.0
    assert rms((bank_deg - roll_deg)[calm]) < 2.5


def test_silences_of_a_glider_are_named(flights: dict[str, Path]) -> None:
    motion = flown(flights["glider_oxford"])
    assert any("gap of 16.3 min" in warning for warning in motion.warnings)
    assert sum(event.kind == "gap" for event in motion.events) >= 3


def test_folded_tracks_of_the_calibration_flights_are_not_used(flights: dict[str, Path]) -> None:
    """Their track column has lost half of the circle (it lies within 90 deg of north)."""
    motion = flown(flights["calibration_kiruna"])
    assert any("track_deg is +103 deg" in warning and "not used" in warning for warning in motion.warnings)


def test_a_leap_in_a_real_track_is_refused_by_line(flights: dict[str, Path]) -> None:
    """This glider's track leaps by 3.8 km in 9 s."""
    with pytest.raises(InputError, match=r"line 616: a jump of 3.8 km since line 615, 824 kt"):
        read_flight(flights["glider_sisteron"])
