"""The door for recorded tracks: a file or an upload in, a smooth motion out."""

import re
from pathlib import Path

from lubberline.errors import InputError
from lubberline.flight.motion import Motion
from lubberline.flight.tracks.csv_file import read_csv
from lubberline.flight.tracks.fixes import Fixes
from lubberline.flight.tracks.gpx import read_gpx
from lubberline.flight.tracks.igc import read_igc
from lubberline.flight.tracks.motion import Wind, motion_of

LARGEST_BYTES = 100_000_000
FASTEST_WIND_KT = 200.0
# Characters that no text holds; tab, line and page ends and the old end of file are let through.
CONTROL = re.compile(r"[\x00-\x08\x0b\x0e-\x19\x1b-\x1f\x7f]")
RIGHT = "a track is a GPX 1.1, IGC or CSV file"


def _refuse_size(source: str, size: int) -> None:
    if size > LARGEST_BYTES:
        raise InputError(source, f"{size / 1e6:.0f} MB, too large to be a flight", "a track is under 100 MB")
    if size == 0:
        raise InputError(source, "the file is empty", RIGHT)


def _text(source: str, data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError(source, "the text is in UTF-16", "save it as UTF-8")
    if b"\0" in data:
        raise InputError(source, "the file is binary", RIGHT)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    if CONTROL.search(text):
        raise InputError(source, "the file is binary", RIGHT)
    # One kind of line end, so that every reader counts lines alike.
    text = text.replace("\r\n", "\n").replace("\r", "\n").rstrip("\x1a")
    if not text.strip():
        raise InputError(source, "the file is blank", RIGHT)
    return text


def read_fixes(source: str, data: bytes) -> Fixes:
    """The fixes in the bytes of a file, its kind told by content first and by its name's ending then.

    Raises:
        InputError: too large, empty, binary, of no known kind, or wrong inside.
    """
    _refuse_size(source, len(data))
    text = _text(source, data)
    suffix = Path(source).suffix.lower()
    start = text.lstrip()
    if start.startswith("<") or suffix == ".gpx":
        return read_gpx(source, text)
    if suffix == ".igc" or (suffix != ".csv" and start.startswith("A") and "\nHFDTE" in start[:10000]):
        return read_igc(source, text)
    first = start.partition("\n")[0]
    if suffix in (".csv", ".txt") or "time_utc" in first:
        return read_csv(source, text)
    raise InputError(source, "neither GPX, IGC nor a table with a time_utc column", RIGHT)


def read_file(path: str | Path) -> bytes:
    """The bytes of a track's file, refused by its size before it is read.

    Raises:
        InputError: no such file, not a file, too large, empty, or not readable.
    """
    path = Path(path)
    try:
        if not path.is_file():
            found = "this is not a file" if path.exists() else "there is no such file"
            raise InputError(str(path), found, RIGHT)
        _refuse_size(str(path), path.stat().st_size)
        return path.read_bytes()
    except (OSError, ValueError) as why:
        if isinstance(why, InputError):
            raise
        raise InputError(str(path), f"the file cannot be read ({why})", RIGHT) from None


def _wind(from_deg: float | None, speed_kt: float | None) -> Wind | None:
    if from_deg is None and speed_kt is None:
        return None
    if from_deg is None or speed_kt is None:
        raise InputError("wind", "only its direction or only its speed", "give both, such as 250/15")
    if not (0.0 <= from_deg <= 360.0 and 0.0 <= speed_kt <= FASTEST_WIND_KT):
        right = f"a direction from 0 to 360 deg and a speed from 0 to {FASTEST_WIND_KT:.0f} kt"
        raise InputError("wind", f"found {from_deg:g}/{speed_kt:g}", right)
    return Wind(from_deg, speed_kt)


def read_track_bytes(
    name: str, data: bytes, *, wind_from_deg: float | None = None, wind_kt: float | None = None
) -> Motion:
    """The smooth motion in the bytes of a track's file, for an upload; `name` is the file's.

    Raises:
        InputError: names file, line or field, what was found and what would be right.
    """
    wind = _wind(wind_from_deg, wind_kt)
    return motion_of(read_fixes(name, data), wind)


def read_track(
    path: str | Path, *, wind_from_deg: float | None = None, wind_kt: float | None = None
) -> Motion:
    """The smooth motion in a track's file: GPX 1.1, IGC or CSV.

    Args:
        path: the file; refused unread beyond 100 MB.
        wind_from_deg: where a steady wind blows from, true; without wind, heading is taken as track.
        wind_kt: its speed.

    Raises:
        InputError: names file, line or field, what was found and what would be right.
    """
    data = read_file(path)
    return read_track_bytes(Path(path).name, data, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
