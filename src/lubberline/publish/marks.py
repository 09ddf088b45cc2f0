"""What was done during a flight, marked above the plots and down through them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from lubberline.publish.axes import Frame
from lubberline.publish.svg import Drawing, text_width
from lubberline.publish.words import shortened
from lubberline.simulation.flown import Flown

LABELS_GAP_PX = 30.0
SHAPES = {
    "set": ("mark", "l-5.5 -10h11Z"),
    "fault": ("alarm", "l-6 -6l6 -6l6 6Z"),
    "gap": ("open", "h-5v-9h10v9Z"),
    "cage": ("open", "l-5.5 -10h11Z"),
    "uncage": ("open", "l-5.5 -10h11Z"),
}


class Mark(NamedTuple):
    """A moment, its kind (a key of `SHAPES`) and a word for it ('' = shape alone)."""

    time_s: float
    kind: str
    label: str


def setting_rows(flown: Flown) -> list[int]:
    """For every setting, the first row at or after it."""
    times = [float(setting["time_s"]) for setting in flown.summary.get("settings", ())]
    rows = np.searchsorted(np.asarray(flown.trace["time_s"]), np.asarray(times) - 1e-6)
    return [int(row) for row in np.unique(np.minimum(rows, flown.trace.row_count - 1))]


def marks_of(flown: Flown) -> list[Mark]:
    """Settings from the summary; faults, gaps and caging from the motion's events, in order of time."""
    marks = [Mark(float(s["time_s"]), "set", "set") for s in flown.summary.get("settings", ())]
    for event in flown.motion.events:
        if event.kind == "fault":
            marks.append(Mark(event.time_s, "fault", shortened(event.name.replace("_", " "), 30)))
        elif event.kind in SHAPES and event.kind != "set":
            marks.append(Mark(event.time_s, event.kind, event.kind))
    return sorted(marks)


def draw_marks(drawing: Drawing, frame: Frame, marks: Sequence[Mark], y: float) -> None:
    """Shapes on a line at `y`, each with its word where there is room for it."""
    free_from = frame.left
    named: set[str] = set()
    for index, mark in enumerate(marks):
        x = frame.x_at(mark.time_s)
        kind, shape = SHAPES[mark.kind]
        drawing.path(f"M{x:.1f} {y:.1f}{shape}", kind)
        following = marks[index + 1].time_s if index + 1 < len(marks) else frame.end_s * 2.0
        room = frame.x_at(following) - x - LABELS_GAP_PX
        width = text_width(mark.label, 14)
        if x >= free_from and room >= width and x + 9 + width < frame.right:
            drawing.text(x + 9, y, mark.label, "t", size=14)
            free_from = x + width
            named.add(mark.kind)
    sets = sum(mark.kind == "set" for mark in marks)
    if sets and "set" not in named:
        drawing.path(f"M{frame.right + 20:.1f} {y:.1f}{SHAPES['set'][1]}", "mark")
        drawing.text(frame.right + 32, y, f"set, {sets} times", "t", size=14)


def draw_mark_lines(drawing: Drawing, frame: Frame, marks: Sequence[Mark]) -> None:
    """A thin line down through a plot at every mark."""
    for mark in marks:
        x = frame.x_at(mark.time_s)
        drawing.line(x, frame.top, x, frame.bottom, "alarmline" if mark.kind == "fault" else "setline")
