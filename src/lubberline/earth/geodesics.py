"""Shortest ways over the WGS 84 ellipsoid, by GeographicLib: distance, azimuths, destination, convergence."""

from __future__ import annotations

import math
from typing import NamedTuple

from geographiclib.geodesic import Geodesic

from lubberline.errors import InputError

_WGS84 = Geodesic.WGS84


class Way(NamedTuple):
    """A geodesic between two points: its length, and its true azimuths at both ends (0 <= azimuth < 360)."""

    distance_m: float
    start_azimuth_deg: float
    end_azimuth_deg: float


class Place(NamedTuple):
    """A point reached along a geodesic, and the true azimuth of the geodesic there (0 <= azimuth < 360)."""

    latitude_deg: float
    longitude_deg: float
    azimuth_deg: float


def _checked(latitude_deg: float, longitude_deg: float) -> tuple[float, float]:
    if not (abs(latitude_deg) <= 90.0 and math.isfinite(longitude_deg)):
        raise InputError(
            "position",
            f"latitude {latitude_deg}, longitude {longitude_deg} is no place",
            "give a latitude of -90 to 90 deg and a number for longitude",
        )
    return latitude_deg, longitude_deg


def way_between(
    from_latitude_deg: float, from_longitude_deg: float, to_latitude_deg: float, to_longitude_deg: float
) -> Way:
    """The geodesic from one point to another.

    Raises:
        InputError: a position that is no number, or a latitude beyond 90 deg.
    """
    start = _checked(from_latitude_deg, from_longitude_deg)
    end = _checked(to_latitude_deg, to_longitude_deg)
    found = _WGS84.Inverse(*start, *end, Geodesic.DISTANCE | Geodesic.AZIMUTH)
    return Way(float(found["s12"]), float(found["azi1"]) % 360.0, float(found["azi2"]) % 360.0)


def distance_m(
    from_latitude_deg: float, from_longitude_deg: float, to_latitude_deg: float, to_longitude_deg: float
) -> float:
    """Length of the geodesic between two points; errors as for `way_between`."""
    return way_between(from_latitude_deg, from_longitude_deg, to_latitude_deg, to_longitude_deg).distance_m


def destination(latitude_deg: float, longitude_deg: float, azimuth_deg: float, distance_m: float) -> Place:
    """The point a distance away along the geodesic that leaves at a true azimuth; longitude in [-180, 180].

    Raises:
        InputError: a position that is no number, or a latitude beyond 90 deg.
    """
    start = _checked(latitude_deg, longitude_deg)
    found = _WGS84.Direct(*start, azimuth_deg, distance_m)
    return Place(float(found["lat2"]), float(found["lon2"]), float(found["azi2"]) % 360.0)


def meridian_convergence_deg(
    from_latitude_deg: float, from_longitude_deg: float, to_latitude_deg: float, to_longitude_deg: float
) -> float:
    """Azimuth of a geodesic at its end less that at its start, in (-180, 180]; errors as for `way_between`.

    A free gyro carried along the geodesic keeps its angle to it but for the Earth's turning, so its card
    falls by this much: minus this is the transport wander of the whole way.
    """
    way = way_between(from_latitude_deg, from_longitude_deg, to_latitude_deg, to_longitude_deg)
    return 180.0 - (180.0 - (way.end_azimuth_deg - way.start_azimuth_deg)) % 360.0
