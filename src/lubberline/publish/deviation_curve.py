"""A swing drawn: the deviation measured on each heading, the fitted curves, and the limit."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from lubberline.instruments.compass.deviation import deviation_deg
from lubberline.publish.axes import Frame, draw_frame, value_steps
from lubberline.publish.drawn_page import document
from lubberline.publish.svg import Drawing, open_path
from lubberline.upkeep.swing import Swing

WIDTH, HEIGHT = 760.0, 300.0
# The second swing of a sheet, radios on, is drawn thinner and its points open.
LOOKS = (("total", "dot"), ("ink", "open"))
LEAST_SCALE_DEG = 3.0


def deviation_svg(swings: Mapping[str, Swing], names: Mapping[str, str]) -> str:
    """The curves over the compass heading, one for each swing; `names` say what each is."""
    drawing = Drawing()
    greatest = max(swing.greatest_deg for swing in swings.values())
    limit = next(iter(swings.values())).limit_deg
    scale = max(LEAST_SCALE_DEG, greatest * 1.2, limit * 1.1 if greatest > 0.5 * limit else 0.0)
    frame = Frame(52.0, 40.0, WIDTH - 76.0, HEIGHT - 82.0, 360.0, -scale, scale)
    draw_frame(drawing, frame, value_steps(-scale, scale, 6, plus=True, unit="°"), "")
    title = "Deviation over compass heading, east +"
    told = [f"{mark} {names[key]}" for key, mark in zip(swings, ("●", "○"), strict=False) if names[key]]
    drawing.text(frame.left, 20.0, ": ".join([title, ", ".join(told)]) if told else title, "b", size=15)
    for heading in range(0, 361, 30):
        x = frame.x_at(float(heading))
        drawing.line(x, frame.top, x, frame.bottom, "grid")
        drawing.text(x, frame.bottom + 19, f"{heading:03d}", "m", size=14, anchor="middle")
    if limit <= scale:
        for side in (-limit, limit):
            drawing.line(frame.left, frame.y_at(side), frame.right, frame.y_at(side), "limit")
    around = np.arange(0.0, 361.0, 3.0)
    for (line, point), swing in zip(LOOKS, swings.values(), strict=False):
        drawing.path(open_path(frame.x(around), frame.y(deviation_deg(around, swing.fitted))), line)
        for pair in swing.pairs:
            x, y = frame.x_at(pair.compass_deg), frame.y_at(pair.deviation_deg)
            drawing.add(f'<circle class="{point}" cx="{x:.1f}" cy="{y:.1f}" r="4.5"/>')
    words = f"Deviation measured and fitted on all headings; greatest {greatest:.1f} degrees."
    return document("Deviation", words, (WIDTH, HEIGHT), drawing.markup())
