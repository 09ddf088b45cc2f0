"""Reads a flight of either kind: a legs file or a recorded track, as a path or an upload."""

import re
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import msgspec

from lubberline.errors import InputError
from lubberline.flight.home import NO_HOME, Home
from lubberline.flight.legs.file import GREATEST_BYTES, parse_legs
from lubberline.flight.legs.motion import fly_legs
from lubberline.flight.motion import Motion
from lubberline.flight.tracks.files import read_file, read_fixes
from lubberline.flight.tracks.motion import Wind, motion_of
from lubberline.textfile import decoded, text_of

GREATEST_WIND_KT = 200.0
LEGS_FILE = "a legs file (TOML)"


def parse_wind(text: str, where: str = "--wind") -> Wind:
    """A wind written `DIR/KT`, as 240/18: the true direction it blows from, and its speed.

    Raises:
        InputError: when it is written otherwise or out of range.
    """
    found = re.fullmatch(r"\s*(\d{1,3}(?:\.\d+)?)\s*/\s*(\d{1,3}(?:\.\d+)?)\s*(?:kt)?\s*", text)
    right = "write the true direction it blows from and knots, as 240/18"
    if not found:
        raise InputError(where, f"'{text[:40]}' is not a wind", right)
    wind = Wind(float(found[1]), float(found[2]))
    if wind.from_deg > 360.0 or wind.speed_kt > GREATEST_WIND_KT:
        raise InputError(
            where,
            f"'{text[:40]}' is out of range",
            f"{right}; 0 to 360, up to 200 kt",
        )
    return wind


def from_legs(
    name: str, text: str, wind: Wind | None, day: date | None = None, home: Home = NO_HOME
) -> Motion:
    """The motion of the text of a legs file, with another wind, or another day at home, if given."""
    file = parse_legs(name, text)
    head = msgspec.structs.replace(file.head, start_utc=on_day(file.head.start_utc, day, home))
    if wind is not None:
        head = msgspec.structs.replace(head, wind_from_deg=wind.from_deg, wind_kt=wind.speed_kt)
    return fly_legs(replace(file, head=head))


def on_day(moment: datetime, day: date | None, home: Home = NO_HOME) -> datetime:
    """The same time of day on another day, by the clocks at home; unchanged if no day is given."""
    if day is None:
        return moment
    return home.local(moment).replace(year=day.year, month=day.month, day=day.day).astimezone(UTC)


def read_flight(path: str | Path, wind: Wind | None = None) -> Motion:
    """The motion of a legs file (.toml) or of a recorded track (any other name): GPX 1.1, IGC or CSV.

    Args:
        path: the file.
        wind: overrides what a legs file says; without it, a track is used as the heading.

    Raises:
        InputError: when the file cannot be read or flown.
    """
    path = Path(path)
    if path.suffix.lower() == ".toml":
        return from_legs(str(path), text_of(path, LEGS_FILE, GREATEST_BYTES), wind)
    return motion_of(read_fixes(path.name, read_file(path)), wind)


def read_flight_bytes(name: str, data: bytes, wind: Wind | None = None) -> Motion:
    """As `read_flight`, from the bytes of a file; `name` is what errors call it.

    Raises:
        InputError: when they cannot be read or flown.
    """
    if name.lower().endswith(".toml"):
        return from_legs(name, decoded(name, data, LEGS_FILE, GREATEST_BYTES), wind)
    return motion_of(read_fixes(name, data), wind)
