"""Everything as CSV: a file for each table, for a spreadsheet or another program."""

from __future__ import annotations

import csv
import io
import secrets
from collections.abc import Iterable, Iterator
from pathlib import Path

import msgspec
from sqlalchemy import Connection, Table, select

from lubberline.errors import InputError
from lubberline.questions.item import Item
from lubberline.store import sittings, tables

# A spreadsheet takes a cell that begins so for a formula; an apostrophe before it makes it text again. The
# wide forms of the signs are those of East Asian keyboards, which some spreadsheets read as the narrow ones.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
SECRET = frozenset({"secret_hash"})
# Questions have a file of their own, for a cell of a spreadsheet does not hold all of a sitting's.
ELSEWHERE = frozenset({"asked"})
# What is in the bin was deleted: it goes nowhere else.
LEFT_OUT = frozenset({"settings", "bin"})
QUESTION_COLUMNS = (
    *("sitting", "key", "form", "model", "topic", "level", "kind", "stem", "options", "right"),
    *("answer", "tolerance", "unit", "reason", "source", "difficulty", "drawn"),
)


def _safe(value: object) -> object:
    if isinstance(value, str) and value.startswith(FORMULA_SIGNS):
        return "'" + value
    return value


def csv_text(head: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    """Rows as CSV, so that a spreadsheet computes nothing of what somebody typed."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([_safe(value) for value in row] for row in rows)
    return text.getvalue()


def table_csv(connection: Connection, table: Table) -> str:
    """A table as CSV with a head; the student's name stands at the end where a row is a student's."""
    columns = [column for column in table.columns if column.name not in SECRET | ELSEWHERE]
    head = [column.name for column in columns]
    found = select(*columns).order_by(*(list(table.primary_key.columns) or columns[:3]))
    if "student" in table.columns:
        who = tables.students
        found = found.add_columns(who.c.name).outerjoin_from(table, who, who.c.id == table.c.student)
        head.append("student_name")
    return csv_text(head, connection.execute(found))


def _letter(index: int) -> str:
    return chr(ord("A") + index)


def _options(item: Item) -> str:
    return " | ".join(f"{_letter(k)}: {option.text}" for k, option in enumerate(item.options))


def _questions(connection: Connection) -> Iterator[tuple[object, ...]]:
    for sitting in reversed(sittings.sittings(connection, None)):
        for asked in sitting.asked:
            item = asked.item
            right = _letter(item.key) if item.options else ""
            yield (
                *(sitting.id, asked.key, asked.form, item.model, item.topic, item.level, item.kind),
                *(item.stem, _options(item), right, item.answer, item.tolerance, item.unit, item.reason),
                *(item.source, item.difficulty, msgspec.json.encode(item.drawn).decode()),
            )


def _texts(connection: Connection) -> Iterator[tuple[str, str]]:
    for table in tables.IN_ORDER:
        if table.name not in LEFT_OUT:
            yield f"{table.name}.csv", table_csv(connection, table)
    yield "questions.csv", csv_text(QUESTION_COLUMNS, _questions(connection))


def export_csv(connection: Connection, folder: Path) -> tuple[Path, ...]:
    """Writes the files into a folder, each whole or not at all.

    Raises:
        InputError: when the folder cannot be written to, or has a file of one of the names: nothing is
            written then.
    """
    texts = dict(_texts(connection))
    there = sorted(name for name in texts if (folder / name).exists())
    if there:
        raise InputError(str(folder / there[0]), "is there already", "name a new folder, or an empty one")
    for name, text in texts.items():
        path = folder / name
        beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
        try:
            folder.mkdir(parents=True, exist_ok=True)
            beside.write_text(text, encoding="utf-8-sig", newline="")
            beside.replace(path)
        except OSError as error:
            right = "name a folder that you may write to"
            raise InputError(str(path), error.strerror or "cannot be written", right) from None
        finally:
            beside.unlink(missing_ok=True)
    return tuple(folder / name for name in texts)
