"""Legs into motion: each leg is flown from where the last one ended, then walked over the Earth."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from lubberline.earth.constants import GREATEST_LATITUDE_DEG
from lubberline.earth.ellipsoid import walk
from lubberline.flight.leg_kinds import Head
from lubberline.flight.leg_pieces import Logbook, fly_leg
from lubberline.flight.legs_file import (
    FAULT_NAMES,
    LegsFile,
    Place,
    parse_legs,
    read_legs_bytes,
    start_in_utc,
)
from lubberline.flight.motion import STEP_S, FlightEvent, Floats, Motion, smooth_motion
from lubberline.units import DEG, KT_MPS

# The engine's speed changes over about this long.
ENGINE_EASE_S = 3.0
# The wind comes in over this long after lift-off, and goes out over this long before touch-down.
WIND_EASE_S = 20.0
SLOW_KT = 20.0


def read_legs(path: Path | str, fault_names: tuple[str, ...] = FAULT_NAMES) -> Motion:
    """The motion of a legs file (`docs/legs.md`).

    Raises:
        InputError: naming file, leg number and key, when it cannot be read or cannot be flown.
    """
    return read_legs_text(str(path), read_legs_bytes(path), fault_names)


def read_legs_text(name: str, text: str, fault_names: tuple[str, ...] = FAULT_NAMES) -> Motion:
    """As `read_legs`, from text; `name` is what errors call it."""
    return fly_legs(parse_legs(name, text, fault_names))


def fly_legs(file: LegsFile) -> Motion:
    """The motion of typed legs.

    Raises:
        InputError: when a leg cannot be flown.
    """
    head = file.head
    log = Logbook.begin(head)
    for place, leg in file.legs:
        fly_leg(log, place, leg)
    if log.steps == 0:
        raise file.place.error(
            "leg", "no leg takes any time", "add a leg that is flown, as kind = 'straight'"
        )
    events = _events(log)
    column = log.columns()
    wind = _wind_mps(head)
    share = eased_within(column["airborne"], WIND_EASE_S)
    along = np.sqrt(np.maximum(column["airspeed_mps"] ** 2 - column["climb_mps"] ** 2, 0.0))
    north = along * np.cos(column["heading_rad"]) + share * wind[0]
    east = along * np.sin(column["heading_rad"]) + share * wind[1]
    latitude, longitude = walk(
        head.latitude_deg * DEG, head.longitude_deg * DEG, column["altitude_m"], north, east, STEP_S
    )
    _check_latitude(file, latitude, column["leg"])
    samples = smooth_motion(
        latitude_rad=latitude,
        longitude_rad=longitude,
        altitude_m=column["altitude_m"],
        north_mps=north,
        east_mps=east,
        down_mps=-column["climb_mps"],
        airspeed_mps=column["airspeed_mps"],
        heading_rad=column["heading_rad"],
        pitch_rad=column["pitch_rad"],
        bank_rad=column["bank_rad"],
        engine_rpm=eased_after(column["engine_rpm"], ENGINE_EASE_S),
    )
    return Motion(
        samples=samples,
        start_utc=start_in_utc(head),
        title=head.title or Path(file.place.file).stem,
        events=events,
        notes=_notes(head, log),
        sparse=np.zeros(len(north), dtype=np.bool_),
        slow=np.hypot(north, east) < SLOW_KT * KT_MPS,
        kind="legs",
    )


def _events(log: Logbook) -> tuple[FlightEvent, ...]:
    end_s = log.steps * STEP_S
    for place, event in log.events:
        if event.time_s > end_s:
            raise place.error(
                "after_seconds",
                f"{event.time_s - end_s:.1f} s past the end of the flight",
                "a moment within it",
            )
    return tuple(event for _, event in sorted(log.events, key=lambda entry: entry[1].time_s))


def _check_latitude(file: LegsFile, latitude_rad: Floats, legs: Floats) -> None:
    beyond = ~(np.abs(latitude_rad) <= GREATEST_LATITUDE_DEG * DEG)
    if beyond.any():
        number = max(int(legs[int(np.argmax(beyond))]), 1)
        place: Place = file.legs[number - 1][0]
        raise place.error(
            "",
            f"the flight passes latitude {GREATEST_LATITUDE_DEG} here, where headings lose their meaning",
            f"stay within {GREATEST_LATITUDE_DEG} degrees of the equator",
        )


def _wind_mps(head: Head) -> tuple[float, float]:
    """The air's velocity to north and to east."""
    towards = ((head.wind_from_deg or 0.0) + 180.0) * DEG
    return head.wind_kt * KT_MPS * math.cos(towards), head.wind_kt * KT_MPS * math.sin(towards)


def _hann(duration_s: float) -> Floats:
    count = round(duration_s / STEP_S)
    weights = np.sin(np.pi * (np.arange(count) + 0.5) / count) ** 2
    return np.asarray(weights / weights.sum())


def eased_after(values: Floats, duration_s: float) -> Floats:
    """Values that jump, made to change smoothly over `duration_s` after each jump."""
    weights = _hann(duration_s)
    padded = np.concatenate([np.full(len(weights) - 1, values[0]), values])
    return np.asarray(np.convolve(padded, weights, mode="valid"))


def eased_within(values: Floats, duration_s: float) -> Floats:
    """Values that jump, made to change smoothly over `duration_s` and nowhere above what they were.

    They rise after each jump up and fall before each jump down.
    """
    if np.all(values == values[0]):
        return values
    half = round(0.5 * duration_s / STEP_S)
    padded = np.pad(values, half, mode="edge")
    least = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1).min(axis=1)
    weights = _hann(2 * half * STEP_S + STEP_S)
    return np.asarray(np.convolve(np.pad(least, half, mode="edge"), weights, mode="valid"))


def _notes(head: Head, log: Logbook) -> tuple[str, ...]:
    notes = [
        "Flown from legs: turns are coordinated and level; pitch is the angle of climb (no angle of attack)."
    ]
    if head.wind_kt > 0.0:
        notes.append(
            f"Wind from {head.wind_from_deg:g} deg at {head.wind_kt:g} kt all the way; legs give heading and"
            f" airspeed through the air. On the ground there is no wind: it comes in over {WIND_EASE_S:g} s."
        )
    else:
        notes.append("No wind.")
    if log.engine_assumed:
        notes.append("Engine speed assumed by kind of leg where the file does not give it.")
    return tuple(notes + log.notes)
