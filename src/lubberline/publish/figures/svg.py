"""Writes SVG: escaped text, shapes, and lines from arrays, in which every peak is drawn."""

import re
import zlib
from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import NDArray

from lubberline.arrays import Floats

# Characters not allowed in XML 1.0, even escaped (Extensible Markup Language 1.0, section 2.2, Char).
FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
# Mean width of a character against the font's size, wide enough for the usual sans serif faces.
CHARACTER_WIDTH = 0.53


def safe(text: str) -> str:
    """Text escaped for XML; forbidden characters become U+FFFD."""
    return escape(FORBIDDEN.sub("\ufffd", text))


def text_width(text: str, size: float) -> float:
    """The estimated width of a text, as there is no font to measure it."""
    return len(text) * size * CHARACTER_WIDTH


def wrapped_lines(text: str, width: float, size: float, most: int) -> list[str]:
    """Words of a text in lines of about `width`; text beyond `most` lines is replaced by an ellipsis."""
    room = max(8, int(width / (size * CHARACTER_WIDTH)))
    lines = _filled(text, room)
    if len(lines) > most:
        lines = lines[:most]
        lines[-1] = lines[-1][: room - 1].rstrip() + "…"
        return lines
    # As few lines as possible, of similar length, without a single word in the last.
    while room > 8 and len(narrower := _filled(text, room - 1)) == len(lines):
        room, lines = room - 1, narrower
    return lines


def _filled(text: str, room: int) -> list[str]:
    lines = [""]
    for word in re.split(r"[ \t\r\n]+", text.strip()):
        for piece in (word[i : i + room] for i in range(0, len(word), room)):
            joined = f"{lines[-1]} {piece}".strip()
            if len(joined) <= room:
                lines[-1] = joined
            else:
                lines.append(piece)
    return lines


def _coordinates(x: Floats, y: Floats) -> str:
    flat = np.round(np.column_stack((x, y)), 1).ravel() + 0.0
    return ("%g %g " * len(x) % tuple(flat.tolist())).rstrip()


def open_path(x: Floats, y: Floats) -> str:
    """Path data of a line through the points, broken where either is nan; lone points are dots."""
    finite = np.isfinite(x) & np.isfinite(y)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], finite, [False])).astype(np.int8)))
    parts = []
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        if end - begin == 1:
            parts.append("M" + _coordinates(x[begin:end], y[begin:end]) + "h.1")
        else:
            parts.append("M" + _coordinates(x[begin:end], y[begin:end]))
    return "".join(parts)


def closed_path(x: Floats, lower: Floats, upper: Floats) -> str:
    """Path data of the area between two lines over the same x."""
    return "M" + _coordinates(np.concatenate((x, x[::-1])), np.concatenate((upper, lower[::-1]))) + "Z"


class Drawing:
    """Collects markup, in user units."""

    def __init__(self) -> None:
        self.parts: list[str] = []

    def add(self, markup: str) -> None:
        """Append markup that is already safe."""
        self.parts.append(markup)

    def text(
        self, x: float, y: float, text: str, kind: str = "t", *, size: float = 15, anchor: str = "start"
    ) -> None:
        """A line of text at its baseline; `anchor` is 'start', 'middle' or 'end'."""
        where = "" if anchor == "start" else f' text-anchor="{anchor}"'
        self.add(
            f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}" font-size="{size:g}"{where}>{safe(text)}</text>'
        )

    def line(self, x1: float, y1: float, x2: float, y2: float, kind: str) -> None:
        """A straight line."""
        self.add(f'<path class="{kind}" d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}"/>')

    def path(self, data: str, kind: str, **attributes: str) -> None:
        """A path; underscores in attribute names become hyphens."""
        if data:
            more = "".join(
                f" {name.replace('_', '-')}={quoteattr(value)}" for name, value in attributes.items()
            )
            self.add(f'<path class="{kind}" d="{data}"{more}/>')

    def box(self, box: Sequence[float], kind: str, fills: Sequence[str]) -> None:
        """A box (left, top, width, height), with several fills in order."""
        left, top, width, height = box
        for fill in fills:
            self.add(
                f'<rect class="{kind}" x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" '
                f'height="{height:.1f}" fill="{fill}"/>'
            )

    def swatch(self, x: float, y: float, fills: Sequence[str]) -> None:
        """A small filled box centred at `y`."""
        self.box((x, y - 7.0, 18.0, 13.0), "swatch", fills)

    def clip(self, identifier: str, box: Sequence[float]) -> None:
        """Start a group clipped to a box (left, top, width, height); end it with `end`."""
        left, top, width, height = box
        self.add(
            f'<clipPath id="{identifier}"><rect x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" '
            f'height="{height:.1f}"/></clipPath><g clip-path="url(#{identifier})">'
        )

    def end(self) -> None:
        """End the last group."""
        self.add("</g>")

    def markup(self) -> str:
        """The markup."""
        return "\n".join(self.parts)


# Dark on light first; a dark screen changes it, a printer never does.
LIGHT = {
    "paper": "#ffffff",
    "text": "#1c2126",
    "muted": "#565d64",
    "grid": "#e3e6e8",
    "frame": "#8b9298",
    "line": "#1c2126",
    "reference": "#c8a06a",
    "limit": "#a3392e",
    "alarm": "#a3392e",
}
DARK = {
    "paper": "#14181c",
    "text": "#eceff1",
    "muted": "#a9b2b9",
    "grid": "#2b3238",
    "frame": "#6f7982",
    "line": "#f2f4f5",
    "reference": "#8a6a3c",
    "limit": "#ff9d8f",
    "alarm": "#ff9d8f",
}


def _rules(scope: str, inks: dict[str, str]) -> str:
    rules = {
        ".paper": "fill:{paper}",
        ".t,.b": "fill:{text}",
        ".m": "fill:{muted}",
        ".halo": "stroke:{paper}",
        ".grid": "stroke:{grid}",
        ".zero,.axis": "stroke:{frame}",
        ".frame": "stroke:{frame}",
        ".ink,.thin,.indicated,.total,.track": "stroke:{line}",
        ".casing": "stroke:{paper}",
        ".reference": "stroke:{reference}",
        ".limit": "stroke:{limit}",
        ".setline": "stroke:{muted}",
        ".alarmline": "stroke:{alarm}",
        ".mark": "fill:{line}",
        ".totalbar": "fill:{line}",
        ".dot": "fill:{line};stroke:{paper}",
        ".open": "fill:{paper};stroke:{line}",
        ".alarm": "fill:{alarm}",
        ".swatch": "stroke:{frame}",
    }
    lines = []
    for selectors, body in rules.items():
        scoped = ",".join(f"{scope} {selector}" for selector in selectors.split(","))
        lines.append(f"{scoped}{{{body.format(**inks)}}}")
    return "\n".join(lines)


SHAPES = """
{s} .grid,{s} .zero,{s} .axis,{s} .ink,{s} .thin,{s} .indicated,{s} .reference{{fill:none}}
{s} .total,{s} .casing,{s} .track,{s} .limit,{s} .setline,{s} .alarmline{{fill:none}}
{s} .b{{font-weight:600}}
{s} .halo{{stroke-width:3.5px;paint-order:stroke;stroke-linejoin:round}}
{s} .name{{fill:#15181b;stroke-width:3px;paint-order:stroke;stroke-linejoin:round}}
{s} .grid,{s} .frame,{s} .swatch{{stroke-width:1px}}
{s} .frame{{fill:none}}
{s} .zero,{s} .axis{{stroke-width:1.2px}}
{s} .ink,{s} .thin{{stroke-width:1.5px}}
{s} .track,{s} .indicated{{stroke-width:1.8px}}
{s} .total{{stroke-width:2.6px;stroke-linejoin:round;stroke-linecap:round}}
{s} .casing{{stroke-width:5.5px;stroke-linejoin:round;stroke-linecap:round}}
{s} .reference{{stroke-width:5px;stroke-linejoin:round}}
{s} .limit{{stroke-width:1.4px;stroke-dasharray:7 4}}
{s} .setline{{stroke-width:1px;stroke-dasharray:2 3}}
{s} .alarmline{{stroke-width:1.2px}}
{s} .open{{stroke-width:2px}}
{s} .dot{{stroke-width:1.5px}}
{s} .band,{s} .bar{{stroke-width:.6px}}
"""


def style_element(prefix: str, *, dark: bool) -> str:
    """A `<style>` element limited to the element with id `prefix`."""
    scope = f"#{prefix}"
    text = SHAPES.format(s=scope) + _rules(scope, LIGHT)
    if dark:
        text += "\n@media screen and (prefers-color-scheme:dark){\n" + _rules(scope, DARK) + "\n}"
    return f"<style>{text}</style>"


# Sans serif on a screen; the serif that the typesetter carries when it is set in a PDF.
FONTS = "system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, 'Libertinus Serif', sans-serif"
DARK_SCREEN = "@media screen and (prefers-color-scheme:dark)"
BAND = {"light": "#9db8cc", "dark": "#39536a"}


def document(
    title: str,
    description: str,
    size: tuple[float, float],
    inside: str,
    *,
    theme: str = "light",
    prefix: str = "",
) -> str:
    """An SVG document with `<title>` and `<desc>`, without scripts or external resources.

    Args:
        title: its name.
        description: its contents in words, for those who cannot see it.
        size: width and height.
        inside: safe markup; `interval` is a class for bands, besides those of flight figures.
        theme: 'light' for paper, 'dark', or 'auto' to follow the screen.
        prefix: of all ids in it, so that several may stand in one page; one of its own without it.
    """
    prefix = prefix or f"d{zlib.crc32(f'{title}|{description}'.encode('utf-8', 'replace')):08x}"
    width, height = size
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" id="{prefix}" '
        f'viewBox="0 0 {width:g} {height:g}" width="{width:g}" height="{height:g}" role="img" '
        f'aria-labelledby="{prefix}-title {prefix}-desc" font-family="{FONTS}">\n'
        f'<title id="{prefix}-title">{safe(title)}</title>\n'
        f'<desc id="{prefix}-desc">{safe(description)}</desc>\n{_styles(prefix, theme)}\n'
        f'<rect class="paper" width="100%" height="100%"/>\n{inside}\n</svg>\n'
    )


def _styles(prefix: str, theme: str) -> str:
    band = f"#{prefix} .interval{{fill:{BAND['light']};stroke:none}}"
    if theme == "light":
        return f"{style_element(prefix, dark=False)}\n<style>{band}</style>"
    band += f"\n{DARK_SCREEN}{{#{prefix} .interval{{fill:{BAND['dark']}}}}}"
    both = f"{style_element(prefix, dark=True)}\n<style>{band}</style>"
    return both if theme == "auto" else both.replace(DARK_SCREEN, "@media all")


Rows = NDArray[np.intp]
MOST_POINTS = 1500


def _extremes(signal: Floats, bucket: int) -> list[Rows]:
    count = len(signal)
    buckets = -(-count // bucket)
    starts = np.arange(buckets) * bucket
    found = []
    for sign in (1.0, -1.0):
        padded = np.full(buckets * bucket, np.inf)
        padded[:count] = np.where(np.isnan(signal), np.inf, sign * signal)
        found.append(np.minimum(starts + padded.reshape(buckets, bucket).argmin(axis=1), count - 1))
    return found


def kept_rows(signals: Sequence[Floats], must: Sequence[int] = (), most: int = MOST_POINTS) -> Rows:
    """Rows to draw: the least and the greatest of every signal in each bucket of time, and both ends.

    Args:
        signals: arrays of equal length, drawn with the same rows.
        must: rows kept whatever happens (both sides of a setting).
        most: how many rows at most, less what `must` adds.

    Returns:
        Increasing row numbers; every row when there are no more than `most`.
    """
    count = len(signals[0])
    if count <= most:
        return np.arange(count)
    buckets = max(1, (most - 2) // (2 * len(signals)))
    bucket = -(-count // buckets)
    rows = [np.array([0, count - 1, *(row for row in must if 0 <= row < count)])]
    for signal in signals:
        rows.extend(_extremes(signal, bucket))
    return np.unique(np.concatenate(rows))
