"""The deviation card of a swing as a PDF: the card to cut out, and the sheet of its swing."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from lubberline.flight.home import Paper
from lubberline.instruments.compass.deviation import deviation_deg
from lubberline.publish.figures.axes import Frame, draw_frame, value_steps
from lubberline.publish.figures.svg import Drawing, document, open_path
from lubberline.publish.pdf import pdf
from lubberline.publish.words import degrees, number, shortened
from lubberline.simulation import CAUTIONS
from lubberline.upkeep.swing import Swing, why_they_differ

WIDTH, HEIGHT = 760.0, 300.0
# The second swing of a sheet, radios on, is drawn thinner, with open points.
LOOKS = (("total", "dot"), ("ink", "open"))
LEAST_SCALE_DEG = 3.0


def deviation_svg(swings: Mapping[str, Swing], names: Mapping[str, str]) -> str:
    """The curves over the compass heading, one for each swing; `names` are their labels."""
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
        x = frame.draw_down(drawing, float(heading), "grid")
        drawing.text(x, frame.bottom + 19, f"{heading:03d}", "m", size=14, anchor="middle")
    if limit <= scale:
        for side in (-limit, limit):
            frame.draw_across(drawing, side, "limit")
    around = np.arange(0.0, 361.0, 3.0)
    for (line, point), swing in zip(LOOKS, swings.values(), strict=False):
        drawing.path(open_path(frame.x(around), frame.y(deviation_deg(around, swing.fitted))), line)
        for pair in swing.pairs:
            x, y = frame.x(pair.compass_deg), frame.y(pair.deviation_deg)
            drawing.add(f'<circle class="{point}" cx="{x:.1f}" cy="{y:.1f}" r="4.5"/>')
    words = f"Deviation measured and fitted on all headings; greatest {greatest:.1f} degrees."
    return document("Deviation", words, (WIDTH, HEIGHT), drawing.markup())


RADIOS = {"on": "radios on", "off": "radios off", "": ""}
LONGEST_NAME = 40
MOST_PAIRS = 24
CARD_CAUTION = (
    "For teaching only. A card for an aircraft is made and signed by a licensed person after a swing."
)


def heading(value_deg: float) -> str:
    """A heading on a card: three figures, 360 as 000."""
    return f"{round(value_deg) % 360:03d}"


def _card(swings: Mapping[str, Swing]) -> dict[str, Any]:
    columns = [RADIOS[key] for key in swings]
    rows = [
        [heading(line.for_deg), *(heading(swing.card[place].steer_deg) for swing in swings.values())]
        for place, line in enumerate(next(iter(swings.values())).card)
    ]
    return {"columns": [words or "steer" for words in columns], "rows": rows}


def _coefficients(swing: Swing) -> list[list[str]]:
    return [
        [name, degrees(fitted, 2), "–" if error is None else f"± {number(error, 2)}°", degrees(by_hand, 2)]
        for name, fitted, error, by_hand in swing.coefficients
    ]


def _sheet(key: str, swing: Swing) -> dict[str, Any]:
    rows = [
        [
            number(pair.magnetic_deg),
            number(pair.compass_deg),
            degrees(pair.deviation_deg),
            degrees(pair.fitted_deg),
            degrees(pair.residual_deg, 2) + (" check" if pair.doubtful else ""),
        ]
        for pair in swing.pairs[:MOST_PAIRS]
    ]
    met = "is within" if swing.within_limit else "exceeds"
    more = len(swing.pairs) - len(rows)
    return {
        "title": RADIOS[key].capitalize() or "Swing",
        "rows": rows,
        "more": f"and {more} more pairs" if more else "",
        "coefficients": _coefficients(swing),
        "limit": (
            f"The greatest deviation, {number(swing.greatest_deg)}° on compass heading "
            f"{heading(swing.greatest_at_deg)}, {met} the limit of {number(swing.limit_deg)}° entered."
        ),
        "fit": (
            f"Residuals: {number(swing.rms_deg, 2)}° root mean square, "
            f"at most {number(swing.largest_residual_deg, 2)}°."
        ),
        "differ": why_they_differ(swing).replace(" deg", "°") or f"Not worked by hand: {swing.by_hand_note}.",
    }


def deviation_card_pdf(
    swings: Mapping[str, Swing], aircraft: str = "", swung_on: str = "", paper: Paper = "A4"
) -> bytes:
    """One page: the card to cut out, and below it pairs, coefficients, residuals and the limit.

    Args:
        swings: by 'on' and 'off' for the radios, or one under ''.
        aircraft: its name; '' leaves a line to write it on.
        swung_on: the day as text; '' leaves a line.
        paper: its size.
    """
    ordered = {key: swings[key] for key in ("off", "on", "") if key in swings}
    name = shortened(aircraft, LONGEST_NAME)
    data = {
        "title": f"Compass deviation card{f', {name}' if name else ''}",
        "aircraft": name,
        "date": shortened(swung_on, LONGEST_NAME),
        "card": _card(ordered),
        "caution": CARD_CAUTION,
        "sheets": [_sheet(key, swing) for key, swing in ordered.items()],
        "notes": [
            "Deviation = magnetic heading − compass reading, east positive. Steer = For − deviation.",
            "A: lubber line out of line. B and C: the aircraft's own magnetism along and across it; they "
            "grow where the Earth's horizontal field is weaker, so the card is valid near the place of "
            "the swing. "
            "D and E: soft iron.",
            "Limit for comparison: 10° on any heading (14 CFR 25.1327, and 23.1327 as it stood).",
        ],
        "curve_alt": "Deviation over the compass heading: the pairs, and the fitted curve.",
        "cautions": " ".join(CAUTIONS),
    }
    return pdf(("deviation_card.typ",), data, {"curve": deviation_svg(ordered, RADIOS)}, paper=paper)
