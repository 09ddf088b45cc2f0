"""The parts of drift: what flying east or west adds, and what remains as the instrument's own."""

import math

from lubberline.questions.models import (
    TRUTH,
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    facts,
    laws_of,
    notation,
    rates,
    statements_model,
    travel_deg_h,
    under,
    wander_deg_h,
)
from lubberline.questions.models.wander import KERNEL, PERFECT, THEORY, earth_facts
from lubberline.questions.panel_figures import then_and_now

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


def _as_fast_as_still(d: Drawn) -> bool:
    return abs(wander_deg_h(d["latitude_deg"], d["east_kt"]) - wander_deg_h(d["latitude_deg"])) < 0.1


def _way_facts(d: Drawn) -> dict[str, str]:
    return {
        **earth_facts(d["latitude_deg"]),
        "way": d.get("way", "east" if d["east_kt"] > 0.0 else "west"),
        "whole": notation.rate(wander_deg_h(d["latitude_deg"], d["east_kt"])),
    }


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
            _as_fast_as_still,
            _same_as_still,
            "In the aircraft that stands still the reading {rate}; in the one that flies {way} it {whole}.",
            _way_facts,
        ),
        Statement(
            "parked",
            "A perfect heading indicator without a latitude nut drifts as fast in an aircraft that "
            "stands still at {latitude} as in one that flies due {way} there at 200 kt.",
            ("journey-adds-nothing", "no-drift-when-parked", "journey-north-counts"),
            _on_a_way,
            _as_fast_as_still,
            _same_as_still,
            "A heading indicator drifts in a parked aircraft too: there the reading {rate}; in the aircraft "
            "that flies {way} it {whole}.",
            _way_facts,
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
            _way_facts,
        ),
    ),
    source=THEORY,
    second_way=KERNEL,
    steps=1,
)


LIMIT_DEG_15MIN = 3.0
SOURCE = "allowance without apparent wander: FAA-H-8083-15B, Instrument Flying Handbook, chapter 5"
PERIOD_MIN = 15.0


def _facts(d: Drawn) -> dict[str, str]:
    latitude = d["latitude_deg"]
    earth = wander_deg_h(latitude) * PERIOD_MIN / 60.0
    return {
        **earth_facts(latitude),
        "observed": notation.change(d["observed_deg"], 1),
        "earth": notation.change(earth, 1),
        "left": notation.change(d["observed_deg"] - earth, 1),
    }


def _draw_observed(draw: Draw) -> dict[str, float]:
    latitude = draw.latitude_deg(30, 70, 5)
    real = draw.signed(0.5, 2.0, 0.5) if draw.random.random() < 0.5 else draw.signed(4.5, 7.0, 0.5)
    return {
        "latitude_deg": latitude,
        "observed_deg": round(wander_deg_h(latitude) * PERIOD_MIN / 60.0 + real, 1),
    }


def _left(d: Drawn) -> Worked:
    latitude, observed = d["latitude_deg"], d["observed_deg"]
    ideas = ("no-earth-wander", "same-wander-everywhere", "rises-in-the-north", "falls-in-both-hemispheres")
    return Worked(
        observed - wander_deg_h(latitude) * PERIOD_MIN / 60.0,
        under(ideas, lambda laws: observed - wander_deg_h(latitude, laws=laws) * PERIOD_MIN / 60.0),
        _facts(d),
        signs=2,
        figure=then_and_now(10.0 * (abs(latitude) % 36.0), observed, PERIOD_MIN),
    )


LEFT = ItemModel(
    id="wander-real-left-over",
    pictured=True,
    topic="wander",
    level="apply",
    kind="choice",
    draw=_draw_observed,
    work=_left,
    second=lambda d, believed: (
        d["observed_deg"] - rates(d["latitude_deg"], believed=believed).earth_deg_h / 4.0
    ),
    second_way=KERNEL,
    words=Words(
        stem="An aircraft stands still at {latitude} on a constant heading. The drawing shows what its "
        "heading indicator, which has no latitude nut, reads at first and a quarter of an hour later. About "
        "how would the reading change in that time from real wander (friction and imbalance) alone?",
        reason="The reading {observed}. In a quarter of an hour at {latitude} the reading {earth} from "
        "apparent wander alone. The rest is real wander: from it the reading {key}.",
        feedback=dict.fromkeys(
            ("no-earth-wander", "same-wander-everywhere", "rises-in-the-north", "falls-in-both-hemispheres"),
            "In a quarter of an hour at {latitude} the reading {earth} from apparent wander alone.",
        ),
    ),
    source=THEORY,
    steps=3,
    notation=notation.CHANGE_TENTHS,
    apart=1.5,
    agree=0.1,
    most=2,
    tells=facts("term real-wander"),
)

OPTIONS = {"good": "within the allowance", "bad": "beyond the allowance"}


def _verdict_by(real_deg: float) -> str:
    return "good" if abs(real_deg) <= LIMIT_DEG_15MIN else "bad"


def _verdict(d: Drawn) -> Worked:
    real = d["observed_deg"] - wander_deg_h(d["latitude_deg"]) * PERIOD_MIN / 60.0
    key = _verdict_by(real)
    earth = wander_deg_h(d["latitude_deg"], laws=laws_of("rises-in-the-north")) * PERIOD_MIN / 60.0
    believed = (
        Wrong("three-degrees-means-worn", _verdict_by(d["observed_deg"])),
        Wrong("rises-in-the-north", _verdict_by(d["observed_deg"] - earth)),
    )
    return Worked(key, tuple(wrong for wrong in believed if wrong.value != key), _facts(d), signs=1)


def _verdict_second(d: Drawn, believed: Belief) -> str:
    """By what the student takes for the instrument's own, with the Earth's share that the student expects."""
    expected, true = (
        one.seen_drift_deg_15min - one.drift_cruise_deg_15min for one in (believed.seen(), TRUTH.seen())
    )
    earth_deg_h = rates(d["latitude_deg"], believed=believed).earth_deg_h
    own_deg = d["observed_deg"] - earth_deg_h / 4.0 * expected / true
    return "bad" if abs(own_deg) > 3.0 else "good"


def _draw_verdict(draw: Draw) -> dict[str, float]:
    """Observations whose raw number gives the right verdict as often as the wrong one."""
    misleads = draw.pick((True, False))
    while True:
        drawn = _draw_observed(draw)
        real = drawn["observed_deg"] - wander_deg_h(drawn["latitude_deg"]) * PERIOD_MIN / 60.0
        whole = drawn["observed_deg"]
        if (_verdict_by(real) != _verdict_by(whole)) == misleads and abs(abs(whole) - LIMIT_DEG_15MIN) > 0.2:
            return drawn


VERDICT = ItemModel(
    id="wander-verdict",
    topic="wander",
    level="judge",
    kind="choice",
    draw=_draw_verdict,
    work=_verdict,
    second=_verdict_second,
    second_way=KERNEL,
    words=Words(
        stem="An aircraft stands still at {latitude}, engine running, on a constant heading. In a quarter "
        "of an hour the reading of its heading indicator, which has no latitude nut, {observed}. The "
        "usual allowance for real wander, which leaves out apparent wander, is 3° in a quarter of an hour. "
        "What is the real wander of this instrument?",
        reason="From apparent wander alone the reading {earth}. The rest is the instrument's own real "
        "wander: from it the reading {left}.",
        feedback=dict.fromkeys(
            ("three-degrees-means-worn", "rises-in-the-north"),
            "From apparent wander alone the reading {earth}. The rest is the instrument's own real wander: "
            "from it the reading {left}.",
        ),
        options=OPTIONS,
    ),
    source=SOURCE,
    steps=4,
    least=1,
    most=1,
)


MODELS = (JOURNEY, BOTH, CLAIMS, LEFT, VERDICT)
