"""Plots of a value over time: the headings, and the narrow strips under the ledger."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lubberline.arrays import Floats
from lubberline.flight.home import Suction
from lubberline.publish.figures.axes import (
    Frame,
    Mark,
    draw_frame,
    draw_mark_lines,
    draw_time_axis,
    value_steps,
)
from lubberline.publish.figures.svg import Drawing, kept_rows, open_path
from lubberline.publish.words import degrees, number
from lubberline.simulation.flown import Columns, Flown
from lubberline.units import INHG_PA


def wrapped_line(time: Floats, unwrapped_deg: Floats, low_deg: float) -> tuple[Floats, Floats]:
    """A line on an axis of 360 degrees from `low_deg`, drawn to the edge and broken where it wraps.

    Returns:
        Times and values in [low_deg, low_deg + 360], nan between the pieces.
    """
    turns = np.floor((unwrapped_deg - low_deg) / 360.0)
    wraps = np.flatnonzero(np.isfinite(turns[1:]) & np.isfinite(turns[:-1]) & (np.diff(turns) != 0.0))
    x, y, begin = [], [], 0
    for i in wraps:
        rise = unwrapped_deg[i + 1] - unwrapped_deg[i]
        step = 1.0 if rise > 0.0 else -1.0
        x.append(time[begin : i + 1])
        y.append(unwrapped_deg[begin : i + 1] - 360.0 * turns[begin : i + 1])
        # Between two rows the line crosses an edge: it leaves on one side and returns on the other.
        passed = np.arange(turns[i], turns[i + 1], step) + (1.0 if step > 0.0 else 0.0)
        at = time[i] + (low_deg + 360.0 * passed - unwrapped_deg[i]) / rise * (time[i + 1] - time[i])
        leave, enter = (low_deg + 360.0, low_deg) if step > 0.0 else (low_deg, low_deg + 360.0)
        for moment in at:
            x.append(np.array([moment, np.nan, moment]))
            y.append(np.array([leave, np.nan, enter]))
        begin = int(i) + 1
    x.append(time[begin:])
    y.append(unwrapped_deg[begin:] - 360.0 * turns[begin:])
    return np.concatenate(x), np.concatenate(y)


def _unwrapped(heading_deg: Floats) -> Floats:
    filled = np.where(np.isfinite(heading_deg), heading_deg, 0.0)
    return np.where(np.isfinite(heading_deg), np.unwrap(filled, period=360.0), np.nan)


def _calmest_edge(lines: Sequence[Floats]) -> float:
    """The cardinal point at which to cut the circle so that lines wrap least often; usually north."""
    wraps = []
    for low in (0.0, 90.0, 180.0, 270.0):
        turns = [np.diff(np.floor((line[np.isfinite(line)] - low) / 360.0)) for line in lines]
        wraps.append(sum(int(np.count_nonzero(turn)) for turn in turns))
    best = int(np.argmin(wraps))
    return 90.0 * best if 2 * wraps[best] < wraps[0] else 0.0


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Heights near the wanted ones, in the same order, at least `gap` apart between two limits."""
    order = np.argsort(wanted, kind="stable")
    placed = [0.0] * len(order)
    previous = low - gap
    for place, index in enumerate(order):
        latest = high - gap * (len(order) - 1 - place)
        previous = max(previous + gap, min(float(wanted[index]), latest))
        placed[index] = previous
    return placed


def reference_of(flown: Flown) -> tuple[str, Floats]:
    """Name and column of the reference heading."""
    name = "true" if flown.summary.get("reference") == "true" else "magnetic"
    return name, np.asarray(flown.trace[f"{name}_heading_deg"], dtype=np.float64)


def draw_headings(
    drawing: Drawing, prefix: str, flown: Flown, frame: Frame, marks: Sequence[Mark], most: int
) -> None:
    """Indicated heading (thin, dark) over the reference heading (broad, pale)."""
    name, reference = reference_of(flown)
    time = np.asarray(flown.trace["time_s"], dtype=np.float64)
    indicated = np.asarray(flown.trace["indicated_heading_deg"], dtype=np.float64)
    lines = [("reference", _unwrapped(reference)), ("indicated", _unwrapped(indicated))]
    low = _calmest_edge([unwrapped for _, unwrapped in lines])
    frame = replace(frame, low=low, high=low + 360.0)
    steps = [(low + 90.0 * i, "NESW"[(i + round(low / 90.0)) % 4]) for i in range(5)]
    labels = (f"{name} (where it points)", "indicated (what it shows)")
    drawn = []
    for (kind, unwrapped), label in zip(lines, labels, strict=True):
        rows = kept_rows((unwrapped,), most=most)
        x, y = wrapped_line(time[rows], unwrapped[rows], low)
        drawn.append((kind, label, frame.x(x), frame.y(y)))
    title = f"Indicated and {name} heading"
    _draw_plot(drawing, f"{prefix}-headings", frame, title, steps, drawn, marks, (20.0, 8.0, 8.0))


def _draw_plot(
    drawing: Drawing,
    name: str,
    frame: Frame,
    title: str,
    steps: list[tuple[float, str]],
    lines: Sequence[tuple[str, str, Floats, Floats]],
    marks: Sequence[Mark],
    room: tuple[float, float, float],
) -> None:
    """A plot of lines (style, label, and the points on the paper), each named on the right at its end.

    The names stand so far apart, and so far from the upper and the lower edge, as `room` has it.
    """
    draw_frame(drawing, frame, steps, title)
    draw_time_axis(drawing, frame, labels=False)
    draw_mark_lines(drawing, frame, marks)
    drawing.clip(name, frame.box)
    for kind, _, x, y in lines:
        drawing.path(open_path(x, y), kind)
    drawing.end()
    shown = [y[np.isfinite(y)] for _, _, _, y in lines]
    ends = [float(y[-1]) if y.size else frame.bottom for y in shown]
    heights = spread(ends, room[0], frame.top + room[1], frame.bottom - room[2])
    for (kind, label, _, _), y_px in zip(lines, heights, strict=True):
        drawing.line(frame.right + 6, y_px, frame.right + 26, y_px, kind)
        drawing.text(frame.right + 32, y_px + 5, label, "t", size=14)


def _range_of(lines: Sequence[Floats], least: float, *, around_zero: bool) -> tuple[float, float]:
    values = np.concatenate([line[np.isfinite(line)] for line in lines])
    low, high = float(values.min()), float(values.max())
    if around_zero:
        reach = max(abs(low), abs(high), least) * 1.08
        return -reach, reach
    return min(low, 0.0), max(high * 1.08, least)


def _error_steps(reach: float) -> list[tuple[float, str]]:
    """Zero, and one round value on either side, as large as fits."""
    power = 10.0 ** math.floor(math.log10(reach))
    value = max(factor * power for factor in (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0) if factor * power <= reach)
    return [(v, degrees(v, 0 if value >= 1.0 else 1)) for v in (-value, 0.0, value)]


def draw_strip(
    drawing: Drawing,
    prefix: str,
    frame: Frame,
    title: str,
    time_s: Floats,
    lines: Sequence[tuple[str, str, Floats]],
    marks: Sequence[Mark],
    most: int,
) -> None:
    """A narrow plot of one or two lines (style, label, values), labelled at their right ends."""
    steps = _error_steps(frame.high) if frame.low < 0.0 else value_steps(frame.low, frame.high, 4)
    drawn = []
    for kind, label, values in lines:
        rows = kept_rows((values,), most=most)
        drawn.append((kind, label, frame.x(time_s[rows]), frame.y(values[rows])))
    _draw_plot(drawing, prefix, frame, title, steps, drawn, marks, (18.0, 6.0, 4.0))


def _broken_at_wraps(error_deg: Floats) -> Floats:
    broken = error_deg.copy()
    broken[1:][np.abs(np.diff(error_deg)) > 180.0] = np.nan
    return broken


class Strip:
    """The contents of a strip: title, range and lines."""

    def __init__(
        self, title: str, lines: list[tuple[str, str, Floats]], least: float, *, around_zero: bool = False
    ) -> None:
        self.title = title
        self.lines = lines
        self.low, self.high = _range_of([values for _, _, values in lines], least, around_zero=around_zero)


def strips_of(trace: Columns, suction: Suction = "inHg") -> list[Strip]:
    """Strips for compass error, suction and rotor speed, each only if the trace has it."""
    strips = []
    compass = np.asarray(trace["compass_error_deg"], dtype=np.float64)
    if np.isfinite(compass).any():
        largest = float(compass[np.nanargmax(np.abs(compass))])
        lines = [("thin", f"compass, at most {degrees(largest, 0)}", _broken_at_wraps(compass))]
        strips.append(Strip("Compass error", lines, 3.0, around_zero=True))
    gauge = np.asarray(trace["gauge_inhg"], dtype=np.float64)
    inside = np.asarray(trace["instrument_suction_inhg"], dtype=np.float64)
    air = [
        (k, t, v)
        for k, t, v in (("reference", "at the instrument", inside), ("thin", "on the gauge", gauge))
        if np.isfinite(v).any()
    ]
    if air:
        size = 1.0 if suction == "inHg" else INHG_PA / 100.0
        scaled = [(look, words, values * size) for look, words, values in air]
        strips.append(Strip(f"Suction, {suction}", scaled, 5.5 * size))
    rotor = np.asarray(trace["rotor_rpm"], dtype=np.float64)
    if np.isfinite(rotor).any():
        slowest, fastest = float(np.nanmin(rotor)) / 1000.0, float(np.nanmax(rotor)) / 1000.0
        text = f"{number(slowest)} to {number(fastest)} thousand"
        strips.append(Strip("Rotor, thousand rpm", [("thin", text, rotor / 1000.0)], 5.0))
    return strips
