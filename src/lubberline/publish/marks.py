"""What was done during a flight, marked above the plots and down through them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from lubberline.publish.axes import Frame
from lubberline.publish.svg import Drawing, text_width
from lubberline.publish.words import shortened
from lubberline.simulation.flown import Flown

LABELS_GAP_PX = 20.0
ROW_PX = 18.0
FAULT = "fault: "
SHAPES = {
    "set": ("mark", "l-5.5 -10h11Z"),
    "fault": ("alarm", "l-6 -6l6 -6l6 6Z"),
    "gap": ("open", "h-5v-9h10v9Z"),
    "caged": ("open", "l-5.5 -10h11Z"),
    "uncaged": ("open", "l-5.5 -10h11Z"),
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
    """Settings from the summary; faults, gaps and caging from the trace's `event`, in order of time."""
    marks = [Mark(float(s["time_s"]), "set", "set") for s in flown.summary.get("settings", ())]
    events, time_s = flown.trace["event"], flown.trace["time_s"]
    for row in np.flatnonzero(events != ""):
        for words in str(events[row]).split("; "):
            kind, _, rest = words.partition(" ")
            if kind in SHAPES and kind != "set":
                label = f"{FAULT}{rest.replace('=', ' ')}" if kind == "fault" else kind
                marks.append(Mark(float(time_s[row]), kind, shortened(label, 34)))
    return sorted(marks)


def _draw_row(drawing: Drawing, frame: Frame, marks: Sequence[Mark], y: float) -> None:
    """One line of marks, each with its word where there is room; the last always has."""
    for index, mark in enumerate(marks):
        x = frame.x_at(mark.time_s)
        kind, shape = SHAPES[mark.kind]
        drawing.path(f"M{x:.1f} {y:.1f}{shape}", kind)
        room = frame.x_at(marks[index + 1].time_s) - x - LABELS_GAP_PX if index + 1 < len(marks) else math.inf
        for words in (mark.label, mark.label.removeprefix(FAULT)):
            if text_width(words, 14) <= room:
                drawing.text(x + 9, y, words, "t", size=14)
                break


def draw_marks(drawing: Drawing, frame: Frame, marks: Sequence[Mark], y: float) -> float:
    """Faults, gaps and caging on a line at `y`, settings on the next; returns where the last line is."""
    others = [mark for mark in marks if mark.kind != "set"]
    settings = [mark for mark in marks if mark.kind == "set"]
    _draw_row(drawing, frame, others, y)
    if others and settings:
        y += ROW_PX
    _draw_row(drawing, frame, settings, y)
    return y


def draw_mark_lines(drawing: Drawing, frame: Frame, marks: Sequence[Mark]) -> None:
    """A thin line down through a plot at every mark."""
    for mark in marks:
        x = frame.x_at(mark.time_s)
        drawing.line(x, frame.top, x, frame.bottom, "alarmline" if mark.kind == "fault" else "setline")
