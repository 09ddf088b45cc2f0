"""Dials to be read."""

import math
import re
from functools import cache

from lubberline.questions.figures import heading_dial
from lubberline.questions.models import Belief, Drawn, ItemModel, Words, Worked, Wrong, notation


def _dial(d: Drawn) -> Worked:
    heading = d["heading_deg"]
    ten = 10.0 * math.floor(heading / 10.0)
    return Worked(
        heading,
        (
            Wrong("dial-read-backwards", 2.0 * (ten + 5.0) - heading),
            Wrong("dial-read-at-the-foot", heading + 180.0),
            Wrong("dial-read-at-the-side", heading + 90.0),
        ),
        {"heading": notation.heading(heading)},
        figure=heading_dial(heading),
    )


@cache
def read_dial_deg(svg: str) -> float:
    """The heading of a drawn dial: minus the turn of the letter N."""
    turned = re.search(r"rotate\((-?[\d.]+) [\d.]+ [\d.]+\)\">N<", svg)
    return -float(turned[1]) % 360.0 if turned else math.nan


def _dial_second(d: Drawn, believed: Belief) -> float:
    read = believed.step("figures of the dial", read_dial_deg(heading_dial(d["heading_deg"]).svg))
    return believed.step("place on the dial", read) % 360.0


DIAL = ItemModel(
    id="setting-read-the-dial",
    pictured=True,
    topic="setting",
    level="recall",
    kind="choice",
    draw=lambda draw: {"heading_deg": draw.step(0.0, 350.0, 10.0) + draw.pick((2.0, 3.0, 7.0, 8.0))},
    work=_dial,
    second=_dial_second,
    second_way="the drawing itself: how far its N is turned",
    words=Words(
        stem="The drawing shows a heading indicator. Which heading does it read?",
        reason="The card is read under the lubber line at the top, and its headings increase clockwise: "
        "{heading}.",
        feedback={
            "dial-read-backwards": "Clockwise from the mark left of the lubber line, the heading is {key}.",
            "dial-read-at-the-foot": "{this} is at the bottom of the dial; {key} is under the lubber line.",
            "dial-read-at-the-side": "{this} is at the side of the dial; {key} is under the lubber line.",
        },
    ),
    source="common practice, no source",
    steps=1,
    notation=notation.HEADING,
    apart=3.0,
    agree=0.1,
    least=3,
)


MODELS = (DIAL,)
