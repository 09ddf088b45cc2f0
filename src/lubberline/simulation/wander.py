"""The quick sums on a blackboard: apparent and transport wander at a place, in degrees an hour."""

from __future__ import annotations

import math
from typing import NamedTuple

from lubberline.earth.constants import EARTH_RATE_RAD_S, GREATEST_LATITUDE_DEG
from lubberline.earth.ellipsoid import transport_rate_rad_s
from lubberline.errors import InputError
from lubberline.units import DEG, HOUR_S, KT_MPS

GREATEST_SPEED_KT = 700.0


class Wander(NamedTuple):
    """Rates of the card's reading, positive rising; degrees an hour."""

    earth_deg_h: float
    travel_deg_h: float

    @property
    def total_deg_h(self) -> float:
        """Both together."""
        return self.earth_deg_h + self.travel_deg_h


def _checked(name: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise InputError(name, f"{value:g} is out of range", f"give {low:g} to {high:g}")


def wander(latitude_deg: float, groundspeed_kt: float = 0.0, track_deg: float = 90.0) -> Wander:
    """Apparent wander and transport wander of a free, perfect gyro's card at sea level.

    Apparent wander is -Omega sin(latitude); transport wander -(v_E / R_N) tan(latitude), R_N the radius
    of WGS 84 across the meridian.

    Args:
        latitude_deg: north positive, to 89.9.
        groundspeed_kt: 0 to 700.
        track_deg: true, 0 to 360.

    Raises:
        InputError: for a value out of range or not a number.
    """
    _checked("latitude", latitude_deg, -GREATEST_LATITUDE_DEG, GREATEST_LATITUDE_DEG)
    _checked("groundspeed", groundspeed_kt, 0.0, GREATEST_SPEED_KT)
    _checked("track", track_deg, 0.0, 360.0)
    latitude = latitude_deg * DEG
    speed_mps = groundspeed_kt * KT_MPS
    north, east = speed_mps * math.cos(track_deg * DEG), speed_mps * math.sin(track_deg * DEG)
    _, _, travel = transport_rate_rad_s(latitude, 0.0, north, east)
    per_hour = HOUR_S / DEG
    return Wander(-EARTH_RATE_RAD_S * math.sin(latitude) * per_hour, travel * per_hour)
