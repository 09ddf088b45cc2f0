"""The flight that a plan is made for: a legs file, waypoints in CSV or GPX, or a recorded track."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import NamedTuple
from xml.parsers import expat

import msgspec

from lubberline.angles import wrapped_deg
from lubberline.csvfile import csv_rows
from lubberline.earth.geodesy import distance_m, prime_vertical_radius_m
from lubberline.errors import InputError
from lubberline.flight.flights import parse_wind
from lubberline.flight.legs.file import LegPosition, LegsFile, parse_legs
from lubberline.flight.legs.kinds import KINDS, Head, Leg
from lubberline.flight.legs.motion import fly_legs
from lubberline.flight.motion import Motion
from lubberline.flight.tracks.files import read_track_bytes
from lubberline.textfile import text_of
from lubberline.units import DEG, ECCENTRICITY_SQUARED, GREATEST_LATITUDE_DEG, NM_M

COLUMNS = ("name", "latitude_deg", "longitude_deg")
RIGHT = "the first row is name,latitude_deg,longitude_deg"
GPX_RIGHT = "a GPX 1.1 file with <rtept lat= lon=> in a <rte>, or <wpt>"
MOST_WAYPOINTS = 200


class Waypoint(NamedTuple):
    """A place of a route."""

    name: str
    latitude_deg: float
    longitude_deg: float


def waypoints_from_csv(source: str, text: str) -> tuple[Waypoint, ...]:
    """The places of a table `name,latitude_deg,longitude_deg`.

    Raises:
        InputError: naming line and column, for anything that is not right.
    """
    rows = csv_rows(source, text)
    if not rows:
        raise InputError(source, "the file is empty", RIGHT)
    names = [cell.strip() for cell in rows[0][1]]
    if sorted(names) != sorted(COLUMNS):
        odd = next((name for name in names if name not in COLUMNS), ", ".join(names))
        raise InputError(f"{source}, line {rows[0][0]}", f"columns '{odd[:60]}'", RIGHT)
    found = []
    for line, row in rows[1:]:
        if len(row) != len(names):
            raise InputError(
                f"{source}, line {line}",
                f"{len(row)} cells where the first row has {len(names)}",
                "write decimals with a point, not a comma",
            )
        cells = dict(zip(names, (cell.strip() for cell in row), strict=True))
        found.append(
            _waypoint(f"{source}, line {line}", cells["name"], *(cells[name] for name in COLUMNS[1:]))
        )
    return _few(source, found)


def waypoints_from_gpx(source: str, text: str) -> tuple[Waypoint, ...]:
    """The points of the first route of a GPX file, or its waypoints when it has no route.

    A document type or an entity is refused, so that nothing is fetched or expanded.

    Raises:
        InputError: naming the line, for anything that is not right.
    """
    parser = expat.ParserCreate("utf-8")
    routes: dict[str, list[tuple[int, dict[str, str], list[str]]]] = {"rtept": [], "wpt": []}
    inside: list[str] = []

    def refuse(*_: object) -> None:
        raise InputError(
            f"{source}, line {parser.CurrentLineNumber}",
            "the file declares a document type or an entity",
            "GPX needs neither; remove it",
        )

    def start(name: str, attributes: dict[str, str]) -> None:
        local = name.rpartition(":")[2]
        inside.append(local)
        if local in routes:
            routes[local].append((parser.CurrentLineNumber, attributes, []))

    def words(data: str) -> None:
        if inside[-1] == "name" and len(inside) > 1 and inside[-2] in routes:
            routes[inside[-2]][-1][2].append(data)

    parser.StartDoctypeDeclHandler = refuse
    parser.EntityDeclHandler = refuse
    parser.StartElementHandler = start
    parser.CharacterDataHandler = words
    parser.EndElementHandler = lambda _: inside.pop()
    try:
        parser.Parse(text.strip().encode(), True)
    except expat.ExpatError as why:
        fault = expat.ErrorString(why.code)
        raise InputError(
            f"{source}, line {why.lineno}", f"not well-formed XML ({fault})", GPX_RIGHT
        ) from None
    points = routes["rtept"] or routes["wpt"]
    if not points:
        raise InputError(source, "no route and no waypoints", GPX_RIGHT)
    return _few(
        source,
        [
            _waypoint(
                f"{source}, line {line}", "".join(named).strip(), given.get("lat", ""), given.get("lon", "")
            )
            for line, given, named in points
        ],
    )


def _few(source: str, found: list[Waypoint]) -> tuple[Waypoint, ...]:
    if len(found) > MOST_WAYPOINTS:
        raise InputError(source, f"{len(found)} waypoints", f"at most {MOST_WAYPOINTS}")
    if len(found) < 2:
        raise InputError(source, f"{len(found)} waypoints", "a route has at least two")
    return tuple(
        point if point.name else point._replace(name=f"point {number}")
        for number, point in enumerate(found, start=1)
    )


def _waypoint(where: str, name: str, latitude: str, longitude: str) -> Waypoint:
    values = []
    for axis, cell, most in (
        ("latitude", latitude, GREATEST_LATITUDE_DEG),
        ("longitude", longitude, 180.0),
    ):
        try:
            value = float(cell)
        except ValueError:
            right = "degrees with a decimal point, such as 47.5 or -122.3"
            raise InputError(f"{where}, {axis}", f"'{cell[:40]}' is no number", right) from None
        if not abs(value) <= most:
            raise InputError(f"{where}, {axis}", f"{value:g}", f"degrees from {-most:g} to {most:g}")
        values.append(value)
    return Waypoint(name[:60], values[0], values[1])


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
    east_rad = wrapped_deg(end.longitude_deg - start.longitude_deg) * DEG
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
        turn = wrapped_deg(wanted - heading) if legs else 0.0
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


GREATEST_BYTES = 20_000_000
NOON = time(12, 0, tzinfo=UTC)


def parse_day(text: str, where: str = "--date") -> date:
    """A day written YYYY-MM-DD.

    Raises:
        InputError: when it is written otherwise or there is none such.
    """
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(where, f"'{text[:40]}' is no day", "write it as 2026-05-12") from None


def route_from_text(
    name: str,
    text: str,
    day: date | None = None,
    *,
    airspeed_kt: float = 100.0,
    altitude_ft: float = 3000.0,
    wind: str = "",
) -> Motion:
    """The motion of a route.

    Args:
        name: of the file; its ending and its first lines tell what it is.
        text: what is in it.
        day: when it is flown; the file's own day when not given (waypoints have none, and need one).
        airspeed_kt: true airspeed, for waypoints.
        altitude_ft: above the sea, for waypoints.
        wind: `DIR/KT`, for waypoints and tracks; overrides what a legs file says.

    Raises:
        InputError: for anything that is not right, naming file and line.
    """
    blowing = parse_wind(wind, "wind") if wind else None
    if name.lower().endswith(".toml"):
        return _legs(name, text, day, blowing)
    is_gpx = text.lstrip("\ufeff").lstrip()[:1] == "<"
    if _is_track(text, is_gpx):
        from_deg, speed_kt = blowing if blowing else (None, None)
        motion = read_track_bytes(name, text.encode(), wind_from_deg=from_deg, wind_kt=speed_kt)
        return motion if day is None else replace(motion, start_utc=_moved(motion.start_utc, day))
    if day is None:
        raise InputError("--date", "waypoints do not say when they are flown", "give the day")
    for what, value, low, high in (("kt", airspeed_kt, 30.0, 700.0), ("altitude", altitude_ft, 0.0, 60000.0)):
        if not low <= value <= high:
            raise InputError(f"--{what}", f"{value:g} is out of range", f"give {low:g} to {high:g}")
    points = waypoints_from_gpx(name, text) if is_gpx else waypoints_from_csv(name, text)
    from_deg, speed_kt = blowing or (0.0, 0.0)
    flying = Flying(datetime.combine(day, NOON), airspeed_kt, altitude_ft, from_deg, speed_kt)
    return motion_of(Path(name).stem, points, flying)


def _is_track(text: str, is_gpx: bool) -> bool:
    if is_gpx:
        return "<trkpt" in text and "<rtept" not in text
    return "time_utc" in text.partition("\n")[0] or "HFDTE" in text[:10_000]


def _legs(name: str, text: str, day: date | None, blowing: tuple[float, float] | None) -> Motion:
    file = parse_legs(name, text)
    head = file.head
    if day is not None:
        head = msgspec.structs.replace(head, start_utc=_moved(head.start_utc, day))
    if blowing is not None:
        head = msgspec.structs.replace(head, wind_from_deg=blowing[0], wind_kt=blowing[1])
    return fly_legs(replace(file, head=head))


def _moved(moment: datetime, day: date) -> datetime:
    return moment.replace(year=day.year, month=day.month, day=day.day)


def read_route(
    path: str | Path,
    day: date | None = None,
    *,
    airspeed_kt: float = 100.0,
    altitude_ft: float = 3000.0,
    wind: str = "",
) -> Motion:
    """As `route_from_text`, from a file.

    Raises:
        InputError: when it cannot be read or is not right.
    """
    text = text_of(path, "a route (legs file, CSV or GPX)", GREATEST_BYTES)
    return route_from_text(
        Path(path).name, text, day, airspeed_kt=airspeed_kt, altitude_ft=altitude_ft, wind=wind
    )
