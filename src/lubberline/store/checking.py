"""Whether records are such as the program writes: asked of a backup before it takes their place.

The database itself sees to columns, kinds of values and references; here it is times, ids, words out of a
list, finite numbers, and what is kept as JSON. Whatever stands here is read by some page without a doubt.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from typing import Any, get_args

import msgspec
from sqlalchemy import Column, Connection, select

from lubberline.classroom.marking import read_answer
from lubberline.classroom.records import Asked, LateState
from lubberline.errors import InputError
from lubberline.store import belongings, corrections, late, settings, sittings, tables, wastebin
from lubberline.store.known_settings import check_settings
from lubberline.store.texts import LONGEST_TEXT, kept_text

# What both databases take for a whole number.
GREATEST_WHOLE = 2**31 - 1
MOST_OPTIONS = 50
# A drawing may be larger than any text that somebody types.
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
    def fits(value: str) -> bool:
        try:
            msgspec.json.decode(value, type=kind)
        except (ValueError, RecursionError):
            return False
        return True

    return fits


_TIME = late.is_time
_FORM = re.compile(r"[A-Za-z0-9]{0,8}")
_SECONDS = _between(0.0, 1e9)
_CHOSEN = _between(-1, MOST_OPTIONS)
_MINUTES = _between(0.0, sittings.LONGEST_MINUTES)
_STEP = _between(-1, sittings.MOST_STEPS)
# By the name of a column wherever it stands, and by table and column where it says more than the name.
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
    "typed": _is_json(dict[str, str]),
    "typed_before": _is_json(dict[str, str]),
    "understood": _is_json(dict[str, Any]),
    "understood_before": _is_json(dict[str, Any]),
    "field": _one_of(*corrections.FIELDS),
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
        if (table, name) == ("bin", "rows") and len(value) <= wastebin.LONGEST_ROWS:
            # Looked at one by one when it is decoded.
            continue
        if not _is_value(value, longest) or not (fits is None or value is None or fits(value)):
            raise InputError(name, "not a value that the program writes", "records as it wrote them")


def fits(column: Column[Any], value: object) -> bool:
    """Whether a column can hold a value as it is."""
    if value is None:
        return bool(column.nullable)
    wanted = column.type.python_type
    if wanted is float:
        # A whole number beyond 2**53 is none that a column of this kind gave.
        return isinstance(value, float) or (type(value) is int and abs(value) <= 2**53)
    # SQLite and PostgreSQL hold whole numbers of 32 bits in these columns; a bool is none of them.
    return type(value) is wanted and not (type(value) is int and abs(value) > GREATEST_WHOLE)


def _check_asked(text: str) -> tuple[Asked, ...]:
    asked = sittings.asked_of(text)
    for one in asked:
        item = one.item
        numbers = (item.answer, item.tolerance, item.difficulty, *(option.value for option in item.options))
        whole = all(value is None or math.isfinite(value) for value in numbers)
        keyed = item.answer is not None if item.kind == "number" else item.key < len(item.options)
        if not (whole and keyed and item.key >= -1 and isinstance(item.drawn, dict)):
            raise InputError("asked", f"question '{one.key[:20]}' has no right answer", "questions as asked")
        if len(item.options) > MOST_OPTIONS or not _FORM.fullmatch(one.form):
            raise InputError("asked", f"question '{one.key[:20]}'", "questions as they were asked")
        _ = item.id
    return asked


def _check_correction(row: Mapping[str, Any], asked: tuple[Asked, ...]) -> None:
    """What was put in the place of an answer must be one, and points a number."""
    item = next((one.item for one in asked if one.key == row["key"]), None)
    if item is None:
        raise InputError("key", f"there is no question '{row['key'][:20]}'", "one that was asked")
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


# What is in the bin and in no table: a lesson's text, an aircraft's place on the list.
_NO_TABLE: Mapping[str, type[msgspec.Struct]] = {"lesson": _File, "draft": _File, "aircraft": _Listed}


def _check_binned(kind: str, text: str) -> None:
    """What may be brought back is held against its tables; older rows may lack what has a default."""
    known = {table.name: table for table in tables.IN_ORDER if table is not tables.bin_entries}
    found = msgspec.json.decode(text, type=dict[str, list[dict[str, Any]]])
    own = belongings.OWN_TABLE.get(kind)
    if not found.get("settings" if kind == "demo" else kind if own is None else own.name):
        raise InputError("rows", f"no {kind}", "rows as they were deleted")
    for name, rows in found.items():
        for row in rows:
            if name in _NO_TABLE:
                msgspec.convert(row, _NO_TABLE[name])
                continue
            for column in known[name].columns:
                if column.name in row and fits(column, row[column.name]):
                    continue
                if column.name in row or (column.default is None and column.server_default is None):
                    raise InputError("rows", f"{name}, {column.name}", "rows as they were deleted")
            _check_row(name, row)
            if name == "sittings":
                _check_asked(row["asked"])


def check_records(connection: Connection) -> None:
    """Whether every row is such as the program writes.

    Raises:
        InputError: naming the table and the row of the first that is not.
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
                wrong = "not a row that the program writes"
                raise InputError(where, wrong, "records as it wrote them") from None
    check_settings(settings.everything(connection))
