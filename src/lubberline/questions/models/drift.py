"""The parts of drift: what flying east or west adds."""

import math

from lubberline.questions.models import (
    TAUGHT_EARTH_DEG_H,
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    notation,
    rates,
    statements_model,
    travel_deg_h,
    under,
    wander_deg_h,
)
from lubberline.questions.models.wander import KERNEL, PERFECT, THEORY, earth_facts

JOURNEY_FEEDBACK = {
    "journey-adds-nothing": "On a flight {way} at {knots} kt at {latitude}, transport wander is {knots} / "
    "60 × tan {latitude} = {size}° an hour.",
    "journey-the-other-way": "On a flight {way} at {latitude} the reading {journey} from transport wander.",
    "same-wander-everywhere": "At {latitude} apparent wander is 15 × {sine} = {rate_size}° an hour.",
    "no-wander-at-poles": "At {latitude} the sine is {sine}, so apparent wander is {rate_size}° an hour.",
    "journey-same-at-every-latitude": "At {latitude} the tangent is {tangent}, so transport wander is "
    "{size}° an hour.",
    "rises-in-the-north": "At {latitude} the reading {rate} from apparent wander alone.",
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
        "east_kt": draw.signed(100, 200, 10),
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


def _journey_second(d: Drawn, believed: Belief) -> float:
    found = rates(d["latitude_deg"], d["east_kt"], believed=believed)
    by_quantity = {"transport-wander": found.travel_deg_h, "apparent-wander": found.earth_deg_h}
    return believed.of(by_quantity, "transport-wander")


JOURNEY = ItemModel(
    id="wander-transport-rate",
    topic="wander",
    level="apply",
    kind="choice",
    draw=_draw_journey,
    work=_journey,
    second=_journey_second,
    second_way=KERNEL,
    words=Words(
        stem="An aircraft flies due {way} at {latitude} with a ground speed of {knots} kt. How does the "
        "reading of its heading indicator change because of transport wander alone?",
        reason="Transport wander is ground speed east or west / 60 × tan(latitude) = {knots} / 60 × "
        "{tangent} = {size}° an hour. On a flight {way}, {side} of the equator, the reading {journey}.",
        feedback={
            "journey-adds-nothing": JOURNEY_FEEDBACK["journey-adds-nothing"],
            "journey-the-other-way": JOURNEY_FEEDBACK["journey-the-other-way"],
            "journey-same-at-every-latitude": JOURNEY_FEEDBACK["journey-same-at-every-latitude"],
            "transport-wander-is-the-earth": "From apparent wander alone the reading {rate}; from transport "
            "wander alone it {journey}.",
        },
    ),
    source=THEORY,
    steps=3,
    notation=notation.RATE,
    apart=0.7,
    agree=0.2,
    crossed=True,
    unoffered=("journey-adds-nothing",),
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
    second=lambda d, believed: rates(d["latitude_deg"], d["east_kt"], believed=believed).total_deg_h,
    second_way=KERNEL,
    words=Words(
        stem="An aircraft flies due {way} at {latitude} with a ground speed of {knots} kt. "
        + PERFECT
        + " How does its reading change?",
        reason="From apparent wander (15 × sin {latitude}) the reading {rate}. From transport wander "
        "({knots} / 60 × tan {latitude}) it {journey}. In total it {sum}.",
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


def _cancels_second(d: Drawn, believed: Belief) -> float:
    found = rates(d["latitude_deg"], -100.0, believed=believed)
    return 100.0 * abs(found.earth_deg_h / found.travel_deg_h)


CANCELS = ItemModel(
    id="wander-cancelled-by-speed",
    topic="wander",
    level="judge",
    kind="number",
    draw=lambda draw: {"latitude_deg": draw.latitude_deg(55, 80)},
    work=_cancels,
    second=_cancels_second,
    second_way="the engine's apparent wander over its transport wander at 100 kt west",
    words=Words(
        stem="An aircraft flies due west at {latitude}. At what ground speed, in knots, would transport "
        "wander just cancel the apparent wander of its heading indicator?",
        reason="Apparent wander is 15 × {sine} = {rate_size}° an hour; transport wander at a ground speed V "
        "is V / 60 × {tangent}. The two are equal at about {key}: flying west at that speed cancels the "
        "rotation of the Earth.",
        feedback={
            "same-wander-everywhere": "At {latitude} apparent wander is {rate_size}° an hour, not 15° an "
            "hour.",
            "no-wander-at-poles": "At {latitude} apparent wander is {rate_size}° an hour.",
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


PLACES = (-70.0, -50.0, -30.0, -10.0, 0.0, 10.0, 30.0, 50.0, 70.0)


def _still(draw: Draw) -> dict[str, float]:
    return {"latitude_deg": draw.latitude_of(tuple(place for place in PLACES if place))}


# Ground speed to the east and to the north on each way.
WAYS_KT = {"north": (0.0, 200.0), "east": (200.0, 0.0), "south": (0.0, -200.0)}


def _on_a_way(draw: Draw) -> dict[str, float | str]:
    way = draw.pick(tuple(WAYS_KT))
    return {**_still(draw), "way": way, "east_kt": WAYS_KT[way][0]}


def _same_as_still(d: Drawn, believed: Belief) -> bool:
    """Whether a student expects the same rate in an aircraft on that way as in one that stands still."""
    flying = rates(d["latitude_deg"], *WAYS_KT[d["way"]], believed=believed).total_deg_h
    return abs(flying - rates(d["latitude_deg"], believed=believed).total_deg_h) < 0.1


CLAIMS = statements_model(
    id="wander-claims",
    topic="wander",
    level="recall",
    claims=(
        Statement(
            "falls",
            "A perfect heading indicator without a latitude nut is in an aircraft that stands still at "
            "{latitude}. Its reading falls as time goes on.",
            ("falls-in-both-hemispheres", "rises-in-the-north", "no-earth-wander"),
            _still,
            lambda d: wander_deg_h(d["latitude_deg"]) < 0.0,
            lambda d, believed: rates(d["latitude_deg"], believed=believed).earth_deg_h < 0.0,
            "At {latitude} its reading {rate}.",
            lambda d: earth_facts(d["latitude_deg"]),
        ),
        Statement(
            "north",
            "At {latitude} a perfect heading indicator drifts at the same rate in an aircraft that flies "
            "due {way} at 200 kt as in one that stands still.",
            ("journey-adds-nothing", "journey-north-counts"),
            _on_a_way,
            lambda d: (
                abs(wander_deg_h(d["latitude_deg"], d["east_kt"]) - wander_deg_h(d["latitude_deg"])) < 0.1
            ),
            _same_as_still,
            "Only movement east or west causes transport wander. In the aircraft that stands still the "
            "reading {rate}; in the one that flies {way} it {whole}.",
            lambda d: {
                **earth_facts(d["latitude_deg"]),
                "way": d["way"],
                "whole": notation.rate(wander_deg_h(d["latitude_deg"], d["east_kt"])),
            },
        ),
        Statement(
            "parked",
            "A perfect heading indicator without a latitude nut drifts as fast in an aircraft that "
            "stands still at {latitude} as in one that flies due {way} there at 200 kt.",
            ("journey-adds-nothing", "no-drift-when-parked", "journey-north-counts"),
            _on_a_way,
            lambda d: (
                abs(wander_deg_h(d["latitude_deg"], d["east_kt"]) - wander_deg_h(d["latitude_deg"])) < 0.1
            ),
            _same_as_still,
            "A heading indicator drifts in a parked aircraft too: there the reading {rate}; in the aircraft "
            "that flies {way} it {whole}.",
            lambda d: {
                **earth_facts(d["latitude_deg"]),
                "way": d["way"],
                "whole": notation.rate(wander_deg_h(d["latitude_deg"], d["east_kt"])),
            },
        ),
        Statement(
            "slower",
            "At {latitude} a perfect heading indicator without a latitude nut drifts more slowly while "
            "the aircraft flies due {way} at 200 kt than while it stands still.",
            ("journey-the-other-way",),
            lambda draw: {**_still(draw), "east_kt": draw.pick((200.0, -200.0))},
            lambda d: (
                abs(wander_deg_h(d["latitude_deg"], d["east_kt"])) < abs(wander_deg_h(d["latitude_deg"]))
            ),
            lambda d, believed: (
                abs(rates(d["latitude_deg"], d["east_kt"], believed=believed).total_deg_h)
                < abs(rates(d["latitude_deg"], believed=believed).total_deg_h)
            ),
            "While the aircraft stands still, the reading {rate}; while it flies {way}, the reading {whole}.",
            lambda d: {
                **earth_facts(d["latitude_deg"]),
                "way": "east" if d["east_kt"] > 0.0 else "west",
                "whole": notation.rate(wander_deg_h(d["latitude_deg"], d["east_kt"])),
            },
        ),
    ),
    source=THEORY,
    second_way=KERNEL,
    steps=1,
)


MODELS = (JOURNEY, BOTH, CANCELS, CLAIMS)
