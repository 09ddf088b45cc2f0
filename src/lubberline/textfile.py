"""The text of a file that a person names, and its contents if it is TOML."""

import json
import math
import re
import tomllib
from datetime import date, datetime
from pathlib import Path
from typing import Any

from lubberline.errors import FieldError, InputError

GREATEST_BYTES = 500_000
# No file of this program has such deeply nested tables. The memory of Python's reader grows with the square
# of the parts of a dotted key, and deeply nested brackets make it fail with its own error.
DEEPEST = 20
_DOTTED = re.compile(
    r"(?<![A-Za-z0-9_-])(?:(?:[A-Za-z0-9_-]++|\"[^\"\n]*+\"|'[^'\n]*+')[ \t]*+\.[ \t]*+)"
    rf"{{{DEEPEST}}}"
)
_PLACE = re.compile(r"(.*) \(at (?:line (\d+), column \d+|end of document)\)", re.DOTALL)
# In TOML an escape can stand for a character that is not allowed in a text.
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")
GREATEST_WHOLE = 2**63


def text_of(path: str | Path, wanted: str, most_bytes: int = GREATEST_BYTES) -> str:
    """The text of a file in UTF-8, without a byte order mark.

    Args:
        path: of the file.
        wanted: what the file should be, for messages: 'a blueprint file (TOML)'.
        most_bytes: a larger file is refused.

    Raises:
        InputError: when it cannot be read, is too large or is not UTF-8.
    """
    try:
        # Only the allowed number of bytes is read: a pipe has no size.
        with Path(path).open("rb") as stream:
            data = stream.read(most_bytes + 1)
    except (OSError, ValueError) as error:
        raise InputError(
            str(path),
            f"cannot be read ({getattr(error, 'strerror', None) or error})",
            f"give the path of {wanted}",
        ) from None
    return decoded(str(path), data, wanted, most_bytes)


def decoded(source: str, data: bytes, wanted: str, most_bytes: int = GREATEST_BYTES) -> str:
    """The text in the bytes of such a file; arguments and errors as for `text_of`."""
    if len(data) > most_bytes:
        raise InputError(source, "too large", f"give {wanted} under {most_bytes // 1000} kB")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(source, "not a text file in UTF-8", f"give {wanted}") from None


def toml_of(source: str, text: str, *, any_number: bool = False) -> dict[str, Any]:
    """The contents of a TOML text: plain values that can be shown, computed with and saved.

    Args:
        source: the file's name, for messages.
        text: of the file.
        any_number: numbers are not checked, because the reader has better messages.

    Raises:
        InputError: naming `source` and the line or key: not TOML, nested deeply, whole numbers beyond 64 bits
            (which TOML leaves open), numbers without a value (nan, inf), or control characters.
    """
    text = text.removeprefix("\ufeff")
    dotted = _DOTTED.search(text)
    if dotted:
        line = text.count("\n", 0, dotted.start()) + 1
        raise InputError(
            f"{source}, line {line}", "a key with too many parts", "use a key with only a few parts"
        )
    try:
        found = tomllib.loads(text)
    except RecursionError:
        right = "use only a few levels of lists and tables"
        raise InputError(source, "brackets are nested too deeply", right) from None
    except tomllib.TOMLDecodeError as error:
        told = _PLACE.fullmatch(str(error))
        last = text.count("\n") + 1
        where = f"{source}, line {told[2] or last}" if told else source
        message = told[1] if told else "it cannot be read"
        message = f"not valid TOML: {message[:1].lower()}{message[1:200]}"
        raise InputError(where, message, "correct it; write text in quotes") from None
    except ValueError:
        # Python's limit on the digits of a whole number.
        wrong = "not valid TOML: a number with too many digits"
        raise InputError(source, wrong, "correct it; write text in quotes") from None
    _check_plain(source, found, any_number)
    return found


def _check_plain(source: str, found: dict[str, Any], any_number: bool) -> None:
    waiting: list[tuple[tuple[str | int, ...], Any]] = [((), found)]
    while waiting:
        path, value = waiting.pop()
        wrong = right = ""
        if len(path) > DEEPEST:
            wrong, right = "nested too deeply", "use only a few levels of lists and tables"
        elif isinstance(value, dict):
            waiting += [((*path, key), key) for key in value if _CONTROL.search(key)]
            waiting += [((*path, key), one) for key, one in value.items()]
        elif isinstance(value, list):
            waiting += [((*path, place), one) for place, one in enumerate(value)]
        elif isinstance(value, str) and _CONTROL.search(value):
            wrong, right = "it has a control character", "use plain text"
        elif any_number:
            continue
        elif isinstance(value, float) and not math.isfinite(value):
            wrong, right = f"{value:g} is not a usable number", "write a finite number"
        elif isinstance(value, int) and not -GREATEST_WHOLE <= value < GREATEST_WHOLE:
            wrong, right = "the number is too large", "a number below 9,223,372,036,854,775,808"
        if wrong:
            place = ".".join(part for part in path if isinstance(part, str))
            shown = "".join(sign for sign in place[:80] if sign.isprintable())
            raise FieldError(path, f"{source}, {shown}" if shown else source, wrong, right)


def _value(value: Any) -> str:
    if isinstance(value, bool | str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(entry)}" for key, entry in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(entry) for entry in value) + "]"
    return repr(value)


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(entry, dict) for entry in value)


def as_toml(fields: dict[str, Any], path: str = "") -> str:
    """A TOML document from nested dicts, lists, strings, numbers, flags and dates.

    Lists of dicts become arrays of tables; a dict inside one of those is written in a line.
    """
    lines = [
        f"{key} = {_value(value)}"
        for key, value in fields.items()
        if not isinstance(value, dict) and not _is_tables(value)
    ]
    parts = ["\n".join(lines)] if lines else []
    for key, value in fields.items():
        name = f"{path}{key}"
        if isinstance(value, dict):
            inner = as_toml(value, f"{name}.")
            parts.append(f"[{name}]\n{inner}" if inner else f"[{name}]")
        elif _is_tables(value):
            for entry in value:
                rows = [f"{word} = {_value(content)}" for word, content in entry.items()]
                parts.append("\n".join([f"[[{name}]]", *rows]))
    return "\n\n".join(part.rstrip("\n") for part in parts) + "\n"
