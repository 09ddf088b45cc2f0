"""Times as they are kept: UTC as text, with seconds and 'Z'."""

from __future__ import annotations

from datetime import UTC, datetime

FORM = "%Y-%m-%dT%H:%M:%SZ"


def now_utc() -> str:
    """This moment."""
    return datetime.now(UTC).strftime(FORM)


def now_ms() -> int:
    """This moment, in milliseconds since 1970: from which a device counts on by its own clock."""
    return round(datetime.now(UTC).timestamp() * 1000.0)


def seconds_between(earlier_utc: str, later_utc: str) -> float:
    """How long it is from one kept time to another."""
    earlier, later = (datetime.fromisoformat(one) for one in (earlier_utc, later_utc))
    return (later - earlier).total_seconds()
