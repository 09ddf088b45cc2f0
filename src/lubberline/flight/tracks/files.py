"""The files of recorded tracks: recognises their format by their content, and reads their fixes."""

import re
from pathlib import Path

from lubberline.errors import InputError
from lubberline.flight.tracks.csv_file import read_csv
from lubberline.flight.tracks.fixes import Fixes
from lubberline.flight.tracks.gpx import read_gpx
from lubberline.flight.tracks.igc import read_igc

LARGEST_BYTES = 100_000_000
# Characters that are not allowed in a text; tab, line and page ends and the old end of file are.
CONTROL = re.compile(r"[\x00-\x08\x0b\x0e-\x19\x1b-\x1f\x7f]")
RIGHT = "a track is a GPX 1.1, IGC or CSV file"


def _refuse_size(source: str, size: int) -> None:
    if size > LARGEST_BYTES:
        raise InputError(
            source,
            f"{size / 1e6:.0f} MB, too large to be a flight",
            "a track is smaller than 100 MB",
        )
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
    """The fixes in the bytes of a file, its format recognised by content first, then by its name.

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
    if suffix in (".csv", ".txt") or "time_utc" in start.partition("\n")[0]:
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
