"""How much the records hold, kind by kind: before something goes, and when somebody looks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Select, func, inspect, select

from lubberline.store import tables
from lubberline.store.settings import OF_THIS_PLACE, RECORDS_ID

# By their names in the plural; how one is called, where that is not the plural without its s.
ONE = {
    "classes": "class",
    "aircraft": "aircraft",
    "log entries": "log entry",
    "things in the bin": "thing in the bin",
}


def _kinds() -> dict[str, Select[Any]]:
    of_kind = tables.sittings.c.kind
    own = tables.settings.c.name.not_in((*OF_THIS_PLACE, RECORDS_ID))
    logs = tables.log_entries
    return {
        "classes": select(func.count()).select_from(tables.groups),
        "students": select(func.count()).select_from(tables.students),
        "lessons": select(func.count()).select_from(tables.sittings).where(of_kind == "lesson"),
        "papers": select(func.count()).select_from(tables.sittings).where(of_kind == "paper"),
        "answers": select(func.count()).select_from(tables.answers),
        "late answers": select(func.count()).select_from(tables.late_answers),
        "corrections": select(func.count()).select_from(tables.corrections),
        "aircraft": select(func.count(logs.c.aircraft.distinct())),
        "log entries": select(func.count()).select_from(logs),
        "settings": select(func.count()).select_from(tables.settings).where(own),
        "things in the bin": select(func.count()).select_from(tables.bin_entries),
    }


def counted(connection: Connection) -> dict[str, int]:
    """How many there are of each kind, in one order; of older tables only what they have."""
    there = set(inspect(connection).get_table_names())
    return {
        kind: int(connection.execute(found).scalar_one())
        for kind, found in _kinds().items()
        if {table.name for table in found.get_final_froms() if hasattr(table, "name")} <= there
    }


def words(counts: Mapping[str, int]) -> str:
    """What there is of it, as '1 class, 14 students'; 'nothing' where there is nothing."""
    told = [
        f"{n:,} {ONE.get(kind, kind.removesuffix('s')) if n == 1 else kind}"
        for kind, n in counts.items()
        if n
    ]
    return ", ".join(told) or "nothing"
