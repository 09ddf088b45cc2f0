"""Reading the heading indicator's dial, and steering by one whose error is known."""

from __future__ import annotations

import math
import re
from functools import cache

from lubberline.angles import wrapped_deg
from lubberline.questions import notation
from lubberline.questions.figures import heading_dial
from lubberline.questions.model import Drawn, ItemModel, Words, Worked, Wrong


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
def _read_dial(svg: str) -> float:
    """The heading of a drawn dial: minus the turn of the letter N."""
    turned = re.search(r"rotate\((-?[\d.]+) [\d.]+ [\d.]+\)\">N<", svg)
    return -float(turned[1]) % 360.0 if turned else math.nan


DIAL = ItemModel(
    id="setting-read-the-dial",
    topic="setting",
    level="recall",
    kind="choice",
    draw=lambda draw: {"heading_deg": draw.step(0.0, 350.0, 10.0) + draw.pick((2.0, 3.0, 7.0, 8.0))},
    work=_dial,
    second=lambda d: _read_dial(heading_dial(d["heading_deg"]).svg),
    second_way="the drawing itself: how far its N is turned",
    words=Words(
        stem="The drawing shows a heading indicator. Which heading does it read?",
        reason="The card is read under the lubber line at the top, and its headings rise clockwise: "
        "{heading}.",
        feedback={
            "dial-read-backwards": "Counted clockwise from the mark on the left of the lubber line it is "
            "{key}.",
            "dial-read-at-the-foot": "{this} stands at the foot of the dial; under the lubber line is {key}.",
            "dial-read-at-the-side": "{this} stands at the side of the dial; under the lubber line is {key}.",
        },
    ),
    source="common practice, no source",
    steps=1,
    notation=notation.HEADING,
    apart=3.0,
    agree=0.1,
    least=3,
)


def _steer(d: Drawn) -> Worked:
    wanted, error = d["wanted_deg"], d["error_deg"]
    return Worked(
        wanted + error,
        (
            Wrong("known-error-applied-backwards", wanted - error),
            Wrong("known-error-left-out", wanted),
            Wrong("error-counted-twice", wanted + 2.0 * error),
        ),
        {"wanted": notation.heading(wanted), "error": notation.error(error)},
        signs=1,
    )


STEER = ItemModel(
    id="setting-steer-with-known-error",
    topic="setting",
    level="apply",
    kind="choice",
    draw=lambda draw: {"wanted_deg": draw.heading_deg(), "error_deg": draw.signed(3, 9, 1)},
    work=_steer,
    second=lambda d: next(
        float(reading % 360 or 360)
        for reading in range(1, 361)
        if abs(wrapped_deg(reading - d["error_deg"] - d["wanted_deg"])) < 0.5
    ),
    second_way="every reading tried: the one whose heading, without the error, is the one wanted",
    words=Words(
        stem="A check shows that the heading indicator reads {error}, and for the moment it cannot be set. "
        "What must it read for the aircraft to fly a magnetic heading of {wanted}?",
        reason="It reads {error}, so while the aircraft heads {wanted} it reads {key}.",
        feedback={
            "known-error-applied-backwards": "An instrument that reads {error} shows {key} on {wanted}.",
            "known-error-left-out": "With {error}, a reading of {wanted} would be another heading.",
            "error-counted-twice": "The error comes in once: {key}.",
        },
    ),
    source="common practice, no source",
    steps=2,
    notation=notation.HEADING,
    apart=2.0,
    agree=0.1,
)


MODELS = (DIAL, STEER)
