"""The bin: keeps deleted things complete for 30 days of use.

A day counts if the program saw it pass: the time between two checks, up to a week. A clock
set a year ahead, or back, does not empty the bin.
"""

import contextlib
from datetime import timedelta
from typing import Any

import msgspec
from sqlalchemy import Connection, and_, or_, select, text
from sqlalchemy.engine import RowMapping

from lubberline.errors import InputError, required
from lubberline.store.bin import belongings
from lubberline.store.bin.belongings import Kind, Rows
from lubberline.store.database import tables
from lubberline.store.migrations import newest
from lubberline.store.people import new_id
from lubberline.store.times import now_utc, seconds_between

KEPT_DAYS = 30.0
# One lock for all servers of one PostgreSQL; SQLite has one writer anyway.
LOCK = 726_210_002
LONGEST_PASSING = timedelta(days=7)
DAY_S = 86_400.0
# The largest size of one thing's rows as JSON, as they must fit on a line of a backup.
LONGEST_ROWS = 200_000_000
# Things that may be in the bin as a part of something deleted later.
PARTS = {"class": ("student", "sitting"), "demo": ("student", "sitting"), "aircraft": ("entry",)}
WRONG, RIGHT = (
    "it is not in the bin",
    "it may have been brought back or deleted for good; look at the list",
)


class Deletable(msgspec.Struct, frozen=True):
    """A thing that can be deleted, with its counts.

    Attributes:
        kind: of the thing.
        key: its id; of an aircraft or a lesson its name.
        part_of: id of its class; for an entry, the aircraft's name; '' for others.
        title: for people.
        counts: the number of rows of each table that people count.
    """

    kind: Kind
    key: str
    part_of: str
    title: str
    counts: dict[str, int]

    @property
    def words(self) -> str:
        """The counts in words: '1 class, 14 students, 212 answers'."""
        return belongings.in_words(self.counts)


class Binned(Deletable, frozen=True):
    """A thing in the bin.

    Attributes:
        id: in the bin.
        binned_utc: when it was deleted.
        days_left: days of use until it is deleted for good.
    """

    id: str
    binned_utc: str
    days_left: float


def hold(connection: Connection) -> None:
    """Locks the bin: only one deletion or return at a time, as things in and outside it are connected.

    If a sitting were deleted while a student is brought back, the student's rows in it would be lost.
    """
    if connection.dialect.name == "postgresql":
        connection.execute(text("select pg_advisory_xact_lock(:lock)"), {"lock": LOCK})


def _binned(row: RowMapping, at_utc: str) -> Binned:
    return Binned(
        id=row["id"],
        kind=row["kind"],
        key=row["key"],
        part_of=row["part_of"],
        title=row["title"],
        counts=msgspec.json.decode(row["counts"]),
        binned_utc=row["binned_utc"],
        days_left=KEPT_DAYS - _age_days(row, at_utc),
    )


def _age_days(row: RowMapping, at_utc: str) -> float:
    passed_s = seconds_between(row["seen_utc"], at_utc)
    counts = 0.0 < passed_s <= LONGEST_PASSING.total_seconds()
    return float(row["age_days"]) + (passed_s / DAY_S if counts else 0.0)


def put(connection: Connection, thing: Deletable, rows: Rows) -> Binned:
    """Puts deleted rows into the bin.

    Raises:
        InputError: they are too many for it.
    """
    now, plain_rows = now_utc(), msgspec.json.encode(rows).decode()
    if len(plain_rows) > LONGEST_ROWS:
        right = "make a backup, then delete it for good"
        raise InputError("bin", f"'{thing.title}' is too large for it ({thing.words})", right)
    plain = {
        "id": new_id(),
        **{name: getattr(thing, name) for name in ("kind", "key", "part_of", "title")},
        "counts": msgspec.json.encode(thing.counts).decode(),
        "binned_utc": now,
        "seen_utc": now,
        "age_days": 0.0,
        "step": newest(),
        "rows": plain_rows,
    }
    connection.execute(tables.bin_entries.insert().values(plain))
    return entry(connection, plain["id"])


def entries(connection: Connection) -> tuple[Binned, ...]:
    """All things in the bin, the latest first."""
    c = tables.bin_entries.c
    found = select(*(column for column in c if column is not c.rows))
    now = now_utc()
    rows = connection.execute(found.order_by(c.binned_utc.desc(), c.id)).mappings()
    return tuple(_binned(row, now) for row in rows)


def entry(connection: Connection, id: str, *, held: bool = False) -> Binned:
    """One thing in the bin; `held` locks it and the bin.

    Raises:
        InputError: it is not there.
    """
    if held:
        hold(connection)
    found = select(tables.bin_entries).where(tables.bin_entries.c.id == id)
    row = required(connection.execute(found).mappings().first(), InputError("bin", WRONG, RIGHT))
    return _binned(row, now_utc())


def rows_of(connection: Connection, id: str) -> Rows:
    """The deleted rows, by table."""
    found = select(tables.bin_entries.c.rows).where(tables.bin_entries.c.id == id)
    return msgspec.json.decode(connection.execute(found).scalar_one(), type=dict[str, list[dict[str, Any]]])


def change_rows(connection: Connection, id: str, rows: Rows) -> None:
    """Replaces the rows of a thing in the bin."""
    changed = tables.bin_entries.update().where(tables.bin_entries.c.id == id)
    counts = msgspec.json.encode(belongings.count_rows(rows)).decode()
    connection.execute(changed.values(rows=msgspec.json.encode(rows).decode(), counts=counts))


def holds_sitting(connection: Connection, id: str) -> bool:
    """Whether a sitting is in the bin, alone or with its class."""
    c = tables.bin_entries.c
    own = and_(c.kind == "sitting", c.key == id)
    within = and_(c.kind.in_(("class", "demo")), c.rows.contains(f'"sitting":"{id}"', autoescape=True))
    return connection.execute(select(c.id).where(or_(own, within)).limit(1)).first() is not None


def remove(connection: Connection, id: str) -> None:
    """Removes a thing from the bin, and nothing else."""
    connection.execute(tables.bin_entries.delete().where(tables.bin_entries.c.id == id))


def parts_of(connection: Connection, kind: str, key: str) -> tuple[Binned, ...]:
    """The things in the bin that are a part of something; needs the lock of the bin."""
    c = tables.bin_entries.c
    found = select(tables.bin_entries).where(c.part_of == key, c.kind.in_(PARTS.get(kind, ())))
    rows = connection.execute(found.order_by(c.id)).mappings().all()
    now = now_utc()
    return tuple(_binned(row, now) for row in rows)


def delete(connection: Connection, id: str) -> Binned:
    """Deletes a thing in the bin for good, with its parts deleted earlier.

    Raises:
        InputError: it is not there.
    """
    gone = entry(connection, id, held=True)
    delete_parts(connection, gone)
    remove(connection, id)
    return gone


def delete_parts(connection: Connection, gone: Deletable) -> None:
    """Deletes for good the parts in the bin of something that is gone."""
    if gone.kind == "sitting":
        _delete_answers_in(connection, gone)
    elif not gone.part_of:
        for part in parts_of(connection, gone.kind, gone.key):
            remove(connection, part.id)


def _delete_answers_in(connection: Connection, sitting: Deletable) -> None:
    """Removes the rows of students in the bin for a sitting that is gone."""
    for student in parts_of(connection, "class", sitting.part_of):
        rows = rows_of(connection, student.id)
        others = {
            name: [row for row in listed if row.get("sitting") != sitting.key]
            for name, listed in rows.items()
        }
        if student.kind == "student" and others != rows:
            change_rows(connection, student.id, others)


def look(connection: Connection) -> int:
    """Counts the time passed, and deletes expired things for good.

    Returns:
        How many were deleted.
    """
    hold(connection)
    c, now, gone = tables.bin_entries.c, now_utc(), 0
    found = select(c.id, c.seen_utc, c.age_days).order_by(c.id)
    for row in connection.execute(found).mappings().all():
        age_days = _age_days(row, now)
        if age_days < KEPT_DAYS:
            seen = tables.bin_entries.update().where(c.id == row["id"])
            connection.execute(seen.values(age_days=age_days, seen_utc=now))
            continue
        gone += 1
        # A part of something just deleted is gone already.
        with contextlib.suppress(InputError):
            delete(connection, row["id"])
    return gone
