"""An aircraft's log from CSV: good rows kept, bad ones listed, each cell kept as typed.

Columns: `time_utc`, `indicated`, `compass`, `set_at` are needed; `aircraft`, `place` (or `latitude` and
`longitude`), `set_compass`, `groundspeed_kt`, `track`, `suction_idle`, `suction_cruise`, `spin_down`,
`maintenance`, `note` may be there. See `docs/instructors/log.md`.
"""

import math
import re
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import msgspec
import numpy as np

from lubberline.angles import rose_deg, wrapped_deg
from lubberline.csvfile import number_of
from lubberline.earth.geodesy import meridian_radius_m, prime_vertical_radius_m
from lubberline.errors import InputError, in_range
from lubberline.flight.tracks.fixes import FASTEST_KT, Fixes
from lubberline.textfile import text_of
from lubberline.units import DEG, KT_MPS
from lubberline.upkeep import log_cells as typed
from lubberline.upkeep.log_cells import COLUMNS, NEEDED, TOO_MANY, Position, rows_of, with_points
from lubberline.upkeep.records import Check, Log, LogEvent, Refusal

__all__ = ["COLUMNS", "NEEDED", "Setting", "check_of", "log_from_rows", "log_from_text", "read_log"]

GREATEST_BYTES = 20_000_000
LONGEST_HOURS = 24.0
SET_NOW = ("now", "set now")
SAME_SETTING_DEG = 0.5
NOWHERE = (math.nan, math.nan)


class Setting(NamedTuple):
    """A setting of the indicator to the compass."""

    time_s: float
    compass_deg: float


def read_log(path: str | Path, aircraft: str = "") -> Log:
    """The log of one aircraft from a file.

    Args:
        path: CSV; comma, semicolon or tab between cells.
        aircraft: whose rows are wanted where there is a column `aircraft`; rows of others are refused.

    Raises:
        InputError: no such file, or without the needed columns.
    """
    return log_from_text(Path(path).name, text_of(path, "a log (CSV)", GREATEST_BYTES), aircraft)


def log_from_text(source: str, text: str, aircraft: str = "") -> Log:
    """The log of one aircraft from the text of such a file.

    Raises:
        InputError: without the needed columns, without any row, or with rows of other aircraft alone.
    """
    found = rows_of(source, text)
    named = {row.cells.get("aircraft", "").strip() for row in found.rows}
    if aircraft and aircraft.casefold() not in {name.casefold() for name in named} and "" not in named:
        others = ", ".join(sorted(name[:30] for name in named)[:4])
        raise InputError(
            source, f"it is the log of {others}", f"give the log of {aircraft}, or that aircraft's file"
        )
    return log_from_rows(
        found.rows,
        aircraft,
        places=found.places,
        decimal_comma=found.decimal_comma,
    )


def log_from_rows(
    rows: Iterable[tuple[str, int, Mapping[str, str]]],
    aircraft: str = "",
    *,
    places: Mapping[str, Position] | None = None,
    decimal_comma: bool = False,
) -> Log:
    """The log of rows: the place of each (for messages), its number, and its cells by column.

    Args:
        rows: in the order in which they were written.
        aircraft: whose rows are wanted; without it, that of the first row.
        places: named ones, in capitals.
        decimal_comma: whether a comma in a number is a decimal one.
    """
    taken = _Taken(aircraft, places or {})
    refused: list[Refusal] = []
    for where, row, cells in rows:
        try:
            taken.add(where, row, dict(cells), with_points(cells) if decimal_comma else dict(cells))
        except InputError as error:
            refused.append(Refusal(error.where, error.wrong, error.right, dict(cells)))
    good, torn = _with_one_setting(sorted(taken.checks, key=lambda one: one.time_s), taken.wheres)
    events = tuple(sorted(taken.events, key=lambda one: one.time_s))
    return Log(taken.aircraft, tuple(good), events, (*refused, *torn), tuple(taken.settings))


class _Taken:
    """The rows read so far: a row may say 'set now', or leave out what an earlier row said."""

    def __init__(self, aircraft: str, places: Mapping[str, Position]) -> None:
        self.aircraft = aircraft
        self.places = places
        self.checks: list[Check] = []
        self.events: list[LogEvent] = []
        self.settings: list[int] = []
        self.wheres: dict[int, str] = {}
        self.times: dict[float, int] = {}
        self.setting: Setting | None = None
        self.place: Position = NOWHERE

    def add(self, where: str, row: int, cells: dict[str, str], plain: dict[str, str]) -> None:
        """Reads a row, or raises InputError and ignores the row."""
        name = _of_aircraft(cells, self.aircraft, where)
        event: LogEvent | None = None
        if cells.get("maintenance", "").strip():
            time_s = typed.moment(cells.get("time_utc", ""), f"{where}, time_utc")
            event = LogEvent(row, time_s, cells["maintenance"].strip())
        if event is None or any(cells.get(one, "").strip() for one in ("indicated", "compass")):
            self._check(where, row, cells, plain)
        if event is not None:
            self.events.append(event)
        self.aircraft = name

    def _check(self, where: str, row: int, cells: dict[str, str], plain: dict[str, str]) -> None:
        now = cells.get("set_at", "").strip().lower() in SET_NOW
        time_s = typed.moment(_needed(plain, "time_utc", where), f"{where}, time_utc") if now else math.nan
        since_s = time_s - (self.setting.time_s if self.setting else math.inf)
        if now and not 0.0 <= since_s <= LONGEST_HOURS * 3600.0:
            # The first setting of a flight: nothing is known yet of the drift before it.
            compass_deg = typed.heading(_needed(plain, "compass", where), f"{where}, compass")
            self.setting = Setting(time_s, compass_deg)
            self.settings.append(row)
            if plain.get("place", "").strip() or plain.get("latitude", "").strip():
                self.place = _place(plain, where, self.place, self.places)
            return
        check = check_of(plain, where, row, self.place, setting=self.setting, places=self.places)
        if check.time_s in self.times:
            raise InputError(
                f"{where}, time_utc",
                f"the same time as in row {self.times[check.time_s]}",
                "give one row for each check",
            )
        self.times[check.time_s] = row
        self.wheres[row] = where
        self.place = (check.latitude_deg, check.longitude_deg)
        self.checks.append(msgspec.structs.replace(check, typed=cells))
        last = (check.time_s, check.compass_deg) if now else (check.set_s, check.set_compass_deg)
        self.setting = Setting(*last)


def _of_aircraft(cells: Mapping[str, str], name: str, where: str) -> str:
    own = cells.get("aircraft", "").strip()
    if own and name and own.casefold() != name.casefold():
        raise InputError(
            f"{where}, aircraft",
            f"'{own[:30]}' is another aircraft",
            f"a row of {name}",
        )
    return name or own


def _with_one_setting(checks: list[Check], wheres: Mapping[int, str]) -> tuple[list[Check], list[Refusal]]:
    """Contradictory settings: a check from before a setting already known, or one set to two headings."""
    good: list[Check] = []
    torn: list[Refusal] = []
    latest = Setting(-math.inf, math.nan)
    for check in checks:
        where = f"{wheres.get(check.row, f'row {check.row}')}, set_at"
        if check.set_s < latest.time_s:
            wrong = "it was set again later, according to an earlier row"
            torn.append(
                Refusal(
                    where,
                    wrong,
                    "give the time of the last setting before the check",
                    check.typed,
                )
            )
        elif (
            check.set_s == latest.time_s
            and abs(wrapped_deg(check.set_compass_deg - latest.compass_deg)) > SAME_SETTING_DEG
        ):
            wrong = f"at that time it was set to {latest.compass_deg:03.0f}, according to an earlier row"
            torn.append(Refusal(where, wrong, "give one compass heading for each setting", check.typed))
        else:
            if check.set_s > latest.time_s or math.isnan(latest.compass_deg):
                latest = Setting(check.set_s, check.set_compass_deg)
            good.append(check)
    return good, torn


def check_of(
    cells: Mapping[str, str],
    where: str,
    row: int,
    last_place: Position = NOWHERE,
    *,
    setting: Setting | None = None,
    places: Mapping[str, Position] | None = None,
) -> Check:
    """A check from its cells.

    Args:
        cells: by column, as typed.
        where: for complaints.
        row: its number.
        last_place: of the row before, taken where this one names none.
        setting: the last one known, taken where `set_at` is empty or says that it is set now.
        places: named ones, in capitals.

    Raises:
        InputError: what is wrong in which cell, and what would be right.
    """
    if TOO_MANY in cells:
        raise InputError(
            where,
            "there are more cells than columns",
            "one cell for each column; a decimal comma needs semicolons between cells",
        )
    time_s = typed.moment(_needed(cells, "time_utc", where), f"{where}, time_utc")
    set_s, set_compass_deg = _last_setting(cells, where, time_s, setting)
    latitude, longitude = _place(cells, where, last_place, places or {})
    return Check(
        row=row,
        time_s=time_s,
        latitude_deg=latitude,
        longitude_deg=longitude,
        indicated_deg=typed.heading(_needed(cells, "indicated", where), f"{where}, indicated"),
        compass_deg=typed.heading(_needed(cells, "compass", where), f"{where}, compass"),
        set_s=set_s,
        set_compass_deg=set_compass_deg,
        groundspeed_kt=_speed(cells, where),
        track_deg=_track(cells, where),
        idle_inhg=_maybe(cells, "suction_idle", where, typed.suction),
        cruise_inhg=_maybe(cells, "suction_cruise", where, typed.suction),
        run_down_min=_maybe(cells, "spin_down", where, typed.minutes),
        typed=dict(cells),
    )


def _last_setting(
    cells: Mapping[str, str], where: str, time_s: float, setting: Setting | None
) -> tuple[float, float]:
    """When it was last set before a time, and the compass then."""
    text = cells.get("set_at", "").strip()
    own = _maybe(cells, "set_compass", where, typed.heading)
    before = setting if setting is not None and setting.time_s < time_s else None
    if text.lower() in ("", *SET_NOW):
        if before is None:
            raise InputError(f"{where}, set_at", "no earlier setting is known", "say when it was last set")
        set_s, compass_deg = before
    else:
        set_s, compass_deg = (
            typed.moment(
                text,
                f"{where}, set_at",
                datetime.fromtimestamp(time_s, UTC),
            ),
            own,
        )
        if set_s > time_s and "-" not in text[:8] and len(text) <= len("23:50:00Z"):
            # 23:50 before a check at 00:10.
            set_s -= 86400.0
    if set_s > time_s:
        raise InputError(
            f"{where}, set_at",
            "it was set after the check",
            "the last setting before it",
        )
    if time_s - set_s > LONGEST_HOURS * 3600.0:
        raise InputError(
            f"{where}, set_at",
            "more than a day before the check",
            "the last setting before it",
        )
    if set_s == time_s:
        raise InputError(
            f"{where}, set_at",
            "it was set at the time of the check",
            "'set now', or the one before",
        )
    return set_s, compass_deg


def _needed(cells: Mapping[str, str], name: str, where: str) -> str:
    text = cells.get(name, "").strip()
    if not text:
        raise InputError(f"{where}, {name}", "it is empty", "give the reading")
    return text


def _maybe(cells: Mapping[str, str], name: str, where: str, read: typed.Reader) -> float:
    text = cells.get(name, "").strip()
    return read(text, f"{where}, {name}") if text else math.nan


def _place(cells: Mapping[str, str], where: str, last: Position, places: Mapping[str, Position]) -> Position:
    named = cells.get("place", "").strip()
    if named:
        return places.get(named.upper()) or typed.place(named, f"{where}, place")
    latitude, longitude = cells.get("latitude", "").strip(), cells.get("longitude", "").strip()
    if latitude or longitude:
        for name, text in (("latitude", latitude), ("longitude", longitude)):
            if not text:
                raise InputError(
                    f"{where}, {name}",
                    "it is empty",
                    "latitude and longitude, or neither",
                )
        return (
            typed.angle(latitude, "NS", f"{where}, latitude"),
            typed.angle(longitude, "EW", f"{where}, longitude"),
        )
    if math.isnan(last[0]):
        raise InputError(f"{where}, place", "no place is given, here or in earlier rows", "N6012.5 E02457.3")
    return last


def _speed(cells: Mapping[str, str], where: str) -> float:
    text = cells.get("groundspeed_kt", "").strip()
    where = f"{where}, groundspeed_kt"
    value = number_of(text, where) if text else 0.0
    return in_range(where, value, 0.0, FASTEST_KT, "{:g} kt", f"from 0 to {FASTEST_KT:.0f}")


def _track(cells: Mapping[str, str], where: str) -> float:
    text = cells.get("track", "").strip()
    if text:
        return typed.heading(text, f"{where}, track")
    if _speed(cells, where) > 0.0:
        raise InputError(f"{where}, track", "a ground speed without a track", "the mean true track")
    return 0.0


def doubt_whose(log: Log, log_file: str | Path, aircraft_file: str | Path, aircraft: str) -> str:
    """A sentence for a log that says neither in itself nor by its file's name that it is this aircraft's.

    The name of its file is compared with those of all aircraft files in the folder of this one's.
    """
    written, own = Path(log_file), Path(aircraft_file)
    says_so = any(check.typed.get("aircraft", "").strip() for check in log.checks)
    if says_so or _is_named(written, _plain(own.stem)) or _is_named(written, _plain(aircraft)):
        return ""
    says = f"{written.name} does not name its aircraft"
    right = f"it was judged as that of {aircraft}. A line '# aircraft = {aircraft}' in it would say so."
    for other in sorted(own.parent.glob("*.toml")):
        if _is_named(written, _plain(other.stem)):
            return f"{says}, and its name is that of {other.name}; {right}"
    return f"{says}; {right}"


def _is_named(file: Path, name: str) -> bool:
    return bool(name) and _plain(file.stem).startswith(name)


def _plain(name: str) -> str:
    return re.sub(r"[^a-z0-9]", "", name.casefold())


# A fix at most so long before or after gives the place of a check.
NEAR_S = 60.0


def join_fixes(log: Log, fixes: Fixes) -> tuple[Log, int]:
    """The log with places and speeds from the fixes of a track, and how many checks they cover."""
    joined = tuple(_joined(check, fixes) for check in log.checks)
    changed = sum(one is not other for one, other in zip(joined, log.checks, strict=True))
    return msgspec.structs.replace(log, checks=joined), changed


def _joined(check: Check, fixes: Fixes) -> Check:
    """The check with place and speed from the fixes; unchanged if they do not cover it and its setting.

    Ground speed and track are those of the straight course with the same ends: the transport wander of the
    card depends only on the way made good, except for the area of a loop.
    """
    time_s = fixes.time_utc_s
    if check.set_s < time_s[0] - NEAR_S or check.time_s > time_s[-1] + NEAR_S:
        return check
    longitude = np.unwrap(fixes.longitude_deg, period=360.0)
    (south, north), (west, east) = (
        np.interp(
            (check.set_s, check.time_s),
            time_s,
            values,
        )
        for values in (fixes.latitude_deg, longitude)
    )
    middle = 0.5 * (south + north) * DEG
    north_m = (north - south) * DEG * meridian_radius_m(middle)
    east_m = (east - west) * DEG * prime_vertical_radius_m(middle) * math.cos(middle)
    seconds = max(check.time_s - check.set_s, 1.0)
    return msgspec.structs.replace(
        check,
        latitude_deg=float(north),
        longitude_deg=wrapped_deg(float(east)),
        groundspeed_kt=math.hypot(north_m, east_m) / seconds / KT_MPS,
        track_deg=rose_deg(math.degrees(math.atan2(east_m, north_m))),
    )
