"""Scales and round steps: positions of values and ticks on the paper."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeVar

import numpy as np

from lubberline.arrays import Floats
from lubberline.publish.figures.svg import Drawing, text_width
from lubberline.publish.words import LONG_FLIGHT_S, number, shortened, signed
from lubberline.simulation.flown import Flown

Places = TypeVar("Places", float, Floats)
TIME_STEPS_S = (30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0, 14400.0)


def round_step(span: float, most: int) -> float:
    """The least step of 1, 2 or 5 times a power of ten that cuts `span` into `most` parts or fewer."""
    raw = max(span, 1e-9) / most
    power = 10.0 ** math.floor(math.log10(raw))
    return next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= raw * (1.0 - 1e-9))


def ticks(low: float, high: float, step: float) -> list[float]:
    """Multiples of the step from `low` to `high`, both included."""
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [index * step for index in range(first, last + 1)]


def time_ticks(duration_s: float) -> list[float]:
    """Round moments, about eight of them."""
    step = next(
        (s for s in TIME_STEPS_S if duration_s / s <= 9.0), round_step(duration_s / 3600.0, 9) * 3600.0
    )
    return ticks(0.0, duration_s, step)


@dataclass(frozen=True)
class Frame:
    """A plot's box on the paper and the values at its edges."""

    left: float
    top: float
    width: float
    height: float
    end_s: float
    low: float
    high: float

    def x(self, time_s: Places) -> Places:
        """Times to the right."""
        return self.left + time_s / self.end_s * self.width

    def y(self, value: Places) -> Places:
        """Values upwards."""
        return self.top + (self.high - value) / (self.high - self.low) * self.height

    def draw_across(self, drawing: Drawing, value: float, kind: str) -> float:
        """A line across at a value; gives its height."""
        y = self.y(value)
        drawing.line(self.left, y, self.right, y, kind)
        return y

    def draw_down(self, drawing: Drawing, time_s: float, kind: str) -> float:
        """A line down at a time; gives where it is."""
        x = self.x(time_s)
        drawing.line(x, self.top, x, self.bottom, kind)
        return x

    @property
    def right(self) -> float:
        """The right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.top + self.height

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, width, height."""
        return self.left, self.top, self.width, self.height


def draw_frame(drawing: Drawing, frame: Frame, steps: list[tuple[float, str]], title: str) -> None:
    """The box, its grid of values with their labels on the left, and its title above."""
    for value, label in steps:
        y = frame.draw_across(drawing, value, "zero" if value == 0.0 and frame.low < 0.0 else "grid")
        drawing.text(frame.left - 8, y + 5, label, "m", size=14, anchor="end")
    drawing.add(
        f'<rect class="frame" x="{frame.left:.1f}" y="{frame.top:.1f}" width="{frame.width:.1f}" '
        f'height="{frame.height:.1f}"/>'
    )
    drawing.text(frame.left, frame.top - 7, title, "b", size=15)


def draw_time_axis(drawing: Drawing, frame: Frame, *, labels: bool) -> None:
    """Grid lines at round moments, with their labels under the lowest plot."""
    long = frame.end_s > LONG_FLIGHT_S
    for time_s in time_ticks(frame.end_s):
        x = frame.draw_down(drawing, time_s, "grid")
        if labels:
            minutes = time_s / 60.0
            text = f"{int(minutes) // 60}:{int(minutes) % 60:02d}" if long else f"{minutes:g}"
            drawing.text(x, frame.bottom + 18, text, "m", size=14, anchor="middle")
    if labels:
        unit = "hours" if long else "minutes"
        drawing.text(frame.right + 32, frame.bottom + 18, unit, "m", size=14)


def value_steps(
    low: float, high: float, most: int, *, plus: bool = False, unit: str = ""
) -> list[tuple[float, str]]:
    """Round values between two ends with their labels."""
    step = round_step(high - low, most)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    write = signed if plus else number
    return [(value, write(value, decimals) + unit) for value in ticks(low, high, step)]


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
    """A moment, its kind (a key of `SHAPES`) and a word for it ('' for the shape only)."""

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
    """One line of marks, each with its word where there is space, and always for the last."""
    for index, mark in enumerate(marks):
        x = frame.x(mark.time_s)
        kind, shape = SHAPES[mark.kind]
        drawing.path(f"M{x:.1f} {y:.1f}{shape}", kind)
        room = frame.x(marks[index + 1].time_s) - x - LABELS_GAP_PX if index + 1 < len(marks) else math.inf
        for words in (mark.label, mark.label.removeprefix(FAULT)):
            if text_width(words, 14) <= room:
                drawing.text(x + 9, y, words, "t", size=14)
                break


def draw_marks(drawing: Drawing, frame: Frame, marks: Sequence[Mark], y: float) -> float:
    """Faults, gaps and caging on a line at `y`, settings on the next; returns the y of the last line."""
    others = [mark for mark in marks if mark.kind != "set"]
    settings = [mark for mark in marks if mark.kind == "set"]
    _draw_row(drawing, frame, others, y)
    if others and settings:
        y += ROW_PX
    _draw_row(drawing, frame, settings, y)
    return y


def draw_mark_lines(drawing: Drawing, frame: Frame, marks: Sequence[Mark]) -> None:
    """A thin vertical line through a plot at every mark."""
    for mark in marks:
        frame.draw_down(drawing, mark.time_s, "alarmline" if mark.kind == "fault" else "setline")
