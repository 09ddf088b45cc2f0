"""What the aircraft's log holds: an entry as typed and as understood, and what it was before."""

from __future__ import annotations

from typing import Any

import msgspec


class LogEntry(msgspec.Struct, frozen=True):
    """An entry of an aircraft's log.

    Attributes:
        id: of the record.
        aircraft: its name.
        added_utc: when it was entered.
        typed: each field as it was typed.
        understood: what that was understood to mean.
    """

    id: str
    aircraft: str
    added_utc: str
    typed: dict[str, str]
    understood: dict[str, Any]


class LogChange(msgspec.Struct, frozen=True):
    """A correction of an entry: who changed it, when and why, from what, to what."""

    entry: str
    by: str
    at_utc: str
    why: str
    typed_before: dict[str, str]
    understood_before: dict[str, Any]
    typed_after: dict[str, str]
    understood_after: dict[str, Any]
