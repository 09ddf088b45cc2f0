"""Geodesics against a published example, and the carried level frame against their convergence."""

import math

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from lubberline.earth.geodesy import distance_m, transport_rate_rad_s
from lubberline.errors import InputError
from lubberline.units import DEG, NM_M
from tests.references.geodesics import destination, meridian_convergence_deg, way_between

LEGS = 60


def test_published_example():
    """GeographicLib documentation, Wellington to Salamanca; digits quoted from memory."""
    way = way_between(-41.32, 174.81, 40.96, -5.50)
    assert way.distance_m == pytest.approx(19959679.267, abs=0.001)
    assert distance_m(-41.32, 174.81, 40.96, -5.50) == pytest.approx(19959679.267, abs=0.001)
    assert way.start_azimuth_deg == pytest.approx(161.067669986, abs=1e-8)
    assert way.end_azimuth_deg == pytest.approx(18.825195123, abs=1e-8)


def test_published_destination():
    """GeographicLib documentation, 20000 km south-west of Perth; digits quoted from memory."""
    place = destination(-32.06, 115.74, 225.0, 20000e3)
    assert place.latitude_deg == pytest.approx(32.11195529, abs=1e-8)
    assert place.longitude_deg == pytest.approx(-63.95925278, abs=1e-8)


def test_destination_undoes_way_between():
    rng = np.random.default_rng(11)
    for _ in range(50):
        a, b, c, d = (
            rng.uniform(-85, 85),
            rng.uniform(-180, 180),
            rng.uniform(-85, 85),
            rng.uniform(-180, 180),
        )
        way = way_between(a, b, c, d)
        place = destination(a, b, way.start_azimuth_deg, way.distance_m)
        assert (place.latitude_deg, place.longitude_deg) == pytest.approx((c, d), abs=1e-8)
        assert place.azimuth_deg == pytest.approx(way.end_azimuth_deg, abs=1e-7)


@pytest.mark.parametrize("leg", range(LEGS))
def test_transport_wander_is_the_convergence_of_the_geodesic(leg):
    """A gyro without Earth's turning keeps its angle to the geodesic; so azimuth grows as the card falls.

    The card's fall is the integral of (v_E/R_N) tan(lat), minus the level frame's turning about down.
    """
    rng = np.random.default_rng(leg)
    latitude_deg, longitude_deg = rng.uniform(-75.0, 75.0), rng.uniform(-180.0, 180.0)
    azimuth_deg, length_m, speed_mps = rng.uniform(0.0, 360.0), rng.uniform(20.0, 800.0) * NM_M, 60.0
    line = Geodesic.WGS84.Line(latitude_deg, longitude_deg, azimuth_deg)
    nodes, weights = np.polynomial.legendre.leggauss(40)
    fall_rad = 0.0
    for node, weight in zip(nodes, weights, strict=True):
        here = line.Position(0.5 * length_m * (1.0 + node))
        course = here["azi2"] * DEG
        north_mps, east_mps = speed_mps * math.cos(course), speed_mps * math.sin(course)
        _, _, down_rad_s = transport_rate_rad_s(here["lat2"] * DEG, 0.0, north_mps, east_mps)
        fall_rad -= 0.5 * weight * down_rad_s * length_m / speed_mps
    end = destination(latitude_deg, longitude_deg, azimuth_deg, length_m)
    convergence_deg = meridian_convergence_deg(
        latitude_deg, longitude_deg, end.latitude_deg, end.longitude_deg
    )
    assert fall_rad / DEG == pytest.approx(convergence_deg, abs=1e-6)


def test_convergence_has_the_taught_size():
    """Change of longitude x sin(lat), with the mean latitude; in public texts on the theory of flight."""
    convergence_deg = meridian_convergence_deg(50.0, -4.0, 50.0, 4.0)
    assert convergence_deg == pytest.approx(8.0 * math.sin(50.0 * DEG), abs=0.01)
    assert meridian_convergence_deg(-50.0, -4.0, -50.0, 4.0) == pytest.approx(-convergence_deg, abs=1e-9)
    assert meridian_convergence_deg(10.0, 5.0, 30.0, 5.0) == pytest.approx(0.0, abs=1e-12)


def test_bad_position_says_what_is_right():
    with pytest.raises(InputError, match="latitude of -90 to 90"):
        distance_m(91.0, 0.0, 0.0, 0.0)
    with pytest.raises(InputError, match="number for longitude"):
        distance_m(10.0, math.nan, 0.0, 100.0)
