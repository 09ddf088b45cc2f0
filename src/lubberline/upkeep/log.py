"""An aircraft's log from CSV: good rows kept, bad ones listed, each cell kept as typed.

Columns: `time_utc`, `indicated`, `compass`, `set_at` are needed; `aircraft`, `place` (or `latitude` and
`longitude`), `set_compass`, `groundspeed_kt`, `track`, `suction_idle`, `suction_cruise`, `spin_down`,
`maintenance`, `note` may be there. See `docs/log.md`.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path

from lubberline.errors import InputError, nearest_of
from lubberline.textfile import text_of
from lubberline.upkeep import places_typed as typed
from lubberline.upkeep.records import Check, Log, LogEvent, Refusal

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
GREATEST_BYTES = 20_000_000
LONGEST_HOURS = 24.0
FASTEST_KT = 700.0


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
        InputError: without the needed columns, or without any row.
    """
    return log_from_rows(_rows(source, text), aircraft)


def _rows(source: str, text: str) -> list[tuple[str, int, dict[str, str]]]:
    lines = text.removeprefix("\ufeff").splitlines()
    first = lines[0] if lines else ""
    separator = max(",;\t", key=first.count)
    reader = csv.reader(lines, delimiter=separator)
    head = [name.strip().lower() for name in next(reader, [])]
    for name in NEEDED:
        if name not in head:
            raise InputError(f"{source} line 1", f"there is no column '{name}'", f"name {', '.join(NEEDED)}")
    for name in head:
        if name not in COLUMNS:
            raise InputError(
                f"{source} line 1", f"unknown column '{name[:30]}'", nearest_of(name, [*COLUMNS])
            )
        if head.count(name) > 1:
            raise InputError(f"{source} line 1", f"the column '{name}' stands twice", "once")
    found = []
    for row in reader:
        if any(cell.strip() for cell in row):
            cells = {name: cell.strip() for name, cell in zip(head, row, strict=False)}
            if len(row) > len(head):
                cells["note"] = f"{cells.get('note', '')} [{len(row) - len(head)} cells too many]".strip()
                cells["too many"] = ",".join(row[len(head) :])
            found.append((f"{source} line {reader.line_num}", reader.line_num, cells))
    if not found:
        raise InputError(source, "there is no row", "a line for each check")
    return found


def log_from_rows(rows: Iterable[tuple[str, int, Mapping[str, str]]], aircraft: str = "") -> Log:
    """The log of rows: where each stands (for complaints), its number, and its cells by column."""
    checks: list[Check] = []
    events: list[LogEvent] = []
    refused: list[Refusal] = []
    last: tuple[float, float] = (math.nan, math.nan)
    times: dict[float, int] = {}
    name = aircraft
    for where, row, cells in rows:
        try:
            name = _of_aircraft(cells, name, where)
            if cells.get("maintenance", "").strip():
                time_s = typed.moment(cells.get("time_utc", ""), f"{where}, time_utc")
                events.append(LogEvent(row, time_s, cells["maintenance"].strip()))
                if not any(cells.get(one, "").strip() for one in ("indicated", "compass")):
                    continue
            check = check_of(cells, where, row, last)
            if check.time_s in times:
                wrong = f"the same time as in row {times[check.time_s]}"
                raise InputError(where, wrong, "one row for each check")
            times[check.time_s] = row
            last = (check.latitude_deg, check.longitude_deg)
            checks.append(check)
        except InputError as error:
            refused.append(Refusal(error.where, error.wrong, error.right, dict(cells)))
    good, torn = _with_one_setting(sorted(checks, key=lambda one: one.time_s))
    return Log(name, tuple(good), tuple(sorted(events, key=lambda one: one.time_s)), (*refused, *torn))


def _of_aircraft(cells: Mapping[str, str], name: str, where: str) -> str:
    own = cells.get("aircraft", "").strip()
    if own and name and own.casefold() != name.casefold():
        raise InputError(f"{where}, aircraft", f"'{own[:30]}' is another aircraft", f"a row of {name}")
    return name or own


def _with_one_setting(checks: list[Check]) -> tuple[list[Check], list[Refusal]]:
    """Two settings at once: a check that says it was last set before a setting that is known already."""
    good: list[Check] = []
    torn: list[Refusal] = []
    latest_s = -math.inf
    for check in checks:
        if check.set_s < latest_s:
            wrong = "it was set again since then, as an earlier row says"
            where = f"row {check.row}, set_at"
            torn.append(Refusal(where, wrong, "the time of the last setting before the check", check.typed))
            continue
        latest_s = max(latest_s, check.set_s)
        good.append(check)
    return good, torn


def check_of(
    cells: Mapping[str, str], where: str, row: int, last_place: tuple[float, float] = (math.nan, math.nan)
) -> Check:
    """A check from its cells.

    Args:
        cells: by column, as typed.
        where: for complaints.
        row: its number.
        last_place: of the row before, taken where this one names none.

    Raises:
        InputError: what is wrong in which cell, and what would be right.
    """
    if "too many" in cells:
        right = "one cell for each column; a decimal comma needs semicolons between cells"
        raise InputError(where, "there are more cells than columns", right)
    time_s = typed.moment(_needed(cells, "time_utc", where), f"{where}, time_utc")
    day = datetime.fromtimestamp(time_s, UTC)
    set_s = typed.moment(_needed(cells, "set_at", where), f"{where}, set_at", day)
    if set_s > time_s and time_s + 86400.0 > set_s and ":" in cells["set_at"] and "T" not in cells["set_at"]:
        # 23:50 before a check at 00:10.
        set_s -= 86400.0
    if set_s > time_s:
        raise InputError(f"{where}, set_at", "it was set after the check", "the last setting before it")
    if time_s - set_s > LONGEST_HOURS * 3600.0:
        raise InputError(f"{where}, set_at", "more than a day before the check", "the last setting before it")
    latitude, longitude = _place(cells, where, last_place)
    return Check(
        row=row,
        time_s=time_s,
        latitude_deg=latitude,
        longitude_deg=longitude,
        indicated_deg=typed.heading(_needed(cells, "indicated", where), f"{where}, indicated"),
        compass_deg=typed.heading(_needed(cells, "compass", where), f"{where}, compass"),
        set_s=set_s,
        set_compass_deg=_maybe(cells, "set_compass", where, typed.heading),
        groundspeed_kt=_speed(cells, where),
        track_deg=_track(cells, where),
        idle_inhg=_maybe(cells, "suction_idle", where, typed.suction),
        cruise_inhg=_maybe(cells, "suction_cruise", where, typed.suction),
        run_down_min=_maybe(cells, "spin_down", where, typed.minutes),
        typed=dict(cells),
    )


def _needed(cells: Mapping[str, str], name: str, where: str) -> str:
    text = cells.get(name, "").strip()
    if not text:
        raise InputError(f"{where}, {name}", "it is empty", "what was read")
    return text


def _maybe(cells: Mapping[str, str], name: str, where: str, read: typed.Reader) -> float:
    text = cells.get(name, "").strip()
    return read(text, f"{where}, {name}") if text else math.nan


def _place(cells: Mapping[str, str], where: str, last: tuple[float, float]) -> tuple[float, float]:
    if cells.get("place", "").strip():
        return typed.place(cells["place"], f"{where}, place")
    latitude, longitude = cells.get("latitude", "").strip(), cells.get("longitude", "").strip()
    if latitude:
        found = typed.angle(latitude, "NS", f"{where}, latitude")
        return found, typed.angle(longitude, "EW", f"{where}, longitude") if longitude else 0.0
    if math.isnan(last[0]):
        raise InputError(f"{where}, place", "no place is given, here or before", "N6012.5 E02457.3")
    return last


def _speed(cells: Mapping[str, str], where: str) -> float:
    text = cells.get("groundspeed_kt", "").strip()
    value = typed.number(text, f"{where}, groundspeed_kt") if text else 0.0
    if not 0.0 <= value <= FASTEST_KT:
        raise InputError(f"{where}, groundspeed_kt", f"{value:g} kt", f"from 0 to {FASTEST_KT:.0f}")
    return value


def _track(cells: Mapping[str, str], where: str) -> float:
    text = cells.get("track", "").strip()
    if text:
        return typed.heading(text, f"{where}, track")
    if _speed(cells, where) > 0.0:
        raise InputError(f"{where}, track", "a ground speed without a track", "the mean true track")
    return 0.0
