"""What was done during a flight, marked above the plots and down through them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from lubberline.publish.axes import Frame
from lubberline.publish.svg import Drawing, text_width
from lubberline.publish.words import shortened
from lubberline.simulation.flown import Flown

LABELS_GAP_PX = 20.0
JOIN_PX = 6.0
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
                label = rest.replace("_", " ").replace("=", " ") if kind == "fault" else kind
                marks.append(Mark(float(time_s[row]), kind, shortened(label, 34)))
    return sorted(marks)


def _joined(frame: Frame, marks: Sequence[Mark]) -> list[Mark]:
    """Marks too close to be told apart as one: the shape of the rarer thing, the words of all."""
    joined: list[Mark] = []
    for mark in marks:
        if joined and frame.x_at(mark.time_s) - frame.x_at(joined[-1].time_s) < JOIN_PX:
            before = joined.pop()
            kind = before.kind if before.kind != "set" else mark.kind
            words = dict.fromkeys((before.label, mark.label))
            joined.append(Mark(before.time_s, kind, ", ".join(words)))
        else:
            joined.append(mark)
    return joined


def draw_marks(drawing: Drawing, frame: Frame, marks: Sequence[Mark], y: float) -> None:
    """Shapes on a line at `y`, each with its words where there is room for them."""
    joined = _joined(frame, marks)
    said = False
    for index, mark in enumerate(joined):
        x = frame.x_at(mark.time_s)
        kind, shape = SHAPES[mark.kind]
        drawing.path(f"M{x:.1f} {y:.1f}{shape}", kind)
        following = frame.x_at(joined[index + 1].time_s) if index + 1 < len(joined) else frame.right + 80.0
        if following - x - LABELS_GAP_PX >= text_width(mark.label, 14):
            drawing.text(x + 9, y, mark.label, "t", size=14)
            said = said or "set" in mark.label
    sets = sum(mark.kind == "set" for mark in marks)
    if sets and not said:
        drawing.path(f"M{frame.right + 20:.1f} {y:.1f}{SHAPES['set'][1]}", "mark")
        drawing.text(frame.right + 32, y, f"set, {sets} times", "t", size=14)


def draw_mark_lines(drawing: Drawing, frame: Frame, marks: Sequence[Mark]) -> None:
    """A thin line down through a plot at every mark."""
    for mark in marks:
        x = frame.x_at(mark.time_s)
        drawing.line(x, frame.top, x, frame.bottom, "alarmline" if mark.kind == "fault" else "setline")
