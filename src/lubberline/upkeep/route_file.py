"""The flight that a plan is made for: a legs file, waypoints in CSV or GPX, or a recorded track."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time
from pathlib import Path

import msgspec

from lubberline.errors import InputError
from lubberline.flight.flights import parse_wind
from lubberline.flight.legs.motion import fly_legs
from lubberline.flight.legs.file import parse_legs
from lubberline.flight.motion import Motion
from lubberline.flight.tracks.files import read_track_bytes
from lubberline.textfile import text_of
from lubberline.upkeep.rhumb import Flying, motion_of
from lubberline.upkeep.waypoints import waypoints_from_csv, waypoints_from_gpx

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
