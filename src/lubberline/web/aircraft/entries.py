"""Entries of an aircraft's log: the form's fields as cells of a row, their meaning, and both in words."""

import math
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any, NamedTuple

from lubberline.csvfile import csv_text
from lubberline.errors import InputError
from lubberline.flight.home import NO_HOME, Home
from lubberline.store import times
from lubberline.store.aircraft_log import LogChange, LogEntry
from lubberline.store.fleet import Craft
from lubberline.store.school import School
from lubberline.upkeep.log import Setting, check_of
from lubberline.upkeep.log_cells import COLUMNS, moment, rows_of
from lubberline.upkeep.records import Check, Log
from lubberline.web.forms import number_in

LONGEST_CELL = 200
UNDO_WITHIN_S = 900.0
AFTER_LAST = "last"
SET_CHOICES = (
    ("5", "5"),
    ("10", "10"),
    ("15", "15"),
    ("20", "20"),
    ("30", "30"),
    ("45", "45"),
    ("60", "60"),
)
ENGINE_CHOICES = (("cruise", "Cruise power"), ("idle", "Idle"), ("", "Other"))
# The form's fields and their first values.
FORM = {
    "indicated": "",
    "compass": "",
    "suction": "",
    "set_ago_min": "",
    "set_at": "",
    "engine": "idle",
    "time": "",
    "place": "",
    "run_down": "",
    "note": "",
}
NAMES = {
    "time_utc": "Time, UTC",
    "indicated": "Heading indicator",
    "compass": "Compass",
    "set_at": "Set at",
    "place": "Place",
    "set_compass": "Compass when set",
    "groundspeed_kt": "Ground speed, kt",
    "track": "Track",
    "suction_idle": "Suction at idle",
    "suction_cruise": "Suction at cruise",
    "spin_down": "Run-down time",
    "maintenance": "Maintenance",
    "note": "Note",
}
LATELY = 6


class Entry(NamedTuple):
    """A row of a log as the pages use it.

    Attributes:
        id: of the record; '' for a row that came with the program.
        cells: as typed, by column.
    """

    id: str
    cells: dict[str, str]


def demo_entries(craft: Craft) -> list[Entry]:
    """The rows that came with the program."""
    if not craft.demo_log:
        return []
    return [
        Entry("", {name: cell for name, cell in row.cells.items() if cell})
        for row in rows_of(craft.name, craft.demo_log).rows
    ]


def entries_of(craft: Craft, kept: Sequence[LogEntry]) -> list[Entry]:
    """All rows of a log: those of the demo, then the entered ones that are not withdrawn."""
    own = [Entry(one.id, dict(one.typed)) for one in kept if not one.understood.get("withdrawn")]
    return [*demo_entries(craft), *own]


def cells_from_form(
    form: Mapping[str, str], last: Check | None, now: datetime, home: Home = NO_HOME
) -> dict[str, str]:
    """The cells of a log's row from the form; only the times are interpreted.

    Args:
        form: its fields.
        last: the check before this one, if any.
        now: the default time.
        home: in whose unit a suction without one is.

    Raises:
        InputError: the time of the last setting is missing, or a time is invalid.
    """
    typed = {name: form.get(name, "").strip()[:LONGEST_CELL] for name in FORM}
    if home.suction != "inHg" and math.isfinite(number_in(typed["suction"])):
        typed["suction"] += f" {home.suction}"
    time_utc = typed["time"] or f"{now.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
    at = datetime.fromtimestamp(moment(time_utc, "time", now), UTC)
    cells = {
        "time_utc": f"{at:%Y-%m-%dT%H:%M:%SZ}" if typed["time"] else time_utc,
        **{name: typed[name] for name in ("indicated", "compass", "place", "note")},
        "spin_down": typed["run_down"],
    }
    if typed["engine"] in ("idle", "cruise"):
        cells[f"suction_{typed['engine']}"] = typed["suction"]
    elif typed["suction"]:
        cells["note"] = f"{typed['note']} suction {typed['suction']}".strip()
    cells |= _setting(typed, last, at)
    return {name: cell for name, cell in cells.items() if cell}


def _setting(typed: Mapping[str, str], last: Check | None, at: datetime) -> dict[str, str]:
    """When it was last set, and to what, from the form's choice or a time."""
    if typed["set_at"]:
        return {"set_at": typed["set_at"] if typed["set_at"][-1:] in "zZ" else f"{typed['set_at']}Z"}
    if typed["set_ago_min"] == AFTER_LAST and last is not None:
        then = datetime.fromtimestamp(last.time_s, UTC)
        return {"set_at": f"{then:%Y-%m-%dT%H:%M:%SZ}", "set_compass": f"{last.compass_deg:03.0f}"}
    minutes = number_in(typed["set_ago_min"])
    if not 0.0 <= minutes <= 1440.0:
        raise InputError("last set", "the time is missing", "enter how long ago, or a time such as 10:32")
    return {"set_at": f"{at - timedelta(minutes=minutes):%Y-%m-%dT%H:%M:%SZ}"}


def understood_from(
    cells: Mapping[str, str], last: Check | None = None, setting: Setting | None = None
) -> dict[str, Any]:
    """The meaning of a row's cells on their own, as plain values.

    Args:
        cells: as typed, by column.
        last: the check whose position is used if the row has none.
        setting: the setting used if the row has none.

    Raises:
        InputError: for a wrong cell.
    """
    if cells.get("maintenance", "").strip() and not cells.get("indicated", "").strip():
        time_s = moment(cells.get("time_utc", ""), "time")
        return {"time_utc": utc_of(time_s), "maintenance": cells["maintenance"].strip()}
    place = (last.latitude_deg, last.longitude_deg) if last else (math.nan, math.nan)
    return understood_of(check_of(cells, "entry", 0, place, setting=setting))


def understood_of(check: Check) -> dict[str, Any]:
    """A check as plain values, without empty ones."""
    values: dict[str, Any] = {
        "time_utc": utc_of(check.time_s),
        "indicated_deg": check.indicated_deg,
        "compass_deg": check.compass_deg,
        "set_utc": utc_of(check.set_s),
        "minutes_since_set": round(check.minutes, 1),
        "latitude_deg": round(check.latitude_deg, 4),
        "longitude_deg": round(check.longitude_deg, 4),
        "set_compass_deg": check.set_compass_deg,
        "groundspeed_kt": check.groundspeed_kt,
        "track_deg": check.track_deg,
        "idle_inhg": check.idle_inhg,
        "cruise_inhg": check.cruise_inhg,
        "run_down_min": check.run_down_min,
    }
    return {
        name: value for name, value in values.items() if not (isinstance(value, float) and math.isnan(value))
    }


def utc_of(time_s: float) -> str:
    """A time as stored."""
    return f"{datetime.fromtimestamp(time_s, UTC):%Y-%m-%dT%H:%M:%SZ}"


def as_csv(entries: Sequence[Entry]) -> bytes:
    """A log as CSV, with all columns in use, each cell as typed."""
    used = [name for name in COLUMNS if any(entry.cells.get(name) for entry in entries)] or list(COLUMNS[:4])
    rows = ([entry.cells.get(name, "") for name in used] for entry in entries)
    return csv_text(used, rows).encode("utf-8")


def is_fresh(entry: LogEntry) -> bool:
    """Whether an entry can still be undone by the person who made it."""
    added = datetime.fromisoformat(entry.added_utc)
    return 0.0 <= (times.now() - added).total_seconds() + 5.0 <= UNDO_WITHIN_S


def by_row(log: Log) -> dict[int, dict[str, Any]]:
    """The meaning of each good row, by row."""
    return {
        **{row: {"set": True} for row in log.settings},
        **{one.row: {"time_utc": utc_of(one.time_s), "maintenance": one.words} for one in log.events},
        **{check.row: understood_of(check) for check in log.checks},
    }


def lately(school: School, craft: Craft, home: Home) -> list[dict[str, Any]]:
    """The last entries, for the form; including one just undone, which can be brought back."""
    entries = school.log.entries(craft.name)
    kept = [entry for entry in entries if not entry.understood.get("withdrawn") or is_fresh(entry)]
    return [kept_words(entry, home) for entry in kept[-LATELY:][::-1]]


def kept_words(entry: LogEntry, home: Home) -> dict[str, Any]:
    """An entry in a line: when, what, and whether it can be undone."""
    told = entry.understood
    time = str(told.get("time_utc", entry.added_utc))
    words = str(told.get("maintenance", ""))
    if "indicated_deg" in told:
        words = f"{told['indicated_deg']:03.0f} / {told['compass_deg']:03.0f}"
        suction = told.get("idle_inhg", told.get("cruise_inhg"))
        words += f", {home.suction_words(suction)}" if suction is not None else ""
        words += f", set {told['minutes_since_set']:.0f} min before"
    return {
        "id": entry.id,
        "time": home.time(time),
        "words": words,
        "can_undo": is_fresh(entry),
        "taken_back": bool(told.get("withdrawn")),
    }


def entry_rows(
    entries: Sequence[Entry], log: Log, says: Mapping[int, str], trail: Sequence[LogChange], home: Home
) -> list[dict[str, Any]]:
    """The entries for the page, the latest first: as typed, as understood, its drift, its history."""
    understood = by_row(log)
    rows = []
    for number, entry in enumerate(entries, start=1):
        told = understood.get(number)
        time = str((told or {}).get("time_utc", ""))
        rows.append(
            {
                "id": entry.id,
                "time_utc": time or entry.cells.get("time_utc", ""),
                "time": home.time(time) if time else entry.cells.get("time_utc", ""),
                "typed": "  ".join(f"{name}={cell}" for name, cell in entry.cells.items()),
                "understood": _understood_words(told, home) if told else "not understood; see above",
                "says": says.get(number, ""),
                "trail": [
                    _change_words(change, home) for change in trail if entry.id and change.entry == entry.id
                ],
            }
        )
    return sorted(rows, key=lambda row: str(row["time_utc"]), reverse=True)


def _understood_words(told: Mapping[str, Any], home: Home) -> str:
    if "set" in told:
        return "set to the compass"
    if "maintenance" in told:
        return f"maintenance: {told['maintenance']}"
    words = [
        f"card {told['indicated_deg']:03.0f}°",
        f"compass {told['compass_deg']:03.0f}°",
        f"set {told['minutes_since_set']:.0f} min before, at {home.minute(told['set_utc'])}",
    ]
    if told.get("groundspeed_kt"):
        words.append(f"{told['groundspeed_kt']:.0f} kt on {told['track_deg']:03.0f}°")
    for name, when in (("idle_inhg", "at idle"), ("cruise_inhg", "at cruise")):
        if name in told:
            words.append(f"{home.suction_words(told[name])} {when}")
    if "run_down_min" in told:
        words.append(f"{told['run_down_min']:.1f} min to run down")
    return ", ".join(words)


def _change_words(change: LogChange, home: Home) -> str:
    before = "  ".join(f"{name}={cell}" for name, cell in change.typed_before.items())
    return f"{home.time(change.at_utc)}, {change.by}: {change.why}. Before: {before}"


def withdrawn_of(
    school: School, craft: Craft, trail: Sequence[LogChange], home: Home
) -> list[dict[str, Any]]:
    """Withdrawn entries, with their words and history."""
    rows = []
    for entry in school.log.entries(craft.name):
        if entry.understood.get("withdrawn"):
            told = kept_words(entry, home)
            changes = "; ".join(_change_words(change, home) for change in trail if change.entry == entry.id)
            rows.append({**told, "words": f"{told['time']}, {told['words']}. {changes}"})
    return rows
