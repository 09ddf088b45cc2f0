"""Radii of the WGS 84 ellipsoid, and the turning of the level frame as one travels over it."""

import math

import numpy as np
from geographiclib.geodesic import Geodesic

from lubberline.arrays import Floats
from lubberline.compiled import kernel
from lubberline.errors import InputError
from lubberline.units import ECCENTRICITY_SQUARED, SEMI_MAJOR_AXIS_M


@kernel
def meridian_radius_m(latitude_rad: float) -> float:
    """Radius of curvature north-south (R_M); source: NGA.STND.0036, and any text on geodesy."""
    slimness = 1.0 - ECCENTRICITY_SQUARED * math.sin(latitude_rad) ** 2
    return SEMI_MAJOR_AXIS_M * (1.0 - ECCENTRICITY_SQUARED) / (slimness * math.sqrt(slimness))


@kernel
def prime_vertical_radius_m(latitude_rad: float) -> float:
    """Radius of curvature east-west (R_N); source as for `meridian_radius_m`."""
    return SEMI_MAJOR_AXIS_M / math.sqrt(1.0 - ECCENTRICITY_SQUARED * math.sin(latitude_rad) ** 2)


@kernel
def transport_rate_rad_s(
    latitude_rad: float, altitude_m: float, north_mps: float, east_mps: float
) -> tuple[float, float, float]:
    """Turning of the level frame by travel alone, about its north, east and down axes.

    Source: (v_E/(R_N+h), -v_N/(R_M+h), -v_E tan(lat)/(R_N+h)), in any text on inertial navigation.
    """
    east_rate = east_mps / (prime_vertical_radius_m(latitude_rad) + altitude_m)
    north_rate = north_mps / (meridian_radius_m(latitude_rad) + altitude_m)
    return east_rate, -north_rate, -east_rate * math.tan(latitude_rad)


@kernel
def walk_step(
    latitude_rad: float, altitude_m: float, north_mps: float, east_mps: float, step_s: float
) -> tuple[float, float]:
    """Latitude, and the change of longitude, after a step at a ground velocity; the midpoint rule.

    Source: dlat/dt = v_N/(R_M+h), dlon/dt = v_E/((R_N+h) cos lat).
    """
    rate = north_mps / (meridian_radius_m(latitude_rad) + altitude_m)
    middle = latitude_rad + 0.5 * step_s * rate
    after = latitude_rad + step_s * north_mps / (meridian_radius_m(middle) + altitude_m)
    radius = (prime_vertical_radius_m(middle) + altitude_m) * math.cos(middle)
    return after, step_s * east_mps / radius


@kernel
def walk(
    latitude_rad: float,
    longitude_rad: float,
    altitude_m: Floats,
    north_mps: Floats,
    east_mps: Floats,
    step_s: float,
) -> tuple[Floats, Floats]:
    """Latitude and longitude along a ground velocity sampled every `step_s`, by `walk_step`.

    Longitude is left unwrapped.
    """
    count = north_mps.shape[0]
    latitudes, longitudes = np.full(count, latitude_rad), np.full(count, longitude_rad)
    for i in range(count - 1):
        height = 0.5 * (altitude_m[i] + altitude_m[i + 1])
        north = 0.5 * (north_mps[i] + north_mps[i + 1])
        east = 0.5 * (east_mps[i] + east_mps[i + 1])
        latitudes[i + 1], change = walk_step(latitudes[i], height, north, east, step_s)
        longitudes[i + 1] = longitudes[i] + change
    return latitudes, longitudes


def distance_m(
    from_latitude_deg: float, from_longitude_deg: float, to_latitude_deg: float, to_longitude_deg: float
) -> float:
    """Length of the geodesic between two points.

    Raises:
        InputError: a position that is not a number, or a latitude beyond 90 deg.
    """
    start, end = (from_latitude_deg, from_longitude_deg), (to_latitude_deg, to_longitude_deg)
    for latitude_deg, longitude_deg in (start, end):
        if not (abs(latitude_deg) <= 90.0 and math.isfinite(longitude_deg)):
            raise InputError(
                "position",
                f"latitude {latitude_deg}, longitude {longitude_deg} is not a place",
                "give a latitude of -90 to 90 deg and a number for longitude",
            )
    return float(Geodesic.WGS84.Inverse(*start, *end, Geodesic.DISTANCE)["s12"])
