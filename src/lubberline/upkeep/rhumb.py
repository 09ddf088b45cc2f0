"""A route of waypoints flown by rhumb lines in a wind."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from lubberline.earth.geodesy import distance_m, prime_vertical_radius_m
from lubberline.errors import InputError
from lubberline.flight.legs.kinds import KINDS, Head, Leg
from lubberline.flight.legs.motion import fly_legs
from lubberline.flight.legs.file import LegsFile, LegPosition
from lubberline.flight.motion import Motion
from lubberline.units import DEG, ECCENTRICITY_SQUARED, NM_M
from lubberline.upkeep.waypoints import Waypoint

LEAST_LEG_NM = 0.5
ROUTE_BANK_DEG = 15.0
LEAST_TURN_DEG = 0.05


class Rhumb(NamedTuple):
    """A line of constant true track: 0 <= track < 360, and its length."""

    track_deg: float
    distance_nm: float


def rhumb(start: Waypoint, end: Waypoint) -> Rhumb:
    """The rhumb line between two places on the WGS 84 ellipsoid, the short way round.

    Source: isometric latitude and meridian arc, in any text on map projections.
    """
    north_m = distance_m(start.latitude_deg, 0.0, end.latitude_deg, 0.0)
    north_m = math.copysign(north_m, end.latitude_deg - start.latitude_deg)
    east_rad = math.remainder(end.longitude_deg - start.longitude_deg, 360.0) * DEG
    stretch = _isometric(end.latitude_deg) - _isometric(start.latitude_deg)
    track = math.atan2(east_rad, stretch)
    if abs(math.cos(track)) > 1e-6:
        way_m = abs(north_m / math.cos(track))
    else:
        latitude = 0.5 * (start.latitude_deg + end.latitude_deg) * DEG
        way_m = abs(east_rad) * prime_vertical_radius_m(latitude) * math.cos(latitude)
    return Rhumb(track / DEG % 360.0, way_m / NM_M)


def _isometric(latitude_deg: float) -> float:
    sine = math.sin(latitude_deg * DEG)
    eccentricity = math.sqrt(ECCENTRICITY_SQUARED)
    return math.atanh(sine) - eccentricity * math.atanh(eccentricity * sine)


def heading_in_wind_deg(track_deg: float, airspeed_kt: float, wind_from_deg: float, wind_kt: float) -> float:
    """The true heading that keeps a track, by the triangle of velocities.

    Raises:
        InputError: the wind is too strong to keep it.
    """
    across = wind_kt * math.sin((wind_from_deg - track_deg) * DEG)
    along = wind_kt * math.cos((wind_from_deg - track_deg) * DEG)
    if abs(across) >= airspeed_kt or math.sqrt(airspeed_kt**2 - across**2) <= along:
        raise InputError(
            "wind",
            f"{wind_from_deg:03.0f}/{wind_kt:g} is too strong for {airspeed_kt:g} kt",
            "give less wind or more airspeed",
        )
    return (track_deg + math.asin(across / airspeed_kt) / DEG) % 360.0


@dataclass(frozen=True)
class Flying:
    """How a route is flown: when, how high, how fast, in what wind."""

    start_utc: datetime
    airspeed_kt: float = 100.0
    altitude_ft: float = 3000.0
    wind_from_deg: float = 0.0
    wind_kt: float = 0.0


def motion_of(title: str, route: Sequence[Waypoint], flying: Flying) -> Motion:
    """A route as a motion: level, by rhumb lines, with coordinated turns between them.

    Each turn begins at its waypoint, so the flown way lies aside by up to the turn's diameter.

    Raises:
        InputError: fewer than two places, two places together, or a wind too strong.
    """
    if len(route) < 2:
        raise InputError(title, f"{len(route)} waypoints", "a route has at least two")
    legs: list[tuple[LegPosition, Leg]] = []
    heading = first = math.nan
    for number, (start, end) in enumerate(itertools.pairwise(route), start=1):
        line = rhumb(start, end)
        if line.distance_nm < LEAST_LEG_NM:
            raise InputError(
                f"{title}, waypoint {number + 1}",
                f"'{end.name}' is {line.distance_nm:.2f} nm from the one before",
                f"leave it out; legs are at least {LEAST_LEG_NM:g} nm long",
            )
        wanted = heading_in_wind_deg(line.track_deg, flying.airspeed_kt, flying.wind_from_deg, flying.wind_kt)
        turn = math.remainder(wanted - heading, 360.0) if legs else 0.0
        if abs(turn) > LEAST_TURN_DEG:
            legs.append(_leg(title, len(legs) + 1, "turn", by_deg=turn, bank_deg=ROUTE_BANK_DEG))
            heading = wanted
        elif not legs:
            heading = first = wanted
        legs.append(_leg(title, len(legs) + 1, "straight", distance_nm=line.distance_nm))
    head = Head(
        title=title,
        start_utc=flying.start_utc,
        latitude_deg=route[0].latitude_deg,
        longitude_deg=route[0].longitude_deg,
        altitude_ft=flying.altitude_ft,
        heading_deg=first,
        airspeed_kt=flying.airspeed_kt,
        wind_from_deg=flying.wind_from_deg if flying.wind_kt else None,
        wind_kt=flying.wind_kt or None,
        limit_kt=max(200.0, flying.airspeed_kt),
    )
    return fly_legs(LegsFile(LegPosition(title), head, tuple(legs)))


def _leg(file: str, number: int, kind: str, **fields: float) -> tuple[LegPosition, Leg]:
    return LegPosition(file, number, kind), KINDS[kind](**fields)
