"""When the steps of a lesson were open: each move with its time, and the one that a countdown plans."""

import msgspec
from sqlalchemy import Connection, select

from lubberline.classroom.records import Place, Sitting
from lubberline.store.database import tables


def add(connection: Connection, sitting: Sitting, at_utc: str) -> None:
    """Records the step and phase of a lesson from a moment on."""
    plain = {"sitting": sitting.id, "at_utc": at_utc, "step": sitting.step, "phase": sitting.phase}
    connection.execute(tables.moves.insert().values(plain))


def drop_planned(connection: Connection, sitting: str, now_utc: str) -> None:
    """Removes the planned close of a countdown that was stopped or overtaken."""
    c = tables.moves.c
    connection.execute(tables.moves.delete().where(c.sitting == sitting, c.at_utc > now_utc))


def as_of(connection: Connection, sitting: Sitting, place: Place, moment_utc: str) -> tuple[Sitting, Place]:
    """A sitting and a place at a past moment; a lesson without a record of it counts as closed."""
    closed = sitting.closed_utc if moment_utc > sitting.closed_utc else ""
    ended = place.ended_utc if moment_utc > place.ended_utc else ""
    step, phase = sitting.step, sitting.phase
    if sitting.kind == "lesson":
        c = tables.moves.c
        found = select(c.step, c.phase).where(c.sitting == sitting.id, c.at_utc <= moment_utc)
        row = connection.execute(found.order_by(c.at.desc()).limit(1)).first()
        step, phase = (row.step, row.phase) if row else (step, "closed")
    then = msgspec.structs.replace(sitting, closed_utc=closed, step=step, phase=phase)
    return then, msgspec.structs.replace(place, ended_utc=ended)
