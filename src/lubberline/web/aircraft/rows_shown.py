"""Entries of a log in words, for the page and the form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from lubberline.store.log_records import LogChange, LogEntry
from lubberline.upkeep.records import Log
from lubberline.web.aircraft.correcting import is_fresh
from lubberline.web.aircraft.entries import Entry, understood_of, utc_of
from lubberline.web.aircraft.fleet import Craft

if TYPE_CHECKING:
    from lubberline.store.school import School

LATELY = 6


def by_row(log: Log) -> dict[int, dict[str, Any]]:
    """By row, what each good row was understood to mean."""
    found: dict[int, dict[str, Any]] = {row: {"set": True} for row in log.settings}
    for event in log.events:
        found[event.row] = {"time_utc": utc_of(event.time_s), "maintenance": event.words}
    for check in log.checks:
        found[check.row] = understood_of(check)
    return found


def lately(school: School, craft: Craft) -> list[dict[str, Any]]:
    """The last entries, for the form; one that was just taken back is there to be brought back."""
    entries = school.log_entries(craft.name)
    kept = [entry for entry in entries if not entry.understood.get("withdrawn") or is_fresh(entry)]
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
    return {
        "id": entry.id,
        "time": f"{time[:10]} {time[11:16]}",
        "words": words,
        "can_undo": is_fresh(entry),
        "taken_back": bool(told.get("withdrawn")),
    }


def rows_of(
    entries: Sequence[Entry], log: Log, says: Mapping[int, str], trail: Sequence[LogChange]
) -> list[dict[str, Any]]:
    """The entries for the page, the latest first: as typed, as understood, what each says, its trail."""
    understood = by_row(log)
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


def withdrawn_of(school: School, craft: Craft, trail: Sequence[LogChange]) -> list[dict[str, Any]]:
    """Entries that were taken out, with their words and trail."""
    rows = []
    for entry in school.log_entries(craft.name):
        if entry.understood.get("withdrawn"):
            told = kept_words(entry)
            changes = "; ".join(_change_words(change) for change in trail if change.entry == entry.id)
            rows.append({**told, "words": f"{told['time']}, {told['words']}. {changes}"})
    return rows
