"""Legs files: a flight written by hand in TOML (`docs/instructors/legs.md`), read into typed legs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal, get_args, get_origin, get_type_hints

import msgspec

from lubberline.errors import InputError, nearest_of
from lubberline.flight.legs.kinds import KINDS, Fault, Head, Leg
from lubberline.textfile import toml_of
from lubberline.typed_fields import what_and_path

GREATEST_BYTES = 1_000_000
GREATEST_LEGS = 2000
# Larger numbers are refused first, so that huge whole numbers never reach a float.
GREATEST_NUMBER = 1e15
# The faults of every instrument; one that is registered later adds its own.
FAULT_NAMES = ["pump", "regulator", "filter", "leak", "bearings", "supply"]


@dataclass(frozen=True)
class LegPosition:
    """A place in a file: the file, and the leg with its number and kind (0: the head)."""

    file: str
    number: int = 0
    kind: str = ""

    def error(self, key: str, wrong: str, right: str) -> InputError:
        """The error for a key here: what is wrong, and what would be right."""
        leg = f"leg {self.number}" + (f" ({self.kind})" if self.kind else "") if self.number else ""
        return InputError(", ".join(part for part in (self.file, leg, key) if part), wrong, right)


@dataclass(frozen=True)
class LegsFile:
    """A legs file as read: the head, and each leg with its place."""

    place: LegPosition
    head: Head
    legs: tuple[tuple[LegPosition, Leg], ...]


def parse_legs(name: str, text: str, fault_names: Sequence[str] = FAULT_NAMES) -> LegsFile:
    """Typed legs from the text of a legs file.

    Args:
        name: what to call the file in errors.
        text: TOML.
        fault_names: the faults an aircraft may have.

    Raises:
        InputError: on anything that is not a legs file; names file, leg number and key.
    """
    place = LegPosition(name)
    if len(text.encode("utf-8", "replace")) > GREATEST_BYTES:
        raise place.error("", "the text is too long for a legs file", "at most 1 MB")
    table = toml_of(name, text, any_number=True)
    entries = table.pop("leg", [])
    if isinstance(entries, dict):
        raise place.error("leg", "[leg] makes a single table", "write [[leg]] with two brackets for each leg")
    if not isinstance(entries, list) or not entries:
        raise place.error("leg", "there are no legs", "write at least one [[leg]] with a kind")
    if len(entries) > GREATEST_LEGS:
        raise place.error(
            "leg",
            f"{len(entries):,} legs are too many",
            f"at most {GREATEST_LEGS:,}",
        )
    head = _typed(place, table, Head)
    _check_head(place, head)
    legs = tuple(_leg(name, number, entry, fault_names) for number, entry in enumerate(entries, 1))
    return LegsFile(place, head, legs)


def _leg(name: str, number: int, entry: Any, fault_names: Sequence[str]) -> tuple[LegPosition, Leg]:
    bare = LegPosition(name, number)
    if not isinstance(entry, dict):
        raise bare.error("", "this is not a table", "write [[leg]] and keys under it")
    kind = entry.pop("kind", None)
    if kind is None:
        raise bare.error("kind", "missing", "one of: " + ", ".join(KINDS))
    if not isinstance(kind, str) or kind not in KINDS:
        raise bare.error(
            "kind",
            f"{_shown(kind)} is not a kind of leg",
            nearest_of(_shown(kind), list(KINDS)),
        )
    place = LegPosition(name, number, kind)
    leg = _typed(place, entry, KINDS[kind])
    _check_one_of(place, leg)
    if isinstance(leg, Fault) and leg.name not in fault_names:
        raise place.error(
            "name",
            f"{_shown(leg.name)} is not a fault",
            nearest_of(leg.name, list(fault_names)),
        )
    return place, leg


def _check_head(place: LegPosition, head: Head) -> None:
    if not 1900 <= head.start_utc.year <= 2100:
        raise place.error(
            "start_utc",
            f"the year {head.start_utc.year}",
            "a year from 1900 to 2100",
        )
    if head.wind_kt is not None and head.wind_from_deg is None:
        raise place.error(
            "wind_from_deg",
            "missing, though wind_kt is given",
            _right(Head, "wind_from_deg"),
        )
    if head.wind_kt is None and head.wind_from_deg is not None:
        raise place.error(
            "wind_kt",
            "missing, though wind_from_deg is given",
            _right(Head, "wind_kt"),
        )
    if head.airspeed_kt > head.limit_kt:
        raise place.error(
            "airspeed_kt", f"{head.airspeed_kt:g} is above limit_kt", f"at most {head.limit_kt:g}"
        )
    if head.limit_kt <= head.stall_kt:
        raise place.error(
            "limit_kt",
            f"{head.limit_kt:g} is not above stall_kt",
            f"above {head.stall_kt:g}",
        )


def _check_one_of(place: LegPosition, leg: Leg) -> None:
    for keys in leg.exactly_one + leg.at_most_one:
        given = [key for key in keys if getattr(leg, key) is not None]
        if not given and keys in leg.exactly_one:
            raise place.error(keys[0], "missing", "give one of: " + ", ".join(keys))
        if len(given) > 1:
            raise place.error(given[1], f"given together with {given[0]}", "give only one of them")


def _typed(place: LegPosition, table: dict[str, Any], struct: type[Any]) -> Any:
    fields = {field.encode_name: field for field in msgspec.structs.fields(struct)}
    for key, value in table.items():
        if key not in fields:
            allowed = list(fields) + (["kind"] if place.number else ["leg"])
            raise place.error(_shown(key)[1:-1], "unknown key", nearest_of(key[:40], allowed))
        if isinstance(value, (int, float)) and not abs(value) < GREATEST_NUMBER:
            raise place.error(key, f"{_shown(value)} is not a usable number", _right(struct, key))
    for key, field in fields.items():
        if field.required and key not in table:
            raise place.error(key, "missing", _right(struct, key))
    try:
        return msgspec.convert(table, struct)
    except msgspec.ValidationError as fault:
        key = "".join(map(str, what_and_path(fault)[1][:1]))
        value = table.get(key)
        raise place.error(
            key,
            f"{_shown(value)} is not allowed here",
            _right(struct, key, value),
        ) from None


def _right(struct: type[Any], key: str, value: Any = None) -> str:
    """The allowed values of a key: the nearest of its words, or the description of its number."""
    name = {field.encode_name: field.name for field in msgspec.structs.fields(struct)}.get(key, "")
    hint = get_type_hints(struct, include_extras=True).get(name)
    for part in (hint, *get_args(hint)):
        if get_origin(part) is Literal:
            words = [str(word) for word in get_args(part)]
            return nearest_of(value, words) if isinstance(value, str) else "one of: " + ", ".join(words)
        for mark in getattr(part, "__metadata__", ()):
            if isinstance(mark, msgspec.Meta) and mark.description:
                return f"give {mark.description}"
    return "see docs/instructors/legs.md"


def _shown(value: Any) -> str:
    """A value as an error quotes it: one short line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and abs(value) > GREATEST_NUMBER:
        return "a number that is too large"
    if isinstance(value, (list, dict)):
        return "a list" if isinstance(value, list) else "a table"
    if isinstance(value, datetime):
        return value.isoformat() + ("" if value.tzinfo else " without a zone")
    text = "".join(sign if sign.isprintable() else " " for sign in str(value)[:41])
    text = text if len(text) <= 40 else text[:37] + "..."
    return f"'{text}'" if isinstance(value, str) else text
