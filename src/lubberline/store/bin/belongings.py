"""The rows of a class, student, sitting, aircraft or log entry: finds, counts, deletes and inserts them.

A table belongs to a student, a sitting or an entry through a column of that name, so later tables
are included automatically.
"""

from typing import Any, Literal

from sqlalchemy import ColumnElement, Connection, Table, and_, func, select, text

from lubberline.classroom.records import NOT_CHOSEN
from lubberline.store.database import tables
from lubberline.store.settings import of_aircraft

Kind = Literal[
    "class", "demo", "student", "sitting", "aircraft", "entry", "lesson", "scene", "items", "words", "draft"
]
# Kinds of files, which are in no table.
FILES: tuple[Kind, ...] = ("lesson", "scene", "items", "words", "draft")
Rows = dict[str, list[dict[str, Any]]]
Where = dict[Table, ColumnElement[bool]]
OWN_TABLE = {
    "class": tables.groups,
    "student": tables.students,
    "sitting": tables.sittings,
    "entry": tables.log_entries,
}
# The rows people count, in order, with the words for one and for several.
COUNTED = {
    "groups": ("class", "classes"),
    "students": ("student", "students"),
    "sittings": ("sitting", "sittings"),
    "answers": ("answer", "answers"),
    "late_answers": ("late answer", "late answers"),
    "corrections": ("correction", "corrections"),
    "log_entries": ("log entry", "log entries"),
    "aircraft": ("aircraft", "aircraft"),
    "lesson": ("lesson", "lessons"),
    "scene": ("scene", "scenes"),
    "items": ("file of items", "files of items"),
    "words": ("file of words", "files of words"),
    "draft": ("draft", "drafts"),
}
AT_ONCE = 500


def about(kind: Kind, key: str) -> Where:
    """The rows of one thing, by table.

    Args:
        kind: of the thing; not 'demo' (see `demo_class`), nor one of `FILES`.
        key: its id; of an aircraft its name.
    """
    found = ((table, _about(table, kind, key)) for table in tables.IN_ORDER)
    return {table: where for table, where in found if where is not None}


def _about(table: Table, kind: Kind, key: str) -> ColumnElement[bool] | None:
    c = table.c
    if table is OWN_TABLE.get(kind):
        return c.id == key
    if kind in ("student", "sitting", "entry") and kind in c:
        return c[kind] == key
    if kind == "class" and "group_id" in c:
        return c.group_id == key
    if kind == "class" and "sitting" in c:
        return c.sitting.in_(select(tables.sittings.c.id).where(tables.sittings.c.group_id == key))
    if kind == "aircraft" and "aircraft" in c:
        return c.aircraft == key
    if kind == "aircraft" and "entry" in c:
        return c.entry.in_(select(tables.log_entries.c.id).where(tables.log_entries.c.aircraft == key))
    if kind == "aircraft" and table is tables.settings:
        return c.name.in_(of_aircraft(key))
    return None


def count(connection: Connection, where: Where) -> dict[str, int]:
    """The number of rows to be deleted, of each table that people count."""
    counts = {}
    for table, condition in where.items():
        if table is tables.answers:
            # A blank is not counted as an answer, although it has a row.
            condition = and_(condition, (table.c.chosen != NOT_CHOSEN) | table.c.value.is_not(None))
        if table.name in COUNTED:
            found = select(func.count()).select_from(table).where(condition)
            counts[table.name] = connection.execute(found).scalar_one()
    return {name: counts[name] for name in COUNTED if counts.get(name)}


def count_rows(rows: Rows) -> dict[str, int]:
    """The same for deleted rows."""
    counts = {name: len(rows.get(name, ())) for name in COUNTED}
    counts["answers"] = sum(not is_blank(row) for row in rows.get("answers", ()))
    return {name: found for name, found in counts.items() if found}


def is_blank(row: dict[str, Any]) -> bool:
    """Whether a row of an answer is blank."""
    return row["chosen"] == NOT_CHOSEN and row["value"] is None


def in_words(counts: dict[str, int]) -> str:
    """'1 class, 14 students, 212 answers'."""
    said = (
        f"{counts[name]:,} {one if counts[name] == 1 else several}"
        for name, (one, several) in COUNTED.items()
        if counts.get(name)
    )
    return ", ".join(said) or "nothing"


def take_out(connection: Connection, where: Where) -> Rows:
    """Deletes rows and returns them, children first, so that none disappears unnoticed with its parent."""
    rows: Rows = {}
    for table in reversed(tables.IN_ORDER):
        if table in where:
            gone = connection.execute(table.delete().where(where[table]).returning(*table.columns))
            rows[table.name] = [dict(row) for row in gone.mappings()]
    return {table.name: rows[table.name] for table in tables.IN_ORDER if rows.get(table.name)}


def put_in(connection: Connection, rows: Rows) -> None:
    """Inserts deleted rows, perhaps from an older program: missing columns get their defaults."""
    for table in tables.IN_ORDER:
        fitting = [
            {name: value for name, value in row.items() if name in table.c}
            for row in rows.get(table.name, ())
        ]
        if not fitting:
            continue
        if "at" in table.c:
            fitting.sort(key=lambda row: row["at"])
            if _is_taken(connection, table, [row["at"] for row in fitting]):
                fitting = [{name: value for name, value in row.items() if name != "at"} for row in fitting]
        connection.execute(table.insert(), fitting)
    settle_counters(connection)


def _is_taken(connection: Connection, table: Table, numbers: list[int]) -> bool:
    """Whether a newer row has one of these numbers, as SQLite reuses the highest."""
    return any(
        connection.execute(select(table.c.at).where(table.c.at.in_(numbers[k : k + AT_ONCE]))).first()
        for k in range(0, len(numbers), AT_ONCE)
    )


def settle_counters(connection: Connection) -> None:
    """Makes sure the next row does not get an inserted number."""
    if connection.dialect.name != "postgresql":
        return
    for table in tables.IN_ORDER:
        if "at" in table.c:
            counter = f"pg_get_serial_sequence('{table.name}', 'at')"
            highest = f"coalesce((select max(at) from {table.name}), 0)"
            connection.execute(
                text(f"select setval({counter}, greatest(nextval({counter}), {highest} + 1), false)")
            )


def live(connection: Connection, table: Table, ids: set[str]) -> set[str]:
    """Those of these ids that a table has."""
    listed = sorted(ids)
    found: set[str] = set()
    for k in range(0, len(listed), AT_ONCE):
        some = select(table.c.id).where(table.c.id.in_(listed[k : k + AT_ONCE]))
        found.update(connection.execute(some).scalars())
    return found
