"""Silences in a track: found, said, and bridged by the geodesic at constant speed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from geographiclib.geodesic import Geodesic

from lubberline.flight.fixes import Fixes, Floats, clock

# A silence is a gap beyond this, and beyond so many times the usual step.
GAP_S, GAP_STEPS = 60.0, 10.0


@dataclass(frozen=True)
class Gap:
    """A silence between two fixes: its first and last moment, since the first fix."""

    start_s: float
    end_s: float


def gaps_of(fixes: Fixes) -> tuple[tuple[Gap, ...], list[str]]:
    """The gaps of a track, and for each the words that say where it is and what was assumed."""
    time_s = fixes.time_utc_s - fixes.time_utc_s[0]
    steps = np.diff(time_s)
    limit = max(GAP_S, GAP_STEPS * float(np.median(steps)))
    gaps, warnings = [], []
    for i in np.flatnonzero(steps > limit):
        gaps.append(Gap(float(time_s[i]), float(time_s[i + 1])))
        minutes = steps[i] / 60.0
        warnings.append(
            f"{fixes.source} lines {fixes.line[i]} to {fixes.line[i + 1]}: silent for {minutes:.1f} min "
            f"from {clock(float(fixes.time_utc_s[i]))}; flown straight (geodesic) at constant speed"
        )
    return tuple(gaps), warnings


def bridge(fixes: Fixes, gap: Gap, margin_s: float, step_s: float) -> tuple[Floats, Floats, Floats]:
    """Times, latitudes and longitudes along the geodesic across a gap, at constant speed.

    Points stand every `step_s`, none within `margin_s` of either end, where the aircraft is left room
    to turn. Times are seconds since the first fix; angles in degrees.
    """
    time_s = fixes.time_utc_s - fixes.time_utc_s[0]
    first = int(np.searchsorted(time_s, gap.start_s))
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
    latitude = np.array([place["lat2"] for place in places])
    longitude = np.array([place["lon2"] for place in places])
    return times, latitude, longitude
