"""The Earth's magnetic field by the World Magnetic Model, at a point and along a flight.

Four issues of the model are used, each from its own explicitly named coefficient file and each valid for
five years: WMM-2010 (2010.0 to 2015.0), WMM-2015v2 (2015.0 to 2020.0), WMM-2020 (2020.0 to 2025.0) and
WMM-2025 (2025.0 to 2030.0). Other dates get the nearest issue held at its nearest valid date, and a warning.
"""

import math
import threading
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

import numpy as np
from pygeomag import GeoMag

from lubberline.angles import wrapped_deg, wrapped_rad
from lubberline.arrays import Floats, Ints, Records
from lubberline.compiled import kernel
from lubberline.errors import InputError
from lubberline.units import DEG, NM_M, SEMI_MAJOR_AXIS_M

# Source: headers of the coefficient files; NOAA NCEI and BGS, World Magnetic Model.
FIRST_YEAR = 2010.0
LAST_YEAR = 2030.0
COEFFICIENT_FILES = {
    2010.0: "wmm/WMM_2010.COF",
    2015.0: "wmm/WMM_2015v2.COF",
    2020.0: "wmm/WMM_2020.COF",
    2025.0: "wmm/WMM_2025.COF",
}

# Horizontal field under which the model's authors call a compass unreliable (The US/UK World Magnetic
# Model for 2025-2030, blackout and caution zones).
BLACKOUT_BELOW_NT = 2000.0
CAUTION_BELOW_NT = 6000.0

# The field and its slope are evaluated at knots this far apart along the path, and blended between: its
# curvature is about 0.006 nT/km2 along the ground, so half a knot away the slope is under 1 nT out.
KNOT_DISTANCE_M = 16.0 * NM_M
KNOT_HEIGHT_M = 2000.0
# Near a pole the level frame turns fast under a short travel.
KNOT_LONGITUDE_RAD = 2.0 * DEG
# Steps of the differences that give the slope.
SLOPE_ANGLE_DEG = 0.02
SLOPE_HEIGHT_M = 100.0

FIELD_SAMPLE = np.dtype([("north_nt", "f8"), ("east_nt", "f8"), ("down_nt", "f8")])

_ZONE_WARNINGS = {
    "blackout": (
        "Part of the flight is in a blackout zone round a magnetic pole (horizontal field under 2000 nT): "
        "a magnetic compass is useless there, and the variation is uncertain."
    ),
    "caution": (
        "Part of the flight is in a caution zone round a magnetic pole (horizontal field 2000 to 6000 nT): "
        "a magnetic compass is weak and slow there, and may have large errors."
    ),
}

# The library keeps scratch values in the model object, so one thread at a time may ask it.
_ONE_AT_A_TIME = threading.Lock()


@dataclass(frozen=True)
class FieldPoint:
    """The field at one point.

    Attributes:
        north_nt: component to true north.
        east_nt: component to the east.
        down_nt: component down.
        variation_deg: angle from true to magnetic north, east positive.
        dip_deg: angle below the horizontal, positive where the field points down.
        horizontal_nt: strength of the horizontal part.
        total_nt: strength of the whole.
        zone: '' | 'caution' | 'blackout', by the horizontal strength.
    """

    north_nt: float
    east_nt: float
    down_nt: float
    variation_deg: float
    dip_deg: float
    horizontal_nt: float
    total_nt: float
    zone: str


@dataclass(frozen=True)
class FieldAlong:
    """The field along a flight.

    Attributes:
        samples: one `FIELD_SAMPLE` for each position given.
        model: the issue used, for example 'WMM-2025'.
        warnings: what the reader has to know, as plain sentences.
        zones: 'caution' and 'blackout', where the flight enters them.
    """

    samples: Records
    model: str
    warnings: tuple[str, ...]
    zones: tuple[str, ...]


def zone_of(horizontal_nt: float) -> str:
    """The zone of a horizontal field strength: '' | 'caution' | 'blackout'."""
    if horizontal_nt < BLACKOUT_BELOW_NT:
        return "blackout"
    return "caution" if horizontal_nt < CAUTION_BELOW_NT else ""


@cache
def _issue(first_year: float) -> Any:
    return GeoMag(coefficients_file=COEFFICIENT_FILES[first_year])


def _issue_for(decimal_year: float) -> tuple[Any, float, tuple[str, ...]]:
    """The issue for a date, the date it is evaluated at, and a warning where the two differ."""
    if not math.isfinite(decimal_year):
        raise InputError("decimal_year", f"{decimal_year} is not a date", "give a year such as 2026.5")
    held = min(max(decimal_year, FIRST_YEAR), LAST_YEAR)
    issue = _issue(max(year for year in COEFFICIENT_FILES if year <= held))
    if held == decimal_year:
        return issue, held, ()
    warning = (
        f"The magnetic field models here are valid from {FIRST_YEAR:.1f} to {LAST_YEAR:.1f}; for "
        f"{decimal_year:.1f} {issue.model} was used as at {held:.1f}, so variation and dip may be wrong by "
        "some tenths of a degree for each year beyond."
    )
    return issue, held, (warning,)


def _components_nt(
    issue: Any, latitude_deg: float, longitude_deg: float, altitude_m: float, year: float
) -> tuple[float, float, float]:
    with _ONE_AT_A_TIME:
        found = issue.calculate(
            glat=latitude_deg, glon=wrapped_deg(longitude_deg), alt=altitude_m / 1000.0, time=year
        )
    return found.x, found.y, found.z


def field_at(latitude_deg: float, longitude_deg: float, altitude_m: float, decimal_year: float) -> FieldPoint:
    """The Earth's field at a point and date by the World Magnetic Model.

    Args:
        latitude_deg: geodetic, north positive, -90 to 90.
        longitude_deg: east positive; any number of turns.
        altitude_m: above mean sea level. The model wants height above the ellipsoid; the difference (the
            geoid, under 110 m) changes the field by less than 3 nT and is neglected.
        decimal_year: the date; outside 2010.0 to 2030.0 the nearest valid date is used instead.

    Raises:
        InputError: a position or date that is not a number, or a latitude beyond 90 deg.
    """
    if not (abs(latitude_deg) <= 90.0 and math.isfinite(longitude_deg) and math.isfinite(altitude_m)):
        raise InputError(
            "position",
            f"latitude {latitude_deg}, longitude {longitude_deg}, altitude {altitude_m} m is not a place",
            "give a latitude of -90 to 90 deg, and numbers for longitude and altitude",
        )
    issue, year, _ = _issue_for(decimal_year)
    north, east, down = _components_nt(issue, latitude_deg, longitude_deg, altitude_m, year)
    horizontal = math.hypot(north, east)
    return FieldPoint(
        north_nt=north,
        east_nt=east,
        down_nt=down,
        variation_deg=math.degrees(math.atan2(east, north)),
        dip_deg=math.degrees(math.atan2(down, horizontal)),
        horizontal_nt=horizontal,
        total_nt=math.hypot(horizontal, down),
        zone=zone_of(horizontal),
    )


def _path(latitude_rad: Floats, longitude_rad: Floats, altitude_m: Floats) -> Floats:
    """Way along a flight, counted in knots."""
    latitude_steps = np.abs(np.diff(latitude_rad))
    longitude_steps = np.abs(np.diff(longitude_rad))
    east_steps = longitude_steps * np.cos(latitude_rad[1:])
    ground = np.hypot(latitude_steps, east_steps) * (SEMI_MAJOR_AXIS_M / KNOT_DISTANCE_M)
    steps = np.maximum(ground, longitude_steps / KNOT_LONGITUDE_RAD)
    steps = np.maximum(steps, np.abs(np.diff(altitude_m)) / KNOT_HEIGHT_M)
    return np.concatenate(([0.0], np.cumsum(steps)))


def _knot_values(issue: Any, places: Floats, year: float) -> Floats:
    """Per knot a 4 x 3 table: the field in nT, and its slope by latitude, longitude (rad) and height (m)."""
    table = np.empty((len(places), 4, 3))
    for k, (latitude_rad, longitude_rad, altitude_m) in enumerate(places):
        latitude_deg, longitude_deg = latitude_rad / DEG, longitude_rad / DEG
        # Towards the equator, so that a step near a pole does not lead beyond it.
        step_deg = -math.copysign(SLOPE_ANGLE_DEG, latitude_deg)
        table[k] = [
            _components_nt(issue, latitude_deg + north, longitude_deg + east, altitude_m + up, year)
            for north, east, up in (
                (0.0, 0.0, 0.0),
                (step_deg, 0.0, 0.0),
                (0.0, SLOPE_ANGLE_DEG, 0.0),
                (0.0, 0.0, SLOPE_HEIGHT_M),
            )
        ]
        steps = np.array([step_deg * DEG, SLOPE_ANGLE_DEG * DEG, SLOPE_HEIGHT_M])
        table[k, 1:] = (table[k, 1:] - table[k, 0]) / steps[:, None]
    return table


def field_warnings(decimal_year: float) -> tuple[str, ...]:
    """What a reader has to know of the field models at a date, as plain sentences."""
    return _issue_for(decimal_year)[2]


@kernel
def _blend(
    latitude_rad: Floats,
    longitude_rad: Floats,
    altitude_m: Floats,
    path: Floats,
    knots: Ints,
    values: Floats,
    samples: Any,
) -> None:
    """Fill the samples from the two knots round each: each knot's field and slope, blended smoothly."""
    k = 0
    for i in range(path.shape[0]):
        while k + 2 < knots.shape[0] and i >= knots[k + 1]:
            k += 1
        first, second = knots[k], knots[k + 1]
        length = path[second] - path[first]
        way = (path[i] - path[first]) / length if length > 0.0 else 0.0
        weight = way * way * (3.0 - 2.0 * way)
        found = np.zeros(3)
        for knot, share in ((k, 1.0 - weight), (k + 1, weight)):
            at = knots[knot]
            north = latitude_rad[i] - latitude_rad[at]
            east = longitude_rad[i] - longitude_rad[at]
            up = altitude_m[i] - altitude_m[at]
            for axis in range(3):
                found[axis] += share * (
                    values[knot, 0, axis]
                    + values[knot, 1, axis] * north
                    + values[knot, 2, axis] * east
                    + values[knot, 3, axis] * up
                )
        samples[i].north_nt, samples[i].east_nt, samples[i].down_nt = found


def field_along(
    latitude_rad: Floats, longitude_rad: Floats, altitude_m: Floats, decimal_year: float
) -> FieldAlong:
    """The Earth's field along a flight, by the World Magnetic Model at knots and smoothly between.

    Within 1 nT of the model itself.

    Args:
        latitude_rad: shape (n,), n at least 2, geodetic.
        longitude_rad: shape (n,), wrapped or unwrapped.
        altitude_m: shape (n,), above mean sea level; the geoid is neglected as in `field_at`.
        decimal_year: the date of the whole flight; treated as in `field_at`.

    Raises:
        InputError: a date that is not a number.
    """
    issue, year, warnings = _issue_for(decimal_year)
    longitude_rad = np.unwrap(longitude_rad)
    path = _path(latitude_rad, longitude_rad, altitude_m)
    inner = np.searchsorted(path, np.arange(1.0, path[-1]))
    knots = np.unique(np.concatenate(([0], inner, [len(path) - 1])))
    places = np.column_stack((latitude_rad[knots], longitude_rad[knots], altitude_m[knots]))
    values = _knot_values(issue, places, year)
    samples = np.zeros(len(path), dtype=FIELD_SAMPLE)
    _blend(
        np.ascontiguousarray(latitude_rad),
        longitude_rad,
        np.ascontiguousarray(altitude_m),
        path,
        knots,
        values,
        samples,
    )
    horizontal = np.hypot(samples["north_nt"], samples["east_nt"])
    blackout = horizontal < BLACKOUT_BELOW_NT
    caution = (horizontal < CAUTION_BELOW_NT) & ~blackout
    zones = tuple(zone for zone, seen in (("caution", caution.any()), ("blackout", blackout.any())) if seen)
    return FieldAlong(
        samples=samples,
        model=issue.model,
        warnings=warnings + tuple(_ZONE_WARNINGS[zone] for zone in zones),
        zones=zones,
    )


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
    """The field and its slope at a place, for use within `KNOT_DISTANCE_M` of it."""
    place = (latitude_rad, longitude_rad, altitude_m)
    issue, year, _ = _issue_for(decimal_year)
    return Knot(*place, *_knot_values(issue, np.array([place]), year).ravel().tolist())


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
        rows[i].north_nt, rows[i].east_nt, rows[i].down_nt = north, east, down
        before = variation_rad[i - 1]
        variation_rad[i] = before + wrapped_rad(math.atan2(east, north) - before)
