"""The rows and cells of a log's CSV: separators, named places, and typed text converted into numbers."""

import re
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import NamedTuple

from lubberline.angles import rose_deg
from lubberline.csvfile import SEPARATORS, csv_rows, lines_of, number_of, separator_of
from lubberline.errors import InputError, in_range, nearest_of
from lubberline.flight.tracks.csv_file import moment_of
from lubberline.units import INHG_PA

_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
# N6012.5 or 60N, 6012.5N, 60 12 30N, 60°12.5'N, and plain 60.208 or -60.208.
_AXIS = re.compile(
    rf"\s*(?P<sign>[+-])?\s*(?P<before>[NSEWnsew])?\s*(?P<a>{_NUMBER})"
    rf"(?:\s*[°\s]\s*(?P<b>{_NUMBER}))?(?:\s*['′\s]\s*(?P<c>{_NUMBER}))?\s*['\"′″°]*\s*"
    r"(?P<after>[NSEWnsew])?\s*"
)
# Reads a cell: its text, and its place for messages.
Reader = Callable[[str, str], float]
PASCALS = {"inhg": INHG_PA, "hpa": 100.0, "mbar": 100.0, "kpa": 1000.0, "mmhg": INHG_PA / 25.4}
GREATEST_SUCTION_INHG = 10.0


def angle(text: str, axis: str, where: str) -> float:
    """A latitude ('NS') or longitude ('EW') in degrees.

    Raises:
        InputError: it is none, or out of range.
    """
    found = _AXIS.fullmatch(text)
    right = "60.208, N6012.5, 60 12 30N or 60°12.5'N" if axis == "NS" else "24.95, E02457.3 or 24 57 18E"
    if not found:
        raise InputError(
            where,
            f"'{text[:30]}' is not a {'latitude' if axis == 'NS' else 'longitude'}",
            right,
        )
    letter = (found["before"] or found["after"] or "").upper()
    if (letter and letter not in axis) or (found["before"] and found["after"]) or (letter and found["sign"]):
        raise InputError(where, f"'{text[:30]}' has the wrong letter or an extra sign", right)
    whole, minutes, seconds = (float(found[name] or 0.0) for name in ("a", "b", "c"))
    digits = len(found["a"].partition(".")[0])
    if letter and digits >= 4:
        # Degrees and minutes written together, N6012.5, or with seconds, N601230: recognised by their digits.
        if found["b"]:
            raise InputError(where, f"'{text[:30]}' has minutes twice", right)
        if digits >= 6:
            whole, seconds = divmod(whole, 100.0)
        whole, minutes = divmod(whole, 100.0)
    if minutes >= 60.0 or seconds >= 60.0:
        raise InputError(where, f"'{text[:30]}' has 60 minutes or seconds, or more", right)
    value = whole + minutes / 60.0 + seconds / 3600.0
    if found["sign"] == "-" or letter in ("S", "W"):
        value = -value
    if abs(value) > (90.0 if axis == "NS" else 180.0):
        raise InputError(where, f"{value:g} degrees", right)
    return value


def place(text: str, where: str) -> tuple[float, float]:
    """A place as latitude and longitude: two angles with a comma, a slash or a space between them."""
    word = text.strip()
    pieces = re.split(r"\s*[,/]\s*", word)
    if len(pieces) == 1:
        pieces = re.split(r"(?<=[0-9'\"′″°][NSns])\s*(?=[0-9])|\s*(?=[EWew])|\s+(?=[+-])", word, maxsplit=1)
    if len(pieces) == 1:
        pieces = word.split()
    if len(pieces) != 2:
        raise InputError(where, f"'{word[:40]}' is not a place", "N6012.5 E02457.3, or 60.208 24.955")
    return angle(pieces[0], "NS", where), angle(pieces[1], "EW", where)


def heading(text: str, where: str) -> float:
    """A heading or track from 0 to 360; 360 is 0."""
    value = number_of(text.strip().removesuffix("°"), where)
    return rose_deg(in_range(where, value, 0.0, 360.0, "a heading of {:g}", "from 0 to 360"))


def suction(text: str, where: str) -> float:
    """A suction in inHg; another unit is written behind it."""
    found = re.fullmatch(r"\s*(.*?)\s*([a-zA-Z]*)\s*", text)
    written, unit = (found[1], found[2].lower()) if found else (text, "")
    if unit and unit not in PASCALS:
        raise InputError(where, f"'{unit}' is not a unit of suction", "inHg, hPa, kPa, mbar or mmHg")
    value = number_of(written.strip(), where) * (PASCALS[unit] / INHG_PA if unit else 1.0)
    right = "from 0 to 10 inHg; other units behind the number: 170 hPa"
    return in_range(where, value, 0.0, GREATEST_SUCTION_INHG, "a suction of {:.1f} inHg", right)


def minutes(text: str, where: str) -> float:
    """A time as minutes: 8:30 or 8.5."""
    found = re.fullmatch(r"\s*(\d{1,3}):([0-5]\d)\s*", text)
    value = int(found[1]) + int(found[2]) / 60.0 if found else number_of(text.strip(), where)
    return in_range(where, value, 0.0, 240.0, "{:g} minutes", "from 0 to 240, as 8:30 or 8.5")


def moment(text: str, where: str, day: datetime | None = None) -> float:
    """A time with its zone in seconds UTC; with a `day`, hours and minutes UTC of that day will do.

    Raises:
        InputError: no time, or a local one without its zone.
    """
    word = text.strip()
    short = re.fullmatch(r"([01]?\d|2[0-3]):?([0-5]\d)\s*[zZ]", word)
    if short and day is not None:
        return day.replace(
            hour=int(short[1]),
            minute=int(short[2]),
            second=0,
            microsecond=0,
        ).timestamp()
    found = moment_of(word.replace("z", "Z"), where)
    in_range(where, found.year, 1950, 2100, "the year {}", "1950 to 2100")
    return found.astimezone(UTC).timestamp()


Position = tuple[float, float]

NEEDED = ("time_utc", "indicated", "compass", "set_at")
OTHERS = (
    "aircraft",
    "place",
    "latitude",
    "longitude",
    "set_compass",
    "groundspeed_kt",
    "track",
    "suction_idle",
    "suction_cruise",
    "spin_down",
    "maintenance",
    "note",
)
COLUMNS = (*NEEDED, *OTHERS)
# Not a column: what stood beyond the last one.
TOO_MANY = "too many cells"
_PLACE = re.compile(r"#\s*place\s+(?P<name>[^=]{1,60}?)\s*=\s*(?P<at>.*)", re.IGNORECASE)
_AIRCRAFT = re.compile(r"#\s*aircraft\s*=\s*(?P<name>.{1,60})", re.IGNORECASE)
_WORDS = frozenset(("time_utc", "set_at", "aircraft", "maintenance", "note", TOO_MANY))


class Row(NamedTuple):
    """A row as written: its place (for messages), its line, and its cells by column."""

    where: str
    line: int
    cells: dict[str, str]


class Rows(NamedTuple):
    """The rows of a file.

    Attributes:
        rows: in order of the file.
        places: those that it names, in capitals.
        decimal_comma: whether a comma in a number is a decimal one: cells are separated by semicolons.
    """

    rows: tuple[Row, ...]
    places: dict[str, Position]
    decimal_comma: bool


def rows_of(source: str, text: str) -> Rows:
    """The rows of a log's text.

    Raises:
        InputError: without the needed columns, without any row, or an invalid named place.
    """
    lines = lines_of(text)
    places = _named_places(source, lines)
    named = (_AIRCRAFT.fullmatch(line.strip()) for line in lines)
    aircraft = next((one["name"].strip() for one in named if one), "")
    bare = "\n".join("" if line.lstrip().startswith("#") else line for line in lines)
    rows = csv_rows(source, bare, SEPARATORS)
    if not rows:
        raise InputError(
            source,
            "the file is empty",
            f"a first line that names {', '.join(NEEDED)}",
        )
    head = _head(f"{source} line {rows[0][0]}", rows[0][1])
    found = [
        Row(
            f"{source} line {line}",
            line,
            _by_column(head, cells),
        )
        for line, cells in rows[1:]
    ]
    if not found:
        raise InputError(source, "there are no rows", "write a row for each check")
    for row in found:
        if aircraft and not row.cells.get("aircraft", "").strip():
            row.cells["aircraft"] = aircraft
    return Rows(tuple(found), places, separator_of(bare, SEPARATORS) == ";")


def _named_places(source: str, lines: list[str]) -> dict[str, Position]:
    places: dict[str, Position] = {}
    for number, line in enumerate(lines, start=1):
        named = _PLACE.fullmatch(line.strip())
        if named:
            places[named["name"].strip().upper()] = place(named["at"], f"{source} line {number}, place")
    return places


def _head(where: str, cells: list[str]) -> list[str]:
    head = [name.strip().lower() for name in cells]
    for name in head:
        if name not in COLUMNS:
            raise InputError(where, f"unknown column '{name[:30]}'", nearest_of(name, [*COLUMNS]))
        if head.count(name) > 1:
            raise InputError(where, f"the column '{name}' appears twice", "once")
    for name in NEEDED:
        if name not in head:
            raise InputError(where, f"there is no column '{name}'", f"name {', '.join(NEEDED)}")
    return head


def _by_column(head: list[str], row: list[str]) -> dict[str, str]:
    cells = {name: cell.strip() for name, cell in zip(head, row, strict=False)}
    more = [cell for cell in row[len(head) :] if cell.strip()]
    if more:
        cells[TOO_MANY] = ",".join(more)
    return cells


def with_points(cells: Mapping[str, str]) -> dict[str, str]:
    """The same cells with a point in each number that was written with a decimal comma."""
    return {
        name: cell if name in _WORDS else re.sub(r"(?<=\d),(?=\d)", ".", cell) for name, cell in cells.items()
    }
