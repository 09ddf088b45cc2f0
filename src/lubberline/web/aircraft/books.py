"""The log of one aircraft as the pages read and write it: rows, corrections, their trail."""

from __future__ import annotations

import math
import threading
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from lubberline.errors import InputError
from lubberline.store.log_records import LogChange, LogEntry
from lubberline.upkeep.log import Setting, log_from_rows
from lubberline.upkeep.log_rows import COLUMNS, with_points
from lubberline.upkeep.log_rows import rows_of as rows_in
from lubberline.upkeep.places_typed import moment, place
from lubberline.upkeep.records import Check, Log
from lubberline.web.aircraft.entries import (
    NAMES,
    Entry,
    cells_from_form,
    entries_of,
    understood_from,
    understood_of,
    utc_of,
)
from lubberline.web.aircraft.fleet import Craft

if TYPE_CHECKING:
    from lubberline.store.school import School

UNDO_WITHIN_S = 900.0
LATELY = 6
GREATEST_CSV = 1_000_000
MOST_ENTRIES = 20_000
# A sending that comes twice at once is still one entry.
_KEEPING = threading.Lock()


class Taken(NamedTuple):
    """What became of a log that was taken in: rows kept, rows there already, and the log as read."""

    kept: int
    known: int
    log: Log


def all_entries(school: School, craft: Craft) -> list[Entry]:
    """Every row that counts."""
    return entries_of(craft, school.log_entries(craft.name))


def last_check(log: Log) -> Check | None:
    """The latest check of a log."""
    return log.checks[-1] if log.checks else None


def keep_form(school: School, craft: Craft, form: Mapping[str, str], log: Log) -> LogEntry:
    """Keeps what the form sent; the same sending twice is one entry.

    Raises:
        InputError: what is wrong in which field; nothing is kept then.
    """
    with _KEEPING:
        return _kept_once(school, craft, form, log)


def _kept_once(school: School, craft: Craft, form: Mapping[str, str], log: Log) -> LogEntry:
    sent = form.get("sent", "")[:64]
    kept = school.log_entries(craft.name)
    for entry in kept:
        if sent and entry.understood.get("sent") == sent:
            return entry
    if len(kept) >= MOST_ENTRIES:
        raise InputError("log", f"{len(kept)} entries", f"at most {MOST_ENTRIES}; take it out as CSV")
    last = last_check(log)
    cells = cells_from_form(form, last, datetime.now(tz=UTC))
    understood = understood_from(cells, last)
    _fits(understood, log)
    return school.add_log_entry(craft.name, cells, {**understood, "sent": sent})


def _fits(understood: Mapping[str, Any], log: Log) -> None:
    """A check at a time that is taken, or set before a setting that is known, would be refused later."""
    if "set_utc" not in understood:
        return
    time_utc, set_utc = understood["time_utc"], understood["set_utc"]
    for check in log.checks:
        if utc_of(check.time_s) == time_utc:
            raise InputError("time", f"{time_utc} has an entry already", "one entry for each check")
        if utc_of(check.time_s) < time_utc and utc_of(check.set_s) > set_utc:
            right = f"an entry says it was set at {utc_of(check.set_s)[11:16]} UTC; take that or a later time"
            raise InputError("last set", f"{set_utc[11:16]} UTC is before a setting that is known", right)


def keep_maintenance(school: School, craft: Craft, form: Mapping[str, str]) -> LogEntry:
    """Keeps a word of maintenance.

    Raises:
        InputError: no words, or a time that is none.
    """
    words = form.get("maintenance", "").strip()[:200]
    if not words:
        raise InputError("maintenance", "it is empty", "what was done")
    now = f"{datetime.now(tz=UTC):%Y-%m-%dT%H:%M:%SZ}"
    cells = {"time_utc": form.get("time", "").strip() or now, "maintenance": words}
    return school.add_log_entry(craft.name, cells, understood_from(cells))


def withdraw(school: School, craft: Craft, id: str, by: str, why: str) -> None:
    """Takes an entry out; it stays in the trail.

    Raises:
        InputError: no such entry of this aircraft, or no word of who and why.
    """
    entry = own_entry(school, craft, id)
    signed(by, why)
    school.correct_log_entry(id, by, why, entry.typed, {**entry.understood, "withdrawn": True})


def undo(school: School, craft: Craft, id: str) -> None:
    """Takes back an entry of the last quarter of an hour.

    Raises:
        InputError: no such entry, or too late.
    """
    entry = own_entry(school, craft, id)
    if not is_fresh(entry):
        raise InputError("undo", "the entry is older than 15 minutes", "correct it on the aircraft's page")
    if not entry.understood.get("withdrawn"):
        withdraw(school, craft, id, "the form", "taken back at once")


def is_fresh(entry: LogEntry) -> bool:
    """Whether an entry may still be taken back by whoever made it."""
    added = datetime.fromisoformat(entry.added_utc)
    return 0.0 <= (datetime.now(tz=UTC) - added).total_seconds() + 5.0 <= UNDO_WITHIN_S


def own_entry(school: School, craft: Craft, id: str) -> LogEntry:
    """An entry of this aircraft.

    Raises:
        InputError: there is none.
    """
    for entry in school.log_entries(craft.name):
        if entry.id == id:
            return entry
    raise InputError("entry", "there is none such in this log", "choose one of the list")


def signed(by: str, why: str) -> None:
    """A correction names who makes it and why.

    Raises:
        InputError: it does not.
    """
    for name, words in (("who", by), ("why", why)):
        if not words.strip():
            raise InputError(name, "it is empty", "a correction is signed, with its reason")


def correct(school: School, craft: Craft, id: str, form: Mapping[str, str]) -> None:
    """Puts an entry right.

    Raises:
        InputError: what is wrong in the cells, or no word of who and why.
    """
    entry = own_entry(school, craft, id)
    by, why = form.get("by", "").strip()[:60], form.get("why", "").strip()[:200]
    signed(by, why)
    cells = {name: form.get(name, "").strip()[:200] for name in NAMES}
    cells = {name: cell for name, cell in cells.items() if cell}
    understood = understood_from(cells, _placed(entry), _setting(entry))
    school.correct_log_entry(id, by, why, cells, {**understood, "sent": entry.understood.get("sent", "")})


def _placed(entry: LogEntry) -> Check | None:
    """A check that only says where the entry was, for a row that names no place of its own."""
    latitude = entry.understood.get("latitude_deg")
    if latitude is None:
        return None
    longitude = float(entry.understood.get("longitude_deg", 0.0))
    nothing = math.nan
    return Check(
        0, 0.0, float(latitude), longitude, 0.0, 0.0, 0.0, nothing, 0.0, 0.0, nothing, nothing, nothing, {}
    )


def _setting(entry: LogEntry) -> Setting | None:
    """The setting that an entry was understood to follow."""
    told = entry.understood
    if "set_utc" not in told:
        return None
    return Setting(moment(str(told["set_utc"]), "set"), float(told.get("set_compass_deg", math.nan)))


def take_csv(school: School, craft: Craft, text: str) -> Taken:
    """Keeps the good rows of a log; rows that are there already are left out.

    Raises:
        InputError: no log at all: too large, without the needed columns, without a row.
    """
    if len(text) > GREATEST_CSV:
        raise InputError("log", "the text is too long", "at most 1 MB at once")
    table = rows_in("the log", text)
    log = log_from_rows(table.rows, craft.name, places=table.places, decimal_comma=table.decimal_comma)
    present = {_same(entry.cells) for entry in all_entries(school, craft)}
    understood = _by_row(log)
    kept = known = 0
    for _, row, cells in table.rows:
        if row not in understood:
            continue
        typed = with_points(cells) if table.decimal_comma else dict(cells)
        typed = {name: cell for name, cell in typed.items() if cell and name in COLUMNS}
        if _same(typed) in present:
            known += 1
            continue
        told = understood[row]
        _with_its_place(typed, told)
        school.add_log_entry(craft.name, typed, told)
        kept += 1
    return Taken(kept, known, log)


def _with_its_place(typed: dict[str, str], told: Mapping[str, Any]) -> None:
    """A place that the file names, or leaves to the row before, is written out."""
    if "latitude_deg" not in told or typed.get("latitude"):
        return
    try:
        place(typed.get("place", ""), "place")
    except InputError:
        named = typed.get("place", "")
        typed["place"] = f"{told['latitude_deg']:.4f}, {told['longitude_deg']:.4f}"
        if named:
            typed["note"] = f"{typed.get('note', '')} {named}".strip()


def _by_row(log: Log) -> dict[int, dict[str, Any]]:
    """By row, what each good row was understood to mean."""
    found: dict[int, dict[str, Any]] = {row: {"set": True} for row in log.settings}
    for event in log.events:
        found[event.row] = {"time_utc": utc_of(event.time_s), "maintenance": event.words}
    for check in log.checks:
        found[check.row] = understood_of(check)
    return found


def _same(cells: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(cells.get(name, "") for name in ("time_utc", "indicated", "compass", "maintenance"))


def lately(school: School, craft: Craft) -> list[dict[str, Any]]:
    """The last entries, for the form."""
    kept = [entry for entry in school.log_entries(craft.name) if not entry.understood.get("withdrawn")]
    return [kept_words(entry) for entry in kept[-LATELY:][::-1]]


def kept_words(entry: LogEntry) -> dict[str, Any]:
    """An entry in a line: when, what, and whether it may be taken back."""
    told = entry.understood
    time = str(told.get("time_utc", entry.added_utc))
    words = str(told.get("maintenance", ""))
    if "indicated_deg" in told:
        words = f"{told['indicated_deg']:03.0f} / {told['compass_deg']:03.0f}"
        suction = told.get("idle_inhg", told.get("cruise_inhg"))
        words += f", {suction:.1f} inHg" if suction is not None else ""
        words += f", set {told['minutes_since_set']:.0f} min before"
    return {"id": entry.id, "time": f"{time[:10]} {time[11:16]}", "words": words, "can_undo": is_fresh(entry)}


def rows_of(
    entries: Sequence[Entry], log: Log, says: Mapping[int, str], trail: Sequence[LogChange]
) -> list[dict[str, Any]]:
    """The entries for the page, the latest first: as typed, as understood, what each says, its trail."""
    understood = _by_row(log)
    rows = []
    for number, entry in enumerate(entries, start=1):
        told = understood.get(number)
        time = str((told or {}).get("time_utc") or entry.cells.get("time_utc", ""))
        rows.append(
            {
                "id": entry.id,
                "time": f"{time[:10]} {time[11:16]}",
                "typed": "  ".join(f"{name}={cell}" for name, cell in entry.cells.items()),
                "understood": _understood_words(told) if told else "not understood; see above",
                "says": says.get(number, ""),
                "trail": [_change_words(change) for change in trail if entry.id and change.entry == entry.id],
            }
        )
    return sorted(rows, key=lambda row: str(row["time"]), reverse=True)


def _understood_words(told: Mapping[str, Any]) -> str:
    if "set" in told:
        return "set then, by the compass"
    if "maintenance" in told:
        return f"maintenance: {told['maintenance']}"
    words = [
        f"card {told['indicated_deg']:03.0f}°",
        f"compass {told['compass_deg']:03.0f}°",
        f"set {told['minutes_since_set']:.0f} min before, at {told['set_utc'][11:16]} UTC",
    ]
    if told.get("groundspeed_kt"):
        words.append(f"{told['groundspeed_kt']:.0f} kt on {told['track_deg']:03.0f}°")
    for name, words_of in (
        ("idle_inhg", "inHg at idle"),
        ("cruise_inhg", "inHg at cruise"),
        ("run_down_min", "min to run down"),
    ):
        if name in told:
            words.append(f"{told[name]:.1f} {words_of}")
    return ", ".join(words)


def _change_words(change: LogChange) -> str:
    before = "  ".join(f"{name}={cell}" for name, cell in change.typed_before.items())
    return f"{change.at_utc[:10]} {change.at_utc[11:16]}, {change.by}: {change.why}. Before: {before}"


def withdrawn_of(school: School, craft: Craft, trail: Sequence[LogChange]) -> list[str]:
    """Entries that were taken out, in words."""
    return [
        f"{kept_words(entry)['time']}, {kept_words(entry)['words']}. "
        + "; ".join(_change_words(change) for change in trail if change.entry == entry.id)
        for entry in school.log_entries(craft.name)
        if entry.understood.get("withdrawn")
    ]
