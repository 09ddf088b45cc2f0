"""The magnetic field as one flies: two places' field and slope, blended as the one is left for the other."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from lubberline.angles import wrapped_rad
from lubberline.compiled import kernel
from lubberline.earth.magnetic import KNOT_DISTANCE_M, KNOT_HEIGHT_M, KNOT_LONGITUDE_RAD, field_knot
from lubberline.units import SEMI_MAJOR_AXIS_M

# The field is looked up again, and its slope with it, when the last place is this far behind.
RENEWED_SHARE = 0.5
BLEND_STEPS = 100


class Knot(NamedTuple):
    """The field at a place in nT, and its slopes by latitude and longitude (rad) and by height (m)."""

    latitude_rad: float
    longitude_rad: float
    altitude_m: float
    north_nt: float
    east_nt: float
    down_nt: float
    north_by_latitude: float
    east_by_latitude: float
    down_by_latitude: float
    north_by_longitude: float
    east_by_longitude: float
    down_by_longitude: float
    north_by_height: float
    east_by_height: float
    down_by_height: float


class FieldNear(NamedTuple):
    """The field from the place before, going over to that of the newer place from a step on."""

    old: Knot
    new: Knot
    since_step: int


def knot_at(latitude_rad: float, longitude_rad: float, altitude_m: float, decimal_year: float) -> Knot:
    """The field and its slope at a place."""
    values = field_knot(latitude_rad, longitude_rad, altitude_m, decimal_year)
    return Knot(latitude_rad, longitude_rad, altitude_m, *values)


def field_here(
    latitude_rad: float, longitude_rad: float, altitude_m: float, decimal_year: float
) -> FieldNear:
    """The field round a place, with nothing before."""
    knot = knot_at(latitude_rad, longitude_rad, altitude_m, decimal_year)
    return FieldNear(knot, knot, -BLEND_STEPS)


def renewed(
    near: FieldNear,
    step: int,
    latitude_rad: float,
    longitude_rad: float,
    altitude_m: float,
    decimal_year: float,
) -> FieldNear:
    """The same where its newer place is still close, else with this place as the newer one."""
    knot = near.new
    north = abs(latitude_rad - knot.latitude_rad)
    east = abs(longitude_rad - knot.longitude_rad)
    ground = math.hypot(north, east * math.cos(latitude_rad)) * SEMI_MAJOR_AXIS_M / KNOT_DISTANCE_M
    height = abs(altitude_m - knot.altitude_m) / KNOT_HEIGHT_M
    if max(ground, east / KNOT_LONGITUDE_RAD, height) < RENEWED_SHARE:
        return near
    return FieldNear(knot, knot_at(latitude_rad, longitude_rad, altitude_m, decimal_year), step)


@kernel
def _by(knot: Knot, here: Any) -> tuple[float, float, float]:
    north = here.latitude_rad - knot.latitude_rad
    east = here.longitude_rad - knot.longitude_rad
    up = here.altitude_m - knot.altitude_m
    return (
        knot.north_nt
        + knot.north_by_latitude * north
        + knot.north_by_longitude * east
        + knot.north_by_height * up,
        knot.east_nt
        + knot.east_by_latitude * north
        + knot.east_by_longitude * east
        + knot.east_by_height * up,
        knot.down_nt
        + knot.down_by_latitude * north
        + knot.down_by_longitude * east
        + knot.down_by_height * up,
    )


@kernel
def put_field(near: FieldNear, first_step: int, samples: Any, rows: Any, variation_rad: Any) -> None:
    """Fill field and unwrapped variation from the second sample on; the first are there already.

    Args:
        near: the field from place.
        first_step: number of the first sample.
        samples: positions, at least as many as rows.
        rows: `FIELD_SAMPLE` records.
        variation_rad: one a row.
    """
    for i in range(1, rows.shape[0]):
        way = min(max((first_step + i - near.since_step) / BLEND_STEPS, 0.0), 1.0)
        share = way * way * (3.0 - 2.0 * way)
        north, east, down = _by(near.new, samples[i])
        if share < 1.0:
            old_north, old_east, old_down = _by(near.old, samples[i])
            north = share * north + (1.0 - share) * old_north
            east = share * east + (1.0 - share) * old_east
            down = share * down + (1.0 - share) * old_down
        rows[i].north_nt = north
        rows[i].east_nt = east
        rows[i].down_nt = down
        before = variation_rad[i - 1]
        variation_rad[i] = before + wrapped_rad(math.atan2(east, north) - before)
