"""Legs into motion: each leg begins where the last one ended; the flight is then moved over the Earth."""

import math
from datetime import UTC
from pathlib import Path

import numpy as np

from lubberline.arrays import Floats
from lubberline.earth.geodesy import walk
from lubberline.flight.legs.file import LegsFile, parse_legs
from lubberline.flight.legs.kinds import Head
from lubberline.flight.legs.pieces import Logbook, fly_leg
from lubberline.flight.motion import STEP_S, FlightEvent, Motion, smooth_motion
from lubberline.flight.turbulence import FADE_S, rough_air
from lubberline.units import DEG, GREATEST_LATITUDE_DEG, KT_MPS


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


# The engine's speed changes over about this long.
ENGINE_EASE_S = 3.0
# The wind fades in over this time after lift-off, and fades out over this time before touch-down.
WIND_EASE_S = 20.0
SLOW_KT = 20.0


def read_legs_text(name: str, text: str) -> Motion:
    """The motion of the text of a legs file (`docs/instructors/legs.md`); `name` is what errors call it.

    Raises:
        InputError: naming file, leg number and key, when it cannot be read or cannot be flown.
    """
    return fly_legs(parse_legs(name, text))


def fly_legs(file: LegsFile) -> Motion:
    """The motion of typed legs.

    Raises:
        InputError: when a leg cannot be flown.
    """
    head = file.head
    log = Logbook(head, head.heading_deg, head.airspeed_kt, head.altitude_ft)
    for place, leg in file.legs:
        fly_leg(log, place, leg)
    if log.steps == 0:
        raise file.place.error(
            "leg", "no leg takes any time", "add a leg that is flown, as kind = 'straight'"
        )
    events = _events(log)
    column = _roughened(head, log.columns())
    north, east = _groundspeed_mps(head, column)
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
        start_utc=head.start_utc.astimezone(UTC),
        title=head.title or Path(file.place.file).stem,
        events=events,
        notes=_notes(head, log, column),
        sparse=np.zeros(len(north), dtype=np.bool_),
        slow=np.hypot(north, east) < SLOW_KT * KT_MPS,
        kind="legs",
    )


def _roughened(head: Head, column: dict[str, Floats]) -> dict[str, Floats]:
    """The columns with rough air, and with the headings of both path and nose."""
    airspeed, climb = column["airspeed_mps"], column["climb_mps"]
    column["along_mps"] = np.sqrt(np.maximum(airspeed**2 - climb**2, 0.0))
    column["path_rad"] = column["heading_rad"]
    if not column["bank_sd_rad"].any():
        return column
    bank_sd_rad = column["bank_sd_rad"].copy()
    bank_sd_rad[0] = 0.0  # a flight begins where its file says
    bank_sd_rad = eased_within(bank_sd_rad, FADE_S)
    rough = rough_air(bank_sd_rad, column["bank_rad"], airspeed, head.seed)
    path = column["heading_rad"] + rough.path_rad
    return column | {
        "path_rad": path,
        "heading_rad": path + rough.yaw_rad,
        "pitch_rad": column["pitch_rad"] + rough.pitch_rad,
        "bank_rad": column["bank_rad"] + rough.bank_rad,
        "altitude_m": column["altitude_m"] + rough.rise_m,
        "climb_mps": climb + np.gradient(rough.rise_m, STEP_S),
    }


def _groundspeed_mps(head: Head, column: dict[str, Floats]) -> tuple[Floats, Floats]:
    """Velocity over the ground to north and to east: through the air, and with the wind when airborne."""
    towards_rad = ((head.wind_from_deg or 0.0) + 180.0) * DEG
    wind_mps = eased_within(column["airborne"], WIND_EASE_S) * (head.wind_kt or 0.0) * KT_MPS
    north = column["along_mps"] * np.cos(column["path_rad"]) + wind_mps * math.cos(towards_rad)
    east = column["along_mps"] * np.sin(column["path_rad"]) + wind_mps * math.sin(towards_rad)
    return north, east


def _events(log: Logbook) -> tuple[FlightEvent, ...]:
    end_s = log.steps * STEP_S
    for place, event in log.events:
        if event.time_s > end_s:
            raise place.error(
                "after_seconds",
                f"{event.time_s - end_s:.1f} s past the end of the flight",
                "a moment within the flight",
            )
    return tuple(event for _, event in sorted(log.events, key=lambda entry: entry[1].time_s))


def _check_latitude(file: LegsFile, latitude_rad: Floats, legs: Floats) -> None:
    beyond = ~(np.abs(latitude_rad) <= GREATEST_LATITUDE_DEG * DEG)
    if beyond.any():
        number = max(int(legs[int(np.argmax(beyond))]), 1)
        raise file.legs[number - 1][0].error(
            "",
            f"the flight passes latitude {GREATEST_LATITUDE_DEG} here, where headings are not defined",
            f"stay within {GREATEST_LATITUDE_DEG} degrees of the equator",
        )


def _notes(head: Head, log: Logbook, column: dict[str, Floats]) -> tuple[str, ...]:
    roughest_deg = float(column["bank_sd_rad"].max()) / DEG
    told = {
        "Flown from legs: turns are coordinated and level; pitch is the angle of climb "
        "(no angle of attack).": True,
        f"Wind from {head.wind_from_deg or 0.0:g} deg at {head.wind_kt or 0.0:g} kt throughout; heading and "
        "airspeed of the legs are through the air. On the ground there is no wind: it fades in over "
        f"{WIND_EASE_S:g} s.": bool(head.wind_kt),
        "No wind.": not head.wind_kt,
        "Engine speed is assumed by kind of leg if the file does not give it.": log.engine_assumed,
        f"Rough air is random (seed {head.seed}), up to {roughest_deg:g} deg standard deviation of "
        "bank.": roughest_deg > 0.0,
    }
    return (*(words for words, holds in told.items() if holds), *log.notes)
