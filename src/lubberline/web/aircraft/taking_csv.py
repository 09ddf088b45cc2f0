"""A log taken in as CSV: good rows kept, known ones left out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from lubberline.errors import InputError
from lubberline.upkeep.log import log_from_rows
from lubberline.upkeep.log_cells import COLUMNS, place, with_points
from lubberline.upkeep.log_cells import rows_of as rows_in
from lubberline.upkeep.records import Log
from lubberline.web.aircraft.books import all_entries
from lubberline.web.aircraft.fleet import Craft
from lubberline.web.aircraft.rows_shown import by_row

if TYPE_CHECKING:
    from lubberline.store.school import School

GREATEST_CSV = 1_000_000


class Taken(NamedTuple):
    """What became of a log that was taken in: rows kept, rows there already, and the log as read."""

    kept: int
    known: int
    log: Log


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
    understood = by_row(log)
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


def _same(cells: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(cells.get(name, "") for name in ("time_utc", "indicated", "compass", "maintenance"))
