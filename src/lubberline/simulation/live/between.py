"""A frame between two frames: what a display draws between two steps."""

from __future__ import annotations

from typing import Any

# Headings in 0 <= h < 360, and angles in (-180, 180]; other angles of a frame do not wrap.
ROSE = frozenset({"heading_deg", "magnetic_deg", "track_deg", "indicated_deg", "compass_deg", "knob_deg"})
SIGNED = frozenset(
    {"outer_deg", "error_deg", "compass_error_deg", "longitude_deg", "variation_deg", "bank_deg"}
)
DIGITS = 9


def _angle(name: str, first: float, last: float, share: float) -> float:
    way = (last - first + 180.0) % 360.0 - 180.0
    turned = round(first + share * way, 4)
    if name in ROSE:
        return turned % 360.0
    return -((-turned + 180.0) % 360.0 - 180.0) + 0.0


def _number(name: str, first: float, last: float, share: float) -> float:
    if name in ROSE or name in SIGNED:
        return _angle(name, first, last, share)
    if name == "rotor_turns":
        return round((first + share * ((last - first) % 1.0)) % 1.0, 4)
    return round(first + share * (last - first), DIGITS)


def between(first: Any, last: Any, share: float, name: str = "") -> Any:
    """Numbers and angles `share` of the way from one frame to the next; all else as in the later one.

    Args:
        first: a frame, or a part of one.
        last: the next, of the same shape.
        share: 0 to 1.
        name: of the part.
    """
    if isinstance(last, dict):
        if not isinstance(first, dict):
            return last
        return {key: between(first.get(key), value, share, key) for key, value in last.items()}
    if isinstance(last, list):
        if not isinstance(first, list) or len(first) != len(last):
            return last
        return [between(before, after, share, name) for before, after in zip(first, last, strict=True)]
    if isinstance(last, float) and isinstance(first, float):
        return last if first == last else _number(name, first, last, share)
    return last
