"""Tracks of gliders' flight recorders: the B records of an IGC file.

Source: FAI, Technical Specification for GNSS Flight Recorders, appendix A (layout of the A, H and B
records, from memory).
"""

import re
from datetime import UTC, datetime

import numpy as np

from lubberline.arrays import Floats
from lubberline.errors import InputError
from lubberline.flight.tracks.fixes import Fixes, checked, seconds_utc, shown

DATE = re.compile(r"^HFDTE(?:DATE)?:?\s*(\d{2})(\d{2})(\d{2})", re.ASCII)
# B, time, latitude, longitude, validity, pressure altitude, satellite altitude.
FIX = re.compile(
    r"^B(\d{2})([0-5]\d)([0-5]\d)"
    r"(\d{2})(\d{5})([NS])(\d{3})(\d{5})([EW])([AV])(-\d{4}|\d{5})(-\d{4}|\d{5})",
    re.ASCII,
)
RIGHT = "a fix reads BHHMMSSDDMMmmmNDDDMMmmmEAPPPPPGGGGG"
SHORTEST_FIX = 35
HALF_DAY_S = 43200.0


def _midnight(source: str, rows: list[str]) -> float:
    """The flight's date, as the seconds since 1970 of its midnight."""
    for line, row in enumerate(rows, start=1):
        if row.startswith("HFDTE"):
            where = f"{source} line {line}, HFDTE"
            match = DATE.match(row)
            try:
                day, month, year = (int(part) for part in match.groups()) if match else (0, 0, 0)
                # Recorders are younger than 1980, so two figures of a year are enough.
                moment = datetime(year + (1900 if year >= 80 else 2000), month, day, tzinfo=UTC)
            except ValueError:
                raise InputError(
                    where, f"found {shown(row)}", "the date of the flight reads HFDTEDDMMYY"
                ) from None
            return seconds_utc(moment, where)
    raise InputError(
        source,
        "no HFDTE line, so no date",
        "the date of the flight reads HFDTEDDMMYY",
    )


def _fix(source: str, line: int, row: str) -> tuple[float, float, float, float, float, bool]:
    """Time of day, latitude, longitude, pressure altitude, satellite altitude, three-dimensional."""
    match = FIX.match(row)
    if match is None:
        raise InputError(f"{source} line {line}", f"found {shown(row)}", RIGHT)
    hour, minute, second, lat, lat_min, ns, lon, lon_min, ew, valid, pressure, satellite = match.groups()
    if int(hour) > 23:
        raise InputError(f"{source} line {line}, time", f"hour {hour}", "hours go from 00 to 23")
    if int(lat_min) >= 60000 or int(lon_min) >= 60000:
        raise InputError(
            f"{source} line {line}",
            "60 minutes of arc or more",
            "minutes go from 00 to 59.999",
        )
    latitude = int(lat) + int(lat_min) / 60000.0
    longitude = int(lon) + int(lon_min) / 60000.0
    return (
        int(hour) * 3600.0 + int(minute) * 60.0 + int(second),
        -latitude if ns == "S" else latitude,
        -longitude if ew == "W" else longitude,
        float(pressure),
        float(satellite),
        valid == "A",
    )


def _altitudes(source: str, table: Floats, line: list[int]) -> tuple[Floats, list[str], list[str]]:
    """Altitudes with what was assumed: by satellites where most fixes have one, else by pressure."""
    pressure, satellite = table[:, 3], table[:, 4]
    good = (table[:, 5] > 0.0) & (satellite != 0.0)
    if good.sum() * 2 < len(table):
        said = "altitude is pressure altitude (1013.25 hPa), taken as above mean sea level"
        return pressure, [f"{source}: most fixes have no satellite altitude; {said}"], []
    warnings = []
    altitude = satellite.copy()
    if not good.all():
        first = line[int(np.argmin(good))]
        warnings.append(
            f"{source} line {first}: {(~good).sum()} fixes without a satellite altitude; "
            "interpolated between their neighbours"
        )
        index = np.arange(len(table))
        altitude[~good] = np.interp(index[~good], index[good], satellite[good])
    note = "Altitude is the recorder's satellite altitude, which may be measured from the ellipsoid, up to "
    return altitude, warnings, [note + "some 100 m from mean sea level."]


def read_igc(source: str, text: str) -> Fixes:
    """The fixes of an IGC file (B records); a last record cut short is left out with a warning.

    Raises:
        InputError: no date, no fixes, a B record that cannot be read.
    """
    rows = [row.rstrip() for row in text.split("\n")]
    midnight = _midnight(source, rows)
    numbered = [(line, row) for line, row in enumerate(rows, start=1) if row.startswith("B")]
    warnings: list[str] = []
    if numbered and len(numbered[-1][1]) < SHORTEST_FIX:
        warnings.append(f"{source} line {numbered[-1][0]}: the last record is cut short and was left out")
        numbered.pop()
    if not numbered:
        raise InputError(source, "no B records, so no fixes", RIGHT)
    line = [at for at, _ in numbered]
    table = np.array([_fix(source, at, row) for at, row in numbered], dtype=np.float64)
    # Times of day begin again at midnight.
    passed = np.append(False, np.diff(table[:, 0]) < -HALF_DAY_S)
    time_s = table[:, 0] + 2.0 * HALF_DAY_S * np.cumsum(passed)
    warnings += [
        f"{source} line {line[i]}: midnight UTC passed; the next day begins here"
        for i in np.flatnonzero(passed)
    ]
    altitude, more, notes = _altitudes(source, table, line)
    nothing = np.full(len(table), np.nan)
    return checked(
        Fixes(
            source=source,
            time_utc_s=midnight + time_s,
            latitude_deg=table[:, 1],
            longitude_deg=table[:, 2],
            altitude_m=altitude,
            groundspeed_kt=nothing,
            track_deg=nothing,
            line=np.array(line, dtype=np.int64),
            title=source,
            warnings=(*warnings, *more),
            notes=tuple(notes),
        )
    )
