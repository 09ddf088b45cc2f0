"""Fixes to the smooth motion of an aircraft: smoothing, coordinated attitude, and what was assumed."""

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np

from lubberline.arrays import Bools, Floats
from lubberline.compiled import kernel
from lubberline.earth.geodesy import meridian_radius_m, prime_vertical_radius_m
from lubberline.flight.coordinated import Attitude, Path, coordinated, engine_rpm, runs
from lubberline.flight.motion import (
    CLIMB_RPM,
    CRUISE_RPM,
    DESCENT_RPM,
    IDLE_RPM,
    STEP_S,
    FlightEvent,
    Motion,
    smooth_motion,
)
from lubberline.flight.tracks.cleaning import Gap, bridge, clean, is_whole, position_noise_m
from lubberline.flight.tracks.fixes import Fixes
from lubberline.flight.tracks.smoothing import ACROSS, UP, Measured, sample_path, smoothed
from lubberline.units import DEG, ECCENTRICITY_SQUARED, KT_MPS


@kernel
def to_earth_axes(latitude_rad: Any, longitude_rad: Any, north_mps: Any, east_mps: Any) -> tuple[Any, Any]:
    """Points at height 0 and velocities over the ground, as (point, 3) in Earth-centred axes.

    Source: NGA.STND.0036 and any text on geodesy.
    """
    count = latitude_rad.shape[0]
    position, velocity = np.empty((count, 3)), np.empty((count, 3))
    for i in range(count):
        sin_lat, cos_lat = math.sin(latitude_rad[i]), math.cos(latitude_rad[i])
        sin_lon, cos_lon = math.sin(longitude_rad[i]), math.cos(longitude_rad[i])
        radius = prime_vertical_radius_m(latitude_rad[i])
        position[i, 0] = radius * cos_lat * cos_lon
        position[i, 1] = radius * cos_lat * sin_lon
        position[i, 2] = radius * (1.0 - ECCENTRICITY_SQUARED) * sin_lat
        velocity[i, 0] = -sin_lat * cos_lon * north_mps[i] - sin_lon * east_mps[i]
        velocity[i, 1] = -sin_lat * sin_lon * north_mps[i] + cos_lon * east_mps[i]
        velocity[i, 2] = cos_lat * north_mps[i]
    return position, velocity


@kernel
def to_level_axes(position: Any, velocity: Any, acceleration: Any, altitude_m: Any) -> Any:
    """A path in Earth-centred axes, near height 0, as the level frame of an aircraft above it sees it.

    Returns:
        (sample, 6): latitude and longitude in radians, velocity north and east, acceleration north and
        east (that of a straight, geodesic path is 0), the latter four grown to the radius at altitude.
        The latitude is exact at height 0 and off by less than 5e-10 rad a metre of height.
    """
    count = position.shape[0]
    level = np.empty((count, 6))
    for i in range(count):
        x, y, z = position[i]
        outward = math.sqrt(x * x + y * y)
        sin_lon, cos_lon = y / outward, x / outward
        rise = z / (1.0 - ECCENTRICITY_SQUARED)
        size = math.sqrt(rise * rise + outward * outward)
        sin_lat, cos_lat = rise / size, outward / size
        level[i, 0] = math.atan2(rise, outward)
        level[i, 1] = math.atan2(y, x)
        grown_north = 1.0 + altitude_m[i] / meridian_radius_m(level[i, 0])
        grown_east = 1.0 + altitude_m[i] / prime_vertical_radius_m(level[i, 0])
        for column, vector in ((2, velocity[i]), (4, acceleration[i])):
            along = cos_lon * vector[0] + sin_lon * vector[1]
            level[i, column] = grown_north * (cos_lat * vector[2] - sin_lat * along)
            level[i, column + 1] = grown_east * (cos_lon * vector[1] - sin_lon * vector[0])
    return level


# Points put along the geodesic of a gap: how often, how far from its ends, how loosely held.
BRIDGE_STEP_S, BRIDGE_MARGIN_S, BRIDGE_LOOSENESS = 10.0, 20.0, 9.0
# Receivers give speed and track a little late, so they are never trusted better than this.
LEAST_VELOCITY_SD_MPS = 0.3
# Noise that is believed without a speed column to judge it by.
GREATEST_UNSEEN_M = 30.0
FINE_KT, FINE_DEG = 0.1, 0.1
# A rate-one turn goes through a quarter of a circle in this time.
QUARTER_TURN_S, QUARTER_TURN_RAD = 30.0, 90.0 * DEG


@dataclass(frozen=True)
class Wind:
    """A steady wind: where it blows from, true, and how fast."""

    from_deg: float
    speed_kt: float


# Fixes and the points that bridge gaps, in order of time since the first fix.
POINT_COLUMNS = (
    "time_s",
    "latitude_rad",
    "longitude_rad",
    "altitude_m",
    "groundspeed_mps",
    "track_rad",
    "noise_factor",
)


def _points(fixes: Fixes, gaps: tuple[Gap, ...]) -> dict[str, Floats]:
    time_s = fixes.time_utc_s - fixes.time_utc_s[0]
    table = np.column_stack(
        (
            time_s,
            fixes.latitude_deg * DEG,
            fixes.longitude_deg * DEG,
            fixes.altitude_m,
            fixes.groundspeed_kt * KT_MPS,
            fixes.track_deg * DEG,
            np.ones(len(fixes)),
        )
    )
    for gap in gaps:
        times, latitude_deg, longitude_deg = bridge(fixes, gap, BRIDGE_MARGIN_S, BRIDGE_STEP_S)
        added = np.full((len(times), 7), np.nan)
        added[:, 0], added[:, 1], added[:, 2] = times, latitude_deg * DEG, longitude_deg * DEG
        added[:, 3] = np.interp(times, time_s, fixes.altitude_m)
        added[:, 6] = BRIDGE_LOOSENESS
        table = np.concatenate((table, added))
    table = table[np.argsort(table[:, 0], kind="stable")]
    return dict(zip(POINT_COLUMNS, np.ascontiguousarray(table.T), strict=True))


def _velocity_variance(fixes: Fixes, points: dict[str, Floats]) -> Floats:
    """Variance of the measured velocity by its rounding; inf where speed or track is missing."""
    speed_step = (1.0 if is_whole(fixes.groundspeed_kt) else FINE_KT) * KT_MPS
    track_step = (1.0 if is_whole(fixes.track_deg) else FINE_DEG) * DEG
    rounding = (speed_step**2 + (points["groundspeed_mps"] * track_step) ** 2) / 12.0
    variance = np.maximum(rounding, LEAST_VELOCITY_SD_MPS**2)
    return np.where(np.isfinite(points["groundspeed_mps"] * points["track_rad"]), variance, np.inf)


def _smooth_path(fixes: Fixes, points: dict[str, Floats]) -> tuple[Floats, Floats, float]:
    """The path as `to_level_axes` gives it; altitude, climb and its rate; how far fixes lie off it (rms)."""
    time_s, noise = points["time_s"], points["noise_factor"]
    count = int(time_s[-1] / STEP_S + 1e-6) + 1
    speed, track = np.nan_to_num(points["groundspeed_mps"]), np.nan_to_num(points["track_rad"])
    place, velocity = to_earth_axes(
        points["latitude_rad"], points["longitude_rad"], speed * np.cos(track), speed * np.sin(track)
    )
    variance = _velocity_variance(fixes, points)
    seen_m = position_noise_m(fixes)
    greatest_m = max(10.0, 2.0 * seen_m) if np.isfinite(seen_m) else GREATEST_UNSEEN_M
    across = Measured(time_s, place - place[0], noise, velocity, variance, greatest_m)
    states = smoothed(across, ACROSS)
    # Over the two directions along the ground; the third, upward, has none.
    residual_m = float(np.sqrt(((states[:, :, 0] - across.position) ** 2).sum(axis=1).mean() / 2.0))
    position, velocity, acceleration = sample_path(time_s, states, STEP_S, count)

    nothing = np.zeros((len(time_s), 1))
    up = Measured(
        time_s,
        points["altitude_m"][:, None].copy(),
        noise,
        nothing,
        np.full(len(time_s), np.inf),
    )
    altitude, climb, climbing = sample_path(time_s, smoothed(up, UP), STEP_S, count)
    level = to_level_axes(position + place[0], velocity, acceleration, altitude[:, 0].copy())
    return level, np.hstack((altitude, climb, climbing)), residual_m


def _sparse(fixes: Fixes, attitude: Attitude) -> Bools:
    """Samples between fixes further apart than a quarter turn, by time or by the turn flown."""
    count = len(attitude.heading_rad)
    time_s = fixes.time_utc_s - fixes.time_utc_s[0]
    turned = np.append(
        0.0,
        np.where(
            attitude.held[1:],
            0.0,
            np.diff(attitude.heading_rad),
        ),
    ).cumsum()
    sample_s = np.arange(count) * STEP_S
    apart = np.diff(time_s) > QUARTER_TURN_S
    apart |= np.abs(np.diff(np.interp(time_s, sample_s, turned))) > QUARTER_TURN_RAD
    between = np.clip(np.searchsorted(time_s, sample_s, side="right") - 1, 0, len(apart) - 1)
    return np.asarray(apart[between])


def _cut_warnings(fixes: Fixes, attitude: Attitude) -> list[str]:
    warnings = []
    time_s = fixes.time_utc_s - fixes.time_utc_s[0]
    for name, cut, limit in (("bank", attitude.bank_cut, 75), ("pitch", attitude.pitch_cut, 60)):
        if cut.any():
            begin = runs(cut)[0][0] * STEP_S
            where = fixes.place(int(np.argmin(np.abs(time_s - begin))))
            lasting = cut.sum() * STEP_S
            said = f"the path needs more than {limit} deg of {name}; limited to that"
            warnings.append(f"{where}: {said} (places: {len(runs(cut))}, {lasting:.1f} s in all)")
    return warnings


def _notes(fixes: Fixes, wind: Wind | None, residual_m: float) -> tuple[str, ...]:
    if wind is None:
        heading = "No wind was given: the track was used as the heading."
    else:
        said = f"wind from {wind.from_deg:.0f} deg true at {wind.speed_kt:.0f} kt"
        heading = f"Heading is the direction of the velocity through the air, with a steady {said}."
    usual_s = float(np.median(np.diff(fixes.time_utc_s)))
    return (
        *fixes.notes,
        heading,
        "Bank is that of a coordinated turn, pitch the climb angle through the air; "
        "below 20 kt over the ground the heading is held and both are 0.",
        f"{len(fixes)} fixes, one every {usual_s:g} s; they are {residual_m:.0f} m (rms, north or east) "
        "off the smooth path.",
        f"Engine speed was assumed from the phase of flight: {IDLE_RPM:.0f} rpm below 20 kt, "
        f"{CLIMB_RPM:.0f} in climb, {DESCENT_RPM:.0f} in descent, otherwise {CRUISE_RPM:.0f}.",
    )


def motion_of(fixes: Fixes, wind: Wind | None = None) -> Motion:
    """The smooth motion of the aircraft that recorded these fixes.

    Raises:
        InputError: a jump no aircraft makes, or all fixes of one moment.
    """
    fixes, gaps = clean(fixes)
    level, upward, residual_m = _smooth_path(fixes, _points(fixes, gaps))
    latitude_rad, longitude_rad, north_mps, east_mps, north_mps2, east_mps2 = level.T
    altitude_m, climb_mps, climb_mps2 = upward.T
    blowing_mps, from_rad = (wind.speed_kt * KT_MPS, wind.from_deg * DEG) if wind else (0.0, 0.0)
    attitude = coordinated(
        Path(
            north_mps=north_mps,
            east_mps=east_mps,
            down_mps=-climb_mps,
            north_mps2=north_mps2,
            east_mps2=east_mps2,
            down_mps2=-climb_mps2,
            wind_north_mps=-blowing_mps * math.cos(from_rad),
            wind_east_mps=-blowing_mps * math.sin(from_rad),
        )
    )
    samples = smooth_motion(
        latitude_rad=latitude_rad,
        longitude_rad=np.unwrap(longitude_rad),
        altitude_m=altitude_m,
        north_mps=north_mps,
        east_mps=east_mps,
        down_mps=-climb_mps,
        airspeed_mps=attitude.airspeed_mps,
        heading_rad=attitude.heading_rad,
        pitch_rad=attitude.pitch_rad,
        bank_rad=attitude.bank_rad,
        engine_rpm=engine_rpm(attitude.slow, -climb_mps),
    )
    return Motion(
        samples=samples,
        start_utc=datetime.fromtimestamp(float(fixes.time_utc_s[0]), UTC),
        title=fixes.title,
        events=tuple(FlightEvent(gap.start_s, "gap") for gap in gaps),
        warnings=(*fixes.warnings, *_cut_warnings(fixes, attitude)),
        notes=_notes(fixes, wind, residual_m),
        sparse=_sparse(fixes, attitude),
        slow=attitude.slow,
        kind="track",
    )
