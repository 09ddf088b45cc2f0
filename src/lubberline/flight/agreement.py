"""Whether a track's speed and track columns say what its positions say; if not, they are not used."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lubberline.flight.fixes import Fixes, Floats
from lubberline.units import DEG, KT_MPS

# A column that disagrees with the positions by more than this is not used.
SPEED_RATIO, TRACK_DISAGREEMENT_DEG = 1.25, 5.0
ASTRAY_DEG, ASTRAY_SHARE = 45.0, 0.1
CHORD_S, CHORD_M, LEAST_CHORDS = 10.0, 100.0, 5
STRAIGHT_DEG, STRAIGHT_MPS, LEAST_STRAIGHT = 10.0, 20.0, 20
MEAN_RADIUS_M = 6371008.8


def legs(latitude_deg: Floats, longitude_deg: Floats) -> tuple[Floats, Floats]:
    """Length in metres and direction in degrees (0 to 360) from each point to the next.

    On a sphere of the mean radius, good to 0.6 percent: for judging, not for flying.
    """
    latitude, longitude = latitude_deg * DEG, longitude_deg * DEG
    first, second, along = latitude[:-1], latitude[1:], np.diff(longitude)
    half = np.sin((second - first) / 2) ** 2 + np.cos(first) * np.cos(second) * np.sin(along / 2) ** 2
    east = np.sin(along) * np.cos(second)
    north = np.cos(first) * np.sin(second) - np.sin(first) * np.cos(second) * np.cos(along)
    distance = 2.0 * MEAN_RADIUS_M * np.arcsin(np.sqrt(np.minimum(half, 1.0)))
    return distance, np.degrees(np.arctan2(east, north)) % 360.0


def is_whole(values: Floats) -> bool:
    """Whether all the given values are whole numbers."""
    given = values[np.isfinite(values)]
    return bool(given.size > 0 and (given == np.round(given)).all())


def _compared(fixes: Fixes) -> tuple[Floats, Floats]:
    """Speed ratio and angle between what the columns say and what the positions say, chord by chord.

    Chords are of about ten seconds and more, long against the noise, and nearly straight; in tracks of
    rarer fixes there are none. Nan where a column is silent.
    """
    usual_s = float(np.median(np.diff(fixes.time_utc_s)))
    pick = slice(None, None, max(1, round(CHORD_S / usual_s)))
    time_s, speed_kt, track = fixes.time_utc_s[pick], fixes.groundspeed_kt[pick], fixes.track_deg[pick]
    distance_m, direction_deg = legs(fixes.latitude_deg[pick], fixes.longitude_deg[pick])
    step_s = np.diff(time_s)
    turn_deg = (track[1:] - track[:-1] + 180.0) % 360.0 - 180.0
    fair = (distance_m > CHORD_M) & ~(np.abs(turn_deg) > 20.0) & (step_s < 2.0 * CHORD_S)
    ratio = 0.5 * (speed_kt[:-1] + speed_kt[1:]) * KT_MPS * step_s / np.maximum(distance_m, 1.0)
    off_deg = (track[:-1] + 0.5 * turn_deg - direction_deg + 180.0) % 360.0 - 180.0
    return ratio[fair], off_deg[fair]


def agreeing(fixes: Fixes) -> Fixes:
    """Without the speed or track column, where the positions contradict it."""
    ratio, off_deg = (values[np.isfinite(values)] for values in _compared(fixes))
    warnings = list(fixes.warnings)
    groundspeed_kt, track_deg = fixes.groundspeed_kt, fixes.track_deg
    if len(ratio) >= LEAST_CHORDS:
        usual = float(np.median(ratio))
        if not 1.0 / SPEED_RATIO < usual < SPEED_RATIO:
            said = f"groundspeed_kt is {usual:.2f} times the speed between the positions; it was not used"
            warnings.append(f"{fixes.source}: {said}")
            groundspeed_kt = np.full(len(fixes), np.nan)
    if len(off_deg) >= LEAST_CHORDS:
        off, astray = float(np.median(off_deg)), float((np.abs(off_deg) > ASTRAY_DEG).mean())
        if abs(off) > TRACK_DISAGREEMENT_DEG or astray > ASTRAY_SHARE:
            said = f"track_deg stands {off:+.0f} deg (median) off the direction between the positions, "
            said += f"by more than {ASTRAY_DEG:.0f} deg in {100.0 * astray:.0f} percent of the places"
            warnings.append(f"{fixes.source}: {said} (magnetic, or a heading?); it was not used")
            track_deg = np.full(len(fixes), np.nan)
    return replace(fixes, groundspeed_kt=groundspeed_kt, track_deg=track_deg, warnings=tuple(warnings))


def position_noise_m(fixes: Fixes) -> float:
    """How far positions are off along the track, judged by the speed column where the flight is straight.

    Positions dated by when they were received are off by seconds of flight, which no smoothing could tell
    from manoeuvres. Nan where the columns do not say enough.
    """
    distance_m = legs(fixes.latitude_deg, fixes.longitude_deg)[0]
    speed, track, step_s = fixes.groundspeed_kt * KT_MPS, fixes.track_deg, np.diff(fixes.time_utc_s)
    turn_deg = (track[1:] - track[:-1] + 180.0) % 360.0 - 180.0
    fair = (np.abs(turn_deg) < STRAIGHT_DEG) & (np.minimum(speed[1:], speed[:-1]) > STRAIGHT_MPS)
    fair &= step_s < 2.0 * CHORD_S
    if fair.sum() < LEAST_STRAIGHT:
        return float("nan")
    off_m = (distance_m - 0.5 * (speed[1:] + speed[:-1]) * step_s)[fair]
    # The median of a normal variable's size is 0.6745 of its standard deviation; two positions share it.
    return float(np.median(np.abs(off_m - np.median(off_m))) / 0.6745 / np.sqrt(2.0))
