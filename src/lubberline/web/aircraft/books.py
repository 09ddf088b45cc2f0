"""The log of one aircraft: its rows, and new ones kept."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from lubberline.errors import InputError
from lubberline.store import times
from lubberline.store.log_records import LogEntry
from lubberline.upkeep.records import Check, Log
from lubberline.web.aircraft.entries import Entry, cells_from_form, entries_of, understood_from, utc_of
from lubberline.web.aircraft.fleet import Craft

if TYPE_CHECKING:
    from lubberline.store.school import School

MOST_ENTRIES = 20_000
# A sending that comes twice at once is still one entry.
_KEEPING = threading.Lock()


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
    cells = cells_from_form(form, last, times.now())
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
    now = f"{times.now():%Y-%m-%dT%H:%M:%SZ}"
    cells = {"time_utc": form.get("time", "").strip() or now, "maintenance": words}
    return school.add_log_entry(craft.name, cells, understood_from(cells))
