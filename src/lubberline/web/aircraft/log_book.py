"""The log of one aircraft: rows, and entries saved, corrected or imported from CSV, each with its history."""

import math
import threading
from collections.abc import Mapping
from typing import Any, NamedTuple

from lubberline.errors import InputError, required
from lubberline.store import times
from lubberline.store.aircraft_log import LogEntry
from lubberline.store.fleet import Craft, home_of
from lubberline.store.school import School
from lubberline.upkeep.log import Setting, log_from_rows
from lubberline.upkeep.log_cells import COLUMNS, moment, place, with_points
from lubberline.upkeep.log_cells import rows_of as rows_in
from lubberline.upkeep.records import Check, Log
from lubberline.web.aircraft.entries import (
    NAMES,
    Entry,
    by_row,
    cells_from_form,
    entries_of,
    is_fresh,
    understood_from,
    utc_of,
)

MOST_ENTRIES = 20_000
# A sending received twice at once is still one entry.
_KEEPING = threading.Lock()
THE_FORM = "the form"
GREATEST_CSV = 1_000_000


def all_entries(school: School, craft: Craft) -> list[Entry]:
    """Every row that counts."""
    return entries_of(craft, school.log.entries(craft.name))


def last_check(log: Log) -> Check | None:
    """The latest check of a log."""
    return log.checks[-1] if log.checks else None


def keep_form(school: School, craft: Craft, form: Mapping[str, str], log: Log) -> LogEntry:
    """Saves the form; the same sending twice is one entry.

    Raises:
        InputError: for a wrong field; nothing is saved then.
    """
    with _KEEPING:
        return _kept_once(school, craft, form, log)


def _kept_once(school: School, craft: Craft, form: Mapping[str, str], log: Log) -> LogEntry:
    sent = form.get("sent", "")[:64]
    kept = school.log.entries(craft.name)
    for entry in kept:
        if sent and entry.understood.get("sent") == sent:
            return entry
    if len(kept) >= MOST_ENTRIES:
        raise InputError("log", f"{len(kept)} entries", f"at most {MOST_ENTRIES}; download the log as CSV")
    last = last_check(log)
    cells = cells_from_form(form, last, times.now(), home_of(school))
    understood = understood_from(cells, last)
    _fits(understood, log)
    return school.log.add(craft.name, cells, {**understood, "sent": sent})


def _fits(understood: Mapping[str, Any], log: Log) -> None:
    """Refuses a check at the time of another entry, or with a setting before a later known one."""
    if "set_utc" not in understood:
        return
    time_utc, set_utc = understood["time_utc"], understood["set_utc"]
    for check in log.checks:
        if utc_of(check.time_s) == time_utc:
            raise InputError("time", f"{time_utc} has an entry already", "make one entry for each check")
        if utc_of(check.time_s) < time_utc and utc_of(check.set_s) > set_utc:
            right = (
                f"another entry has it set at {utc_of(check.set_s)[11:16]} UTC; enter that or a later time"
            )
            raise InputError("last set", f"{set_utc[11:16]} UTC is before a later setting in the log", right)


def keep_maintenance(school: School, craft: Craft, form: Mapping[str, str]) -> LogEntry:
    """Saves a maintenance entry.

    Raises:
        InputError: no words, or an invalid time.
    """
    words = form.get("maintenance", "").strip()[:200]
    if not words:
        raise InputError("maintenance", "it is empty", "enter the work done")
    now = f"{times.now():%Y-%m-%dT%H:%M:%SZ}"
    cells = {"time_utc": form.get("time", "").strip() or now, "maintenance": words}
    return school.log.add(craft.name, cells, understood_from(cells))


def withdraw(school: School, craft: Craft, id: str, by: str, why: str) -> None:
    """Withdraws an entry; it stays in the history.

    Raises:
        InputError: no such entry of this aircraft, or no name or reason.
    """
    entry = own_entry(school, craft, id)
    signed(by, why)
    school.log.correct(id, by, why, entry.typed, {**entry.understood, "withdrawn": True})


def undo(school: School, craft: Craft, id: str) -> None:
    """Withdraws an entry of the last 15 minutes.

    Raises:
        InputError: no such entry, or too late.
    """
    entry = own_entry(school, craft, id)
    if not is_fresh(entry):
        raise InputError("undo", "the entry is older than 15 minutes", "correct it on the aircraft's page")
    if not entry.understood.get("withdrawn"):
        withdraw(school, craft, id, THE_FORM, "undone within 15 minutes")


def redo(school: School, craft: Craft, id: str) -> None:
    """Brings back what `undo` withdrew, within the same 15 minutes.

    Raises:
        InputError: no such entry, too late, or withdrawn on the aircraft's page.
    """
    right = "bring it back on the aircraft's page"
    entry = own_entry(school, craft, id)
    if not is_fresh(entry):
        raise InputError("undo", "the entry is older than 15 minutes", right)
    changes = [one for one in school.log.trail(craft.name) if one.entry == id]
    if entry.understood.get("withdrawn") and changes and changes[-1].by != THE_FORM:
        raise InputError("undo", f"it was changed by {changes[-1].by}", right)
    put_back(school, craft, id)


def put_back(school: School, craft: Craft, id: str) -> None:
    """Brings a withdrawn entry back; both changes stay in the history.

    Raises:
        InputError: no such entry.
    """
    entry = own_entry(school, craft, id)
    if entry.understood.get("withdrawn"):
        understood = {name: value for name, value in entry.understood.items() if name != "withdrawn"}
        school.log.correct(id, "the page", "brought back", entry.typed, understood)


def own_entry(school: School, craft: Craft, id: str) -> LogEntry:
    """An entry of this aircraft.

    Raises:
        InputError: there is none.
    """
    return required(
        next((entry for entry in school.log.entries(craft.name) if entry.id == id), None),
        InputError("entry", "not in this log", "choose one from the list"),
    )


def signed(by: str, why: str) -> None:
    """Checks that a correction has a name and a reason.

    Raises:
        InputError: it does not.
    """
    for name, words in (("who", by), ("why", why)):
        if not words.strip():
            raise InputError(name, "it is empty", "sign the correction and give the reason")


def correct(school: School, craft: Craft, id: str, form: Mapping[str, str]) -> None:
    """Corrects an entry.

    Raises:
        InputError: a wrong cell, or no name or reason.
    """
    entry = own_entry(school, craft, id)
    by, why = form.get("by", "").strip()[:60], form.get("why", "").strip()[:200]
    signed(by, why)
    cells = {name: form[name].strip()[:200] for name in NAMES if form.get(name, "").strip()}
    understood = understood_from(cells, _placed(entry), _setting(entry))
    school.log.correct(id, by, why, cells, {**understood, "sent": entry.understood.get("sent", "")})


def _placed(entry: LogEntry) -> Check | None:
    """A check with only the entry's position, for a row without its own."""
    latitude = entry.understood.get("latitude_deg")
    if latitude is None:
        return None
    longitude = float(entry.understood.get("longitude_deg", 0.0))
    nothing = math.nan
    return Check(
        0, 0.0, float(latitude), longitude, 0.0, 0.0, 0.0, nothing, 0.0, 0.0, nothing, nothing, nothing, {}
    )


def _setting(entry: LogEntry) -> Setting | None:
    """The setting assumed for an entry."""
    told = entry.understood
    if "set_utc" not in told:
        return None
    return Setting(moment(str(told["set_utc"]), "set"), float(told.get("set_compass_deg", math.nan)))


class Taken(NamedTuple):
    """The result of an import: rows saved, rows already there, and the log as read."""

    kept: int
    known: int
    log: Log


def take_csv(school: School, craft: Craft, text: str) -> Taken:
    """Saves the good rows of a log, except those already there.

    Raises:
        InputError: not a log: too large, without the required columns, or without rows.
    """
    if len(text) > GREATEST_CSV:
        raise InputError("log", "the text is too long", "send at most 1 MB at a time")
    table = rows_in("the log", text)
    log = log_from_rows(table.rows, craft.name, places=table.places, decimal_comma=table.decimal_comma)
    present = {_same(entry.cells) for entry in all_entries(school, craft)}
    understood = by_row(log)
    kept = known = 0
    for _, row, cells in table.rows:
        if row not in understood:
            continue
        as_read = with_points(cells) if table.decimal_comma else cells
        typed = {name: cell for name, cell in as_read.items() if cell and name in COLUMNS}
        if _same(typed) in present:
            known += 1
            continue
        told = understood[row]
        _with_its_place(typed, told)
        school.log.add(craft.name, typed, told)
        kept += 1
    return Taken(kept, known, log)


def _with_its_place(typed: dict[str, str], told: Mapping[str, Any]) -> None:
    """The position of a row, from the file or the row before, is written out."""
    if "latitude_deg" not in told or typed.get("latitude"):
        return
    try:
        place(typed.get("place", ""), "place")
    except InputError:
        named = typed.get("place", "")
        typed["place"] = f"{told['latitude_deg']:.4f}, {told['longitude_deg']:.4f}"
        if named:
            typed["note"] = f"{typed.get('note', '')} {named}".strip()


def _same(cells: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(cells.get(name, "") for name in ("time_utc", "indicated", "compass", "maintenance"))
