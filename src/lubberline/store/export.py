"""Everything as CSV: a file for each table, for a spreadsheet or another program."""

import os
from collections.abc import Iterator
from pathlib import Path

import msgspec
from sqlalchemy import Connection, Table, select

from lubberline.csvfile import csv_text
from lubberline.errors import InputError
from lubberline.questions.item import Item
from lubberline.store import sittings
from lubberline.store.database import keep_private, tables
from lubberline.unfinished import moving, part_of

SECRET = frozenset({"secret_hash"})
# Questions have a separate file, as all of a sitting's do not fit into one cell of a spreadsheet.
ELSEWHERE = frozenset({"asked"})
# The bin is not exported, as its contents were deleted.
LEFT_OUT = frozenset({"settings", "bin"})
QUESTION_COLUMNS = (
    *("sitting", "key", "form", "model", "topic", "level", "kind", "stem", "options", "right"),
    *("answer", "tolerance", "unit", "reason", "source", "difficulty", "drawn"),
)


def table_csv(connection: Connection, table: Table) -> str:
    """A table as CSV with a head; the student's name is the last column in tables about students."""
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
    for sitting in reversed(sittings.listing(connection, None)):
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


def export_csv(connection: Connection, to: str | Path) -> tuple[Path, ...]:
    """Writes the files into a new or empty folder, all of them or none; only their owner can read them.

    Raises:
        InputError: the folder is not empty, or cannot be written to.
    """
    folder, texts = Path(to), dict(_texts(connection))
    made = not folder.exists()
    moved: list[Path] = []
    try:
        if folder.is_dir() and any(folder.iterdir()):
            raise InputError(str(folder), "it is not empty", "give a new or empty folder")
        with part_of(folder / "export") as part:
            part.mkdir(parents=True, mode=0o700)
            if made:
                keep_private(folder, 0o700)
            for name, text in texts.items():
                _write(part / name, text)
            with moving():
                for name in texts:
                    (part / name).rename(folder / name)
                    moved.append(folder / name)
    except BaseException as error:
        for path in moved:
            path.unlink(missing_ok=True)
        if made and folder.is_dir() and not any(folder.iterdir()):
            folder.rmdir()
        if not isinstance(error, OSError):
            raise
        right = "give a new folder inside a writable one, and check that the disk has space"
        raise InputError(str(folder), error.strerror or "cannot be written", right) from None
    return tuple(moved)


def _write(path: Path, text: str) -> None:
    opened = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    # With a byte order mark, by which spreadsheets recognise UTF-8.
    with os.fdopen(opened, "w", encoding="utf-8-sig", newline="") as file:
        file.write(text)
