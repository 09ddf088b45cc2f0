"""Corrections by the instructor: kept beside what they correct, never in its place."""

from __future__ import annotations

from sqlalchemy import Connection, select

from lubberline.classroom.records import Correction
from lubberline.errors import InputError
from lubberline.store import sittings, tables
from lubberline.store.texts import kept_text
from lubberline.store.times import now_utc

FIELDS = ("chosen", "value", "points", "struck")


def correct(connection: Connection, correction: Correction) -> Correction:
    """Keeps a correction, stamped with the time when it has none.

    Raises:
        InputError: no such sitting or question, or a student who is not of its class.
    """
    sitting = sittings.sitting(connection, correction.sitting, held=True)
    if correction.key not in {one.key for one in sitting.asked}:
        raise InputError("question", "it is not one of this sitting", "choose one that was asked")
    if correction.student:
        sittings.check_member(connection, sitting.id, correction.student)
    if correction.field not in FIELDS:
        raise InputError("field", f"'{correction.field[:20]}'", f"one of {', '.join(FIELDS)}")
    plain = {name: getattr(correction, name) for name in Correction.__struct_fields__}
    for name in ("by", "why", "before", "after"):
        kept_text(name, plain[name])
    plain["at_utc"] = plain["at_utc"] or now_utc()
    connection.execute(tables.corrections.insert().values(plain))
    return Correction(**plain)


def of_sitting(connection: Connection, sitting: str) -> tuple[Correction, ...]:
    """The corrections of a sitting in the order in which they were made."""
    found = select(tables.corrections).where(tables.corrections.c.sitting == sitting)
    rows = connection.execute(found.order_by(tables.corrections.c.at)).mappings()
    return tuple(Correction(**{name: row[name] for name in Correction.__struct_fields__}) for row in rows)
