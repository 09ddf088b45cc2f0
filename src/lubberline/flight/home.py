"""A school's home: its place, clock, usual aircraft, rules, units and paper, from `home.toml`.

Hemisphere, variation and dip follow from the place; local time from the time zone. What is shown to people is
in local time; what is stored or exported stays in UTC.
"""

from datetime import UTC, date, datetime, time, timedelta
from functools import cache, lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo

import msgspec
from msgspec import Meta

from lubberline.earth.magnetic import FieldPoint, field_at
from lubberline.errors import InputError, nearest_of
from lubberline.flight.motion import decimal_year_of
from lubberline.textfile import as_toml, text_of, toml_of
from lubberline.typed_fields import typed
from lubberline.units import FT_M, hpa_text

HOME_FILE = "a home file (TOML)"
GREATEST_FILE_BYTES = 20_000
LONGEST_PLACE = 60
Suction = Literal["inHg", "hPa"]
Paper = Literal["A4", "Letter"]
_DAY = "%Y-%m-%d"


class Home(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Where a school is, and what is usual there.

    Attributes:
        place: its name.
        latitude_deg: north positive.
        longitude_deg: east positive.
        elevation_ft: above mean sea level.
        time_zone: by its name in the IANA time zone database.
        aircraft: the name of the usual aircraft; '' for a healthy one.
        regulations: the country whose rules are asked about; '' for none.
        suction: the unit in which suction is written.
        paper: the size of paper.
    """

    place: str
    latitude_deg: Annotated[float, Meta(ge=-89.0, le=89.0)]
    longitude_deg: Annotated[float, Meta(ge=-180.0, le=180.0)]
    elevation_ft: Annotated[float, Meta(ge=-1500.0, le=16000.0)] = 0.0
    time_zone: str = "UTC"
    aircraft: Annotated[str, Meta(max_length=80)] = ""
    regulations: Annotated[str, Meta(max_length=60)] = ""
    suction: Suction = "inHg"
    paper: Paper = "A4"

    @property
    def side(self) -> Literal[1, -1]:
        """1 in the northern hemisphere and on the equator, -1 in the southern."""
        return -1 if self.latitude_deg < 0.0 else 1

    @property
    def hemisphere(self) -> str:
        """'northern' or 'southern'."""
        return "southern" if self.side < 0 else "northern"

    @property
    def position(self) -> str:
        """In degrees and tenths, as '43.2 S, 172.1 E'."""
        north_south = "S" if self.latitude_deg < 0.0 else "N"
        east_west = "W" if self.longitude_deg < 0.0 else "E"
        return f"{abs(self.latitude_deg):.1f} {north_south}, {abs(self.longitude_deg):.1f} {east_west}"

    def field(self, day: date) -> FieldPoint:
        """The Earth's field at home on a day, by the World Magnetic Model."""
        return _field(self.latitude_deg, self.longitude_deg, self.elevation_ft, day)

    def suction_words(self, inhg: float) -> str:
        """A suction in the unit of home: '4.9 inHg', '166 hPa'."""
        return self.said(f"{inhg:.1f} inHg")

    def said(self, text: str) -> str:
        """A text whose pressures are in inHg, with them in the unit of home."""
        return text if self.suction == "inHg" else hpa_text(text)

    def local(self, utc: datetime | str | float) -> datetime:
        """A moment by the clocks at home.

        Args:
            utc: a moment, a stored time, or seconds since 1970.
        """
        if isinstance(utc, str):
            utc = datetime.fromisoformat(utc)
        if isinstance(utc, datetime):
            return (utc if utc.tzinfo else utc.replace(tzinfo=UTC)).astimezone(zone_of(self.time_zone))
        return datetime.fromtimestamp(utc, zone_of(self.time_zone))

    def day(self, utc: datetime | str | float) -> str:
        """The day of a moment at home, as '2026-05-25'."""
        return self.local(utc).strftime(_DAY)

    def time(self, utc: datetime | str | float) -> str:
        """A moment at home with its zone, as '2026-05-25 10:20 NZST'."""
        here = self.local(utc)
        return f"{here:%Y-%m-%d %H:%M} {clock_of(here)}"

    def minute(self, utc: datetime | str | float) -> str:
        """The time of day of a moment at home with its zone, as '10:20 NZST'."""
        return self.time(utc).partition(" ")[2]

    def to_utc(self, utc: datetime) -> str:
        """How UTC follows from the clocks at home: 'NZST less 12 h'; '' where they show UTC."""
        here = self.local(utc)
        offset = here.utcoffset() or timedelta()
        hours, minutes = divmod(round(abs(offset).total_seconds() / 60.0), 60)
        size = f"{hours}:{minutes:02d} h" if minutes else f"{hours} h"
        return f"{clock_of(here)} {'less' if offset > timedelta() else 'plus'} {size}" if offset else ""

    def hour(self, utc: datetime | str | float) -> str:
        """Only the time of day of a moment at home, as '10:20:05'."""
        return self.local(utc).strftime("%H:%M:%S")


# For a function that is given no home: times in UTC, suction in inHg, A4.
NO_HOME = Home("not set", 0.0, 0.0)


def home_rows(home: Home, now: datetime) -> list[tuple[str, str]]:
    """What is set, and what follows from the place on that day, as names and words."""
    today = home.local(now).date()
    field = home.field(today)
    east_west = "E" if field.variation_deg >= 0.0 else "W"
    up_down = "down" if field.dip_deg >= 0.0 else "up"
    return [
        ("Place", f"{home.place}, {home.position}, {home.elevation_ft:.0f} ft"),
        ("Hemisphere", home.hemisphere),
        ("Variation", f"{abs(field.variation_deg):.1f} {east_west} on {today}"),
        ("Dip", f"{abs(field.dip_deg):.0f} degrees, north end {up_down}"),
        ("Time zone", f"{home.time_zone}, now {home.time(now)}"),
        ("Usual aircraft", home.aircraft or "a healthy aircraft"),
        ("Regulations", home.regulations or "none"),
        ("Suction in", home.suction),
        ("Paper", home.paper),
    ]


@lru_cache(maxsize=64)
def _field(latitude_deg: float, longitude_deg: float, elevation_ft: float, day: date) -> FieldPoint:
    year = decimal_year_of(datetime.combine(day, time(12), tzinfo=UTC))
    return field_at(latitude_deg, longitude_deg, elevation_ft * FT_M, year)


@cache
def zone_of(name: str) -> ZoneInfo:
    """The time zone with a name in the IANA database.

    Raises:
        InputError: there is none.
    """
    try:
        return ZoneInfo(name)
    except (OSError, ValueError):
        # Not a KeyError only: a folder's name and a path are refused with other errors.
        raise _no_zone("time_zone", name) from None
    except KeyError:
        raise _no_zone("time_zone", name) from None


def _no_zone(where: str, name: str) -> InputError:
    from zoneinfo import available_timezones

    near = nearest_of(name, sorted(available_timezones())) if name else ""
    right = near if near.startswith("did you mean") else "write it as Pacific/Auckland or Europe/London"
    return InputError(where, f"there is no time zone '{name[:60]}'", right)


def clock_of(here: datetime) -> str:
    """What a zone calls its time: 'NZST', 'UTC', or 'UTC+5' where it has no letters for it."""
    name = here.tzname() or ""
    if name.isalpha():
        return name
    offset = here.utcoffset() or timedelta()
    hours, minutes = divmod(round(abs(offset).total_seconds() / 60.0), 60)
    return f"UTC{'-' if offset < timedelta() else '+'}{hours}" + (f":{minutes:02d}" if minutes else "")


def check_home(home: Home, source: str = "home") -> None:
    """Checks what a type cannot: a place with a name, a known time zone.

    Raises:
        InputError: naming `source` and the field.
    """
    if home.place != " ".join(home.place.split()) or not 0 < len(home.place) <= LONGEST_PLACE:
        right = f"give the place a name on one line of at most {LONGEST_PLACE} characters"
        raise InputError(f"{source}, place", f"'{home.place[:60]}'", right)
    try:
        zone_of(home.time_zone)
    except InputError as error:
        raise InputError(f"{source}, time_zone", error.wrong, error.right) from None


def home_from_fields(source: str, fields: dict[str, Any]) -> Home:
    """A home from plain fields.

    Raises:
        InputError: naming `source` and the field, for anything that is not right.
    """
    home = typed(source, fields, Home, "see docs/instructors/home.md")
    check_home(home, source)
    return home


def home_from_text(source: str, text: str) -> Home:
    """A home from the text of its file; errors as for `home_from_fields`."""
    return home_from_fields(source, toml_of(source, text))


def read_home(path: str | Path) -> Home:
    """Read a home file; errors as for `home_from_fields`."""
    return home_from_text(str(path), text_of(path, HOME_FILE, GREATEST_FILE_BYTES))


def home_text(home: Home) -> str:
    """The file of a home."""
    return as_toml(msgspec.to_builtins(home))
