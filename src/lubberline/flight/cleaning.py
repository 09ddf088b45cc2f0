"""Dirty tracks made fit to fly: what is left out, what is bridged, and the words that say so."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lubberline.errors import InputError
from lubberline.flight.agreement import MEAN_RADIUS_M, agreeing, is_whole, legs
from lubberline.flight.fixes import FASTEST_KT, Fixes, Floats
from lubberline.flight.gaps import Gap, gaps_of
from lubberline.units import DEG, KT_MPS

Bools = NDArray[np.bool_]

# An aircraft whose place repeats and then moves on at this speed was flying all the while.
MOVING_KT, PARKED_KT = 20.0, 10.0
# A single fix further aside than this, and than 3 g would take it, is the receiver's error.
ASIDE_M, HARDEST_MPS2 = 100.0, 30.0


@dataclass(frozen=True)
class Cleaned:
    """Fixes fit for smoothing; their warnings say what was assumed."""

    fixes: Fixes
    gaps: tuple[Gap, ...]


def _kept(fixes: Fixes, keep: Bools, warning: str) -> Fixes:
    return replace(
        fixes,
        time_utc_s=fixes.time_utc_s[keep],
        latitude_deg=fixes.latitude_deg[keep],
        longitude_deg=fixes.longitude_deg[keep],
        altitude_m=fixes.altitude_m[keep],
        groundspeed_kt=fixes.groundspeed_kt[keep],
        track_deg=fixes.track_deg[keep],
        line=fixes.line[keep],
        warnings=(*fixes.warnings, warning),
    )


def _without_times_given_twice(fixes: Fixes) -> Fixes:
    keep = np.append(True, np.diff(fixes.time_utc_s) > 0.0)
    if keep.all():
        return fixes
    where = fixes.place(int(np.argmin(keep)))
    said = f"{where}: {(~keep).sum()} fixes give a time that was given before; the first of each was kept"
    return _kept(fixes, keep, said)


def _without_repeats(fixes: Fixes) -> Fixes:
    """Leave out places repeated in flight (a receiver that froze), keep those of a parked aircraft."""
    same = (np.diff(fixes.latitude_deg) == 0.0) & (np.diff(fixes.longitude_deg) == 0.0)
    if not same.any():
        return fixes
    time, distance = fixes.time_utc_s, legs(fixes.latitude_deg, fixes.longitude_deg)[0]
    edges = np.diff(np.concatenate(([False], same, [False])).astype(np.int8))
    keep = np.ones(len(fixes), dtype=np.bool_)
    for first, last in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
        if last + 1 == len(fixes):
            continue
        since_last = distance[last] / (time[last + 1] - time[last])
        since_first = distance[last] / (time[last + 1] - time[first])
        if since_last > MOVING_KT * KT_MPS and since_first > PARKED_KT * KT_MPS:
            keep[first + 1 : last + 1] = False
    if keep.all():
        return fixes
    where = fixes.place(int(np.argmin(keep)))
    said = f"{where}: fixes that repeat the place before them in flight were left out: {(~keep).sum()}"
    return _kept(fixes, keep, said)


def _refuse_jumps(fixes: Fixes) -> None:
    distance_m = legs(fixes.latitude_deg, fixes.longitude_deg)[0]
    speed_kt = distance_m / np.diff(fixes.time_utc_s) / KT_MPS
    if (speed_kt > FASTEST_KT).any():
        here = int(np.argmax(speed_kt > FASTEST_KT))
        raise InputError(
            f"{fixes.source} line {fixes.line[here + 1]}",
            f"a jump of {distance_m[here] / 1000.0:.1f} km since line {fixes.line[here]}, "
            f"{speed_kt[here]:.0f} kt",
            f"no aircraft moves at more than {FASTEST_KT:.0f} kt between fixes; correct or remove the fix",
        )


def _aside(time_s: Floats, values: Floats) -> Floats:
    """How far a coordinate of each fix lies from the straight line between its neighbours."""
    share = (time_s[1:-1] - time_s[:-2]) / (time_s[2:] - time_s[:-2])
    off: Floats = values[1:-1] - values[:-2] - share * (values[2:] - values[:-2])
    return off


def _without_fixes_aside(fixes: Fixes) -> Fixes:
    """Leave out single fixes so far aside of their neighbours that no aircraft could follow."""
    if len(fixes) < 3:
        return fixes
    time_s = fixes.time_utc_s
    room_s2 = 0.5 * (time_s[1:-1] - time_s[:-2]) * (time_s[2:] - time_s[1:-1])
    degree_m = MEAN_RADIUS_M * DEG
    north = fixes.latitude_deg * degree_m
    # Unwrapped, so that 180 degrees of longitude is no jump.
    east = np.unwrap(fixes.longitude_deg, period=360.0) * degree_m
    shrunk = np.cos(fixes.latitude_deg[1:-1] * DEG)
    aside = np.hypot(_aside(time_s, north), _aside(time_s, east) * shrunk)
    up = np.abs(_aside(time_s, fixes.altitude_m))
    bad = aside > ASIDE_M + HARDEST_MPS2 * room_s2
    bad |= up > ASIDE_M + HARDEST_MPS2 * room_s2
    # Of neighbours that all look bad, only the worst is at fault.
    worst = np.maximum(aside, up)
    padded = np.concatenate(([0.0], worst, [0.0]))
    bad &= (worst >= padded[:-2]) & (worst >= padded[2:])
    if not bad.any():
        return fixes
    keep = np.concatenate(([True], ~bad, [True]))
    where = fixes.place(int(np.argmin(keep)))
    said = f"{where}: {bad.sum()} fixes lie aside of their neighbours as no aircraft flies; left out"
    return _kept(fixes, keep, said)


def clean(fixes: Fixes) -> Cleaned:
    """Fixes fit for smoothing, with strictly growing times, and the gaps between them.

    Raises:
        InputError: a jump no aircraft makes; names both lines.
    """
    fixes = _without_times_given_twice(fixes)
    fixes = _without_repeats(fixes)
    if len(fixes) < 2:
        raise InputError(fixes.source, "all fixes are of one moment", "a track has two fixes or more")
    _refuse_jumps(fixes)
    fixes = _without_fixes_aside(fixes)
    fixes = agreeing(fixes)
    if is_whole(fixes.track_deg):
        said = f"{fixes.source}: tracks are in whole degrees; they were taken as good to half a degree"
        fixes = replace(fixes, warnings=(*fixes.warnings, said))
    gaps, warnings = gaps_of(fixes)
    return Cleaned(replace(fixes, warnings=(*fixes.warnings, *warnings)), gaps)
