"""How long a student still has, by the server's clock alone."""

from __future__ import annotations

import math

from lubberline.classroom.records import Place, Sitting
from lubberline.errors import InputError
from lubberline.store.times import now_utc, seconds_between

LONGEST_MIN = 600.0


def minutes_of(text: str, where: str = "minutes") -> float:
    """Minutes as they were typed; empty: none. `where` names the field.

    Raises:
        InputError: no number, or out of bounds.
    """
    try:
        minutes = float(text.strip().replace(",", ".") or 0.0)
    except ValueError:
        minutes = math.nan
    if not 0.0 <= minutes <= LONGEST_MIN:
        raise InputError(where, f"'{text.strip()[:20]}' is no time", f"0 (none) to {LONGEST_MIN:g} minutes")
    return minutes


def left_s(sitting: Sitting, place: Place) -> float | None:
    """Seconds left, not below 0; None without a time limit."""
    limit_s = place.limit_s(sitting)
    if limit_s is None or not place.began_utc:
        return None
    return max(0.0, limit_s - seconds_between(place.began_utc, now_utc()))


def is_over(sitting: Sitting, place: Place) -> bool:
    """Whether a student can answer no more: closed, handed in, or out of time."""
    return bool(sitting.closed_utc or place.ended_utc or left_s(sitting, place) == 0.0)


def clock(seconds: float | None) -> str:
    """A length of time as minutes and seconds; '' without a limit."""
    if seconds is None:
        return ""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes}:{rest:02d}"
