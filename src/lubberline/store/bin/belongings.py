"""What belongs to a class, student, sitting, aircraft or log entry: found, counted, taken out, put in.

A table is about a student, a sitting or an entry by its column of that name; so a table that is made later
is taken along without a word here.
"""

from typing import Any, Literal

from sqlalchemy import ColumnElement, Connection, Table, and_, func, select, text

from lubberline.classroom.records import NOT_CHOSEN
from lubberline.store.database import tables
from lubberline.store.settings import of_aircraft

Kind = Literal["class", "demo", "student", "sitting", "aircraft", "entry", "lesson", "draft"]
Rows = dict[str, list[dict[str, Any]]]
Where = dict[Table, ColumnElement[bool]]
OWN_TABLE = {
    "class": tables.groups,
    "student": tables.students,
    "sitting": tables.sittings,
    "entry": tables.log_entries,
}
# What people count, in the order in which it is said, with the words for one and for several.
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
    "draft": ("draft", "drafts"),
}
AT_ONCE = 500


def about(kind: Kind, key: str) -> Where:
    """The rows about one thing, by table.

    Args:
        kind: of the thing; not 'demo', which `demo_class` knows, nor a lesson, which is a file.
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
    """How many rows of each table that people count would go."""
    counts = {}
    for table, condition in where.items():
        if table is tables.answers:
            # A blank is no answer, though a row says that it was taken back.
            condition = and_(condition, (table.c.chosen != NOT_CHOSEN) | table.c.value.is_not(None))
        if table.name in COUNTED:
            found = select(func.count()).select_from(table).where(condition)
            counts[table.name] = connection.execute(found).scalar_one()
    return {name: counts[name] for name in COUNTED if counts.get(name)}


def count_rows(rows: Rows) -> dict[str, int]:
    """The same for rows that were taken out."""
    counts = {name: len(rows.get(name, ())) for name in COUNTED}
    counts["answers"] = sum(not is_blank(row) for row in rows.get("answers", ()))
    return {name: found for name, found in counts.items() if found}


def is_blank(row: dict[str, Any]) -> bool:
    """Whether a row of an answer says that there is none."""
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
    """Deletes rows and gives them, children first so that nothing goes unseen with its parent."""
    rows: Rows = {}
    for table in reversed(tables.IN_ORDER):
        if table in where:
            gone = connection.execute(table.delete().where(where[table]).returning(*table.columns))
            rows[table.name] = [dict(row) for row in gone.mappings()]
    return {table.name: rows[table.name] for table in tables.IN_ORDER if rows.get(table.name)}


def put_in(connection: Connection, rows: Rows) -> None:
    """Inserts rows that were taken out, perhaps by an older program: what they lack has its default."""
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
    """Whether a row that came meanwhile has one of these numbers: SQLite gives the highest again."""
    return any(
        connection.execute(select(table.c.at).where(table.c.at.in_(numbers[k : k + AT_ONCE]))).first()
        for k in range(0, len(numbers), AT_ONCE)
    )


def settle_counters(connection: Connection) -> None:
    """The next row must not take a number that was put in."""
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
    """Which of these ids a table has."""
    listed = sorted(ids)
    found: set[str] = set()
    for k in range(0, len(listed), AT_ONCE):
        some = select(table.c.id).where(table.c.id.in_(listed[k : k + AT_ONCE]))
        found.update(connection.execute(some).scalars())
    return found
