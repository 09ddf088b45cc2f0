"""The flight of a plan: a legs file, waypoints in CSV or GPX, or a recorded track."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import NamedTuple

from lubberline.angles import rose_deg, wrapped_deg
from lubberline.csvfile import number_of, table_of
from lubberline.earth.geodesy import distance_m, prime_vertical_radius_m
from lubberline.errors import InputError, in_range
from lubberline.flight.flights import from_legs, on_day, parse_wind, read_flight_bytes
from lubberline.flight.home import NO_HOME, Home
from lubberline.flight.legs.file import LegPosition, LegsFile
from lubberline.flight.legs.kinds import KINDS, Head, Leg
from lubberline.flight.legs.motion import fly_legs
from lubberline.flight.motion import Motion
from lubberline.flight.tracks.gpx import Elements
from lubberline.flight.tracks.motion import Wind
from lubberline.textfile import text_of
from lubberline.units import DEG, ECCENTRICITY_SQUARED, GREATEST_LATITUDE_DEG, NM_M

COLUMNS = ("name", "latitude_deg", "longitude_deg")
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
    return _few(
        source,
        [
            _waypoint(where, *(cells[name] for name in COLUMNS))
            for where, cells in table_of(source, text, COLUMNS)
        ],
    )


class _Points(Elements):
    """The route points and waypoints of a GPX file: place in the file, position and name."""

    def __init__(self, source: str) -> None:
        super().__init__(source)
        self.found: dict[str, list[tuple[str, dict[str, str], list[str]]]] = {"rtept": [], "wpt": []}

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        if name in self.found:
            self.found[name].append((self.where, attributes, []))

    def words(self, data: str) -> None:
        if self.inside[-1] == "name" and len(self.inside) > 1 and self.inside[-2] in self.found:
            self.found[self.inside[-2]][-1][2].append(data)


def waypoints_from_gpx(source: str, text: str) -> tuple[Waypoint, ...]:
    """The points of the first route of a GPX file, or its waypoints when it has no route.

    A document type or an entity is refused, so that nothing is fetched or expanded.

    Raises:
        InputError: naming the line, for anything that is not right.
    """
    reading = _Points(source)
    reading.read(text, GPX_RIGHT)
    points = reading.found["rtept"] or reading.found["wpt"]
    if not points:
        raise InputError(source, "no route and no waypoints", GPX_RIGHT)
    return _few(
        source,
        [
            _waypoint(where, "".join(named).strip(), given.get("lat", ""), given.get("lon", ""))
            for where, given, named in points
        ],
    )


def _few(source: str, found: list[Waypoint]) -> tuple[Waypoint, ...]:
    if len(found) > MOST_WAYPOINTS:
        raise InputError(source, f"{len(found)} waypoints", f"at most {MOST_WAYPOINTS}")
    if len(found) < 2:
        raise InputError(source, f"{len(found)} waypoints", "a route needs at least two")
    return tuple(
        point if point.name else point._replace(name=f"point {number}")
        for number, point in enumerate(found, start=1)
    )


def _waypoint(where: str, name: str, latitude: str, longitude: str) -> Waypoint:
    def angle(axis: str, cell: str, most: float) -> float:
        value = number_of(
            cell,
            f"{where}, {axis}",
            "degrees with a decimal point, such as 47.5 or -122.3",
        )
        right = f"degrees from {-most:g} to {most:g}"
        return in_range(f"{where}, {axis}", value, -most, most, "{:g}", right)

    return Waypoint(
        name[:60],
        angle(
            "latitude",
            latitude,
            GREATEST_LATITUDE_DEG,
        ),
        angle("longitude", longitude, 180.0),
    )


CALM = Wind(0.0, 0.0)
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
    return Rhumb(rose_deg(track / DEG), way_m / NM_M)


def _isometric(latitude_deg: float) -> float:
    sine = math.sin(latitude_deg * DEG)
    eccentricity = math.sqrt(ECCENTRICITY_SQUARED)
    return math.atanh(sine) - eccentricity * math.atanh(eccentricity * sine)


def heading_in_wind_deg(track_deg: float, airspeed_kt: float, wind: Wind) -> float:
    """The true heading that keeps a track, by the triangle of velocities.

    Raises:
        InputError: the wind is too strong to keep it.
    """
    across = wind.speed_kt * math.sin((wind.from_deg - track_deg) * DEG)
    along = wind.speed_kt * math.cos((wind.from_deg - track_deg) * DEG)
    if abs(across) >= airspeed_kt or math.sqrt(airspeed_kt**2 - across**2) <= along:
        raise InputError(
            "wind",
            f"{wind.from_deg:03.0f}/{wind.speed_kt:g} is too strong for {airspeed_kt:g} kt",
            "give a weaker wind or a higher airspeed",
        )
    return rose_deg(track_deg + math.asin(across / airspeed_kt) / DEG)


@dataclass(frozen=True)
class Flying:
    """How a route is flown: when, how high, how fast, in what wind."""

    start_utc: datetime
    airspeed_kt: float = 100.0
    altitude_ft: float = 3000.0
    wind: Wind = CALM


def motion_of(title: str, route: Sequence[Waypoint], flying: Flying) -> Motion:
    """A route as a motion: level, by rhumb lines, with coordinated turns between them.

    Each turn begins at its waypoint, so the flown way lies aside by up to the turn's diameter.

    Raises:
        InputError: two places together, or a wind too strong.
    """
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
        wanted = heading_in_wind_deg(line.track_deg, flying.airspeed_kt, flying.wind)
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
        wind_from_deg=flying.wind.from_deg if flying.wind.speed_kt else None,
        wind_kt=flying.wind.speed_kt or None,
        limit_kt=max(200.0, flying.airspeed_kt),
    )
    return fly_legs(LegsFile(LegPosition(title), head, tuple(legs)))


def _leg(file: str, number: int, kind: str, **fields: float) -> tuple[LegPosition, Leg]:
    return LegPosition(file, number, kind), KINDS[kind](**fields)


GREATEST_BYTES = 20_000_000


def parse_day(text: str, where: str = "--date") -> date:
    """A day written YYYY-MM-DD.

    Raises:
        InputError: when it is written otherwise or there is none such.
    """
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(where, f"'{text[:40]}' is not a day", "write it as 2026-05-12") from None


def route_from_text(
    name: str,
    text: str,
    day: date | None = None,
    *,
    airspeed_kt: float = 100.0,
    altitude_ft: float = 3000.0,
    wind: str = "",
    home: Home = NO_HOME,
) -> Motion:
    """The motion of a route.

    Args:
        name: of the file; its ending and its first lines tell what it is.
        text: what is in it.
        day: when it is flown; the file's own day when not given (waypoints have none, and need one).
        airspeed_kt: true airspeed, for waypoints.
        altitude_ft: above the sea, for waypoints.
        wind: `DIR/KT`, for waypoints and tracks; overrides what a legs file says.
        home: whose day is meant; waypoints are flown at its noon.

    Raises:
        InputError: for anything that is not right, naming file and line.
    """
    blowing = parse_wind(wind, "wind") if wind else None
    if name.lower().endswith(".toml"):
        return from_legs(name, text, blowing, day, home)
    is_gpx = text.lstrip("\ufeff").lstrip()[:1] == "<"
    is_table = "time_utc" in text.partition("\n")[0] or "HFDTE" in text[:10_000]
    if "<trkpt" in text and "<rtept" not in text if is_gpx else is_table:
        motion = read_flight_bytes(name, text.encode(), blowing)
        return replace(motion, start_utc=on_day(motion.start_utc, day, home))
    if day is None:
        raise InputError("--date", "waypoints have no date", "give the day")
    in_range("--kt", airspeed_kt, 30.0, 700.0)
    in_range("--altitude", altitude_ft, 0.0, 60000.0)
    points = waypoints_from_gpx(name, text) if is_gpx else waypoints_from_csv(name, text)
    noon = datetime.combine(day, time(12), home.local(0.0).tzinfo).astimezone(UTC)
    flying = Flying(noon, airspeed_kt, altitude_ft, blowing or CALM)
    return motion_of(Path(name).stem, points, flying)


def read_route(
    path: str | Path,
    day: date | None = None,
    *,
    airspeed_kt: float = 100.0,
    altitude_ft: float = 3000.0,
    wind: str = "",
    home: Home = NO_HOME,
) -> Motion:
    """As `route_from_text`, from a file.

    Raises:
        InputError: when it cannot be read or is not right.
    """
    text = text_of(path, "a route (legs file, CSV or GPX)", GREATEST_BYTES)
    return route_from_text(
        Path(path).name, text, day, airspeed_kt=airspeed_kt, altitude_ft=altitude_ft, wind=wind, home=home
    )
