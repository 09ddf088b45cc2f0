"""Checks texts: accepted by both databases, and not too long for a page."""

import json
import unicodedata
from collections.abc import Mapping
from typing import Any, TypeVar

import msgspec

from lubberline.errors import InputError

T = TypeVar("T")
LONGEST_NAME = 60
LONGEST_NOTE = 2_000
LONGEST_TEXT = 500_000


def clean_name(field: str, given: str) -> str:
    """A name on one line, without invisible characters.

    Raises:
        InputError: nothing is left, or it is longer than 60 characters.
    """
    shown = "".join(sign for sign in given if unicodedata.category(sign)[0] != "C" or sign.isspace())
    name = " ".join(shown.split())
    if not name:
        raise InputError(field, "it is empty", "enter a name, or the number your instructor gave you")
    if len(name) > LONGEST_NAME:
        raise InputError(field, f"{len(name)} characters", f"at most {LONGEST_NAME}")
    return name


def kept_text(field: str, given: str, longest: int = LONGEST_NOTE) -> str:
    """A text, if it can be stored unchanged.

    Raises:
        InputError: it is too long, or has invalid characters: NUL, or half of a surrogate pair.
    """
    if len(given) > longest:
        raise InputError(field, f"{len(given)} characters", f"at most {longest}")
    if any(sign == "\0" or unicodedata.category(sign) == "Cs" for sign in given):
        raise InputError(field, "it has invalid characters", "use plain text")
    return given


def decoded(text: str, kind: type[T]) -> T | None:
    """What a JSON text of a kind holds; None where it holds no such thing."""
    try:
        return msgspec.json.decode(text.encode(), type=kind)
    except (ValueError, RecursionError):
        return None


def kept_json(field: str, given: Mapping[str, Any]) -> str:
    """Plain values as JSON, if they survive a round trip.

    Raises:
        InputError: an infinite number, a value that is not plain, or too much data.
    """
    try:
        text = json.dumps(dict(given), ensure_ascii=False, allow_nan=False)
    except (ValueError, TypeError, RecursionError):
        raise InputError(
            field, "it has a value that is not allowed", "use texts and finite numbers"
        ) from None
    return kept_text(field, text, LONGEST_TEXT)
