"""Small drawings of results: bars, intervals, marks over a term. Each says in words what it shows.

Colours come from the page's own sheet by class; nothing is told by colour alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from xml.sax.saxutils import quoteattr

from markupsafe import Markup

from lubberline.classroom.statistics_records import ItemStatistics
from lubberline.publish.svg import Drawing

BAR = (180.0, 18.0)
STRIP = (150.0, 30.0)
CELL = (46.0, 24.0)
PLOT = (560.0, 340.0)
LIKELY, POSSIBLE = 0.8, 0.4


def percent(share: float | None) -> str:
    """A share in percent for reading; an en dash where there is none."""
    return "–" if share is None or not math.isfinite(share) else f"{round(100.0 * share)}%"


def chance(p: float) -> str:
    """A probability in percent that claims no more than it does."""
    if p >= 0.995:
        return "over 99%"
    return "under 1%" if p <= 0.005 else percent(p)


def _picture(drawing: Drawing, size: tuple[float, float], words: str, kind: str) -> Markup:
    width, height = size
    # Everything inside was escaped as it was put in.
    return Markup(
        f'<svg class="{kind}" role="img" aria-label={quoteattr(words)} viewBox="0 0 {width:g} {height:g}" '
        f'width="{width:g}" height="{height:g}">{drawing.markup()}</svg>'
    )


def _x(share: float, width: float) -> float:
    return 2.0 + min(max(share, 0.0), 1.0) * (width - 4.0)


def bar(
    share: float,
    low: float | None = None,
    high: float | None = None,
    mark: float | None = None,
    words: str = "",
) -> Markup:
    """A share as a bar; with `low` and `high` its interval as a line with ends, with `mark` a limit."""
    width, height = BAR
    drawing = Drawing()
    drawing.add(f'<rect class="d-track" x="2" y="4" width="{width - 4:g}" height="10"/>')
    filled = _x(share, width) - 2.0
    drawing.add(f'<rect class="d-fill" x="2" y="4" width="{filled:.1f}" height="10"/>')
    if low is not None and high is not None:
        one, other = _x(low, width), _x(high, width)
        line = f"M{one:.1f} 9H{other:.1f}M{one:.1f} 5V13M{other:.1f} 5V13"
        drawing.path(line, "d-casing")
        drawing.path(line, "d-interval")
    if mark is not None:
        drawing.path(f"M{_x(mark, width):.1f} 0V{height:g}", "d-limit")
    return _picture(drawing, BAR, words or percent(share), "strip")


def cell(p: float | None) -> Markup:
    """How sure it is that a student holds an idea: a filled box and the number on it."""
    width, height = CELL
    drawing = Drawing()
    if p is None:
        return Markup('<span class="meta" title="not asked">–</span>')
    kind = "d-likely" if p >= LIKELY else "d-possible" if p >= POSSIBLE else "d-hardly"
    drawing.add(f'<rect class="d-box {kind}" x="1" y="1" width="{width - 2:g}" height="{height - 2:g}"/>')
    if p >= 0.05:
        text_kind = f"d-number {kind}"
        shown = "99+" if p >= 0.995 else f"{round(100 * p)}"
        drawing.text(width / 2, height / 2 + 5.0, shown, text_kind, size=14, anchor="middle")
    return _picture(drawing, CELL, chance(p), "strip")


def strip(shares: Sequence[float | None]) -> Markup:
    """Marks over the term as a line of points; gaps where somebody was away."""
    width, height = STRIP
    drawing = Drawing()
    drawing.path(f"M2 {height - 3:g}H{width - 2:g}M2 3H{width - 2:g}", "d-grid")
    step = (width - 16.0) / max(len(shares) - 1, 1)
    points = [
        (8.0 + place * step, 3.0 + (1.0 - share) * (height - 6.0))
        for place, share in enumerate(shares)
        if share is not None
    ]
    if len(points) > 1:
        drawing.path("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points), "d-line")
    for x, y in points:
        drawing.add(f'<circle class="d-dot" cx="{x:.1f}" cy="{y:.1f}" r="3.2"/>')
    words = "Marks in order: " + ", ".join(
        percent(share) if share is not None else "away" for share in shares
    )
    return _picture(drawing, STRIP, words, "strip")


def items_plot(items: Sequence[ItemStatistics]) -> Markup:
    """Share right across, discrimination upwards, each question by its number."""
    width, height = PLOT
    left, right, top, bottom = 52.0, width - 14.0, 24.0, height - 44.0
    drawing = Drawing()

    def across(share: float) -> float:
        return left + share * (right - left)

    def up(found: float) -> float:
        return bottom - (min(max(found, -0.6), 1.0) + 0.6) / 1.6 * (bottom - top)

    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        drawing.path(f"M{across(share):.1f} {top:g}V{bottom:g}", "d-grid")
        drawing.text(across(share), bottom + 18.0, percent(share), "d-words", size=13, anchor="middle")
    for found in (-0.5, 0.0, 0.5, 1.0):
        drawing.path(f"M{left:g} {up(found):.1f}H{right:g}", "d-zero" if found == 0.0 else "d-grid")
        shown = f"{found:g}".replace("-", "−")
        drawing.text(left - 7.0, up(found) + 4.5, shown, "d-words", size=13, anchor="end")
    drawing.text((left + right) / 2, height - 6.0, "share right", "d-words", size=13, anchor="middle")
    drawing.text(left, top - 10.0, "discrimination", "d-words", size=13)
    shown_items = [(place, one) for place, one in enumerate(items, 1) if math.isfinite(one.in_rest)]
    for place, one in shown_items:
        x, y = across(one.right_share), up(one.in_rest)
        kind = "d-dot d-flagged" if one.flags else "d-dot"
        shape = (
            f'<path class="{kind}" d="M{x:.1f} {y - 5:.1f}l5 9h-10z"/>'
            if one.flags
            else f'<circle class="{kind}" cx="{x:.1f}" cy="{y:.1f}" r="4"/>'
        )
        drawing.add(shape)
        drawing.text(x + 7.0, y - 4.0, str(place), "d-words", size=12)
    flagged = sum(bool(one.flags) for _, one in shown_items)
    words = (
        f"{len(shown_items)} questions by share right, across, and discrimination, upwards; "
        f"{flagged} are flagged and drawn as triangles. The table below has the numbers."
    )
    return _picture(drawing, PLOT, words, "strip")
