"""How long a student still has, by the server's clock alone."""

from __future__ import annotations

from lubberline.classroom.records import Place, Sitting
from lubberline.store.times import now_utc, seconds_between


def left_s(sitting: Sitting, place: Place) -> float | None:
    """Seconds left, not below 0; None without a time limit."""
    if not sitting.minutes or not place.began_utc:
        return None
    return max(0.0, sitting.minutes * 60.0 - seconds_between(place.began_utc, now_utc()))


def is_over(sitting: Sitting, place: Place) -> bool:
    """Whether a student can answer no more: closed, handed in, or out of time."""
    return bool(sitting.closed_utc or place.ended_utc or left_s(sitting, place) == 0.0)


def clock(seconds: float | None) -> str:
    """A length of time as minutes and seconds; '' without a limit."""
    if seconds is None:
        return ""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes}:{rest:02d}"
