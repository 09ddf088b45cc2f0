"""The rows of a log's CSV: which character stands between cells, named places, decimal commas."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

from lubberline.csvfile import SEPARATORS, csv_rows, lines_of, separator_of
from lubberline.errors import InputError, nearest_of
from lubberline.upkeep import places_typed as typed

Place = tuple[float, float]

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
TOO_MANY = "too many"
_PLACE = re.compile(r"#\s*place\s+(?P<name>[^=]{1,60}?)\s*=\s*(?P<at>.*)", re.IGNORECASE)
_AIRCRAFT = re.compile(r"#\s*aircraft\s*=\s*(?P<name>.{1,60})", re.IGNORECASE)
_WORDS = frozenset(("time_utc", "set_at", "aircraft", "maintenance", "note", TOO_MANY))


class Row(NamedTuple):
    """A row as it stands: where (for complaints), its line, and its cells by column."""

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
    places: dict[str, Place]
    decimal_comma: bool


def rows_of(source: str, text: str) -> Rows:
    """The rows of a log's text.

    Raises:
        InputError: without the needed columns, without any row, or a named place that is none.
    """
    lines = lines_of(text)
    places = _named_places(source, lines)
    aircraft = _named_aircraft(lines)
    bare = "\n".join("" if line.lstrip().startswith("#") else line for line in lines)
    rows = csv_rows(source, bare, SEPARATORS)
    if not rows:
        raise InputError(source, "there is nothing in it", f"a first line that names {', '.join(NEEDED)}")
    head = _head(f"{source} line {rows[0][0]}", rows[0][1])
    found = [Row(f"{source} line {line}", line, _by_column(head, cells)) for line, cells in rows[1:]]
    if not found:
        raise InputError(source, "there is no row", "a line for each check")
    for row in found:
        if aircraft and not row.cells.get("aircraft", "").strip():
            row.cells["aircraft"] = aircraft
    return Rows(tuple(found), places, separator_of(bare, SEPARATORS) == ";")


def _named_places(source: str, lines: list[str]) -> dict[str, Place]:
    places: dict[str, Place] = {}
    for number, line in enumerate(lines, start=1):
        named = _PLACE.fullmatch(line.strip())
        if named:
            places[named["name"].strip().upper()] = typed.place(named["at"], f"{source} line {number}, place")
    return places


def _named_aircraft(lines: list[str]) -> str:
    named = (_AIRCRAFT.fullmatch(line.strip()) for line in lines)
    return next((one["name"].strip() for one in named if one), "")


def _head(where: str, cells: list[str]) -> list[str]:
    head = [name.strip().lower() for name in cells]
    for name in head:
        if name not in COLUMNS:
            raise InputError(where, f"unknown column '{name[:30]}'", nearest_of(name, [*COLUMNS]))
        if head.count(name) > 1:
            raise InputError(where, f"the column '{name}' stands twice", "once")
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
