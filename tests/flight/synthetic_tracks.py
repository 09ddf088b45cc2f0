"""Flights of known bank, and the dirty tracks a recorder would make of them."""

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from lubberline.earth.geodesy import walk
from lubberline.flight.motion import Motion
from lubberline.flight.tracks.fixes import Fixes
from lubberline.units import DEG, FPM_MPS, KT_MPS, STANDARD_GRAVITY_MPS2

STEP_S = 0.1
ROLL_S = 4.0
RATE_ONE_RAD_S = 3.0 * DEG
START_UTC_S = datetime(2025, 6, 1, 10, 0, 0, tzinfo=UTC).timestamp()
NOISE_M = 10.0


@dataclass(frozen=True)
class Truth:
    """What the aircraft did, every 0.1 s, in the units of its name."""

    latitude_deg: np.ndarray
    longitude_deg: np.ndarray
    altitude_m: np.ndarray
    groundspeed_kt: np.ndarray
    track_deg: np.ndarray
    heading_deg: np.ndarray
    bank_deg: np.ndarray


def smooth_steps(targets: list[tuple[float, float]], over_s: float) -> np.ndarray:
    """A profile of (target, seconds) held one after the other, each reached in `over_s` by a cosine."""
    pieces, last = [], targets[0][0]
    for target, duration_s in targets:
        time_s = np.arange(round(duration_s / STEP_S)) * STEP_S
        share = 0.5 - 0.5 * np.cos(np.pi * np.minimum(time_s / over_s, 1.0))
        pieces.append(last + (target - last) * share)
        last = target
    return np.concatenate(pieces)


def flight(
    speed_kt: float,
    banks: list[tuple[float, float]],
    *,
    climb_fpm: float = 0.0,
    latitude_deg: float = 48.0,
    longitude_deg: float = 11.0,
    heading_deg: float = 20.0,
    wind_from_deg: float = 0.0,
    wind_kt: float = 0.0,
) -> Truth:
    """A flight at a steady airspeed: right banks in degrees, each held for so many seconds."""
    bank_deg = smooth_steps(banks, ROLL_S)
    speed = speed_kt * KT_MPS
    turn = STANDARD_GRAVITY_MPS2 * np.tan(bank_deg * DEG) / speed
    heading = heading_deg * DEG + np.concatenate(([0.0], np.cumsum(0.5 * (turn[1:] + turn[:-1])) * STEP_S))
    climb = climb_fpm * FPM_MPS
    level = np.sqrt(speed**2 - climb**2)
    altitude_m = 800.0 + climb * np.arange(len(bank_deg)) * STEP_S
    north = level * np.cos(heading) - wind_kt * KT_MPS * np.cos(wind_from_deg * DEG)
    east = level * np.sin(heading) - wind_kt * KT_MPS * np.sin(wind_from_deg * DEG)
    latitude, longitude = walk(latitude_deg * DEG, longitude_deg * DEG, altitude_m, north, east, STEP_S)
    return Truth(
        latitude_deg=latitude / DEG,
        longitude_deg=longitude / DEG,
        altitude_m=altitude_m,
        groundspeed_kt=np.hypot(north, east) / KT_MPS,
        track_deg=np.arctan2(east, north) / DEG % 360.0,
        heading_deg=heading / DEG % 360.0,
        bank_deg=bank_deg,
    )


def rate_one_bank_deg(speed_kt: float) -> float:
    return float(np.arctan(speed_kt * KT_MPS * RATE_ONE_RAD_S / STANDARD_GRAVITY_MPS2) / DEG)


KINDS = ("straight", "rate_one", "climbing", "s_turns")


def manoeuvre(kind: str, speed_kt: float) -> Truth:
    """One of the flights of the table: straight, rate_one, climbing or s_turns."""
    bank = rate_one_bank_deg(speed_kt)
    if kind == "straight":
        return flight(speed_kt, [(0.0, 600.0)])
    if kind == "rate_one":
        return flight(speed_kt, [(0.0, 120.0), (bank, 130.0), (0.0, 120.0), (-bank, 130.0), (0.0, 120.0)])
    if kind == "climbing":
        return flight(speed_kt, [(0.0, 120.0), (bank, 130.0), (0.0, 120.0), (-bank, 130.0)], climb_fpm=500.0)
    if kind == "s_turns":
        return flight(speed_kt, [(0.0, 60.0)] + [(bank, 30.0), (-bank, 30.0)] * 8 + [(0.0, 60.0)])
    raise ValueError(kind)


def recorded(
    truth: Truth, every_s: float, *, speed_and_track: bool, seed: int, noise_m: float = NOISE_M
) -> Fixes:
    """What a recorder writes down: noise in each coordinate, whole knots and whole degrees."""
    rng = np.random.default_rng(seed)
    pick = slice(None, None, round(every_s / STEP_S))
    latitude, longitude = truth.latitude_deg[pick], truth.longitude_deg[pick]
    count = len(latitude)
    north_m, east_m, up_m = rng.normal(0.0, noise_m, (3, count))
    metre_deg = 1.0 / 111_200.0
    nothing = np.full(count, np.nan)
    return Fixes(
        source="synthetic",
        time_utc_s=START_UTC_S + np.arange(count) * every_s,
        latitude_deg=latitude + north_m * metre_deg,
        longitude_deg=longitude + east_m * metre_deg / np.cos(latitude * DEG),
        altitude_m=np.round(truth.altitude_m[pick] + up_m),
        groundspeed_kt=np.round(truth.groundspeed_kt[pick]) if speed_and_track else nothing,
        track_deg=np.round(truth.track_deg[pick]) % 360.0 if speed_and_track else nothing,
        line=np.arange(2, count + 2),
        title="synthetic",
    )


def off_deg(found_deg: np.ndarray, true_deg: np.ndarray) -> np.ndarray:
    return (found_deg - true_deg + 180.0) % 360.0 - 180.0


def rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(values**2)))


def rms_errors_deg(truth: Truth, motion: Motion) -> tuple[float, float]:
    """Bank and heading, rms over the samples of the motion."""
    samples = motion.samples
    bank = np.degrees(samples["bank_rad"]) - truth.bank_deg[: len(samples)]
    heading = off_deg(np.degrees(samples["heading_rad"]), truth.heading_deg[: len(samples)])
    return rms(bank), rms(heading)


def as_csv(fixes: Fixes) -> str:
    lines = ["time_utc,latitude_deg,longitude_deg,altitude_m,groundspeed_kt,track_deg"]
    for i in range(len(fixes)):
        moment = datetime.fromtimestamp(float(fixes.time_utc_s[i]), UTC).isoformat()
        place = f"{fixes.latitude_deg[i]:.7f},{fixes.longitude_deg[i]:.7f},{fixes.altitude_m[i]:.0f}"
        lines.append(f"{moment},{place},{fixes.groundspeed_kt[i]:.0f},{fixes.track_deg[i]:.0f}")
    return "\n".join(lines) + "\n"
