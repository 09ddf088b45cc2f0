"""The known parts of a check: apparent wander, transport wander, latitude nut, variation, deviation.

The card keeps a direction in space, so it leaves the compass by all of these since it was set; what is left
belongs to the instrument, to reading, and to the setting. The rates are the engine's own.
"""

import math
from collections.abc import Sequence
from datetime import UTC, datetime
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from lubberline.angles import wrapped_deg
from lubberline.arrays import Floats
from lubberline.compiled import kernel
from lubberline.earth.geodesy import meridian_radius_m, transport_rate_rad_s
from lubberline.earth.magnetic import field_at
from lubberline.instruments.compass import coefficients_of
from lubberline.instruments.compass.deviation import deviation_deg
from lubberline.simulation.aircraft import Aircraft
from lubberline.units import DEG, EARTH_RATE_RAD_S, KT_MPS
from lubberline.upkeep.faults_fitted import shown
from lubberline.upkeep.records import Check

# The field's slopes are taken at the middle of cells of this size; within one they hardly change.
CELL_DEG = 0.5
SLOPE_DEG = 0.2
FARTHEST_SLOPE_DEG = 89.0
LEAST_WAY_DEG = 1e-3


class Explained(NamedTuple):
    """Columns of degrees, one value a check."""

    seen: Floats
    earth: Floats
    travel: Floats
    balance: Floats
    variation: Floats
    deviation: Floats

    @property
    def left(self) -> Floats:
        """What remains, within half a circle."""
        gone = self.earth + self.travel + self.balance + self.variation + self.deviation
        return wrapped_deg(self.seen - gone)


@kernel
def _rates(latitude_deg: Floats, speed_mps: Floats, track_deg: Floats, time_s: Floats, out: Floats) -> None:
    """Apparent and transport wander in degrees, and the starting latitude, by Simpson's rule."""
    for i in range(len(latitude_deg)):
        north = speed_mps[i] * math.cos(track_deg[i] * DEG)
        east = speed_mps[i] * math.sin(track_deg[i] * DEG)
        end = latitude_deg[i] * DEG
        back = -north * time_s[i] / meridian_radius_m(end)
        earth = travel = 0.0
        for k in range(3):
            weight = 4.0 / 6.0 if k == 1 else 1.0 / 6.0
            here = end + 0.5 * k * back
            earth -= weight * EARTH_RATE_RAD_S * math.sin(here)
            travel += weight * transport_rate_rad_s(here, 0.0, north, east)[2]
        out[0, i] = earth * time_s[i] / DEG
        out[1, i] = travel * time_s[i] / DEG
        out[2, i] = (end + back) / DEG


@lru_cache(maxsize=4096)
def _slopes(latitude_cell: int, longitude_cell: int, half_year: int) -> tuple[float, float]:
    """Change of variation by degree of latitude and of longitude at the middle of a cell."""
    latitude = max(min((latitude_cell + 0.5) * CELL_DEG, FARTHEST_SLOPE_DEG), -FARTHEST_SLOPE_DEG)
    longitude = (longitude_cell + 0.5) * CELL_DEG
    year = half_year / 2.0

    def variation(lat: float, lon: float) -> float:
        return field_at(lat, lon, 0.0, year).variation_deg

    north = variation(latitude + SLOPE_DEG, longitude) - variation(latitude - SLOPE_DEG, longitude)
    east = variation(latitude, longitude + SLOPE_DEG) - variation(latitude, longitude - SLOPE_DEG)
    return tuple(wrapped_deg(step) / (2.0 * SLOPE_DEG) for step in (north, east))  # type: ignore[return-value]


def _variation_change(checks: Sequence[Check], start_latitude: Floats) -> Floats:
    """Variation at the check less that at the setting; zero at a standstill."""
    found = np.zeros(len(checks))
    for i, check in enumerate(checks):
        north = check.latitude_deg - start_latitude[i]
        way = check.groundspeed_kt * KT_MPS * (check.time_s - check.set_s)
        shrunk = max(math.cos(check.latitude_deg * DEG), 1e-3)
        east = (
            way
            * math.sin(check.track_deg * DEG)
            / (meridian_radius_m(check.latitude_deg * DEG) * shrunk)
            / DEG
        )
        if abs(north) + abs(east) < LEAST_WAY_DEG:
            continue
        year = datetime.fromtimestamp(check.time_s, UTC).year
        cells = (check.latitude_deg - 0.5 * north, check.longitude_deg - 0.5 * east)
        slopes = _slopes(*(math.floor(value / CELL_DEG) for value in cells), 2 * year + 1)
        found[i] = slopes[0] * north + slopes[1] * east
    return found


def balance_deg_15min(aircraft: Aircraft, rotor_slowness: float) -> float:
    """The effect of the aircraft's latitude nut, its torque over H.

    Args:
        aircraft: whose balance holds the card still at its latitude at full rotor speed.
        rotor_slowness: full rotor speed over the rotor's speed.
    """
    latitude = aircraft.heading_indicator.balance_latitude_deg
    if latitude is None:
        return 0.0
    return EARTH_RATE_RAD_S * math.sin(latitude * DEG) * 900.0 / DEG * rotor_slowness


def slowness(aircraft: Aircraft) -> float:
    """Full rotor speed over the rotor's speed at cruise, everything healthy."""
    if aircraft.heading_indicator.drive == "electric":
        return 1.0
    return float(shown(aircraft, "healthy").slowness[0])


def explained(checks: Sequence[Check], aircraft: Aircraft, rotor_slowness: float) -> Explained:
    """The parts of every check.

    Args:
        checks: in order of time.
        aircraft: with its balance and the compass's deviation.
        rotor_slowness: full rotor speed over the rotor's speed at cruise.

    The indicator is taken to have been set to what the compass read. Magnetic heading is compass plus
    deviation, so a card set by the compass starts with minus the deviation there; where the compass at the
    setting was not written, it is taken to have been on the heading of the check.
    """
    column = {
        name: np.array([getattr(check, name) for check in checks])
        for name in (
            "latitude_deg",
            "groundspeed_kt",
            "track_deg",
            "time_s",
            "set_s",
            "indicated_deg",
            "compass_deg",
            "set_compass_deg",
        )
    }
    time_s = column["time_s"] - column["set_s"]
    out = np.zeros((3, len(checks)))
    _rates(
        column["latitude_deg"],
        column["groundspeed_kt"] * KT_MPS,
        column["track_deg"],
        time_s,
        out,
    )
    own = coefficients_of(aircraft)
    here = deviation_deg(column["compass_deg"], own)
    at_setting = np.where(
        np.isnan(column["set_compass_deg"]), column["compass_deg"], column["set_compass_deg"]
    )
    return Explained(
        seen=wrapped_deg(column["indicated_deg"] - column["compass_deg"]),
        earth=out[0],
        travel=out[1],
        balance=balance_deg_15min(aircraft, rotor_slowness) * time_s / 900.0,
        variation=_variation_change(checks, out[2]),
        # Indicated less compass: the card's own error less minus the deviation here.
        deviation=here - deviation_deg(at_setting, own),
    )
