"""A route as waypoints, read from CSV or GPX."""

from __future__ import annotations

from typing import NamedTuple
from xml.parsers import expat

from lubberline.csvfile import csv_rows
from lubberline.errors import InputError
from lubberline.units import GREATEST_LATITUDE_DEG

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
