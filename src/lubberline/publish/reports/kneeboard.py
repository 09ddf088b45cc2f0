"""A plan as a card for the knee board: one A5 page, or more on a long route."""

from typing import Any

import numpy as np

from lubberline.flight.home import NO_HOME, Home
from lubberline.publish.figures.axes import Frame, draw_frame, draw_time_axis, value_steps
from lubberline.publish.figures.svg import Drawing, closed_path, document, open_path
from lubberline.publish.pdf import pdf
from lubberline.publish.words import degrees, number, shortened, signed
from lubberline.simulation import CAUTIONS
from lubberline.simulation.flown import cause_name
from lubberline.upkeep.records import Plan, PlannedLeg

WIDTH, HEIGHT = 760.0, 300.0


def plan_svg(plan: Plan, *, theme: str = "light") -> str:
    """The plan as a small SVG document with title and description; `theme` as in `drawn_page.document`."""
    drawing = Drawing()
    top = max(plan.limit_deg * 1.25, *(abs(value) for value in (*plan.low_deg, *plan.high_deg)))
    frame = Frame(52.0, 46.0, WIDTH - 142.0, HEIGHT - 88.0, plan.duration_min * 60.0, -top, top)
    draw_frame(drawing, frame, value_steps(-top, top, 6, plus=True, unit="°"), "")
    drawing.text(
        frame.left,
        20.0,
        "Expected error: above zero reads high, below reads low. Triangle: set it",
        "b",
        size=15,
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
        y = frame.draw_across(drawing, limit, "limit")
        drawing.text(frame.right + 6, y + 5, f"{number(limit, 0)}° limit", "m", size=14)
    for setting in plan.settings:
        x = frame.draw_down(drawing, setting.at_min * 60.0, "setline")
        drawing.path(f"M{x:.1f} {frame.top:.1f}l-5.5 -10h11Z", "mark" if setting.kept else "alarm")
    draw_time_axis(drawing, frame, labels=True)
    return document(
        f"Plan of {plan.title}",
        f"Expected error of the heading indicator over {plan.duration_min:.0f} min, set "
        f"{len(plan.settings)} times, with the 95% band and the limit of "
        f"{plan.limit_deg:g} degrees.",
        (WIDTH, HEIGHT),
        drawing.markup(),
        theme=theme,
    )


def _between_settings(plan: Plan) -> list[tuple[int, int]]:
    """Index ranges of the plan's lines from one setting to the next."""
    starts = np.searchsorted(np.array(plan.time_min), [setting.at_min for setting in plan.settings])
    ends = [*starts[1:].tolist(), len(plan.time_min)]
    return [(int(start), int(end)) for start, end in zip(starts, ends, strict=True)]


MARK = "For teaching only – not for navigation"
# Smaller parts are not named as a leg's main cause.
LEAST_PART_DEG = 0.1
MOST_NOTES = 5
ZONES = {"": "", "caution": "weak", "blackout": "unusable"}


def clock(minutes: float) -> str:
    """Minutes of a flight as hours and minutes."""
    whole = round(minutes)
    return f"{whole // 60}:{whole % 60:02d}"


def heading(value_deg: float) -> str:
    """A heading in three figures."""
    return f"{round(value_deg) % 360:03d}"


def chief_causes(leg: PlannedLeg, most: int = 2) -> str:
    """The causes that matter most on a leg, largest first, in words."""
    parts = sorted(
        ((name, value) for name, value in leg.drift_deg.items() if name != "total"),
        key=lambda pair: -abs(pair[1]),
    )
    words = [f"{cause_name(name)} {degrees(value)}" for name, value in parts if abs(value) >= LEAST_PART_DEG]
    return ", ".join(words[:most])


def _leg(leg: PlannedLeg) -> list[str]:
    return [
        str(leg.number),
        f"{clock(leg.begin_min)}–{clock(leg.end_min)}",
        heading(leg.true_deg),
        heading(leg.magnetic_deg),
        heading(leg.steer_deg),
        f"{signed(leg.drift_deg['total'])} ± {number(1.96 * leg.sd_deg)}",
        chief_causes(leg),
        ZONES[leg.zone],
    ]


def plan_sentences(plan: Plan) -> list[str]:
    """A plan in sentences with degree signs."""
    count = len(plan.settings)
    total = sum(leg.drift_deg["total"] for leg in plan.legs)
    times = "once, before the start" if count == 1 else f"{count} times, the first before the start"
    sure = plan.wander.sd_deg_15min
    return [
        f"Without setting, the card drifts {degrees(total)} in {plan.duration_min:.0f} min on average.",
        f"Set {times}, it stays within {number(plan.limit_deg)}° in 95% of flights."
        if all(setting.kept for setting in plan.settings)
        else f"Set {times}; before a setting marked late, the error may exceed {number(plan.limit_deg)}°.",
        f"Real wander at full rotor speed, without faults, taken as {degrees(plan.wander.mean_deg_15min)} "
        f"in 15 min, standard deviation {number(sure)}°: {plan.wander.source}.",
    ]


def kneeboard_pdf(plan: Plan, home: Home = NO_HOME) -> bytes:
    """A plan as a card of half a page, marked for teaching only, with its day at home."""
    data: dict[str, Any] = {
        "title": shortened(plan.title, 70),
        "subtitle": "  ·  ".join(
            (
                shortened(plan.aircraft, 40),
                home.day(plan.start_utc),
                f"{plan.duration_min:.0f} min",
                f"headings set to {plan.reference} north",
            )
        ),
        "mark": MARK,
        "sentences": plan_sentences(plan),
        "settings": [
            {
                "at": clock(setting.at_min),
                "words": "before the start"
                if setting.at_min == 0.0
                else f"leg {setting.leg}, error by then {degrees(setting.expected_deg)} "
                f"± {number(1.96 * setting.sd_deg)}°",
                "late": not setting.kept,
                "zone": ZONES[setting.zone],
            }
            for setting in plan.settings
        ],
        "legs": [_leg(leg) for leg in plan.legs],
        "notes": [shortened(note, 240).replace(" deg", "°") for note in plan.notes[-MOST_NOTES:]],
        "figure_alt": f"Expected error over the flight, 95% interval; limit {plan.limit_deg:g} degrees.",
        "cautions": " ".join(CAUTIONS),
        "field": plan.field_model,
    }
    return pdf(("kneeboard.typ",), data, {"figure": plan_svg(plan)}, paper=home.paper)
