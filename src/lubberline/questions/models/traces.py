"""Graphs of the error over time: its cause, its rate, the place."""

import math
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from lubberline.questions.figures import error_trace
from lubberline.questions.item import Figure
from lubberline.questions.models import (
    COMMON,
    PERFECT,
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Words,
    Worked,
    Wrong,
    facts,
    flown_legs,
    latitude_of_rate,
    notation,
    straight,
)

STILL = 'kind = "wait"; minutes = {}; engine_rpm = 2400'
# The suction fails so late that the rotor has not stopped when the graph ends.
RUN_DOWN_FROM_MIN = 15.0
WORN = "[heading_indicator]\nrandom_wander_deg_15min = 0.0\nreal_wander_deg_15min = {}\n"
CAUSES = {
    "earth": "apparent wander (the rotation of the Earth)",
    "bank": "bank or pitch (gimballing error)",
    "setting": "a wrong setting",
    "pump": "friction while the rotor runs down",
}
COLUMNS = {
    "earth": ("earth_deg",),
    "bank": ("geometry_deg",),
    "setting": ("set_misreading_deg",),
    "pump": ("friction_deg",),
}
IDEAS = {
    "earth": "error-means-the-earth",
    "bank": "error-means-a-bank",
    "setting": "error-means-wrong-setting",
    "pump": "error-means-the-drive",
}


class Pictured(NamedTuple):
    """A drawn flight: its figure and its largest ledger column."""

    figure: Figure
    largest: str


def _legs_of(
    cause: str, start_min: float, size: float
) -> tuple[float, float, tuple[str, ...], str, tuple[str, ...]]:
    """Latitude, speed, legs, aircraft and faults of a flight in which one cause acts."""
    if cause == "earth":
        return size, 0.0, (STILL.format(30),), PERFECT, ()
    if cause == "bank":
        turn = f'kind = "turn"; by_deg = 360; bank_deg = {size}'
        return 0.0, 120.0, (straight(start_min), turn, straight(30.0 - start_min)), PERFECT, ()
    if cause == "setting":
        setting = f'kind = "set"; from = "truth"; misreading_deg = {size}'
        return 0.0, 0.0, (STILL.format(start_min), setting, STILL.format(30.0 - start_min)), PERFECT, ()
    return 0.0, 0.0, (STILL.format(30),), WORN.format(size), (f"pump=1@{start_min + RUN_DOWN_FROM_MIN}",)


@cache
def pictured(cause: str, start_min: float, size: float) -> Pictured:
    """The graph of a flight with one cause."""
    latitude, speed, legs, aircraft, faults = _legs_of(cause, start_min, size)
    flown = flown_legs(latitude, 0.0, speed, legs, aircraft, faults)
    shown = slice(round(30.0 * 60.0) + 1)
    errors = flown.trace.heading_error_deg[shown]
    spans = {
        column: float(np.ptp(values))
        for column, values in flown.ledger.items()
        if column not in ("time_s", "total_deg")
    }
    minutes = flown.trace.time_s[shown] / 60.0
    every = slice(None, None, 5) if cause in ("bank", "setting") else slice(None, None, 30)
    figure = error_trace(minutes[every].tolist(), errors[every].tolist(), _described(minutes, errors))
    return Pictured(figure, max(spans, key=lambda column: spans[column]))


def _described(minutes: Any, errors: Any) -> str:
    """A curve in words: its value every five minutes, and its highest and lowest points."""
    at = [
        int(np.argmin(np.abs(minutes - minute))) for minute in range(0, 31, 5) if minute <= minutes[-1] + 0.5
    ]
    said = ", ".join(f"{_degrees(float(errors[i]))} at {minutes[i]:.0f}" for i in at)
    top, low = int(np.argmax(errors)), int(np.argmin(errors))
    return (
        f"A graph of the error of a heading indicator against time in minutes: {said}. The highest error is "
        f"{_degrees(float(errors[top]))} at {minutes[top]:.0f} minutes and the lowest is "
        f"{_degrees(float(errors[low]))} at {minutes[low]:.0f} minutes."
    )


def _degrees(value: float) -> str:
    size = f"{abs(value):.1f}"
    if size == "0.0":
        return "0 degrees"
    return f"{'plus' if value > 0.0 else 'minus'} {size} degrees"


def _draw_cause(draw: Draw) -> dict[str, Any]:
    cause = draw.pick(tuple(CAUSES))
    sizes = {
        "earth": (50.0, 60.0, 70.0, -50.0, -65.0),
        "bank": (30.0, 40.0, 45.0),
        "setting": (4.0, 7.0, -5.0, -8.0),
        "pump": (2.5, -2.5, 1.5, -1.5),
    }
    start_min = 0.0 if cause == "earth" else draw.pick((5.0, 6.0, 7.0))
    size = draw.latitude_of(sizes[cause]) if cause == "earth" else draw.pick(sizes[cause])
    return {"cause": cause, "start_min": start_min, "size": size}


def _cause(d: Drawn) -> Worked:
    key = d["cause"]
    return Worked(
        key,
        tuple(Wrong(IDEAS[name], name) for name in CAUSES if name != key),
        {},
        phrase=key,
        figure=pictured(key, d["start_min"], d["size"]).figure,
    )


def _cause_second(d: Drawn, believed: Belief) -> str:
    largest = pictured(d["cause"], d["start_min"], d["size"]).largest
    found = next((name for name, columns in COLUMNS.items() if largest in columns), largest)
    return believed.step("cause of an error", found)


CAUSE = ItemModel(
    id="trace-which-cause",
    pictured=True,
    topic="traces",
    level="judge",
    kind="choice",
    draw=_draw_cause,
    work=_cause,
    second=_cause_second,
    second_way="the column of the flight's ledger with the widest range",
    words=Words(
        stem="The graph shows the error of a heading indicator over half an hour (positive: reads high). The "
        "error has a single cause. Which cause fits the graph?",
        reason="{phrase}",
        feedback=dict.fromkeys(IDEAS.values(), "{phrase}"),
        options=CAUSES,
        phrases={
            "earth": "The error grows steadily from the start, as the Earth rotates.",
            "bank": "The error swings to both sides while the aircraft turns and is gone with the wings "
            "level.",
            "setting": "The error changes by a few degrees in a single step, and not before or after it.",
            "pump": "The error grows steadily for a while and then faster and faster: friction has more "
            "effect as the rotor slows.",
        },
    ),
    source=COMMON,
    steps=2,
    least=3,
    tells=facts("term apparent-wander", "term gimballing-error"),
)


# Not the 15 that is taught: the reasons must agree with the drawn line to the last digit that can be read.
SIDEREAL_DEG_H = 15.041


def _moved_deg(latitude_deg: float) -> float:
    """How far the drawn line has moved in half an hour, in the tenths that can be read."""
    return round(-0.5 * SIDEREAL_DEG_H * math.sin(math.radians(latitude_deg)), 1)


@cache
def _slope_figure(latitude_deg: float) -> Figure:
    flown = flown_legs(latitude_deg, 0.0, 0.0, (STILL.format(30),), PERFECT)
    minutes, errors = flown.trace.time_s / 60.0, flown.trace.heading_error_deg
    return error_trace(minutes[::60].tolist(), errors[::60].tolist(), _described(minutes, errors))


@cache
def _measured_deg_h(svg: str) -> float:
    """The slope of a drawn line, by its first and last point and the grid's own steps."""
    line = svg.split('stroke-width="2.4"')[0].rsplit('d="M', 1)[1].split('"')[0]
    points = [tuple(map(float, point.split())) for point in line.split("L")]
    rows = sorted({float(part.split()[1]) for part in _grid_of(svg)})
    (x0, y0), (x1, y1) = points[0], points[-1]
    degrees_px = 5.0 / (rows[1] - rows[0])
    return (y0 - y1) * degrees_px * 60.0 / (30.0 * (x1 - x0) / 320.0)


def _read_slope(d: Drawn, believed: Belief) -> float:
    """The rate per hour as a student reads it off the line."""
    shown = 0.5 * _measured_deg_h(_slope_figure(d["latitude_deg"]).svg)
    return believed.step("sense of the line", shown) * believed.step("half hours in an hour", 2.0)


def _grid_of(svg: str) -> list[str]:
    """Starts of the horizontal grid lines of a drawn graph."""
    paths = [part.split('"')[0] for part in svg.split('d="M')[1:]]
    ends = [path.split("L") for path in paths if path.count("L") == 1]
    return [first for first, last in ends if first.split()[1] == last.split()[1]]


def _slope(d: Drawn) -> Worked:
    moved = _moved_deg(d["latitude_deg"])
    rate = 2.0 * moved
    return Worked(
        rate,
        (
            Wrong("slope-over-half-an-hour", rate / 2.0),
            Wrong("error-sense-turned", -rate),
            Wrong("slope-of-a-quarter", rate * 2.0),
        ),
        {
            "moved": notation.change(moved, 1),
            "rate": notation.rate(rate),
        },
        signs=1,
        figure=_slope_figure(d["latitude_deg"]),
    )


SLOPE = ItemModel(
    id="trace-rate",
    pictured=True,
    topic="traces",
    level="apply",
    kind="number",
    draw=lambda draw: {"latitude_deg": draw.placed_deg(25, 75, 5)},
    work=_slope,
    second=lambda d, believed: _read_slope(d, believed),
    second_way="the drawn line, measured against its grid",
    words=Words(
        stem="The graph shows the error of a heading indicator over half an hour on a constant heading "
        "(positive: reads high). By about how many degrees an hour does its reading change? (+ if it rises, "
        "− if it falls.)",
        reason="In 30 minutes the reading {moved}. The change in an hour is twice that: the reading {rate}, "
        "or about {key}.",
        feedback={
            "slope-over-half-an-hour": "The graph covers half an hour, in which the reading {moved}.",
            "error-sense-turned": "Here the reading {rate}.",
            "slope-of-a-quarter": "In half an hour the reading {moved}, so it {rate}.",
        },
    ),
    source=COMMON,
    steps=2,
    notation=notation.Notation("deg/h", 1.0, lambda value: f"{value:+.0f}° an hour".replace("-", "−")),
    apart=2.0,
    agree=0.8,
    tolerance=1.0,
    least=1,
)


def _place(d: Drawn) -> Worked:
    latitude, moved = d["latitude_deg"], _moved_deg(d["latitude_deg"])
    rate_size = 2.0 * abs(moved)
    return Worked(
        latitude,
        (
            Wrong("no-wander-at-poles", math.copysign(90.0 - abs(latitude), latitude)),
            Wrong("rises-in-the-north", -latitude),
            Wrong("slope-over-half-an-hour", math.degrees(math.asin(math.sin(math.radians(latitude)) / 2.0))),
        ),
        {
            "moved": notation.change(moved, 1),
            "rate_size": f"{rate_size:.1f}",
            "sine": f"{rate_size / 15.0:.2f}",
            "side": "north" if latitude > 0.0 else "south",
        },
        signs=1,
        figure=_slope_figure(d["latitude_deg"]),
    )


PLACE = ItemModel(
    id="trace-where",
    pictured=True,
    topic="traces",
    level="judge",
    kind="choice",
    draw=lambda draw: {"latitude_deg": draw.placed_deg(25, 65, 5)},
    work=_place,
    second=lambda d, believed: latitude_of_rate(round(_read_slope(d, believed), 2), believed),
    second_way="the drawn line, measured, and the latitude at which the engine's wander is that",
    words=Words(
        stem="A heading indicator without friction and without a latitude nut is in an aircraft that stands "
        "still. The graph shows its error over half an hour (positive: reads high). At about what latitude "
        "is the aircraft?",
        reason="In 30 minutes the reading {moved}, which is {rate_size}° an hour, and {rate_size} / 15 = "
        "{sine} is about the sine of {key}. The sense of the drift shows that the place is "
        "{side} of the equator.",
        feedback={
            "no-wander-at-poles": "A rate of {rate_size}° an hour is about 15 times the sine of {key}.",
            "rises-in-the-north": "The sense of the drift shows that the place is {side} of the equator.",
            "slope-over-half-an-hour": "Here the rate is {rate_size}° an hour.",
        },
    ),
    source="earth rate: AFPAM 11-216, Air Navigation (2001), section 14.18",
    steps=4,
    notation=notation.LATITUDE,
    apart=8.0,
    agree=3.0,
    least=2,
    crossed=True,
)

MODELS = (CAUSE, SLOPE, PLACE)
