"""The tables of a school, the same in SQLite and PostgreSQL; `migrations/` creates and changes them.

Times are UTC as text, ISO 8601 with seconds and 'Z', which sorts correctly. Questions, and the typed and
understood fields of a log entry, are JSON.
"""

from typing import Any, TypeVar

import msgspec
from sqlalchemy import (
    Boolean,
    Column,
    Connection,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
    and_,
    select,
)

METADATA = MetaData()
Record = TypeVar("Record", bound=msgspec.Struct)


def _id() -> Column[str]:
    return Column("id", Text, primary_key=True)


def _sitting() -> Column[str]:
    return Column("sitting", Text, ForeignKey("sittings.id", ondelete="CASCADE"), nullable=False)


def _student() -> Column[str]:
    return Column("student", Text, ForeignKey("students.id", ondelete="CASCADE"), nullable=False)


groups = Table(
    "groups",
    METADATA,
    _id(),
    Column("number", Integer, nullable=False),
    Column("title", Text, nullable=False),
)

students = Table(
    "students",
    METADATA,
    _id(),
    Column("group_id", Text, ForeignKey("groups.id", ondelete="CASCADE"), nullable=False),
    Column("name", Text, nullable=False),
    Column("number", Text, nullable=False, default=""),
    Index("students_of_group", "group_id"),
)

sittings = Table(
    "sittings",
    METADATA,
    _id(),
    Column("group_id", Text, ForeignKey("groups.id", ondelete="CASCADE"), nullable=False),
    Column("kind", Text, nullable=False),
    Column("title", Text, nullable=False),
    Column("opened_utc", Text, nullable=False),
    Column("closed_utc", Text, nullable=False, default=""),
    Column("asked", Text, nullable=False),
    Column("source", Text, nullable=False, default=""),
    Column("code", Text, nullable=False, default=""),
    Column("step", Integer, nullable=False, default=0),
    Column("phase", Text, nullable=False, default="open"),
    Column("minutes", Float, nullable=False, default=0.0),
    Column("on_paper", Boolean, nullable=False, default=False),
    Column("countdown_utc", Text, nullable=False, default="", server_default=""),
    Column("closes_utc", Text, nullable=False, default="", server_default=""),
)
# Two open sittings never share a code; a closed one's may be reused.
_JOINED = and_(sittings.c.code != "", sittings.c.closed_utc == "")
Index("open_code", sittings.c.code, unique=True, sqlite_where=_JOINED, postgresql_where=_JOINED)

places = Table(
    "places",
    METADATA,
    _sitting(),
    _student(),
    Column("form", Text, nullable=False, default=""),
    Column("began_utc", Text, nullable=False, default=""),
    Column("ended_utc", Text, nullable=False, default=""),
    Column("secret_hash", Text, nullable=False, default=""),
    Column("extra_min", Float, nullable=False, default=0.0, server_default="0"),
    Column("joined", Integer, nullable=False, default=0, server_default="0"),
    UniqueConstraint("sitting", "student"),
    Index("places_of_student", "student"),
)
# A browser has one place in a sitting.
_HELD = places.c.secret_hash != ""
Index(
    "place_of_secret",
    places.c.sitting,
    places.c.secret_hash,
    unique=True,
    sqlite_where=_HELD,
    postgresql_where=_HELD,
)

# One row for each student and question: the answer that counts.
answers = Table(
    "answers",
    METADATA,
    _sitting(),
    _student(),
    Column("key", Text, nullable=False),
    Column("chosen", Integer, nullable=False),
    Column("value", Float),
    Column("answered_utc", Text, nullable=False),
    Column("sent", Text, nullable=False),
    Column("seconds", Float, nullable=False, default=0.0),
    UniqueConstraint("sitting", "student", "key"),
    Index("answers_of_student", "student"),
)

# Every sending ever saved, so that repeats have no effect and the history of an answer is kept.
sendings = Table(
    "sendings",
    METADATA,
    Column("at", Integer, primary_key=True, autoincrement=True),
    _sitting(),
    _student(),
    Column("key", Text, nullable=False),
    Column("chosen", Integer, nullable=False),
    Column("value", Float),
    Column("answered_utc", Text, nullable=False),
    Column("sent", Text, nullable=False),
    Column("seconds", Float, nullable=False, default=0.0, server_default="0"),
    UniqueConstraint("sitting", "student", "sent"),
    Index("sendings_of_student", "student"),
)

# Answers given in time by the device's clock but received late: the instructor accepts or rejects them.
late_answers = Table(
    "late_answers",
    METADATA,
    Column("at", Integer, primary_key=True, autoincrement=True),
    _sitting(),
    _student(),
    Column("key", Text, nullable=False),
    Column("chosen", Integer, nullable=False),
    Column("value", Float),
    Column("sent", Text, nullable=False),
    Column("seconds", Float, nullable=False),
    Column("given_utc", Text, nullable=False),
    Column("heard_utc", Text, nullable=False),
    Column("apart_s", Float, nullable=False),
    Column("came_utc", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("decided_utc", Text, nullable=False),
    UniqueConstraint("sitting", "student", "sent"),
    Index("late_answers_of_student", "student"),
)

# The steps of a lesson over time: whether a question was open at a moment.
moves = Table(
    "moves",
    METADATA,
    Column("at", Integer, primary_key=True, autoincrement=True),
    _sitting(),
    Column("at_utc", Text, nullable=False),
    Column("step", Integer, nullable=False),
    Column("phase", Text, nullable=False),
    Index("moves_of_sitting", "sitting"),
)

corrections = Table(
    "corrections",
    METADATA,
    Column("at", Integer, primary_key=True, autoincrement=True),
    _sitting(),
    Column("student", Text, nullable=False),
    Column("key", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("at_utc", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("field", Text, nullable=False),
    Column("before", Text, nullable=False),
    Column("after", Text, nullable=False),
    Index("corrections_of_sitting", "sitting"),
)

# How many deleted students had a place (key '') or chose an option: counts without names.
forgotten = Table(
    "forgotten",
    METADATA,
    _sitting(),
    Column("key", Text, nullable=False),
    Column("chosen", Integer, nullable=False),
    Column("count", Integer, nullable=False),
    UniqueConstraint("sitting", "key", "chosen"),
)

log_entries = Table(
    "log_entries",
    METADATA,
    _id(),
    Column("number", Integer, nullable=False),
    Column("aircraft", Text, nullable=False),
    Column("added_utc", Text, nullable=False),
    Column("typed", Text, nullable=False),
    Column("understood", Text, nullable=False),
    Index("log_of_aircraft", "aircraft"),
)

log_changes = Table(
    "log_changes",
    METADATA,
    Column("at", Integer, primary_key=True, autoincrement=True),
    Column("entry", Text, ForeignKey("log_entries.id", ondelete="CASCADE"), nullable=False),
    Column("by", Text, nullable=False),
    Column("at_utc", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("typed_before", Text, nullable=False),
    Column("understood_before", Text, nullable=False),
)

settings = Table(
    "settings",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("value", Text, nullable=False),
)

# Deleted things, moved out of the other tables, so that queries there need not skip them.
bin_entries = Table(
    "bin",
    METADATA,
    _id(),
    Column("kind", Text, nullable=False),
    # The id of the deleted thing, or its name if it has none; and its class.
    Column("key", Text, nullable=False),
    Column("part_of", Text, nullable=False),
    Column("title", Text, nullable=False),
    Column("counts", Text, nullable=False),
    Column("binned_utc", Text, nullable=False),
    Column("seen_utc", Text, nullable=False),
    Column("age_days", Float, nullable=False),
    Column("step", Text, nullable=False),
    Column("rows", Text, nullable=False),
)

# Parents before children: the order in which a backup is written and read.
IN_ORDER = (
    groups,
    students,
    sittings,
    places,
    answers,
    sendings,
    late_answers,
    moves,
    corrections,
    forgotten,
    log_entries,
    log_changes,
    settings,
    bin_entries,
)


def records(
    connection: Connection,
    kind: type[Record],
    table: Table,
    *where: Any,
    order: tuple[Any, ...] = (),
    held: Any = None,
) -> tuple[Record, ...]:
    """The rows of a table as records of a kind, whose fields are its columns (`group` is `group_id`).

    Args:
        connection: within a transaction.
        kind: of the records.
        table: with the rows.
        where: what is true of those that are wanted.
        order: columns, the first counts most.
        held: how they are kept from others until the end, as `with_for_update` takes it; None: not.
    """
    columns = [table.c[name if name in table.c else f"{name}_id"] for name in kind.__struct_fields__]
    found = select(*columns).where(*where).order_by(*order)
    rows = connection.execute(found if held is None else found.with_for_update(**held))
    return tuple(kind(*row) for row in rows)


def record(
    connection: Connection, kind: type[Record], table: Table, *where: Any, held: Any = None
) -> Record | None:
    """The one row of which this is true as a record; None where there is none."""
    return next(iter(records(connection, kind, table, *where, held=held)), None)
