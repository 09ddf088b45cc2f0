"""The route without a map: north up in the centre, with a scale and a graticule."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lubberline.arrays import Floats
from lubberline.publish.figures.axes import round_step, ticks
from lubberline.publish.figures.svg import Drawing, kept_rows, open_path, text_width
from lubberline.units import NM_M

# A sphere is accurate enough for a drawing: the mean radius of WGS 84, (2 a + b) / 3, in nautical miles.
RADIUS_NM = 6371008.8 / NM_M
LEAST_SPAN_NM = 0.2
# Steps of the graticule in minutes of arc.
GRATICULE_MIN = (0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 2700)
ROOM_PX = 30.0
NEAR_PX = 60.0
LINES_APART_PX = 105.0


@dataclass(frozen=True)
class Projection:
    """Azimuthal equidistant about a centre: distances and directions from there are true.

    Unlike a cylindrical chart it shows the meridians converging, and works at the poles.
    """

    latitude_deg: float
    longitude_deg: float

    def project(self, latitude_deg: Floats, longitude_deg: Floats) -> tuple[Floats, Floats]:
        """East and north of the centre, in nautical miles."""
        lat, mid = np.radians(latitude_deg), math.radians(self.latitude_deg)
        turn = np.radians(np.asarray(longitude_deg) - self.longitude_deg)
        east = np.cos(lat) * np.sin(turn)
        north = math.cos(mid) * np.sin(lat) - math.sin(mid) * np.cos(lat) * np.cos(turn)
        up = math.sin(mid) * np.sin(lat) + math.cos(mid) * np.cos(lat) * np.cos(turn)
        sine = np.hypot(east, north)
        stretch = np.where(sine > 1e-12, np.arctan2(sine, up) / np.maximum(sine, 1e-12), 1.0) * RADIUS_NM
        return east * stretch, north * stretch


def projection_for(latitude_deg: Floats, longitude_deg: Floats) -> Projection:
    """The projection about the mean of a route's points on the sphere."""
    lat, lon = np.radians(latitude_deg), np.radians(longitude_deg)
    x, y, z = np.mean([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)], axis=1)
    return Projection(math.degrees(math.atan2(z, math.hypot(x, y))), math.degrees(math.atan2(y, x)))


@dataclass(frozen=True)
class Chart:
    """A projection fitted into a box of the paper."""

    projection: Projection
    left: float
    top: float
    width: float
    height: float
    px_per_nm: float
    east_nm: float
    north_nm: float

    def place(self, latitude_deg: Floats, longitude_deg: Floats) -> tuple[Floats, Floats]:
        """Positions of points on the paper."""
        east, north = self.projection.project(latitude_deg, longitude_deg)
        x = self.left + self.width / 2.0 + (east - self.east_nm) * self.px_per_nm
        return x, self.top + self.height / 2.0 - (north - self.north_nm) * self.px_per_nm

    @property
    def reach_nm(self) -> float:
        """The greatest distance from the centre of the box, or of the projection, to a corner."""
        half = math.hypot(self.width, self.height) / 2.0 / self.px_per_nm
        return half + math.hypot(self.east_nm, self.north_nm)


def fitted_chart(
    latitude_deg: Floats, longitude_deg: Floats, box: tuple[float, float, float, float]
) -> Chart:
    """A chart with the whole route in a box (left, top, width, height)."""
    projection = projection_for(latitude_deg, longitude_deg)
    east, north = projection.project(latitude_deg, longitude_deg)
    left, top, width, height = box
    across = max(float(np.ptp(east)), LEAST_SPAN_NM)
    along = max(float(np.ptp(north)), LEAST_SPAN_NM)
    scale = min((width - 2.0 * ROOM_PX) / across, (height - 2.0 * ROOM_PX) / along)
    return Chart(
        projection=projection,
        left=left,
        top=top,
        width=width,
        height=height,
        px_per_nm=scale,
        east_nm=float(east.max() + east.min()) / 2.0,
        north_nm=float(north.max() + north.min()) / 2.0,
    )


def _crossing(along: Floats, across: Floats, value: float) -> float | None:
    """Where a line first crosses `across = value`, as its other coordinate; None if it does not."""
    side = across >= value
    found = np.flatnonzero(side[1:] != side[:-1])
    if not found.size:
        return None
    i = int(found[0])
    share = (value - across[i]) / (across[i + 1] - across[i])
    return float(along[i] + share * (along[i + 1] - along[i]))


def _arc_label(value_min: float, step_min: float, signs: str) -> str:
    size = abs(value_min)
    hemisphere = signs[0] if value_min > 0.0 else signs[1] if value_min < 0.0 else ""
    whole = math.floor(size / 60.0 + 1e-9)
    if step_min >= 60.0:
        return f"{whole}°{hemisphere}"
    rest = max(size - 60.0 * whole, 0.0)
    return f"{whole}°{rest:02.0f}′{hemisphere}" if step_min >= 1.0 else f"{whole}°{rest:04.1f}′{hemisphere}"


def _draw_graticule(drawing: Drawing, chart: Chart, line: tuple[Floats, Floats]) -> None:
    mid = chart.projection
    reach_deg = min(chart.reach_nm / 60.0, 90.0)
    south, north = max(mid.latitude_deg - reach_deg, -89.99), min(mid.latitude_deg + reach_deg, 89.99)
    cosine = max(math.cos(math.radians(min(abs(mid.latitude_deg) + reach_deg, 90.0))), 1e-3)
    reach_lon = min(reach_deg / cosine, 180.0)
    west, east = mid.longitude_deg - reach_lon, mid.longitude_deg + reach_lon
    line_nm = LINES_APART_PX / chart.px_per_nm
    lat_step = next((s for s in GRATICULE_MIN if s >= line_nm), GRATICULE_MIN[-1])
    middle_cosine = max(math.cos(math.radians(mid.latitude_deg)), 1e-3)
    lon_step = next((s for s in GRATICULE_MIN if s * middle_cosine >= line_nm), GRATICULE_MIN[-1])
    labels = []
    span = np.linspace(west, east, 61)
    for value in ticks(south * 60.0, north * 60.0, lat_step):
        x, y = chart.place(np.full(61, value / 60.0), span)
        drawing.path(open_path(x, y), "grid")
        text = _arc_label(value, lat_step, "NS")
        width = text_width(text, 13)
        sides = []
        for edge, left in (
            (chart.left, chart.left + 5),
            (chart.left + chart.width, chart.left + chart.width - width - 5),
        ):
            at = _crossing(y, x, edge)
            if at is not None and chart.top + 52 < at < chart.top + chart.height - 26:
                sides.append((_hidden(line, left - 20, at + 8, width + 40), left, at - 4))
        if sides:
            labels.append((*min(sides)[1:], text))
    span = np.linspace(south, north, 61)
    for value in ticks(west * 60.0, east * 60.0, lon_step)[: int(21600 / lon_step)]:
        x, y = chart.place(span, np.full(61, value / 60.0))
        drawing.path(open_path(x, y), "grid")
        at = _crossing(x, y, chart.top + chart.height)
        if at is not None and chart.left + 4 < at < chart.left + chart.width - 60:
            wrapped = (value + 10800.0) % 21600.0 - 10800.0
            labels.append((at + 4, chart.top + chart.height - 6, _arc_label(wrapped, lon_step, "EW")))
    for x_px, y_px, text in labels:
        drawing.text(x_px, y_px, text, "m halo", size=13)


def _draw_scale(drawing: Drawing, chart: Chart) -> None:
    length_nm = round_step(110.0 / chart.px_per_nm, 1)
    if length_nm * chart.px_per_nm > 170.0:
        length_nm = round_step(55.0 / chart.px_per_nm, 1)
    x2, y = chart.left + chart.width - 12.0, chart.top + 20.0
    x1 = x2 - length_nm * chart.px_per_nm
    drawing.path(f"M{x1:.1f} {y - 5:.1f}v5H{x2:.1f}v-5", "ink")
    drawing.text(x1 - 6, y + 4, f"{length_nm:g} NM", "t halo", size=14, anchor="end")
    drawing.path(f"M{chart.left + 20:.1f} {chart.top + 34:.1f}v-22l-5 9m5 -9l5 9", "ink")
    drawing.text(chart.left + 32, chart.top + 24, "N", "t halo", size=15)


def _draw_arrows(drawing: Drawing, x: Floats, y: Floats) -> None:
    """A few arrow heads along the line to show its direction."""
    run = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))))
    if run[-1] < 80.0:
        return
    for share in (0.2, 0.5, 0.8):
        i = int(np.clip(np.searchsorted(run, share * run[-1]), 1, len(x) - 1))
        j = int(np.clip(np.searchsorted(run, share * run[-1] - 6.0), 0, i - 1))
        turn = math.degrees(math.atan2(y[i] - y[j], x[i] - x[j]))
        drawing.add(
            f'<path class="mark" d="M5 0L-5 4.5L-5 -4.5Z" transform="translate({x[i]:.1f} {y[i]:.1f}) '
            f'rotate({turn:.0f})"/>'
        )


def _hidden(line: tuple[Floats, Floats], left: float, base: float, width: float) -> float:
    """How many points of a line a text would cover."""
    x, y = line
    return float(np.count_nonzero((x > left) & (x < left + width) & (y > base - 16) & (y < base + 4)))


def _draw_end(drawing: Drawing, chart: Chart, line: tuple[Floats, Floats], at: int, label: str) -> None:
    """The word next to an end, on the side where it hides least of the line."""
    x, y = float(line[0][at]), float(line[1][at])
    width = text_width(label, 14) * 1.2
    lefts = ((x + 11, y + 5), (x - 11 - width, y + 5), (x - width / 2, y - 13), (x - width / 2, y + 23))
    costs = []
    for left, base in lefts:
        inside = chart.left + 4 < left < chart.left + chart.width - width - 4
        inside &= chart.top + 42 < base < chart.top + chart.height - 6
        costs.append(_hidden(line, left, base, width) + (0.0 if inside else 1e6))
    left, base = lefts[int(np.argmin(costs))]
    drawing.text(left, base, label, "b halo", size=14)


def draw_route(
    drawing: Drawing,
    prefix: str,
    latitude_deg: Floats,
    longitude_deg: Floats,
    box: tuple[float, float, float, float],
    set_rows: Sequence[int],
) -> None:
    """The route in a box, with its start, its end and where the heading indicator was set."""
    chart = fitted_chart(latitude_deg, longitude_deg, box)
    all_x, all_y = chart.place(latitude_deg, longitude_deg)
    drawing.clip(f"{prefix}-route", box)
    _draw_graticule(drawing, chart, (all_x, all_y))
    rows = kept_rows((all_x, all_y))
    x, y = all_x[rows], all_y[rows]
    drawing.path(open_path(x, y), "track")
    _draw_arrows(drawing, x, y)
    for row in set_rows:
        drawing.path(f"M{all_x[row]:.1f} {all_y[row]:.1f}l-5.5 -10h11Z", "mark")
    drawing.add(f'<circle class="open" cx="{x[0]:.1f}" cy="{y[0]:.1f}" r="6"/>')
    drawing.add(f'<rect class="mark" x="{x[-1] - 5:.1f}" y="{y[-1] - 5:.1f}" width="10" height="10"/>')
    if math.hypot(x[0] - x[-1], y[0] - y[-1]) < NEAR_PX:
        _draw_end(drawing, chart, (all_x, all_y), -1, "start, end")
    else:
        _draw_end(drawing, chart, (all_x, all_y), 0, "start")
        _draw_end(drawing, chart, (all_x, all_y), -1, "end")
    _draw_scale(drawing, chart)
    drawing.end()
    left, top, width, height = box
    drawing.add(
        f'<rect class="frame" x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" height="{height:.1f}"/>'
    )
