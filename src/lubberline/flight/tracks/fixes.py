"""A recorded track as written: one fix per row, each with its line in the file.

The readers of this room (`csv_track`, `gpx`, `igc`) fill this record; `checked` refuses what cannot be a
flight, naming the line.
"""

from dataclasses import dataclass, field
from datetime import UTC, datetime

import numpy as np

from lubberline.arrays import Floats, Ints
from lubberline.errors import InputError
from lubberline.units import GREATEST_LATITUDE_DEG

LONGEST_FLIGHT_S = 86400.0
SHORTEST_FLIGHT_S = 1.0
# From the Dead Sea's shore with some noise, to above any aeroplane of this kind.
LOWEST_M, HIGHEST_M = -1000.0, 30000.0
FASTEST_KT = 700.0


@dataclass(frozen=True)
class Fixes:
    """The fixes of one recorded flight, in the order of the file.

    Attributes:
        source: name of the file, as the person knows it.
        time_utc_s: seconds since 1970-01-01 UTC.
        latitude_deg: north positive.
        longitude_deg: east positive.
        altitude_m: above mean sea level, or what a warning says it is.
        groundspeed_kt: nan where not given.
        track_deg: true, over the ground; nan where not given.
        line: line of the file that each fix stands on, from 1.
        title: what the file calls the flight, or its name.
        warnings: what was assumed about dirty input, each naming its place.
        notes: what holds for the whole flight.
    """

    source: str
    time_utc_s: Floats
    latitude_deg: Floats
    longitude_deg: Floats
    altitude_m: Floats
    groundspeed_kt: Floats
    track_deg: Floats
    line: Ints
    title: str
    warnings: tuple[str, ...] = field(default=())
    notes: tuple[str, ...] = field(default=())

    def __len__(self) -> int:
        return len(self.time_utc_s)

    def place(self, index: int) -> str:
        """The place of a fix for a message: file, line and time."""
        return f"{self.source} line {self.line[index]} ({clock(float(self.time_utc_s[index]))})"


def clock(time_utc_s: float) -> str:
    """Time of day of a moment, to the second or finer where it has a fraction."""
    moment = datetime.fromtimestamp(time_utc_s, UTC)
    fraction = f".{moment.microsecond // 100000}" if moment.microsecond >= 100000 else ""
    return f"{moment:%H:%M:%S}{fraction}Z"


def seconds_utc(moment: datetime, where: str) -> float:
    """Seconds since 1970 of a moment with a zone.

    Raises:
        InputError: the year cannot be that of a recorded flight.
    """
    if not 1950 < moment.year < 2100:
        raise InputError(
            where,
            f"the year is {moment.year}",
            "a recorded flight is from 1951 to 2099",
        )
    return moment.timestamp()


def _refuse_range(fixes: Fixes, name: str, low: float, high: float, right: str) -> None:
    values: Floats = getattr(fixes, name)
    with np.errstate(invalid="ignore"):
        bad = ~((values >= low) & (values <= high))
    if name in ("groundspeed_kt", "track_deg"):
        bad &= ~np.isnan(values)
    if bad.any():
        worst = int(np.argmax(bad))
        raise InputError(
            f"{fixes.source} line {fixes.line[worst]}, {name}", f"found {values[worst]:g}", right
        )


def _refuse_order(fixes: Fixes) -> None:
    if len(fixes) < 2:
        found = "no fixes" if len(fixes) == 0 else f"only one fix, on line {fixes.line[0]}"
        raise InputError(fixes.source, found, "a track needs at least two fixes")
    steps = np.diff(fixes.time_utc_s)
    if (steps < 0).any():
        here = int(np.argmax(steps < 0)) + 1
        raise InputError(
            f"{fixes.source} line {fixes.line[here]}, time",
            f"{clock(float(fixes.time_utc_s[here]))} comes after {clock(float(fixes.time_utc_s[here - 1]))} "
            f"on line {fixes.line[here - 1]}",
            "fixes have to be in order of time; sort the rows",
        )
    lasting = float(fixes.time_utc_s[-1] - fixes.time_utc_s[0])
    if lasting > LONGEST_FLIGHT_S:
        raise InputError(
            fixes.source, f"the track lasts {lasting / 3600.0:.0f} hours", "give each flight its own file"
        )
    if lasting < SHORTEST_FLIGHT_S:
        raise InputError(
            fixes.source,
            f"the track lasts {lasting:.1f} s",
            "a track must last at least a second",
        )


def checked(fixes: Fixes) -> Fixes:
    """The same fixes, if each fix and their order can be a flight.

    Raises:
        InputError: a number out of range or not finite, times that run backwards, fewer than two fixes,
            or a track longer than a day; names the line and the field.
    """
    limit = (
        f"latitudes lie within {GREATEST_LATITUDE_DEG} deg of the equator (near the poles headings "
        "lose their meaning), in decimal degrees"
    )
    _refuse_range(fixes, "latitude_deg", -GREATEST_LATITUDE_DEG, GREATEST_LATITUDE_DEG, limit)
    _refuse_range(
        fixes, "longitude_deg", -180.0, 180.0, "longitudes lie from -180 to 180, in decimal degrees"
    )
    _refuse_range(
        fixes,
        "altitude_m",
        LOWEST_M,
        HIGHEST_M,
        "altitudes lie from -1000 to 30000 metres",
    )
    _refuse_range(fixes, "groundspeed_kt", 0.0, FASTEST_KT, "ground speeds lie from 0 to 700 knots")
    _refuse_range(fixes, "track_deg", -180.0, 360.0, "tracks lie from 0 to 360 degrees")
    _refuse_order(fixes)
    return fixes


def shown(text: str) -> str:
    """Foreign text, quoted and cut to a length that fits a message."""
    return repr(text if len(text) <= 40 else text[:37] + "...")
