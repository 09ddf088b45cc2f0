"""Checks that records are intact, in a SQLite file when it is opened and in a backup, and says what to do.

It detects inconsistent pages, indexes without some rows, references to missing rows, missing tables
or columns, and values the program never writes. A changed letter within a name
is not detected: SQLite has no digests of cells. A backup has.

The database itself checks columns, types and references; this module checks times, ids, words
from a list, finite numbers, and JSON, which pages read without further
checks. A backup is checked in the same way before it replaces the records.
"""

import math
import re
import sqlite3
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, get_args

import msgspec
from sqlalchemy import Column, Connection, Engine, select
from sqlalchemy.exc import DatabaseError

from lubberline.classroom.marking import read_answer
from lubberline.classroom.records import Asked, LateState
from lubberline.errors import InputError, required
from lubberline.store import answers, settings, sittings
from lubberline.store.bin import belongings, contents
from lubberline.store.database import Copies, file_of, tables
from lubberline.store.settings import check_settings
from lubberline.store.texts import LONGEST_TEXT, decoded, kept_text
from lubberline.store.times import is_time

# The header of every SQLite file (sqlite.org/fileformat2.html, 1.3.1).
MAGIC = b"SQLite format 3\0"
# Above this number, rows are not checked one by one at each opening.
MOST_BYTES_READ = 20_000_000
BEING_MADE_S = 2.0
# Primary result codes (sqlite.org/rescode.html): the file contradicts itself or its schema.
DAMAGE = frozenset(
    {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT, sqlite3.SQLITE_ERROR}
)
_OF_THE_FILE = (DatabaseError, sqlite3.DatabaseError)
# The whole numbers both databases accept.
GREATEST_WHOLE = 2**31 - 1
MOST_OPTIONS = 50
# A drawing may be larger than any typed text.
GREATEST_JSON = 20_000_000
_ID = re.compile(r"[A-Za-z0-9_.:-]{1,100}")

Fits = Callable[[Any], bool]


def _one_of(*words: str) -> Fits:
    return lambda value: value in words


def _or_empty(fits: Fits) -> Fits:
    return lambda value: value == "" or fits(value)


def _between(low: float, high: float) -> Fits:
    return lambda value: low <= value <= high


def _is_id(value: str) -> bool:
    return _ID.fullmatch(value) is not None


def _is_json(kind: Any) -> Fits:
    return lambda value: decoded(value, kind) is not None


_TIME = is_time
_FORM = re.compile(r"[A-Za-z0-9]{0,8}")
_SECONDS = _between(0.0, 1e9)
_CHOSEN = _between(-1, MOST_OPTIONS)
_MINUTES = _between(0.0, sittings.LONGEST_MINUTES)
_STEP = _between(-1, sittings.MOST_STEPS)
# By the name of a column in any table, or by table and column.
_COLUMNS: Mapping[str, Fits] = {
    "id": _is_id,
    "opened_utc": _TIME,
    "answered_utc": _TIME,
    "at_utc": _TIME,
    "added_utc": _TIME,
    "given_utc": _TIME,
    "heard_utc": _TIME,
    "came_utc": _TIME,
    "closed_utc": _or_empty(_TIME),
    "began_utc": _or_empty(_TIME),
    "countdown_utc": _or_empty(_TIME),
    "closes_utc": _or_empty(_TIME),
    "ended_utc": _or_empty(_TIME),
    "decided_utc": _or_empty(_TIME),
    "form": lambda value: _FORM.fullmatch(value) is not None,
    "chosen": _CHOSEN,
    "seconds": _SECONDS,
    "apart_s": _SECONDS,
    "minutes": _MINUTES,
    "extra_min": _MINUTES,
    "step": _STEP,
    "phase": _one_of(*sittings.PHASES),
    "count": _between(0, GREATEST_WHOLE),
    "joined": _between(0, GREATEST_WHOLE),
    "typed": _is_json(dict[str, str]),
    "typed_before": _is_json(dict[str, str]),
    "understood": _is_json(dict[str, Any]),
    "understood_before": _is_json(dict[str, Any]),
    "field": _one_of(*answers.FIELDS),
    "state": _one_of(*get_args(LateState)),
}
_OWN: Mapping[tuple[str, str], Fits] = {
    ("sittings", "kind"): _one_of("lesson", "paper"),
    ("sittings", "code"): _or_empty(lambda value: re.fullmatch("[A-Z0-9]{4,12}", value) is not None),
    ("bin", "step"): _is_id,
    ("bin", "binned_utc"): _TIME,
    ("bin", "seen_utc"): _TIME,
    ("bin", "age_days"): _between(0.0, 1e9),
    ("bin", "kind"): _one_of(*get_args(belongings.Kind)),
    ("bin", "counts"): _is_json(dict[str, int]),
}


def _is_value(value: Any, longest: int) -> bool:
    if isinstance(value, str):
        kept_text("text", value, longest)
        return True
    if isinstance(value, float):
        return math.isfinite(value)
    return value is None or abs(value) <= GREATEST_WHOLE


def _check_row(table: str, row: Mapping[str, Any]) -> None:
    for name, value in row.items():
        fits = _OWN.get((table, name)) or _COLUMNS.get(name)
        longest = GREATEST_JSON if name == "asked" else LONGEST_TEXT
        if (table, name) == ("bin", "rows") and len(value) <= contents.LONGEST_ROWS:
            # Checked in detail when decoded.
            continue
        if not _is_value(value, longest) or not (fits is None or value is None or fits(value)):
            raise InputError(name, "not a value written by the program", "restore records written by it")


def fits(column: Column[Any], value: object) -> bool:
    """Whether a value has the type of a column."""
    if value is None:
        return bool(column.nullable)
    wanted = column.type.python_type
    if wanted is float:
        # Such a column never yields a whole number beyond 2**53.
        return isinstance(value, float) or (type(value) is int and abs(value) <= 2**53)
    # SQLite and PostgreSQL hold whole numbers of 32 bits in these columns; a bool is not allowed.
    return type(value) is wanted and not (type(value) is int and abs(value) > GREATEST_WHOLE)


def _check_asked(text: str) -> tuple[Asked, ...]:
    asked = sittings.asked_of(text)
    for one in asked:
        item = one.item
        numbers = (item.answer, item.tolerance, item.difficulty, *(option.value for option in item.options))
        whole = all(value is None or math.isfinite(value) for value in numbers)
        keyed = item.answer is not None if item.kind == "number" else item.key < len(item.options)
        if not (whole and keyed and item.key >= -1 and isinstance(item.drawn, dict)):
            raise InputError(
                "asked", f"question '{one.key[:20]}' has no right answer", "restore the questions as asked"
            )
        if len(item.options) > MOST_OPTIONS or not _FORM.fullmatch(one.form):
            raise InputError("asked", f"question '{one.key[:20]}'", "restore the questions as asked")
        _ = item.id
    return asked


def _check_correction(row: Mapping[str, Any], asked: tuple[Asked, ...]) -> None:
    """A corrected answer must be valid, and points must be a number."""
    item = required(
        next((one.item for one in asked if one.key == row["key"]), None),
        InputError("key", f"there is no question '{row['key'][:20]}'", "use one that was asked"),
    )
    if row["field"] == "points" and not math.isfinite(float(row["after"])):
        raise InputError("after", "not a number of points", "points")
    if row["field"] in ("chosen", "value"):
        read_answer(row["after"], item, "after")


class _File(msgspec.Struct, forbid_unknown_fields=True):
    name: str
    saved: str | None
    draft: str | None


class _Listed(msgspec.Struct, forbid_unknown_fields=True):
    place: int


# In the bin but in no table: a file's text, an aircraft's place on the list.
_NO_TABLE: Mapping[str, type[msgspec.Struct]] = {
    **dict.fromkeys(belongings.FILES, _File),
    "aircraft": _Listed,
}


def _check_binned(kind: str, text: str) -> None:
    """Checks rows in the bin against their tables; older rows may lack columns with a default."""
    known = {table.name: table for table in tables.IN_ORDER if table is not tables.bin_entries}
    found = msgspec.json.decode(text, type=dict[str, list[dict[str, Any]]])
    own = belongings.OWN_TABLE.get(kind)
    if not found.get("settings" if kind == "demo" else kind if own is None else own.name):
        raise InputError("rows", f"no {kind}", "restore the rows as deleted")
    for name, rows in found.items():
        for row in rows:
            if name in _NO_TABLE:
                msgspec.convert(row, _NO_TABLE[name])
                continue
            for column in known[name].columns:
                if column.name in row and fits(column, row[column.name]):
                    continue
                if column.name in row or (column.default is None and column.server_default is None):
                    raise InputError("rows", f"{name}, {column.name}", "restore the rows as deleted")
            _check_row(name, row)
            if name == "sittings":
                _check_asked(row["asked"])


def check_records(connection: Connection) -> None:
    """Checks that every row could have been written by the program.

    Raises:
        InputError: names the table and the row of the first error.
    """
    asked: dict[str, tuple[Asked, ...]] = {}
    for table in tables.IN_ORDER:
        for number, row in enumerate(connection.execute(select(table)).mappings(), start=1):
            try:
                plain = {str(name): value for name, value in row.items()}
                _check_row(table.name, plain)
                if table is tables.sittings:
                    asked[plain["id"]] = _check_asked(plain["asked"])
                    sittings.check(sittings.of_row(row))
                elif table is tables.bin_entries:
                    _check_binned(plain["kind"], plain["rows"])
                elif table is tables.corrections:
                    _check_correction(plain, asked[plain["sitting"]])
            except (ValueError, KeyError, TypeError, AttributeError, RecursionError, OverflowError) as error:
                where = f"{table.name}, row {number}"
                if isinstance(error, InputError):
                    raise InputError(f"{where}, {error.where}", error.wrong, error.right) from None
                wrong = "not a row written by the program"
                raise InputError(where, wrong, "restore records written by it") from None
    check_settings(settings.everything(connection))


def check_file(path: Path) -> None:
    """Checks that a file can be a database before it is opened; it may be missing.

    Raises:
        InputError: a folder, an empty file, or another kind of file.
    """
    if path.is_dir():
        raise InputError(str(path), "it is a folder", "give the path of a file")
    ends_s = time.monotonic() + BEING_MADE_S
    while True:
        try:
            with path.open("rb") as file:
                head = file.read(len(MAGIC))
        except OSError:
            # Missing or unreadable: opening it says which.
            return
        if head or time.monotonic() > ends_s:
            break
        # Another process may just be creating it.
        time.sleep(0.05)
    if not head:
        right = f"if it never had any records, delete it; otherwise {_to_do(path, None)}"
        raise InputError(str(path), "the file is empty: its records are lost", right)
    if head != MAGIC:
        right = f"give a file made by Lubberline; if it was one, {_to_do(path, None)}"
        raise InputError(str(path), "the file is not a SQLite database", right)


def check_whole(engine: Engine) -> None:
    """Checks that a file's pages, indexes and references are consistent; not for PostgreSQL and memory.

    Raises:
        InputError: they do not; says what to do.
    """
    path = file_of(engine.url)
    if path is None or not path.exists():
        return
    check_file(path)
    try:
        with engine.connect() as connection:
            connection.execution_options(reads=True)
            said = connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar_one()
            torn = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
    except (*_OF_THE_FILE, UnicodeDecodeError) as error:
        if not _is_damage(error):
            raise
        raise _damaged(engine, path, str(getattr(error, "orig", error))) from None
    if said != "ok":
        raise _damaged(engine, path, str(said))
    if torn is not None:
        raise _damaged(engine, path, f"a row of {torn[0]} refers to a missing row")


def check_tables(engine: Engine) -> None:
    """Checks that a file at this program's step has its tables and columns, and valid rows.

    Raises:
        InputError: it has not; names the error, and says what to do.
    """
    path = file_of(engine.url)
    if path is None:
        return
    try:
        with engine.connect() as connection:
            connection.execution_options(reads=True)
            _check_columns(connection)
            if path.stat().st_size <= MOST_BYTES_READ:
                check_records(connection)
            else:
                # Much quicker: every row is read but not checked.
                for table in tables.IN_ORDER:
                    for _ in connection.execute(select(table)):
                        pass
    except InputError as error:
        raise _damaged(engine, path, f"{error.where}: {error.wrong}") from None
    except (*_OF_THE_FILE, UnicodeDecodeError) as error:
        if not _is_damage(error):
            raise
        raise _damaged(engine, path, str(getattr(error, "orig", error))) from None


def _is_damage(error: Exception) -> bool:
    """Whether the file itself is damaged, rather than its lock or disk, from the driver's code.

    There is no code if a text is not UTF-8, in a cell or in the error message itself.
    """
    code = getattr(getattr(error, "orig", error), "sqlite_errorcode", None)
    return code is None or code & 0xFF in DAMAGE


def _check_columns(connection: Connection) -> None:
    for table in tables.IN_ORDER:
        rows = connection.exec_driver_sql(f'PRAGMA table_info("{table.name}")').all()
        found = {row[1]: (str(row[2]).upper(), bool(row[3])) for row in rows}
        if not found:
            raise InputError(table.name, "the table is missing", "")
        for column in table.columns:
            if column.name not in found:
                raise InputError(f"{table.name}, {column.name}", "the column is missing", "")
            kind, needed = found.pop(column.name)
            wanted = column.type.compile(connection.dialect).upper()
            if kind != wanted or (needed != (not column.nullable) and not column.primary_key):
                raise InputError(f"{table.name}, {column.name}", f"the column has type '{kind[:20]}'", "")
        if found:
            raise InputError(f"{table.name}, {next(iter(found))[:40]}", "an unknown column", "")


def _damaged(engine: Engine, path: Path, said: str) -> InputError:
    line = " ".join(said.split())[:160]
    kept = Copies(engine).kept()
    return InputError(str(path), f"the file is damaged ({line})", _to_do(path, kept[-1] if kept else None))


def _to_do(path: Path, copy: Path | None) -> str:
    """What to do with a damaged file."""
    aside = f"move it away (together with {path.name}-wal), then restore your last backup"
    other = f", or rename its copy {copy.name} to {path.name}" if copy else ""
    return f"{aside}: lubberline records restore BACKUP --yes{other}"
