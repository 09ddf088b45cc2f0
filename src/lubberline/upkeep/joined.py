"""A recorded flight joined to a log by time: place, ground speed and track of the checks that it covers."""

from __future__ import annotations

import math
from pathlib import Path

import msgspec
import numpy as np

from lubberline.earth.geodesy import meridian_radius_m, prime_vertical_radius_m
from lubberline.flight.tracks.fixes import Fixes
from lubberline.flight.tracks.files import read_file, read_fixes
from lubberline.units import DEG, KT_MPS
from lubberline.upkeep.records import Check, Log

# A fix so long before or after still tells where a check was made.
NEAR_S = 60.0


def join_track(log: Log, path: str | Path) -> tuple[Log, int]:
    """The log with what a track's file tells, and of how many checks it tells.

    Raises:
        InputError: no such file, or none that is a track.
    """
    return join_fixes(log, read_fixes(Path(path).name, read_file(path)))


def join_fixes(log: Log, fixes: Fixes) -> tuple[Log, int]:
    """The same from fixes that were read already."""
    joined = tuple(_joined(check, fixes) for check in log.checks)
    changed = sum(one is not other for one, other in zip(joined, log.checks, strict=True))
    return msgspec.structs.replace(log, checks=joined), changed


def _joined(check: Check, fixes: Fixes) -> Check:
    """The check with what the fixes tell; itself where they do not cover it and its setting.

    Ground speed and track are those of the straight course with the same ends: what the journey does to the
    card depends on the way made good alone, but for the area of a loop.
    """
    time_s = fixes.time_utc_s
    if check.set_s < time_s[0] - NEAR_S or check.time_s > time_s[-1] + NEAR_S:
        return check
    longitude = np.unwrap(fixes.longitude_deg, period=360.0)
    (south, north), (west, east) = (
        np.interp((check.set_s, check.time_s), time_s, values) for values in (fixes.latitude_deg, longitude)
    )
    middle = 0.5 * (south + north) * DEG
    north_m = (north - south) * DEG * meridian_radius_m(middle)
    east_m = (east - west) * DEG * prime_vertical_radius_m(middle) * math.cos(middle)
    seconds = max(check.time_s - check.set_s, 1.0)
    return msgspec.structs.replace(
        check,
        latitude_deg=float(north),
        longitude_deg=math.remainder(float(east), 360.0),
        groundspeed_kt=math.hypot(north_m, east_m) / seconds / KT_MPS,
        track_deg=math.degrees(math.atan2(east_m, north_m)) % 360.0,
    )
