"""The one door for a flight of either kind: a legs file or a recorded track, as a path or an upload."""

import re
from dataclasses import replace
from pathlib import Path

import msgspec

from lubberline.errors import InputError
from lubberline.flight.legs.file import LegsFile, parse_legs, text_of_file
from lubberline.flight.legs.motion import fly_legs
from lubberline.flight.motion import Motion
from lubberline.flight.tracks.files import read_track, read_track_bytes

GREATEST_WIND_KT = 200.0
GREATEST_LEGS_BYTES = 1_000_000


def parse_wind(text: str, where: str = "--wind") -> tuple[float, float]:
    """Direction it blows from (true, deg) and speed (kt) of a wind written `DIR/KT`, as 240/18.

    Raises:
        InputError: when it is written otherwise or out of range.
    """
    found = re.fullmatch(r"\s*(\d{1,3}(?:\.\d+)?)\s*/\s*(\d{1,3}(?:\.\d+)?)\s*(?:kt)?\s*", text)
    right = "write true direction it blows from / knots, as 240/18"
    if not found:
        raise InputError(where, f"'{text[:40]}' is no wind", right)
    from_deg, speed_kt = float(found[1]), float(found[2])
    if from_deg > 360.0 or speed_kt > GREATEST_WIND_KT:
        raise InputError(where, f"'{text[:40]}' is out of range", f"{right}; 0 to 360, up to 200 kt")
    return from_deg, speed_kt


def _in_wind(file: LegsFile, wind: tuple[float, float] | None) -> LegsFile:
    if wind is None:
        return file
    head = msgspec.structs.replace(file.head, wind_from_deg=wind[0], wind_kt=wind[1])
    return replace(file, head=head)


def read_flight(path: str | Path, wind: tuple[float, float] | None = None) -> Motion:
    """The motion of a legs file (.toml) or of a recorded track (any other name).

    Args:
        path: the file.
        wind: true direction it blows from in degrees, and knots; overrides what a legs file says.

    Raises:
        InputError: when the file cannot be read or flown.
    """
    path = Path(path)
    if path.suffix.lower() == ".toml":
        return fly_legs(_in_wind(parse_legs(str(path), text_of_file(path)), wind))
    from_deg, speed_kt = wind if wind else (None, None)
    return read_track(path, wind_from_deg=from_deg, wind_kt=speed_kt)


def read_flight_bytes(name: str, data: bytes, wind: tuple[float, float] | None = None) -> Motion:
    """As `read_flight`, from the bytes of a file; `name` is what errors call it.

    Raises:
        InputError: when they cannot be read or flown.
    """
    if name.lower().endswith(".toml"):
        if len(data) > GREATEST_LEGS_BYTES:
            raise InputError(name, "too large for a legs file", "give one under 1 MB")
        try:
            text = data.decode("utf-8")
        except UnicodeDecodeError:
            raise InputError(name, "not a text file in UTF-8", "give a legs file (TOML)") from None
        return fly_legs(_in_wind(parse_legs(name, text), wind))
    from_deg, speed_kt = wind if wind else (None, None)
    return read_track_bytes(name, data, wind_from_deg=from_deg, wind_kt=speed_kt)
