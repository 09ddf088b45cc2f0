"""The size of the download on this system, from the numbers recorded with the lock."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from tools.start import paths


@cache
def _table() -> dict[str, Any]:
    table: dict[str, Any] = json.loads((paths.LOCKS / "sizes.json").read_text(encoding="utf-8"))
    return table


def _entry(part: str, system: str, python: str) -> dict[str, Any]:
    entry: dict[str, Any] = _table().get(system, {}).get(python, {}).get(part, {})
    return entry


def python_bytes(part: str, system: str, python: str) -> int | None:
    """Bytes of one lock (run, test, build, node) on a system; None if they are not recorded."""
    count: int | None = _entry(part, system, python).get("bytes")
    return count


def npm_bytes(system: str) -> int | None:
    """Bytes of the front end's packages on a system; None if they are not recorded."""
    count: int | None = _table().get(system, {}).get("npm")
    return count


def missing(part: str, system: str, python: str) -> list[str]:
    """Packages of one lock that have no ready-made wheel for this system."""
    names: list[str] = _entry(part, system, python).get("missing", [])
    return names
