"""Drawings of stems: a heading indicator's dial, a compass face, an error over time; each with its words."""

import math
from collections.abc import Mapping, Sequence

from lubberline.questions.item import Figure

INK = "#1a1a1a"
SIZE = 220.0
LETTERS = {0: "N", 90: "E", 180: "S", 270: "W"}


def svg_figure(width: float, height: float, parts: Sequence[str], alt: str) -> Figure:
    """A drawing of these parts on a sheet of this size."""
    body = "".join(parts)
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" role="img"'
    style = f'fill="none" stroke="{INK}" stroke-width="1.2" font-family="sans-serif"'
    return Figure(f"{head} {style}><title>{alt}</title>{body}</svg>", alt)


def label(x: float, y: float, size: float, text: str, turn: str = "") -> str:
    """Words centred on x, standing on y; `turn` is an attribute that turns them."""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="middle" fill="{INK}" '
        f'stroke="none"{turn}>{text}</text>'
    )


def mark_of(heading_deg: int) -> str:
    """The figure at a mark of a card: a letter, or the heading in tens."""
    return LETTERS.get(heading_deg, f"{heading_deg // 10}")


def dial_parts(heading_deg: float, x: float, y: float, outer: float) -> list[str]:
    """The card of a heading indicator about a middle, with this heading under its lubber line at the top."""
    parts = [f'<circle cx="{x:g}" cy="{y:g}" r="{outer + 6:.1f}"/>']
    for mark in range(0, 360, 5):
        length = 12.0 if mark % 10 == 0 else 6.0
        turn = f'transform="rotate({mark - heading_deg:.1f} {x:g} {y:g})"'
        parts.append(f'<path {turn} d="M{x:g} {y - outer:.1f}v{length:g}"/>')
        if mark % 30 == 0:
            parts.append(label(x, y - outer + 27.0, 14.0, mark_of(mark), f" {turn}"))
    parts.append(f'<path d="M{x:g} {y - outer - 10.0:g}v16" stroke-width="3.5"/>')
    return parts


def dial_words(heading_deg: float) -> str:
    """Where the card stands, for those who cannot see it."""
    below, above = 5 * math.floor(heading_deg / 5.0), 5 * math.ceil(heading_deg / 5.0)
    if below == above:
        where = f"the mark of {below % 360:03d} degrees is"
    else:
        where = f"a point between the marks of {below % 360:03d} and {above % 360:03d} degrees"
        nearer = below if heading_deg - below < above - heading_deg else above
        where += f", nearer to {nearer % 360:03d}, is"
    return f"{where} under the lubber line at the top"


def heading_dial(heading_deg: float) -> Figure:
    """A heading indicator, with this heading under the lubber line at the top."""
    alt = (
        f"A heading indicator with marks every 5 degrees: {dial_words(heading_deg)}. "
        "Headings increase clockwise."
    )
    return svg_figure(SIZE, SIZE, dial_parts(heading_deg, SIZE / 2.0, SIZE / 2.0, SIZE / 2.0 - 12.0), alt)


def window_parts(heading_deg: float, left: float, top: float, width: float, across_deg: float) -> list[str]:
    """The window of a compass with a corner at a place; it is 110 high."""
    height, scale = 110.0, width / across_deg
    parts = [
        f'<rect x="{left + 1:g}" y="{top + 1:g}" width="{width - 2:g}" height="{height - 2:g}" rx="14"/>',
    ]
    low, high = (
        math.ceil((heading_deg - across_deg / 2.0) / 5.0),
        math.floor((heading_deg + across_deg / 2.0) / 5.0),
    )
    for step in range(low, high + 1):
        mark = 5 * step
        x = width / 2.0 - (mark - heading_deg) * scale
        if not 14.0 < x < width - 14.0:
            continue
        length = 22.0 if mark % 10 == 0 else 13.0
        parts.append(f'<path d="M{left + x:.1f} {top + 78.0:g}v{length:g}"/>')
        if mark % 30 == 0:
            parts.append(label(left + x, top + 64.0, 22.0, mark_of(mark % 360)))
        elif mark % 10 == 0:
            parts.append(label(left + x, top + 66.0, 14.0, f"{mark % 360 // 10}"))
    # The lubber line, open where a figure may stand behind it.
    x = left + width / 2.0
    parts.append(
        f'<path d="M{x:g} {top + 4.0:g}v36M{x:g} {top + 72.0:g}v{height - 76.0:g}" stroke-width="3"/>'
    )
    return parts


def window_words(heading_deg: float) -> str:
    """What stands about the lubber line of a compass, for those who cannot see it."""
    below = 5 * math.floor(heading_deg / 5.0)
    return (
        f"{(below + 5) % 360:03d} is left of the lubber line and {below % 360:03d} is "
        f"{'directly behind it' if below == heading_deg else 'right of it'}"
    )


def compass_face(heading_deg: float, across_deg: float = 50.0) -> Figure:
    """A magnetic compass seen through its window: figures on the near side decrease towards the right.

    The card is marked so that the heading is behind the lubber line. Lower headings are to its right, since
    the near side of the card is visible.
    """
    alt = (
        "The window of a magnetic compass. On its card the figures decrease towards the right: "
        f"{window_words(heading_deg)}."
    )
    return svg_figure(300.0, 110.0, window_parts(heading_deg, 0.0, 0.0, 300.0, across_deg), alt)


# With a wider range a line for every degree would be a grey area.
FINE_REACH_DEG = 15.0


def error_trace(times_min: Sequence[float], errors_deg: Sequence[float], alt: str) -> Figure:
    """The error of a heading indicator over time, with a grid of 5 minutes and 5 degrees and a fine one of 1.

    Args:
        times_min: rising from 0.
        errors_deg: positive reads high.
        alt: in words what the line shows, without its meaning.
    """
    left, top, wide, high = 62.0, 12.0, 320.0, 180.0
    last = 5.0 * math.ceil(times_min[-1] / 5.0)
    reach = 5.0 * math.ceil((max(abs(error) for error in errors_deg) + 0.5) / 5.0)

    def at(time_min: float, error_deg: float) -> str:
        return f"{left + wide * time_min / last:.1f} {top + high * (reach - error_deg) / (2.0 * reach):.1f}"

    parts = [
        *(f'<path d="M{at(minute, reach)}v{high:g}" stroke-width=".15"/>' for minute in range(round(last))),
        *(
            f'<path d="M{at(0.0, error)}h{wide:g}" stroke-width=".15"/>'
            for error in range(-round(reach), round(reach))
            if reach <= FINE_REACH_DEG
        ),
    ]
    for minute in range(0, round(last) + 1, 5):
        parts.append(f'<path d="M{at(minute, reach)}L{at(minute, -reach)}" stroke-width=".4"/>')
        x = left + wide * minute / last
        parts.append(label(x, top + high + 15.0, 13.0, f"{minute}"))
    for error in range(-round(reach), round(reach) + 1, 5):
        thick = "1.2" if error == 0 else ".4"
        parts.append(f'<path d="M{at(0.0, error)}L{at(last, error)}" stroke-width="{thick}"/>')
        sign = "+" if error > 0 else "−" if error < 0 else ""
        y = top + high * (reach - error) / (2.0 * reach) + 4.0
        parts.append(label(left - 18.0, y, 13.0, f"{sign}{abs(error)}°"))
    points = [at(time, error) for time, error in zip(times_min, errors_deg, strict=True)]
    parts.append(f'<path d="M{"L".join(points)}" stroke-width="2.4"/>')
    parts.append(label(left + wide / 2.0, top + high + 31.0, 13.0, "time in minutes"))
    middle = top + high / 2.0
    turn = f' transform="rotate(-90 14 {middle:g})"'
    parts.append(label(14.0, middle, 13.0, "error in degrees (+ reads high)", turn))
    return svg_figure(left + wide + 12.0, top + high + 36.0, parts, alt)


def line(d: str, width: float = 1.2, more: str = "") -> str:
    """A line along a path, so thick; `more` is further attributes."""
    return f'<path {more} d="{d}" stroke-width="{width:g}"/>'


def correction_card(steer_deg: Mapping[int, float]) -> Figure:
    """A compass correction card: what to steer for each heading, in two columns."""
    parts = ['<rect x="4" y="4" width="352" height="190" rx="6"/>', line("M180 4v190", 0.8)]
    for place, (heading, steer) in enumerate(steer_deg.items()):
        x, y = 90.0 + 180.0 * (place // 6), 54.0 + 25.0 * (place % 6)
        parts.append(label(x - 40.0, y, 17.0, f"{heading:03d}"))
        parts.append(label(x + 40.0, y, 17.0, f"{round(steer - 1) % 360 + 1:03d}"))
    for x in (90.0, 270.0):
        parts += [label(x - 40.0, 26.0, 14.0, "FOR"), label(x + 40.0, 26.0, 14.0, "STEER")]
    parts.append(line("M4 34h352", 0.8))
    told = "; ".join(f"for {h:03d} steer {round(s - 1) % 360 + 1:03d}" for h, s in steer_deg.items())
    return svg_figure(360.0, 198.0, parts, f"A compass correction card: {told}.")
