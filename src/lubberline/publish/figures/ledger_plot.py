"""The ledger over time: bands by cause, the total as a line, limits, and the worst moment in numbers."""

from collections.abc import Iterator, Sequence

import numpy as np

from lubberline.angles import wrapped_deg
from lubberline.arrays import Bools, Floats
from lubberline.publish.figures.axes import (
    Frame,
    Mark,
    draw_frame,
    draw_mark_lines,
    draw_time_axis,
    value_steps,
)
from lubberline.publish.figures.bands import Stack, held_rows
from lubberline.publish.figures.causes import fills, look_of
from lubberline.publish.figures.svg import Drawing, closed_path, open_path, safe, text_width
from lubberline.publish.words import decimals_for, degrees, moment
from lubberline.simulation.flown import cause_name

LIMITS_DEG = (3.0, 5.0)
# The 3 degree limit is always on the paper, so that a small error looks small.
LEAST_REACH_DEG = 3.4
# Anything this many times larger than the rest is clipped, so that the rest is visible.
CLIP_BEYOND = 2.5
LEAST_BAND_DEG = 1e-3
NAME_SIZE = 14.0
NAMES_TRIED = 60


def range_deg(stack: Stack) -> tuple[float, float]:
    """Ends of the scale: all bands and the 3 degree limits.

    If a tumble or a stopped rotor would dwarf everything else, only the time before it sets the scale.
    """
    calm = np.array([cause != "tumble_deg" for cause in stack.causes], dtype=np.bool_)
    held = held_rows(stack.total_deg, stack.values_deg[~calm].sum(axis=0))
    ends = []
    for sign in (-1.0, 1.0):
        part = np.maximum(sign * stack.values_deg, 0.0)
        whole = float(np.nanmax(part.sum(axis=0), initial=0.0))
        without = float(np.nanmax(part[calm][:, held].sum(axis=0), initial=0.0))
        reach = max(without, LEAST_REACH_DEG / 1.08)
        ends.append(sign * 1.08 * (reach if whole > CLIP_BEYOND * reach else max(whole, reach)))
    return ends[0], ends[1]


def _runs(thick: Bools, piece: slice) -> Iterator[slice]:
    """The parts of a piece where a band is not zero, with the row before and after each."""
    within = np.concatenate(([False], thick[piece], [False])).astype(np.int8)
    edges = np.flatnonzero(np.diff(within))
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        yield slice(max(piece.start + begin - 1, piece.start), min(piece.start + end + 1, piece.stop))


def _beyond(stack: Stack, frame: Frame) -> Bools:
    """Rows whose total is off the scale."""
    beyond: Bools = (stack.total_deg > frame.high) | (stack.total_deg < frame.low)
    return beyond


def _main_cause(stack: Stack) -> int:
    """The largest cause where the total is furthest from zero."""
    furthest = int(np.nanargmax(np.abs(stack.total_deg)))
    return int(np.argmax(stack.values_deg[:, furthest] * np.sign(stack.total_deg[furthest])))


def _draw_bands(drawing: Drawing, prefix: str, stack: Stack, frame: Frame) -> None:
    x = frame.x(stack.time_s)
    for sign in (1.0, -1.0):
        inner, outer = stack.edges_deg(sign)
        for index, cause in enumerate(stack.causes):
            thick = np.abs(outer[index] - inner[index]) > LEAST_BAND_DEG
            data = "".join(
                closed_path(x[run], frame.y(inner[index, run]), frame.y(outer[index, run]))
                for piece in stack.pieces
                for run in _runs(thick, piece)
            )
            if not data:
                continue
            name = f"{prefix}-band-{cause}-{'above' if sign > 0.0 else 'below'}"
            drawing.add(f'<defs><path id="{name}" data-cause="{cause}" d="{data}"/></defs>')
            for fill in fills(prefix, cause):
                drawing.add(
                    f'<use class="band" xlink:href="#{name}" fill="{fill}" stroke="{look_of(cause).ink}"/>'
                )


def _roomiest(stack: Stack, index: int, frame: Frame, half_px: float) -> tuple[float, float, float]:
    """The place in a band with the most space for a word of this half width: height, x and y."""
    x = frame.x(stack.time_s)
    middles = np.linspace(frame.left + half_px, frame.right - half_px, NAMES_TRIED)
    spots = middles[:, None] + np.linspace(-half_px, half_px, 9)[None, :]
    found = []
    for sign in (1.0, -1.0):
        inner, outer = (edge[index] for edge in stack.edges_deg(sign))
        near, far = (np.clip(frame.y(edge), frame.top, frame.bottom) for edge in (inner, outer))
        high = np.interp(spots, x, np.minimum(near, far)).max(axis=1)
        low = np.interp(spots, x, np.maximum(near, far)).min(axis=1)
        place = int(np.argmax(low - high))
        middle_y = float(low[place] + high[place]) / 2.0
        found.append((float(low[place] - high[place]), float(middles[place]), middle_y))
    return max(found)


def _draw_names(drawing: Drawing, stack: Stack, frame: Frame) -> None:
    """The name of each cause inside its band where it fits, unless `_draw_beyond` names it."""
    said = _main_cause(stack) if _beyond(stack, frame).any() else -1
    for index, cause in enumerate(stack.causes):
        name = cause_name(cause)
        half_px = text_width(name, NAME_SIZE) / 2.0 + 3.0
        room, x, y = _roomiest(stack, index, frame, half_px)
        if index != said and room >= NAME_SIZE + 2.0:
            drawing.add(
                f'<text class="name" x="{x:.1f}" y="{y + 4.5:.1f}" font-size="{NAME_SIZE:g}" '
                f'text-anchor="middle" stroke="{look_of(cause).fill}">{safe(name)}</text>'
            )


def _draw_limits(drawing: Drawing, frame: Frame) -> None:
    apart_px = (LIMITS_DEG[1] - LIMITS_DEG[0]) / (frame.high - frame.low) * frame.height
    for limit in LIMITS_DEG:
        for value in (limit, -limit):
            if frame.low < value < frame.high:
                y = frame.draw_across(drawing, value, "limit")
                if limit == LIMITS_DEG[0] or apart_px >= 13.0:
                    drawing.text(frame.left + 4, y - 3, f"limit {degrees(value, 0)}", "t halo", size=12)


def _draw_key(drawing: Drawing, prefix: str, stack: Stack, frame: Frame, worst: int) -> None:
    """Every cause with its part at the worst moment, and the total of the parts."""
    x = float(frame.x(stack.time_s[worst]))
    total_deg = float(stack.total_deg[worst])
    decimals = decimals_for(abs(total_deg))
    left, right = frame.right + 14.0, frame.right + 250.0
    rows = list(enumerate(stack.causes))
    pitch = min(21.0, (frame.height - 24.0) / (len(rows) + 2))
    size = 14.0 if pitch >= 17.0 else 13.0
    drawing.text(
        left, frame.top + 4, f"Worst, at {moment(float(stack.time_s[worst]), frame.end_s)}", "b", size=14
    )
    y = frame.top + 4
    for index, cause in rows:
        y += pitch
        drawing.swatch(left, y - 4, fills(prefix, cause))
        drawing.text(left + 24, y, cause_name(cause), "t", size=size)
        drawing.text(
            right, y, degrees(float(stack.values_deg[index, worst]), decimals), "t", size=size, anchor="end"
        )
    y += pitch
    drawing.line(left, y - pitch + 5, right, y - pitch + 5, "ink")
    drawing.line(left, y - 4, left + 18, y - 4, "total")
    drawing.text(left + 24, y, "total", "b", size=size)
    drawing.text(right, y, degrees(total_deg, decimals), "b", size=size, anchor="end")
    if abs(total_deg) > 180.0:
        on_card = wrapped_deg(total_deg)
        drawing.text(
            right, y + pitch, f"on the card {degrees(on_card, decimals)}", "t", size=size, anchor="end"
        )
    y_dot = float(np.clip(frame.y(total_deg), frame.top, frame.bottom))
    drawing.add(f'<circle class="dot" cx="{x:.1f}" cy="{y_dot:.1f}" r="5"/>')


def _draw_beyond(drawing: Drawing, stack: Stack, frame: Frame) -> None:
    """A note where the total leaves the scale, with the cause and the greatest value."""
    beyond = _beyond(stack, frame)
    if not beyond.any():
        return
    first = int(np.argmax(beyond))
    furthest = float(stack.total_deg[np.nanargmax(np.abs(stack.total_deg))])
    since = moment(float(stack.time_s[first]), frame.end_s)
    cause = cause_name(stack.causes[_main_cause(stack)])
    text = f"{cause}: off the scale from {since}; total up to {degrees(furthest, 0)}"
    up = furthest > 0.0
    drawing.text(
        frame.right - 6, frame.top + 17 if up else frame.bottom - 7, text, "t halo", size=14, anchor="end"
    )


def draw_ledger(
    drawing: Drawing, prefix: str, stack: Stack, frame: Frame, marks: Sequence[Mark], worst_row: int
) -> None:
    """The whole plot of the ledger; its key splits the error of `worst_row`, a row of the stack."""
    steps = value_steps(frame.low, frame.high, 8, plus=True, unit="°")
    draw_frame(drawing, frame, steps, "Error by cause: the bands add up to the total")
    draw_time_axis(drawing, frame, labels=False)
    drawing.clip(f"{prefix}-ledger", frame.box)
    _draw_bands(drawing, prefix, stack, frame)
    draw_mark_lines(drawing, frame, marks)
    x: list[Floats] = []
    y: list[Floats] = []
    for piece in stack.pieces:
        x.extend((frame.x(stack.time_s[piece]), np.array([np.nan])))
        y.extend((frame.y(stack.total_deg[piece]), np.array([np.nan])))
    line = open_path(np.concatenate(x), np.concatenate(y))
    drawing.path(line, "casing")
    drawing.path(line, "total")
    _draw_names(drawing, stack, frame)
    _draw_limits(drawing, frame)
    _draw_beyond(drawing, stack, frame)
    drawing.end()
    _draw_key(drawing, prefix, stack, frame, int(np.searchsorted(stack.rows, worst_row)))
