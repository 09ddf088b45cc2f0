"""Entries of a log taken back, taken out and put right; what they were stays in the trail."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from lubberline.errors import InputError
from lubberline.store import times
from lubberline.store.log_records import LogEntry
from lubberline.upkeep.log import Setting
from lubberline.upkeep.log_cells import moment
from lubberline.upkeep.records import Check
from lubberline.web.aircraft.entries import NAMES, understood_from
from lubberline.web.aircraft.fleet import Craft

if TYPE_CHECKING:
    from lubberline.store.school import School

UNDO_WITHIN_S = 900.0
THE_FORM = "the form"


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
        withdraw(school, craft, id, THE_FORM, "taken back at once")


def redo(school: School, craft: Craft, id: str) -> None:
    """Puts back what `undo` took back, in the same quarter of an hour.

    Raises:
        InputError: no such entry, too late, or it was taken out on the aircraft's page.
    """
    right = "put it back on the aircraft's page"
    entry = own_entry(school, craft, id)
    if not is_fresh(entry):
        raise InputError("undo", "the entry is older than 15 minutes", right)
    changes = [one for one in school.log_trail(craft.name) if one.entry == id]
    if entry.understood.get("withdrawn") and changes and changes[-1].by != THE_FORM:
        raise InputError("undo", f"{changes[-1].by} changed it last", right)
    put_back(school, craft, id)


def put_back(school: School, craft: Craft, id: str) -> None:
    """Puts an entry that was taken out back; both stay in the trail.

    Raises:
        InputError: no such entry.
    """
    entry = own_entry(school, craft, id)
    if entry.understood.get("withdrawn"):
        understood = {name: value for name, value in entry.understood.items() if name != "withdrawn"}
        school.correct_log_entry(id, "the page", "brought back", entry.typed, understood)


def is_fresh(entry: LogEntry) -> bool:
    """Whether an entry may still be taken back by whoever made it."""
    added = datetime.fromisoformat(entry.added_utc)
    return 0.0 <= (times.now() - added).total_seconds() + 5.0 <= UNDO_WITHIN_S


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
