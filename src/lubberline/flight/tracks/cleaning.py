"""Cleaning of tracks: fixes left out, gaps bridged, and the warnings about them."""

from dataclasses import dataclass, replace

import numpy as np
from geographiclib.geodesic import Geodesic

from lubberline.angles import rose_deg, wrapped_deg
from lubberline.arrays import Bools, Floats
from lubberline.errors import InputError
from lubberline.flight.tracks.fixes import FASTEST_KT, Fixes, clock
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
    return distance, rose_deg(np.degrees(np.arctan2(east, north)))


def is_whole(values: Floats) -> bool:
    """Whether all the given values are whole numbers."""
    given = values[np.isfinite(values)]
    return bool(given.size > 0 and (given == np.round(given)).all())


def _compared(fixes: Fixes) -> tuple[Floats, Floats]:
    """Speed ratio and angle between the columns and the positions, chord by chord.

    Chords are of about ten seconds and more, long against the noise, and nearly straight; in tracks of
    rarer fixes there are none. Nan where a column is silent.
    """
    usual_s = float(np.median(np.diff(fixes.time_utc_s)))
    pick = slice(None, None, max(1, round(CHORD_S / usual_s)))
    time_s, speed_kt, track = fixes.time_utc_s[pick], fixes.groundspeed_kt[pick], fixes.track_deg[pick]
    distance_m, direction_deg = legs(fixes.latitude_deg[pick], fixes.longitude_deg[pick])
    step_s = np.diff(time_s)
    turn_deg = wrapped_deg(track[1:] - track[:-1])
    fair = (distance_m > CHORD_M) & ~(np.abs(turn_deg) > 20.0) & (step_s < 2.0 * CHORD_S)
    ratio = 0.5 * (speed_kt[:-1] + speed_kt[1:]) * KT_MPS * step_s / np.maximum(distance_m, 1.0)
    return ratio[fair], wrapped_deg(track[:-1] + 0.5 * turn_deg - direction_deg)[fair]


def agreeing(fixes: Fixes) -> Fixes:
    """The track without a speed or track column that the positions contradict."""
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
            said = f"track_deg is {off:+.0f} deg (median) off the direction between the positions, "
            said += f"by more than {ASTRAY_DEG:.0f} deg in {100.0 * astray:.0f} percent of the places"
            warnings.append(f"{fixes.source}: {said} (magnetic, or a heading?); it was not used")
            track_deg = np.full(len(fixes), np.nan)
    return replace(
        fixes,
        groundspeed_kt=groundspeed_kt,
        track_deg=track_deg,
        warnings=tuple(warnings),
    )


def position_noise_m(fixes: Fixes) -> float:
    """How far positions are off along the track, judged by the speed column where the flight is straight.

    Positions dated by when they were received are off by seconds of flight, which no smoothing could tell
    from manoeuvres. Nan where the columns do not say enough.
    """
    distance_m = legs(fixes.latitude_deg, fixes.longitude_deg)[0]
    speed, track, step_s = fixes.groundspeed_kt * KT_MPS, fixes.track_deg, np.diff(fixes.time_utc_s)
    turn_deg = wrapped_deg(track[1:] - track[:-1])
    fair = (np.abs(turn_deg) < STRAIGHT_DEG) & (np.minimum(speed[1:], speed[:-1]) > STRAIGHT_MPS)
    fair &= step_s < 2.0 * CHORD_S
    if fair.sum() < LEAST_STRAIGHT:
        return float("nan")
    off_m = (distance_m - 0.5 * (speed[1:] + speed[:-1]) * step_s)[fair]
    # The median of a normal variable's size is 0.6745 of its standard deviation; two positions share it.
    return float(np.median(np.abs(off_m - np.median(off_m))) / 0.6745 / np.sqrt(2.0))


# A gap is longer than this, and longer than so many times the usual interval.
GAP_S, GAP_STEPS = 60.0, 10.0


@dataclass(frozen=True)
class Gap:
    """A gap between two fixes: its first and last moment, since the first fix."""

    start_s: float
    end_s: float


def gaps_of(fixes: Fixes) -> tuple[tuple[Gap, ...], list[str]]:
    """The gaps of a track, each with a warning that says where it is and what was assumed."""
    time_s = fixes.time_utc_s - fixes.time_utc_s[0]
    steps = np.diff(time_s)
    limit = max(GAP_S, GAP_STEPS * float(np.median(steps)))
    gaps, warnings = [], []
    for i in np.flatnonzero(steps > limit):
        gaps.append(Gap(float(time_s[i]), float(time_s[i + 1])))
        minutes = steps[i] / 60.0
        warnings.append(
            f"{fixes.source} lines {fixes.line[i]} to {fixes.line[i + 1]}: gap of {minutes:.1f} min "
            f"from {clock(float(fixes.time_utc_s[i]))}; flown straight (geodesic) at constant speed"
        )
    return tuple(gaps), warnings


def bridge(fixes: Fixes, gap: Gap, margin_s: float, step_s: float) -> tuple[Floats, Floats, Floats]:
    """Times, latitudes and longitudes along the geodesic across a gap, at constant speed.

    Points stand every `step_s`, none within `margin_s` of either end, where the aircraft is left room
    to turn. Times are seconds since the first fix; angles in degrees.
    """
    first = int(np.searchsorted(fixes.time_utc_s - fixes.time_utc_s[0], gap.start_s))
    line = Geodesic.WGS84.InverseLine(
        fixes.latitude_deg[first],
        fixes.longitude_deg[first],
        fixes.latitude_deg[first + 1],
        fixes.longitude_deg[first + 1],
    )
    margin_s = min(margin_s, (gap.end_s - gap.start_s) / 3.0)
    times = np.arange(gap.start_s + margin_s, gap.end_s - margin_s + 1e-6, step_s)
    share = (times - gap.start_s) / (gap.end_s - gap.start_s)
    places = [line.Position(float(part) * line.s13) for part in share]
    return times, np.array([at["lat2"] for at in places]), np.array([at["lon2"] for at in places])


# An aircraft whose position repeats and then moves on at this speed was flying all the time.
MOVING_KT, PARKED_KT = 20.0, 10.0
# A single fix further off than this, and further than 3 g could move it, is an error of the receiver.
ASIDE_M, HARDEST_MPS2 = 100.0, 30.0


def _kept(fixes: Fixes, keep: Bools, said: str) -> Fixes:
    """The fixes to keep, with what is said of how many others ({}); all where there are no others."""
    if keep.all():
        return fixes
    warning = f"{fixes.place(int(np.argmin(keep)))}: {said.format((~keep).sum())}"
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
    return _kept(
        fixes,
        keep,
        "{} fixes repeat an earlier time; the first of each was kept",
    )


def _without_repeats(fixes: Fixes) -> Fixes:
    """Leave out positions repeated in flight (a frozen receiver), keep those of a parked aircraft."""
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
    return _kept(fixes, keep, "fixes that repeat the position before them in flight were left out: {}")


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
    return np.asarray(values[1:-1] - values[:-2] - share * (values[2:] - values[:-2]))


def _without_fixes_aside(fixes: Fixes) -> Fixes:
    """Leave out single fixes so far off the line of their neighbours that no aircraft could fly there."""
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
    # Of neighbours that all look bad, only the worst is at fault.
    worst = np.maximum(aside, up)
    bad = worst > ASIDE_M + HARDEST_MPS2 * room_s2
    padded = np.concatenate(([0.0], worst, [0.0]))
    bad &= (worst >= padded[:-2]) & (worst >= padded[2:])
    keep = np.concatenate(([True], ~bad, [True]))
    return _kept(
        fixes,
        keep,
        "{} fixes too far off the line of their neighbours were left out",
    )


def clean(fixes: Fixes) -> tuple[Fixes, tuple[Gap, ...]]:
    """Fixes fit for smoothing, with strictly growing times, and the gaps between them.

    The warnings of the fixes say what was assumed.

    Raises:
        InputError: a jump no aircraft makes; names both lines.
    """
    fixes = _without_repeats(_without_times_given_twice(fixes))
    if len(fixes) < 2:
        raise InputError(
            fixes.source,
            "all fixes have the same time",
            "a track needs at least two fixes",
        )
    _refuse_jumps(fixes)
    fixes = agreeing(_without_fixes_aside(fixes))
    if is_whole(fixes.track_deg):
        said = f"{fixes.source}: tracks are in whole degrees; they were assumed accurate to half a degree"
        fixes = replace(fixes, warnings=(*fixes.warnings, said))
    gaps, warnings = gaps_of(fixes)
    return replace(fixes, warnings=(*fixes.warnings, *warnings)), gaps
