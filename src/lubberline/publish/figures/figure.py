"""One figure of a flight: the sentence, the route, the headings, the ledger and the strips.

Written directly as SVG: see `docs/developers/decisions.md`.
"""

import zlib
from collections.abc import Sequence

import numpy as np

from lubberline.flight.home import Suction
from lubberline.publish.figures.axes import Frame, draw_marks, draw_time_axis, marks_of, setting_rows
from lubberline.publish.figures.bands import Stack, stack_of
from lubberline.publish.figures.causes import pattern_definitions
from lubberline.publish.figures.facts import draw_facts, drift_rows, fact_lines, worst_row
from lubberline.publish.figures.ledger_plot import draw_ledger, range_deg
from lubberline.publish.figures.route import draw_route
from lubberline.publish.figures.strips import draw_headings, draw_strip, strips_of
from lubberline.publish.figures.svg import MOST_POINTS, Drawing, document, wrapped_lines
from lubberline.publish.words import day, degrees, number, shortened, typeset
from lubberline.simulation.flown import Flown, cause_name

WIDTH = 1080.0
MARGIN = 24.0
PLOT_LEFT = 64.0
PLOT_WIDTH = 748.0
ROUTE_WIDTH = 470.0
ROUTE_ALONE = (300.0, 235.0)
LEDGER_HEIGHT = 260.0
PARTS = ("header", "route", "facts", "plots")


def subtitle(flown: Flown) -> str:
    """Aircraft, day and duration in a line."""
    summary = flown.summary
    aircraft = shortened(str(summary.get("aircraft") or ""), 60)
    parts = (aircraft, day(flown.motion.start_utc), f"{number(summary.get('duration_min'), 0)} min")
    return "  ·  ".join(part for part in parts if part)


def description(flown: Flown) -> str:
    """The figure in words, for those who cannot see it: the main numbers."""
    summary = flown.summary
    drift = ", ".join(f"{cause_name(name)} {degrees(value)}" for name, value in drift_rows(summary))
    settings = summary.get("settings") or ()
    wrong = "; ".join(
        f"at {number(s['time_s'] / 60.0, 0)} min from {s['from']}, {degrees(s['error_deg'])} error"
        for s in settings[:8]
    )
    more = f" and {len(settings) - 8} more" if len(settings) > 8 else ""
    sentences = [
        str(summary.get("sentence") or ""),
        *(f"{line}." for line in fact_lines(flown)),
        f"Drift in 15 min: {drift}.",
        f"Settings: {wrong}{more}." if wrong else "",
    ]
    return " ".join(sentence for sentence in sentences if sentence)


def _draw_header(drawing: Drawing, flown: Flown, y: float) -> float:
    width = WIDTH - 2.0 * MARGIN
    y += 18.0
    for line in wrapped_lines(str(flown.summary.get("title") or flown.motion.title), width, 27.0, 2):
        drawing.text(MARGIN, y + 8, line, "b", size=27)
        y += 32.0
    drawing.text(MARGIN, y + 2, subtitle(flown), "m", size=16)
    y += 30.0
    for line in wrapped_lines(typeset(str(flown.summary.get("sentence") or "")), width, 19.0, 4):
        drawing.text(MARGIN, y + 2, line, "t", size=19)
        y += 25.0
    return y


def _draw_plots(
    drawing: Drawing,
    prefix: str,
    flown: Flown,
    stack: Stack,
    y: float,
    ledger_height: float,
    most: int,
    suction: Suction,
) -> float:
    marks = marks_of(flown)
    trace = flown.trace
    time_s = np.asarray(trace["time_s"], dtype=np.float64)
    end_s = float(time_s[-1])

    def frame(top: float, height: float, ends: tuple[float, float]) -> Frame:
        return Frame(PLOT_LEFT, top, PLOT_WIDTH, height, end_s, *ends)

    y += 14.0
    y = draw_marks(drawing, frame(y, 0.0, (0.0, 1.0)), marks, y)
    headings = frame(y + 28.0, 130.0, (0.0, 360.0))
    draw_headings(drawing, prefix, flown, headings, marks, most)
    ledger = frame(headings.bottom + 30.0, ledger_height, range_deg(stack))
    draw_ledger(drawing, prefix, stack, ledger, marks, worst_row(flown))
    last = ledger
    for number_of, strip in enumerate(strips_of(trace, suction)):
        last = frame(last.bottom + 27.0, 50.0, (strip.low, strip.high))
        draw_strip(drawing, f"{prefix}-strip{number_of}", last, strip.title, time_s, strip.lines, marks, most)
    draw_time_axis(drawing, last, labels=True)
    return last.bottom + 26.0


def _causes_used(stack: Stack, flown: Flown) -> list[str]:
    drift = [name for name, _ in drift_rows(flown.summary)]
    return list(
        dict.fromkeys(name.removesuffix("_deg") for name in [*stack.causes, *drift] if name != "total")
    )


def _inside(
    flown: Flown, parts: Sequence[str], prefix: str, ledger_height: float, most: int, suction: Suction
) -> tuple[str, float]:
    drawing = Drawing()
    stack = stack_of(flown.ledger, setting_rows(flown), [worst_row(flown)], most)
    drawing.add(f"<defs>{pattern_definitions(prefix, _causes_used(stack, flown))}</defs>")
    y = MARGIN - 10.0
    if "header" in parts:
        y = _draw_header(drawing, flown, y)
    top = y
    if "facts" in parts:
        left = MARGIN + ROUTE_WIDTH + 28.0 if "route" in parts else MARGIN
        y = draw_facts(drawing, prefix, flown, left, top, WIDTH - MARGIN - left)
    if "route" in parts:
        height = max(y - top, 300.0)
        _draw_route(drawing, prefix, flown, (MARGIN, top, ROUTE_WIDTH, height))
        y = top + height
    if "plots" in parts:
        y = _draw_plots(drawing, prefix, flown, stack, y + 12.0, ledger_height, most, suction)
    return drawing.markup(), y + 6.0


def _draw_route(drawing: Drawing, prefix: str, flown: Flown, box: tuple[float, float, float, float]) -> None:
    latitude = np.asarray(flown.trace["latitude_deg"], dtype=np.float64)
    longitude = np.asarray(flown.trace["longitude_deg"], dtype=np.float64)
    draw_route(drawing, prefix, latitude, longitude, box, setting_rows(flown))


def _identifier(flown: Flown, part: str) -> str:
    """An id for the figure, so that one page can have several."""
    key = f"{flown.summary.get('title')}|{flown.motion.start_utc}|{flown.summary.get('seed')}|{part}"
    return f"l{zlib.crc32(key.encode('utf-8', 'replace')):08x}"


def _document(flown: Flown, prefix: str, size: tuple[float, float], inside: str, *, dark: bool) -> str:
    title = str(flown.summary.get("title") or flown.motion.title)
    theme = "auto" if dark else "light"
    return document(title, description(flown), size, inside, theme=theme, prefix=prefix)


def route_svg(flown: Flown) -> str:
    """The route alone, as a small SVG document for paper."""
    prefix = _identifier(flown, "route")
    drawing = Drawing()
    _draw_route(drawing, prefix, flown, (1.0, 1.0, ROUTE_ALONE[0] - 2.0, ROUTE_ALONE[1] - 2.0))
    return _document(flown, prefix, ROUTE_ALONE, drawing.markup(), dark=False)


def figure_svg(
    flown: Flown,
    parts: Sequence[str] = PARTS,
    *,
    dark: bool = True,
    ledger_height: float = LEDGER_HEIGHT,
    most: int = MOST_POINTS,
    suction: Suction = "inHg",
) -> str:
    """A flight as one SVG figure.

    Args:
        flown: what was flown.
        parts: any of 'header', 'route', 'facts', 'plots'; they keep that order on the paper.
        dark: whether it is light on dark on a dark screen (paper stays white).
        ledger_height: of the ledger's plot, in user units; the figure is 1080 wide.
        most: greatest number of points per line; extremes and both sides of settings are kept.
        suction: the unit of suctions.

    Returns:
        A complete SVG document with `<title>` and `<desc>`, without scripts or external resources.
    """
    prefix = _identifier(flown, ",".join(parts))
    inside, height = _inside(flown, parts, prefix, ledger_height, most, suction)
    return _document(flown, prefix, (WIDTH, round(height)), inside, dark=dark)
