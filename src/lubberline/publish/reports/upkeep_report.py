"""The judgement of an aircraft's heading indicator, on one page for the engineer."""

import math
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

import numpy as np

from lubberline.csvfile import csv_text
from lubberline.flight.home import NO_HOME, Home
from lubberline.publish.figures.axes import Frame, draw_frame, value_steps
from lubberline.publish.figures.svg import Drawing, closed_path, document, open_path, text_width
from lubberline.publish.pdf import pdf
from lubberline.publish.words import degrees, first_of, many, number, shortened, typeset
from lubberline.simulation.aircraft import Aircraft
from lubberline.upkeep.records import FAULT_NAMES, VERDICT_WORDS, Judgement, Log, LogEvent, Residual

WIDTH, HEIGHT = 900.0, 330.0
LIMIT_DEG_15MIN = 3.0
# The greatest scale; points further out are drawn at the edge.
GREATEST_SCALE_DEG = 16.0
DAY_S = 86400.0
MONTH_STEPS = (1, 2, 3, 6, 12, 24, 60)
MOST_MONTHS = 9
LEAST_MINUTES = 5.0
OUTLIER = 0.5


def rate_deg_15min(residual: Residual) -> float:
    """The remainder of a check as a drift in 15 min; nan soon after the setting."""
    minutes = residual.check.minutes
    return residual.left_deg / minutes * 15.0 if minutes >= LEAST_MINUTES else float("nan")


def _scale_deg(judgement: Judgement) -> float:
    trend = judgement.estimate.trend
    ends = [abs(value) for point in trend for value in (point.low_deg_15min, point.high_deg_15min)]
    rates = [abs(rate_deg_15min(one)) for one in judgement.residuals if one.outlier < OUTLIER]
    near = [rate for rate in rates if rate == rate]
    most = max([LIMIT_DEG_15MIN * 1.35, *ends, *(np.quantile(near, [0.97]).tolist() if near else [])])
    return float(min(most * 1.08, GREATEST_SCALE_DEG))


def _months(first_s: float, last_s: float) -> list[tuple[float, str]]:
    """Up to a few starts of months along the axis, with their names."""
    begin, end = (datetime.fromtimestamp(time_s, UTC) for time_s in (first_s, last_s))
    count = (end.year - begin.year) * 12 + end.month - begin.month
    step = next((step for step in MONTH_STEPS if count / step <= MOST_MONTHS), MONTH_STEPS[-1])
    found = []
    for month in range(begin.year * 12 + begin.month, end.year * 12 + end.month + 1, 1):
        year, place = divmod(month - 1, 12)
        if month % step == 0 or step == 1:
            at = datetime(year, place + 1, 1, tzinfo=UTC)
            if first_s <= at.timestamp() <= last_s:
                found.append((at.timestamp(), f"{at:%b %Y}" if step < 12 else f"{year}"))
    return found or [(first_s, f"{begin.day} {begin:%b %Y}")]


def trend_svg(
    judgement: Judgement, events: Sequence[LogEvent] = (), *, theme: str = "light", height: float = HEIGHT
) -> str:
    """The trend as an SVG document with title and description.

    Args:
        judgement: of the log.
        events: maintenance along it.
        theme: 'light' for paper, 'dark', or 'auto' as the screen wants it.
        height: in user units; it is `WIDTH` wide.
    """
    drawing = Drawing()
    trend = judgement.estimate.trend
    times = [one.check.time_s for one in judgement.residuals] + [event.time_s for event in events]
    times += [point.time_s for point in trend]
    first, last = min(times), max(times)
    spare = max(0.02 * (last - first), 0.5 * DAY_S)
    first, last = first - spare, last + spare
    scale = _scale_deg(judgement)
    frame = Frame(58.0, 58.0, WIDTH - 84.0, height - 96.0, last - first, -scale, scale)
    draw_frame(drawing, frame, value_steps(-scale, scale, 6, plus=True, unit="°"), "")
    drawing.text(
        frame.left,
        18.0,
        "Real wander in 15 min, without Earth rate, transport wander, latitude nut and compass",
        "b",
        size=15,
    )
    for time_s, words in _months(first, last):
        x = frame.draw_down(drawing, time_s - first, "grid")
        drawing.text(x, frame.bottom + 20, words, "m", size=14, anchor="middle")
    _draw_trend(drawing, frame, judgement, first)
    for limit in (-LIMIT_DEG_15MIN, LIMIT_DEG_15MIN):
        frame.draw_across(drawing, limit, "limit")
    drawing.text(
        frame.right - 4, frame.y(LIMIT_DEG_15MIN) - 5, "usual allowance 3°", "m", size=13, anchor="end"
    )
    _draw_checks(drawing, frame, judgement.residuals, first)
    _draw_events(drawing, frame, events, first)
    return document(
        f"Real wander of {judgement.aircraft}",
        trend_words(judgement),
        (WIDTH, height),
        drawing.markup(),
        theme=theme,
    )


def trend_words(judgement: Judgement) -> str:
    """The drawing in words."""
    estimate = judgement.estimate
    return (
        f"{len(judgement.residuals)} checks. Real wander now: "
        f"{number(estimate.mean_deg_15min)} degrees in 15 min, 95% interval "
        f"{number(estimate.low_deg_15min)} to {number(estimate.high_deg_15min)}. The usual allowance is 3."
    )


def _draw_trend(drawing: Drawing, frame: Frame, judgement: Judgement, first_s: float) -> None:
    trend = judgement.estimate.trend
    if not trend:
        return
    time_s = np.array([point.time_s for point in trend]) - first_s
    low, middle, high = (
        np.clip([getattr(point, f"{name}_deg_15min") for point in trend], frame.low, frame.high)
        for name in ("low", "mean", "high")
    )
    if len(trend) > 1:
        drawing.path(closed_path(frame.x(time_s), frame.y(low), frame.y(high)), "interval")
        drawing.path(open_path(frame.x(time_s), frame.y(middle)), "total")
    else:
        x = frame.x(float(time_s[0]))
        drawing.line(x, frame.y(float(low[0])), x, frame.y(float(high[0])), "total")


def _draw_checks(drawing: Drawing, frame: Frame, residuals: Sequence[Residual], first_s: float) -> None:
    """A dot for each check, open if it is probably wrong, a triangle if it is off the scale."""
    for one in residuals:
        rate = rate_deg_15min(one)
        if rate != rate:
            continue
        x = frame.x(one.check.time_s - first_s)
        kind = "open" if one.outlier >= OUTLIER else "dot"
        if abs(rate) > frame.high:
            up = rate > 0.0
            y = frame.top + 9.0 if up else frame.bottom - 9.0
            drawing.path(f"M{x:.1f} {y:.1f}l-5 {9 if up else -9}h10Z", kind)
        else:
            drawing.add(f'<circle class="{kind}" cx="{x:.1f}" cy="{frame.y(rate):.1f}" r="4"/>')


def _draw_events(drawing: Drawing, frame: Frame, events: Sequence[LogEvent], first_s: float) -> None:
    free = [-1e9, -1e9]
    for event in events:
        x = frame.draw_down(drawing, event.time_s - first_s, "alarmline")
        drawing.path(f"M{x:.1f} {frame.top:.1f}l-6 -6l6 -6l6 6Z", "alarm")
        words = shortened(event.words, 42)
        left = min(x + 9.0, frame.right - text_width(words, 13))
        row = next((row for row in (0, 1) if left > free[row]), None)
        if row is not None:
            drawing.text(left, frame.top - 4.0 - 15.0 * row, words, "t", size=13)
            free[row] = left + text_width(words, 13) + 8.0


ROWS_SHOWN = 12
PAPER_HEIGHT = 420.0
REFUSED_SHOWN = 5
LINES_SHOWN = 7
LONGEST_LINE = 230
HEAD = (
    "min",
    "Observed",
    "Earth rate",
    "Transport",
    "Lat. nut",
    "Compass",
    "Real",
    "in 15 min",
    "Suction",
    "Run-down",
)


def _clock(home: Home) -> str:
    return ", UTC" if home.time_zone == "UTC" else ""


def _suctions(idle_inhg: float, cruise_inhg: float, home: Home) -> str:
    if math.isnan(idle_inhg) and math.isnan(cruise_inhg):
        return ""
    both = (idle_inhg, cruise_inhg)
    return " / ".join("–" if math.isnan(one) else home.suction_words(one).split()[0] for one in both)


def _row(one: Residual, home: Home) -> list[str]:
    check = one.check
    rate = rate_deg_15min(one)
    return [
        home.day(check.time_s),
        number(check.minutes, 0),
        degrees(one.seen_deg),
        degrees(one.earth_deg),
        degrees(one.travel_deg),
        degrees(one.balance_deg),
        degrees(one.variation_deg + one.deviation_deg),
        degrees(one.left_deg),
        ("" if math.isnan(rate) else degrees(rate)) + (" doubtful" if one.outlier >= OUTLIER else ""),
        _suctions(check.idle_inhg, check.cruise_inhg, home),
        "" if math.isnan(check.run_down_min) else f"{number(check.run_down_min)} min",
    ]


def report_data(judgement: Judgement, log: Log, aircraft: Aircraft, home: Home = NO_HOME) -> dict[str, Any]:
    """All text of the report, ready to be set; typed text is shortened to fit the page."""
    shown = judgement.residuals[-ROWS_SHOWN:]
    earlier = len(judgement.residuals) - len(shown)
    estimate = judgement.estimate
    faults = [[FAULT_NAMES[fit.fault], f"{100.0 * fit.probability:.0f} %"] for fit in judgement.faults]
    indicator, suction = aircraft.heading_indicator, aircraft.suction
    balance = indicator.balance_latitude_deg
    tap = "across the instruments" if suction.gauge_tap == "instruments" else "against the cabin"
    balanced = "none" if balance is None else degrees(balance, 0)
    fitted = (
        f"Drive: {indicator.drive}. Gauge: {tap}. Regulator: {home.suction_words(suction.regulator_inhg)}. "
        f"Latitude nut: {balanced}."
    )
    days = [one.check.time_s for one in judgement.residuals]
    span = f"{home.day(min(days))} to {home.day(max(days))}{_clock(home)}" if days else "no checks"
    return {
        "title": f"Heading indicator of {shortened(judgement.aircraft or aircraft.name, 50)}",
        "subtitle": f"{many(len(judgement.residuals), 'check')}, {span}. {fitted}",
        "verdict": VERDICT_WORDS[judgement.verdict],
        "sentence": typeset(shortened(judgement.sentence, 420)).replace(" deg", "°"),
        "reasons": [home.said(line) for line in _lines(judgement.reasons)],
        "wander": [
            ["in 15 min", degrees(estimate.mean_deg_15min)],
            ["95% interval", f"{degrees(estimate.low_deg_15min)} to {degrees(estimate.high_deg_15min)}"],
            ["more than 3° either way", f"{100.0 * estimate.beyond_limit:.0f} %"],
            ["changing slowly", f"{100.0 * estimate.growing:.0f} %"],
        ],
        "faults": faults,
        "next": home.said(typeset(shortened(judgement.next_observation, 300)).replace(" deg", "°")),
        "rule": typeset(shortened(judgement.rule_of_thumb, 300)).replace(" deg", "°"),
        "rows_title": "The checks, split by cause"
        if earlier <= 0
        else f"The last {len(shown)} checks of {len(judgement.residuals)}",
        "head": [f"Date{_clock(home)}", *HEAD],
        "rows": [_row(one, home) for one in shown],
        "events": first_of([f"{home.day(event.time_s)}: {event.words}" for event in log.events[-3:]], 3, 120),
        "refused_title": many(len(log.refused), "row was", "rows were") + " not understood and not used",
        "refused": first_of(
            [f"{one.where}: {one.wrong}; {one.right}" for one in log.refused], REFUSED_SHOWN, 150
        ),
        "assumed": [home.said(line) for line in _lines(judgement.assumed)],
        "suction": home.suction,
        "cautions": " ".join(judgement.cautions),
        "figure_alt": trend_words(judgement),
    }


def _lines(lines: Sequence[str]) -> list[str]:
    return [typeset(line).replace(" deg", "°") for line in first_of(list(lines), LINES_SHOWN, LONGEST_LINE)]


def upkeep_report_pdf(judgement: Judgement, log: Log, aircraft: Aircraft, home: Home = NO_HOME) -> bytes:
    """The judgement as one page, tagged; the same log gives the same bytes."""
    return pdf(
        ("upkeep_report.typ",),
        report_data(judgement, log, aircraft, home),
        {"figure": trend_svg(judgement, log.events, height=PAPER_HEIGHT)},
        paper=home.paper,
    )


UNDERSTOOD = (
    "minutes",
    "latitude_deg",
    "longitude_deg",
    "indicated_deg",
    "compass_deg",
    "set_compass_deg",
    "groundspeed_kt",
    "track_deg",
    "idle_inhg",
    "cruise_inhg",
    "run_down_min",
)
EXPLAINED = (
    "seen_deg",
    "earth_deg",
    "travel_deg",
    "balance_deg",
    "variation_deg",
    "deviation_deg",
    "left_deg",
    "outlier",
)


def _number(value: float) -> str:
    return "" if math.isnan(value) else f"{round(value, 4) + 0.0:g}"


def _moment(time_s: float) -> str:
    return f"{datetime.fromtimestamp(time_s, UTC):%Y-%m-%dT%H:%M:%SZ}"


def entries_csv(judgement: Judgement, log: Log) -> bytes:
    """Every row of a log: 'judged', 'maintenance' or 'refused', its cells as typed, and the result."""
    cells = [*(one.typed for one in log.checks), *(one.typed for one in log.refused)]
    typed = list(dict.fromkeys(name for row in cells for name in row))
    columns = [
        "row",
        "state",
        *(f"typed_{name}" for name in typed),
        "time_utc",
        "set_utc",
        *UNDERSTOOD,
        *EXPLAINED,
        "words",
    ]
    rows: list[dict[str, str]] = []
    explained = {id(one.check): one for one in judgement.residuals}
    by_row = {one.check.row: one for one in judgement.residuals}
    for check in log.checks:
        one = explained.get(id(check)) or by_row.get(check.row)
        rows.append(
            {
                **{f"typed_{name}": cell for name, cell in check.typed.items()},
                "row": str(check.row),
                "state": "judged" if one else "taken",
                "time_utc": _moment(check.time_s),
                "set_utc": _moment(check.set_s),
                **{name: _number(getattr(check, name)) for name in UNDERSTOOD},
                **{name: _number(getattr(one, name)) for name in EXPLAINED if one},
            }
        )
    rows += [
        {"row": f"{one.row}", "state": "maintenance", "time_utc": _moment(one.time_s), "words": one.words}
        for one in log.events
    ]
    rows += [
        {
            **{f"typed_{name}": cell for name, cell in one.typed.items()},
            "state": "refused",
            "words": f"{one.where}: {one.wrong}; {one.right}",
        }
        for one in log.refused
    ]
    return csv_text(columns, ([row.get(name, "") for name in columns] for row in rows)).encode("utf-8")
