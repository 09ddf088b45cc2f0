"""Points on the ellipsoid in Earth-centred axes, where a track is smoothed: no pole, no date line."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lubberline.compiled import kernel
from lubberline.earth.geodesy import meridian_radius_m, prime_vertical_radius_m
from lubberline.units import ECCENTRICITY_SQUARED

Floats = NDArray[np.float64]


@kernel
def to_earth_axes(latitude_rad: Any, longitude_rad: Any, north_mps: Any, east_mps: Any) -> tuple[Any, Any]:
    """Points at height 0 and velocities over the ground, as (point, 3) in Earth-centred axes.

    Source: NGA.STND.0036 and any text on geodesy.
    """
    count = latitude_rad.shape[0]
    position, velocity = np.empty((count, 3)), np.empty((count, 3))
    for i in range(count):
        sin_lat, cos_lat = math.sin(latitude_rad[i]), math.cos(latitude_rad[i])
        sin_lon, cos_lon = math.sin(longitude_rad[i]), math.cos(longitude_rad[i])
        radius = prime_vertical_radius_m(latitude_rad[i])
        position[i, 0] = radius * cos_lat * cos_lon
        position[i, 1] = radius * cos_lat * sin_lon
        position[i, 2] = radius * (1.0 - ECCENTRICITY_SQUARED) * sin_lat
        velocity[i, 0] = -sin_lat * cos_lon * north_mps[i] - sin_lon * east_mps[i]
        velocity[i, 1] = -sin_lat * sin_lon * north_mps[i] + cos_lon * east_mps[i]
        velocity[i, 2] = cos_lat * north_mps[i]
    return position, velocity


@kernel
def to_level_axes(position: Any, velocity: Any, acceleration: Any, altitude_m: Any) -> Any:
    """A path in Earth-centred axes, near height 0, as the level frame of an aircraft above it sees it.

    Returns:
        (sample, 6): latitude and longitude in radians, velocity north and east, acceleration north and
        east (that of a straight, geodesic path is 0), the latter four grown to the radius at altitude.
        The latitude is exact at height 0 and off by less than 5e-10 rad a metre of height.
    """
    count = position.shape[0]
    level = np.empty((count, 6))
    for i in range(count):
        x, y, z = position[i]
        outward = math.sqrt(x * x + y * y)
        sin_lon, cos_lon = y / outward, x / outward
        rise = z / (1.0 - ECCENTRICITY_SQUARED)
        size = math.sqrt(rise * rise + outward * outward)
        sin_lat, cos_lat = rise / size, outward / size
        level[i, 0] = math.atan2(rise, outward)
        level[i, 1] = math.atan2(y, x)
        grown_north = 1.0 + altitude_m[i] / meridian_radius_m(level[i, 0])
        grown_east = 1.0 + altitude_m[i] / prime_vertical_radius_m(level[i, 0])
        for column, vector in ((2, velocity[i]), (4, acceleration[i])):
            along = cos_lon * vector[0] + sin_lon * vector[1]
            level[i, column] = grown_north * (cos_lat * vector[2] - sin_lat * along)
            level[i, column + 1] = grown_east * (cos_lon * vector[1] - sin_lon * vector[0])
    return level
