"""The field against the published values of WMM-2025, and against IGRF-14, an independent model and code."""

import csv
import math
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import ppigrf
import pytest

from lubberline.earth.magnetic import field_along, field_at, zone_of
from lubberline.errors import InputError
from lubberline.units import DEG, KT_MPS

# tests/authorities/wmm2025_test_values.csv: components printed to 1e-6 nT, D and I to 0.01 deg.
TABLE = Path(__file__).parents[1] / "authorities" / "wmm2025_test_values.csv"
with TABLE.open(newline="") as lines:
    ROWS = [{name: float(value) for name, value in row.items()} for row in csv.DictReader(lines)]

COMPONENT_NT = 0.01
# Half the last printed digit of D and I, and a little.
ANGLE_DEG = 0.006
# IGRF-14 is another model of the same field: largest difference over these rows is 44 nT.
OTHER_MODEL_NT = 50.0


def _at(row):
    return field_at(row["lat_deg"], row["lon_deg"], row["height_km"] * 1000.0, row["year"])


def test_table_has_all_its_rows():
    assert len(ROWS) == 100


@pytest.mark.parametrize("number", range(100))
def test_every_published_row(number):
    row = ROWS[number]
    found = _at(row)
    assert found.north_nt == pytest.approx(row["X_nT"], abs=COMPONENT_NT)
    assert found.east_nt == pytest.approx(row["Y_nT"], abs=COMPONENT_NT)
    assert found.down_nt == pytest.approx(row["Z_nT"], abs=COMPONENT_NT)
    assert found.horizontal_nt == pytest.approx(row["H_nT"], abs=COMPONENT_NT)
    assert found.total_nt == pytest.approx(row["F_nT"], abs=COMPONENT_NT)
    assert found.variation_deg == pytest.approx(row["D_deg"], abs=ANGLE_DEG)
    assert found.dip_deg == pytest.approx(row["I_deg"], abs=ANGLE_DEG)


@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::FutureWarning", "ignore::UserWarning")
def test_independent_model_agrees():
    for year in sorted({row["year"] for row in ROWS}):
        rows = [row for row in ROWS if row["year"] == year]
        date = datetime(int(year), 1, 1) + timedelta(days=(year % 1.0) * 365.0)
        lon, lat, height = (np.array([row[k] for row in rows]) for k in ("lon_deg", "lat_deg", "height_km"))
        east, north, up = ppigrf.igrf(lon, lat, height, date)
        for i, row in enumerate(rows):
            found = _at(row)
            assert found.north_nt == pytest.approx(north.flat[i], abs=OTHER_MODEL_NT)
            assert found.east_nt == pytest.approx(east.flat[i], abs=OTHER_MODEL_NT)
            assert found.down_nt == pytest.approx(-up.flat[i], abs=OTHER_MODEL_NT)


@pytest.mark.parametrize(
    ("year", "latitude_deg", "longitude_deg", "zone"),
    [
        (2025.0, 89.0, -121.0, "blackout"),
        (2029.0, 87.0, -154.0, "blackout"),
        (2025.0, 80.0, -96.0, "caution"),
        (2027.0, 72.0, -115.0, "caution"),
        (2025.0, 43.0, 93.0, ""),
    ],
)
def test_zones_of_published_rows(year, latitude_deg, longitude_deg, zone):
    """Rows of the table by year, latitude and longitude; zones: 2000 and 6000 nT of horizontal field."""
    (row,) = (
        r for r in ROWS if (r["year"], r["lat_deg"], r["lon_deg"]) == (year, latitude_deg, longitude_deg)
    )
    assert _at(row).zone == zone


def test_zone_limits():
    assert [zone_of(h) for h in (1999.9, 2000.0, 5999.9, 6000.0)] == ["blackout", "caution", "caution", ""]


def test_example_of_a_tool_maker():
    """MathWorks documentation of its WMM function: 2028-07-04, 1000 m, 42.283 N 71.35 W."""
    found = field_at(42.283, -71.35, 1000.0, 2028.0 + 185.0 / 366.0)
    assert (found.north_nt, found.east_nt, found.down_nt) == pytest.approx((20139, -4905, 46532), abs=1.0)
    assert (found.variation_deg, found.dip_deg) == pytest.approx((-13.6891, 65.9899), abs=0.001)


@pytest.mark.parametrize(
    ("year", "model"),
    [
        (2010.0, "WMM-2010"),
        (2014.99, "WMM-2010"),
        (2015.0, "WMM-2015v2"),
        (2019.9, "WMM-2015v2"),
        (2020.0, "WMM-2020"),
        (2025.0, "WMM-2025"),
        (2030.0, "WMM-2025"),
    ],
)
def test_issue_of_the_date(year, model):
    along = field_along(*_straight(hours=0.01), year)
    assert along.model == model
    assert along.warnings == ()


@pytest.mark.parametrize("year", [2015.0, 2020.0, 2025.0])
def test_issues_meet(year):
    """A new issue corrects the end of the last by its error, of the order of 100 nT, not by thousands."""
    before, after = field_at(50.0, 8.0, 0.0, year - 1e-6), field_at(50.0, 8.0, 0.0, year)
    assert 0.1 < abs(before.down_nt - after.down_nt) + abs(before.north_nt - after.north_nt) < 300.0


@pytest.mark.parametrize(("year", "held"), [(1998.0, 2010.0), (2031.5, 2030.0)])
def test_other_dates_are_held_with_a_warning(year, held):
    assert field_at(50.0, 8.0, 0.0, year) == field_at(50.0, 8.0, 0.0, held)
    (warning,) = field_along(*_straight(hours=0.01), year).warnings
    assert f"{year:.1f}" in warning
    assert f"{held:.1f}" in warning


def test_bad_input_says_what_is_right():
    with pytest.raises(InputError, match="latitude of -90 to 90"):
        field_at(91.0, 0.0, 0.0, 2026.0)
    with pytest.raises(InputError, match="give a year"):
        field_at(50.0, 0.0, 0.0, math.nan)


def _flight(latitude_deg, longitude_deg, track_rad, speed_kt, altitude_m, step_s=0.1):
    mps = speed_kt * KT_MPS
    latitude = latitude_deg * DEG + np.cumsum(mps * np.cos(track_rad)) * step_s / 6371e3
    longitude = longitude_deg * DEG + np.cumsum(mps * np.sin(track_rad) / np.cos(latitude)) * step_s / 6371e3
    return latitude, longitude, np.broadcast_to(altitude_m, latitude.shape).astype(float)


def _straight(hours=2.0, speed_kt=120.0, latitude_deg=50.0, longitude_deg=-5.0, track_deg=60.0):
    track = np.full(int(hours * 36000) + 1, track_deg * DEG)
    return _flight(latitude_deg, longitude_deg, track, speed_kt, 1000.0)


def _seconds(hours):
    return np.arange(int(hours * 36000) + 1) * 0.1


FLIGHTS = {
    "long and fast, climbing to 11 km": _flight(
        20.0, 170.0, np.full(288001, 1.5), 480.0, np.minimum(10.0 * _seconds(8.0), 11000.0)
    ),
    "over the magnetic pole": _straight(2.5, 360.0, 72.0, -115.0, 0.0),
    "rate-one circles": _flight(50.0, 0.0, 3.0 * DEG * _seconds(2.0), 120.0, 800.0),
    "winding, up and down": _flight(
        -35.0,
        20.0,
        1.5 * np.sin(_seconds(2.0) / 200.0),
        120.0,
        1500.0 + 1400.0 * np.sin(_seconds(2.0) / 300.0),
    ),
    "round the pole": _straight(0.5, 120.0, 89.8, 30.0, 90.0),
    "antarctic coast": _straight(2.0, 300.0, -62.0, 135.0, 190.0),
    "at rest": _straight(0.2, 0.0),
}


@pytest.mark.parametrize("name", FLIGHTS)
def test_between_knots_the_field_is_the_model_s(name):
    """1 nT is 0.003 deg of a compass reading in middle latitudes."""
    latitude, longitude, altitude = FLIGHTS[name]
    along = field_along(latitude, longitude, altitude, 2026.3)
    for i in np.random.default_rng(7).integers(0, len(latitude), 150):
        exact = field_at(latitude[i] / DEG, longitude[i] / DEG, altitude[i], 2026.3)
        assert along.samples["north_nt"][i] == pytest.approx(exact.north_nt, abs=1.0)
        assert along.samples["east_nt"][i] == pytest.approx(exact.east_nt, abs=1.0)
        assert along.samples["down_nt"][i] == pytest.approx(exact.down_nt, abs=1.0)


def test_longitude_may_be_wrapped_or_not():
    latitude, longitude, altitude = _straight(1.0, 120.0, 10.0, 179.5, 90.0)
    assert longitude[-1] > math.pi
    wrapped = (longitude + math.pi) % (2.0 * math.pi) - math.pi
    whole = field_along(latitude, longitude, altitude, 2026.0).samples
    again = field_along(latitude, wrapped, altitude, 2026.0).samples
    for name in whole.dtype.names:
        np.testing.assert_allclose(whole[name], again[name], atol=1e-6)


def test_zones_entered_are_said():
    along = field_along(*FLIGHTS["over the magnetic pole"], 2026.3)
    assert along.zones == ("caution", "blackout")
    assert "2000 to 6000 nT" in along.warnings[0]
    assert "under 2000 nT" in along.warnings[1]
    assert field_along(*FLIGHTS["rate-one circles"], 2026.3).warnings == ()
