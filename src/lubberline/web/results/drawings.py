"""Small drawings of results: bars, intervals, marks over a term. Each has a description in words.

Colours come from the page's style sheet by class; nothing depends on colour alone.
"""

import math
from collections.abc import Sequence
from xml.sax.saxutils import quoteattr

from markupsafe import Markup

from lubberline.classroom.diagnosis.diagnose import LIKELY, POSSIBLE
from lubberline.publish.figures.svg import Drawing

BAR = (180.0, 18.0)
STRIP = (150.0, 30.0)
CELL = (46.0, 24.0)


def percent(share: float | None) -> str:
    """A share in percent; an en dash for none."""
    return "–" if share is None or not math.isfinite(share) else f"{round(100.0 * share)}%"


def chance(p: float) -> str:
    """A probability in percent, without false certainty."""
    if p >= 0.995:
        return "over 99%"
    return "under 1%" if p <= 0.005 else percent(p)


def _picture(drawing: Drawing, size: tuple[float, float], words: str, kind: str) -> Markup:
    width, height = size
    # Everything inside was escaped when inserted.
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
    """The probability that a student holds an idea: a filled box with the number."""
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
    """Marks over the term as a line of points; with gaps for absences."""
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
