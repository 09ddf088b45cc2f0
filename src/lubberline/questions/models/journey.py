"""Transport wander: what a journey east or west adds."""

from __future__ import annotations

import math

from lubberline.instruments.heading_indicator.gyro import wander
from lubberline.questions import notation
from lubberline.questions.blackboard import TAUGHT_EARTH_DEG_H, travel_deg_h, under, wander_deg_h
from lubberline.questions.draws import Draw
from lubberline.questions.model import Drawn, ItemModel, Words, Worked, Wrong
from lubberline.questions.models.wander import KERNEL, PERFECT, THEORY, earth_facts, engine_deg_h

JOURNEY_FEEDBACK = {
    "journey-adds-nothing": "Flying {way} at {knots} kt at {latitude}, {knots} / 60 × tan {latitude} is "
    "{size}° an hour.",
    "journey-the-other-way": "Flying {way} at {latitude} the journey's part {journey}.",
    "same-wander-everywhere": "At {latitude} the Earth's part is 15 × {sine}.",
    "no-wander-at-poles": "At {latitude} the sine is {sine}.",
    "journey-same-at-every-latitude": "At {latitude} the tangent is {tangent}.",
    "rises-in-the-north": "At {latitude} the Earth alone: the reading {rate}.",
}


def _journey_facts(latitude_deg: float, east_kt: float) -> dict[str, str]:
    travel = travel_deg_h(latitude_deg, east_kt)
    return {
        **earth_facts(latitude_deg),
        "way": "east" if east_kt > 0.0 else "west",
        "knots": f"{abs(east_kt):.0f}",
        "tangent": f"{abs(math.tan(math.radians(latitude_deg))):.2f}",
        "size": f"{abs(travel):.1f}",
        "journey": notation.rate(travel),
        "sum": notation.rate(wander_deg_h(latitude_deg, east_kt)),
    }


def _draw_journey(draw: Draw) -> dict[str, float]:
    return {
        "latitude_deg": draw.latitude_deg(40, 70, 5),
        "east_kt": draw.signed(120, 300, 20),
    }


def _journey(d: Drawn) -> Worked:
    latitude, east = d["latitude_deg"], d["east_kt"]
    travel = travel_deg_h(latitude, east)
    return Worked(
        travel,
        (
            Wrong("journey-adds-nothing", 0.0),
            Wrong("journey-the-other-way", -travel),
            Wrong("transport-wander-is-the-earth", wander_deg_h(latitude)),
            *under(("journey-same-at-every-latitude",), lambda laws: travel_deg_h(latitude, east, laws)),
        ),
        _journey_facts(latitude, east),
        signs=int(latitude < 0.0) + int(east < 0.0),
    )


JOURNEY = ItemModel(
    id="wander-transport-rate",
    topic="wander",
    level="apply",
    kind="choice",
    draw=_draw_journey,
    work=_journey,
    second=lambda d: (
        wander(d["latitude_deg"], abs(d["east_kt"]), 90.0 if d["east_kt"] > 0.0 else 270.0).travel_deg_h
    ),
    second_way=KERNEL,
    words=Words(
        stem="An aircraft flies due {way} at {latitude} with a ground speed of {knots} kt. What does its "
        "transport wander alone do to the reading of the heading indicator?",
        reason="Transport wander is ground speed east or west / 60 × tan(latitude): {knots} / 60 × "
        "{tangent} = {size}° an hour. Flying {way} on the {side} side of the equator the reading "
        "{journey}.",
        feedback={
            "journey-adds-nothing": JOURNEY_FEEDBACK["journey-adds-nothing"],
            "journey-the-other-way": JOURNEY_FEEDBACK["journey-the-other-way"],
            "journey-same-at-every-latitude": JOURNEY_FEEDBACK["journey-same-at-every-latitude"],
            "transport-wander-is-the-earth": "The Earth alone: the reading {rate}. The journey alone: the "
            "reading {journey}.",
        },
    ),
    source=THEORY,
    steps=3,
    notation=notation.RATE,
    apart=0.7,
    agree=0.2,
    least=3,
)


def _both(d: Drawn) -> Worked:
    latitude, east = d["latitude_deg"], d["east_kt"]
    ideas = (
        "journey-adds-nothing",
        "journey-the-other-way",
        "rises-in-the-north",
        "no-wander-at-poles",
        "same-wander-everywhere",
        "journey-same-at-every-latitude",
    )
    return Worked(
        wander_deg_h(latitude, east),
        under(ideas, lambda laws: wander_deg_h(latitude, east, laws=laws)),
        _journey_facts(latitude, east),
        signs=1 + int(latitude < 0.0) + int(east < 0.0),
    )


BOTH = ItemModel(
    id="wander-on-a-leg",
    topic="wander",
    level="apply",
    kind="choice",
    draw=_draw_journey,
    work=_both,
    second=lambda d: engine_deg_h(d["latitude_deg"], d["east_kt"]),
    second_way=KERNEL,
    words=Words(
        stem="An aircraft flies due {way} at {latitude} with a ground speed of {knots} kt. "
        + PERFECT
        + " What does its reading do?",
        reason="The Earth's turning alone: the reading {rate}. The journey alone ({knots} / 60 × tan "
        "{latitude}): the reading {journey}. Together the reading {sum}.",
        feedback=JOURNEY_FEEDBACK,
    ),
    source=THEORY,
    steps=4,
    notation=notation.RATE,
    apart=0.7,
    agree=0.3,
    least=3,
)


def _cancels(d: Drawn) -> Worked:
    latitude = d["latitude_deg"]
    circle_kt = TAUGHT_EARTH_DEG_H * 60.0
    speed = circle_kt * math.cos(math.radians(latitude))
    return Worked(
        speed,
        (
            Wrong("same-wander-everywhere", circle_kt / math.tan(math.radians(abs(latitude)))),
            Wrong("no-wander-at-poles", speed / math.tan(math.radians(abs(latitude)))),
        ),
        {
            **earth_facts(latitude),
            "cosine": f"{math.cos(math.radians(latitude)):.2f}",
            "tangent": f"{math.tan(math.radians(abs(latitude))):.2f}",
        },
        signs=1,
    )


CANCELS = ItemModel(
    id="wander-cancelled-by-speed",
    topic="wander",
    level="judge",
    kind="number",
    draw=lambda draw: {"latitude_deg": draw.latitude_deg(55, 80)},
    work=_cancels,
    second=lambda d: abs(
        wander(d["latitude_deg"]).earth_deg_h / wander(d["latitude_deg"], 100.0, 270.0).travel_deg_h * 100.0
    ),
    second_way="the engine's apparent wander over its transport wander at 100 kt west",
    words=Words(
        stem="An aircraft flies due west at {latitude}. At what ground speed, in knots, would transport "
        "wander just cancel the apparent wander of its heading indicator?",
        reason="The Earth gives 15 × {sine} = {rate_size}° an hour, a ground speed V gives V / 60 × "
        "{tangent}. They are equal at about {key}: flying west that fast undoes the turning of the "
        "Earth.",
        feedback={
            "same-wander-everywhere": "At {latitude} the Earth's part is {rate_size}° an hour, not 15°.",
            "no-wander-at-poles": "At {latitude} the Earth's part is {rate_size}° an hour.",
        },
    ),
    source=THEORY,
    steps=4,
    notation=notation.KNOTS,
    apart=30.0,
    agree=8.0,
    tolerance=12.0,
    least=1,
)

MODELS = (JOURNEY, BOTH, CANCELS)
