"""Plain fields written as TOML: what a scene's file needs of it, and no more."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any


def _string(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return (
        '"'
        + "".join(f"\\u{ord(sign):04X}" if ord(sign) < 32 or ord(sign) == 127 else sign for sign in escaped)
        + '"'
    )


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _string(value)
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
