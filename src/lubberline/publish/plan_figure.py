"""A plan drawn: the error expected along the flight with its interval, the limit and the settings."""

from __future__ import annotations

import numpy as np

from lubberline.publish.axes import Frame, draw_frame, draw_time_axis, value_steps
from lubberline.publish.drawn_page import document
from lubberline.publish.svg import Drawing, closed_path, open_path
from lubberline.publish.words import number
from lubberline.upkeep.plan_records import Plan

WIDTH, HEIGHT = 760.0, 300.0
SETTING_ROOM = 20.0


def plan_svg(plan: Plan, *, theme: str = "light") -> str:
    """The plan as a small SVG document with title and description; `theme` as in `drawn_page.document`."""
    drawing = Drawing()
    top = max(plan.limit_deg * 1.25, *(abs(value) for value in (*plan.low_deg, *plan.high_deg)))
    frame = Frame(52.0, 46.0, WIDTH - 142.0, HEIGHT - 88.0, plan.duration_min * 60.0, -top, top)
    draw_frame(drawing, frame, value_steps(-top, top, 6, plus=True, unit="°"), "")
    drawing.text(
        frame.left, 20.0, "Error expected: reads high above, low below; a triangle: set it", "b", size=15
    )
    time_s = np.array(plan.time_min) * 60.0
    low, high = np.array(plan.low_deg), np.array(plan.high_deg)
    middle = np.array(plan.expected_deg)
    for first, last in _between_settings(plan):
        rows = slice(first, last)
        if last - first > 1:
            drawing.path(
                closed_path(frame.x(time_s[rows]), frame.y(low[rows]), frame.y(high[rows])), "interval"
            )
            drawing.path(open_path(frame.x(time_s[rows]), frame.y(middle[rows])), "total")
    for limit in (-plan.limit_deg, plan.limit_deg):
        y = frame.y_at(limit)
        drawing.line(frame.left, y, frame.right, y, "limit")
        drawing.text(frame.right + 6, y + 5, f"{number(limit, 0)}° limit", "m", size=14)
    for setting in plan.settings:
        x = frame.x_at(setting.at_min * 60.0)
        drawing.line(x, frame.top, x, frame.bottom, "setline")
        drawing.path(f"M{x:.1f} {frame.top:.1f}l-5.5 -10h11Z", "mark" if setting.kept else "alarm")
    draw_time_axis(drawing, frame, labels=True)
    return document(
        f"Plan of {plan.title}",
        f"Expected error of the heading indicator over {plan.duration_min:.0f} min, set "
        f"{len(plan.settings)} times, with the band that holds it 19 times in 20 and the limit of "
        f"{plan.limit_deg:g} degrees.",
        (WIDTH, HEIGHT),
        drawing.markup(),
        theme=theme,
    )


def _between_settings(plan: Plan) -> list[tuple[int, int]]:
    """Places in the plan's lines from one setting to the next."""
    starts = np.searchsorted(np.array(plan.time_min), [setting.at_min for setting in plan.settings])
    ends = [*starts[1:].tolist(), len(plan.time_min)]
    return [(int(start), int(end)) for start, end in zip(starts, ends, strict=True)]
