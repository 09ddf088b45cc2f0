"""Where a geodesic ends, and by how much it turns against the meridians: by GeographicLib."""

from typing import NamedTuple

from geographiclib.geodesic import Geodesic


class Way(NamedTuple):
    """A geodesic between two points: its length, and its true azimuths at both ends (0 <= azimuth < 360)."""

    distance_m: float
    start_azimuth_deg: float
    end_azimuth_deg: float


def way_between(
    from_latitude_deg: float, from_longitude_deg: float, to_latitude_deg: float, to_longitude_deg: float
) -> Way:
    """The geodesic from one point to another."""
    found = Geodesic.WGS84.Inverse(from_latitude_deg, from_longitude_deg, to_latitude_deg, to_longitude_deg)
    return Way(found["s12"], found["azi1"] % 360.0, found["azi2"] % 360.0)


class Place(NamedTuple):
    """A point reached along a geodesic, and the true azimuth of the geodesic there (0 <= azimuth < 360)."""

    latitude_deg: float
    longitude_deg: float
    azimuth_deg: float


def destination(latitude_deg: float, longitude_deg: float, azimuth_deg: float, distance_m: float) -> Place:
    """The point a distance away along the geodesic of a true azimuth; longitude in [-180, 180]."""
    found = Geodesic.WGS84.Direct(latitude_deg, longitude_deg, azimuth_deg, distance_m)
    return Place(float(found["lat2"]), float(found["lon2"]), float(found["azi2"]) % 360.0)


def meridian_convergence_deg(
    from_latitude_deg: float, from_longitude_deg: float, to_latitude_deg: float, to_longitude_deg: float
) -> float:
    """Azimuth of a geodesic at its end less that at its start, in (-180, 180].

    A free gyro carried along the geodesic keeps its angle to it but for the Earth's turning, so its card
    falls by this much: minus this is the transport wander of the whole way.
    """
    way = way_between(from_latitude_deg, from_longitude_deg, to_latitude_deg, to_longitude_deg)
    return 180.0 - (180.0 - (way.end_azimuth_deg - way.start_azimuth_deg)) % 360.0
