"""Plain fields of a file or a message as a typed record, with one message for values that do not fit."""

import re
from collections.abc import Iterator
from typing import Any, TypeVar, get_args, get_origin

import msgspec
from msgspec import inspect

from lubberline.errors import Faults, FieldError, nearest_of

Record = TypeVar("Record", bound=msgspec.Struct)
_PART = re.compile(r"\.(\w+)|\[(\d+)\]|\[\.\.\.\]")
_KEY = re.compile(r"(unknown|missing required) field `([^`]*)`")


def typed(source: str, fields: Any, record: type[Record], right: str) -> Record:
    """A record from plain fields.

    Args:
        source: the file's name, or another source of the fields, for messages.
        fields: as read from TOML or JSON.
        record: its type.
        right: what would be right if a value is missing or does not fit, as 'see docs/instructors/log.md'.

    Raises:
        FieldError: naming `source` and the field: a key unknown or missing, a value that does not fit.
    """
    try:
        return msgspec.convert(fields, record)
    except msgspec.ValidationError as error:
        faults = Faults()
        for path, inner in [*_misfits(fields, record, ())] or [((), error)]:
            faults.add(_told(source, record, right, path, inner))
        faults.tell()
        raise


Misfit = tuple[tuple[str | int, ...], msgspec.ValidationError]


def _misfits(fields: Any, kind: Any, path: tuple[str | int, ...]) -> Iterator[Misfit]:
    """Everything in plain fields that does not fit a type, each with the path to what was looked at there."""
    if isinstance(fields, dict) and isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        known = {field.encode_name: field for field in msgspec.structs.fields(kind)}
        for name, value in fields.items():
            if name in known:
                yield from _misfits(value, known[name].type, (*path, name))
            elif kind.__struct_config__.forbid_unknown_fields and name != kind.__struct_config__.tag_field:
                yield path, msgspec.ValidationError(f"Object contains unknown field `{name}`")
        for name, field in known.items():
            if field.required and name not in fields:
                yield path, msgspec.ValidationError(f"Object missing required field `{name}`")
    elif isinstance(fields, list) and get_origin(kind) in (tuple, list):
        for place, value in enumerate(fields):
            yield from _misfits(value, get_args(kind)[0], (*path, place))
    else:
        try:
            msgspec.convert(fields, kind)
        except msgspec.ValidationError as error:
            yield path, error


def _told(
    source: str,
    record: type[msgspec.Struct],
    right: str,
    above: tuple[str | int, ...],
    error: msgspec.ValidationError,
) -> FieldError:
    """The error of a field as a person reads it."""
    what, below = what_and_path(error)
    path = (*above, *below)
    wrong, key = what[:1].lower() + what[1:], _KEY.search(what)
    if key and key[1] == "unknown":
        wrong, right = "unknown key", nearest_of(key[2], keys_at(record, path))
    elif key:
        wrong = "missing"
    where = _place((*path, key[2]) if key else path) or ["top level"]
    # A key that is missing has no place of its own.
    place = (*path, key[2]) if key and key[1] == "unknown" else path
    return FieldError(place, ", ".join([source, *where]), wrong, right)


def what_and_path(error: msgspec.ValidationError) -> tuple[str, tuple[str | int, ...]]:
    """The message of a validation error, and the keys and list positions (from 0) that lead to it."""
    what, _, path = str(error).partition(" - at ")
    return what, tuple(name or int(place or 0) for name, place in _PART.findall(path))


def _place(path: tuple[str | int, ...]) -> list[str]:
    """The place for people: 'topic 2', 'heading_indicator.drive'."""
    words: list[str] = []
    for part in path:
        if isinstance(part, int) and words:
            words[-1] += f" {part + 1}"
        elif words and not words[-1][-1].isdigit():
            words[-1] += f".{part}"
        else:
            words.append(str(part))
    return words


def keys_at(record: type[msgspec.Struct], path: tuple[str | int, ...]) -> list[str]:
    """The allowed keys of a table at a path of a record."""
    there: Any = inspect.type_info(record)
    for part in path:
        for option in _options(there):
            if isinstance(part, str) and isinstance(option, inspect.StructType):
                there = next(field.type for field in option.fields if field.encode_name == part)
            elif isinstance(part, int) and isinstance(option, inspect.VarTupleType | inspect.ListType):
                there = option.item_type
    return [
        field.encode_name
        for option in _options(there)
        if isinstance(option, inspect.StructType)
        for field in option.fields
    ]


def _options(there: Any) -> list[Any]:
    """The types that a value may have: those of a union, or the one."""
    return list(there.types) if isinstance(there, inspect.UnionType) else [there]
