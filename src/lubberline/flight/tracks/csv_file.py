"""Tracks written as a table: `time_utc,latitude_deg,longitude_deg,altitude_m[,groundspeed_kt,track_deg]`."""

from datetime import datetime

import numpy as np

from lubberline.arrays import Floats
from lubberline.csvfile import csv_rows, number_of
from lubberline.errors import InputError, nearest_of
from lubberline.flight.tracks.fixes import Fixes, checked, seconds_utc, shown

REQUIRED = ("time_utc", "latitude_deg", "longitude_deg", "altitude_m")
OPTIONAL = ("groundspeed_kt", "track_deg")
PRESSURE = "pressure_altitude_m"
EXAMPLE = ",".join(REQUIRED)


def _header(source: str, row: list[str], line: int) -> tuple[list[str], list[str]]:
    """Column names in order, and warnings about those not known."""
    names = [name.strip() for name in row]
    where = f"{source} line {line}"
    if len(names) == 1 and (";" in names[0] or "\t" in names[0]):
        raise InputError(
            where,
            "the columns are not separated by commas",
            "separate columns by a comma and write the decimal mark as a point",
        )
    altitude = "altitude_m" if "altitude_m" in names or PRESSURE not in names else PRESSURE
    for name in (*REQUIRED[:-1], altitude):
        if name not in names:
            raise InputError(
                where, f"no column '{name}' (found {shown(','.join(names))})", f"columns: {EXAMPLE}"
            )
    for name in names:
        if names.count(name) > 1:
            raise InputError(where, f"column {shown(name)} appears twice", "give each column once")
    known = [*REQUIRED, *OPTIONAL, PRESSURE]
    warnings = [
        f"{where}: column {shown(name)} is unknown and was left out ({nearest_of(name, known)})"
        for name in names
        if name not in known
    ]
    if altitude == PRESSURE:
        warnings.append(f"{where}: pressure_altitude_m was taken as the altitude above mean sea level")
    return names, warnings


def _column(source: str, name: str, cells: list[str], lines: list[int], optional: bool) -> Floats:
    try:
        values = np.array([float(cell) for cell in cells])
        if np.isfinite(values).all() and not any("_" in cell for cell in cells):
            return values
    except ValueError:
        pass
    # The slow way, cell by cell, to name the place or to let an empty cell of an optional column pass.
    values = np.full(len(cells), np.nan)
    for i, cell in enumerate(cells):
        if not (optional and not cell.strip()):
            values[i] = number_of(cell.strip(), f"{source} line {lines[i]}, {name}")
    return values


def moment_of(cell: str, where: str) -> datetime:
    """A moment written as ISO 8601 with its zone, such as 2024-05-01T10:00:00Z.

    Raises:
        InputError: not such a moment, or without a zone.
    """
    try:
        moment = datetime.fromisoformat(cell.strip())
    except ValueError:
        right = "write the time as 2024-05-01T10:00:00Z"
        raise InputError(where, f"{shown(cell)} is not a time", right) from None
    if moment.tzinfo is None:
        right = "end the time in Z (UTC) or in an offset such as +02:00"
        raise InputError(where, f"{shown(cell)} has no zone", right)
    return moment


def read_csv(source: str, text: str) -> Fixes:
    """The fixes of a table; an empty cell is allowed for ground speed and track only.

    Raises:
        InputError: a missing column, a row of another length, a cell that is not what its column holds.
    """
    found = csv_rows(source, text)
    if not found:
        raise InputError(
            source,
            "the file has no rows",
            f"the first row names the columns: {EXAMPLE}",
        )
    names, warnings = _header(source, found[0][1], found[0][0])
    lines, rows = [line for line, _ in found[1:]], [row for _, row in found[1:]]
    for line, row in found[1:]:
        if len(row) != len(names):
            raise InputError(
                f"{source} line {line}",
                f"{len(row)} cells where the first row has {len(names)}",
                "write one cell per column, with a point as the decimal mark",
            )
    columns = {name: [row[at] for row in rows] for at, name in enumerate(names)}
    altitude = "altitude_m" if "altitude_m" in columns else PRESSURE
    places = [f"{source} line {line}, time_utc" for line in lines]
    times = map(seconds_utc, map(moment_of, columns["time_utc"], places), places)

    def values(name: str) -> Floats:
        if name not in columns:
            return np.full(len(rows), np.nan)
        return _column(source, name, columns[name], lines, name in OPTIONAL)

    return checked(
        Fixes(
            source=source,
            time_utc_s=np.array([*times], dtype=np.float64),
            latitude_deg=values("latitude_deg"),
            longitude_deg=values("longitude_deg"),
            altitude_m=values(altitude),
            groundspeed_kt=values("groundspeed_kt"),
            track_deg=values("track_deg"),
            line=np.array(lines, dtype=np.int64),
            title=source,
            warnings=tuple(warnings),
        )
    )
