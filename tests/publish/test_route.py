"""The chart's projection against geodesics on WGS 84."""

import math

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from lubberline.publish.figures.route import _arc_label, fitted_chart, projection_for
from lubberline.units import NM_M

# A sphere against the ellipsoid: up to 0.56 % in length along a meridian, 0.2 deg in direction.
LENGTH = 6e-3
DIRECTION_DEG = 0.25


@pytest.mark.parametrize("middle", [(0.0, 10.0), (47.3, 8.5), (-35.0, 179.6), (78.0, -3.0), (-89.0, 40.0)])
@pytest.mark.parametrize("azimuth_deg", [0.0, 45.0, 130.0, 270.0])
def test_lengths_and_directions_from_the_middle_are_those_of_geodesics(middle, azimuth_deg):
    """Reference: geographiclib's geodesics (C. F. F. Karney's algorithms)."""
    far = Geodesic.WGS84.Direct(*middle, azimuth_deg, 200.0 * NM_M)
    projection = projection_for(np.array([middle[0]]), np.array([middle[1]]))
    east, north = projection.project(np.array([far["lat2"]]), np.array([far["lon2"]]))
    assert math.hypot(east[0], north[0]) == pytest.approx(200.0, rel=LENGTH)
    turned = math.degrees(math.atan2(east[0], north[0])) - azimuth_deg
    assert (turned + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=DIRECTION_DEG)


@pytest.mark.parametrize(
    ("latitude", "longitude"),
    [
        (np.linspace(50.0, 51.0, 60), np.linspace(3.0, 4.0, 60)),
        (np.linspace(-17.0, -18.0, 60), np.linspace(179.0, 181.0, 60)),
        (np.full(60, 89.0), np.linspace(-180.0, 180.0, 60)),
        (np.full(3, 10.0), np.full(3, 20.0)),
    ],
)
def test_the_whole_route_lies_in_its_box(latitude, longitude):
    box = (24.0, 100.0, 470.0, 300.0)
    x, y = fitted_chart(latitude, longitude, box).place(latitude, longitude)
    assert x.min() > 24.0
    assert x.max() < 494.0
    assert y.min() > 100.0
    assert y.max() < 400.0


def test_north_is_up_and_east_is_right():
    chart = fitted_chart(np.array([50.0, 51.0]), np.array([3.0, 5.0]), (0.0, 0.0, 400.0, 300.0))
    x, y = chart.place(np.array([50.0, 51.0]), np.array([3.0, 5.0]))
    assert x[1] > x[0]
    assert y[1] < y[0]


@pytest.mark.parametrize(
    ("minutes", "step", "signs", "label"),
    [
        (3130.0, 10.0, "NS", "52°10′N"),
        (-3120.0, 60.0, "NS", "52°S"),
        (0.0, 60.0, "EW", "0°"),
        (-4.5, 0.5, "EW", "0°04.5′W"),
        (179.9999999999, 10.0, "EW", "3°00′E"),
    ],
)
def test_labels_of_the_graticule(minutes, step, signs, label):
    assert _arc_label(minutes, step, signs) == label
