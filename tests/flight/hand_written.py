"""Legs files written for tests, and the motions they make."""

import numpy as np

from lubberline.flight.legs.motion import read_legs_text
from lubberline.flight.motion import Motion

HEAD = {
    "start_utc": "2026-03-01T12:00:00Z",
    "latitude_deg": 45.0,
    "longitude_deg": 10.0,
    "altitude_ft": 3000,
    "heading_deg": 0,
    "airspeed_kt": 100,
}


def toml(key: str, value: object) -> str:
    if key == "start_utc" or (isinstance(value, (int, float)) and not isinstance(value, bool)):
        return f"{key} = {value}"
    return f"{key} = {str(value).lower()}" if isinstance(value, bool) else f"{key} = '{value}'"


def legs_text(*legs: dict[str, object], **head: object) -> str:
    lines = [toml(key, value) for key, value in (HEAD | head).items()]
    for leg in legs:
        lines += ["[[leg]]", *(toml(key, value) for key, value in leg.items())]
    return "\n".join(lines) + "\n"


def leg(kind: str, **keys: object) -> dict[str, object]:
    return {"kind": kind, **{key.rstrip("_"): value for key, value in keys.items()}}


def flown(*legs: dict[str, object], **head: object) -> Motion:
    return read_legs_text("test.toml", legs_text(*legs, **head))


def degrees(motion: Motion, name: str) -> np.ndarray:
    return np.degrees(motion.samples[name])
