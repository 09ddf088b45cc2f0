"""Drawings of stems: a heading indicator's dial, a compass face, an error over time; each with its words."""

import math
from collections.abc import Sequence

from lubberline.questions.item import Figure

INK = "#1a1a1a"
SIZE = 220.0
LETTERS = {0: "N", 90: "E", 180: "S", 270: "W"}


def _svg(width: float, height: float, parts: Sequence[str], alt: str) -> Figure:
    body = "".join(parts)
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" role="img"'
    style = f'fill="none" stroke="{INK}" stroke-width="1.2" font-family="sans-serif"'
    return Figure(f"{head} {style}><title>{alt}</title>{body}</svg>", alt)


def _text(x: float, y: float, size: float, text: str, turn: str = "") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="middle" fill="{INK}" '
        f'stroke="none"{turn}>{text}</text>'
    )


def _mark_of(heading_deg: int) -> str:
    """What stands at a mark of a card: a letter, or the heading in tens."""
    return LETTERS.get(heading_deg, f"{heading_deg // 10}")


def heading_dial(heading_deg: float) -> Figure:
    """A heading indicator: the card turned so that this heading stands under the lubber line at the top."""
    middle, outer = SIZE / 2.0, SIZE / 2.0 - 12.0
    parts = [f'<circle cx="{middle:g}" cy="{middle:g}" r="{outer + 6:.1f}"/>']
    for mark in range(0, 360, 5):
        length = 12.0 if mark % 10 == 0 else 6.0
        turn = f'transform="rotate({mark - heading_deg:.1f} {middle:g} {middle:g})"'
        parts.append(f'<path {turn} d="M{middle:g} {middle - outer:.1f}v{length:g}"/>')
        if mark % 30 == 0:
            parts.append(_text(middle, middle - outer + 27.0, 14.0, _mark_of(mark), f" {turn}"))
    parts.append(f'<path d="M{middle:g} 2v16" stroke-width="3.5"/>')
    below, above = 5 * math.floor(heading_deg / 5.0), 5 * math.ceil(heading_deg / 5.0)
    if below == above:
        where = f"the mark of {below % 360:03d} degrees is"
    else:
        where = f"a point between the marks of {below % 360:03d} and {above % 360:03d} degrees"
        nearer = below if heading_deg - below < above - heading_deg else above
        where += f", nearer to {nearer % 360:03d}, is"
    alt = (
        f"A heading indicator with marks every 5 degrees: {where} under the lubber line at the top. "
        "Headings increase clockwise."
    )
    return _svg(SIZE, SIZE, parts, alt)


def compass_face(heading_deg: float, across_deg: float = 50.0) -> Figure:
    """A magnetic compass seen from behind its window: figures on the near side fall towards the right.

    The card carries its figures so that the heading stands behind the lubber line; to its right stand the
    lower headings, since one looks at the near side of the card.
    """
    width, height = 300.0, 110.0
    scale = width / across_deg
    parts = [
        f'<rect x="1" y="1" width="{width - 2:g}" height="{height - 2:g}" rx="14"/>',
    ]
    low, high = (
        math.ceil((heading_deg - across_deg / 2.0) / 5.0),
        math.floor((heading_deg + across_deg / 2.0) / 5.0),
    )
    for step in range(low, high + 1):
        mark = 5 * step
        x = width / 2.0 - (mark - heading_deg) * scale
        if not 8.0 < x < width - 8.0:
            continue
        length = 22.0 if mark % 10 == 0 else 13.0
        parts.append(f'<path d="M{x:.1f} 78v{length:g}"/>')
        if mark % 30 == 0:
            parts.append(_text(x, 64.0, 22.0, _mark_of(mark % 360)))
        elif mark % 10 == 0:
            parts.append(_text(x, 66.0, 12.0, f"{mark % 360 // 10}"))
    parts.append(f'<path d="M{width / 2.0:g} 4v{height - 8:g}" stroke-width="3"/>')
    below = 5 * math.floor(heading_deg / 5.0)
    alt = (
        "The window of a magnetic compass. On its card the figures decrease towards the right: "
        f"{(below + 5) % 360:03d} is left of the lubber line and {below % 360:03d} is "
        f"{'directly behind it' if below == heading_deg else 'right of it'}."
    )
    return _svg(width, height, parts, alt)


def error_trace(times_min: Sequence[float], errors_deg: Sequence[float], alt: str) -> Figure:
    """The error of a heading indicator over time, with a grid of 5 minutes and 5 degrees.

    Args:
        times_min: rising from 0.
        errors_deg: positive reads high; none beyond the drawn range.
        alt: in words what the line shows, without saying what it means.
    """
    left, top, wide, high = 46.0, 12.0, 320.0, 180.0
    last = 5.0 * math.ceil(times_min[-1] / 5.0)
    reach = 5.0 * math.ceil((max(abs(error) for error in errors_deg) + 0.5) / 5.0)

    def at(time_min: float, error_deg: float) -> str:
        return f"{left + wide * time_min / last:.1f} {top + high * (reach - error_deg) / (2.0 * reach):.1f}"

    parts = []
    for minute in range(0, round(last) + 1, 5):
        parts.append(f'<path d="M{at(minute, reach)}L{at(minute, -reach)}" stroke-width=".4"/>')
        x = left + wide * minute / last
        parts.append(_text(x, top + high + 15.0, 11.0, f"{minute}"))
    for error in range(-round(reach), round(reach) + 1, 5):
        thick = "1.2" if error == 0 else ".4"
        parts.append(f'<path d="M{at(0.0, error)}L{at(last, error)}" stroke-width="{thick}"/>')
        sign = "+" if error > 0 else "−" if error < 0 else ""
        y = top + high * (reach - error) / (2.0 * reach) + 4.0
        parts.append(_text(left - 18.0, y, 11.0, f"{sign}{abs(error)}°"))
    points = [at(time, error) for time, error in zip(times_min, errors_deg, strict=True)]
    parts.append(f'<path d="M{"L".join(points)}" stroke-width="2.4"/>')
    parts.append(_text(left + wide / 2.0, top + high + 30.0, 11.0, "minutes"))
    return _svg(left + wide + 12.0, top + high + 36.0, parts, alt)
