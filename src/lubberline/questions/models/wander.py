"""Apparent and transport wander as sums: rates, changes, readings, times, places."""

import math

from lubberline.questions.blackboard import TAUGHT_EARTH_DEG_H
from lubberline.questions.models import (
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Words,
    Worked,
    Wrong,
    latitude_of_rate,
    notation,
    rates,
    under,
    wander_deg_h,
)
from lubberline.questions.panel_figures import then_and_now

THEORY = "earth rate and earth transport precession: AFPAM 11-216, Air Navigation (2001), section 14.18"
KERNEL = "the engine's precession at a place: sidereal rate, WGS 84"
PERFECT = "The heading indicator has no friction and no latitude nut."
EARTH_IDEAS = (
    "same-wander-everywhere",
    "no-wander-at-poles",
    "falls-in-both-hemispheres",
    "no-earth-wander",
    "rises-in-the-north",
    "wander-straight-with-latitude",
)
# Those that make a difference where only the size is asked for.
SIZE_IDEAS = (
    "same-wander-everywhere",
    "no-wander-at-poles",
    "no-earth-wander",
    "wander-straight-with-latitude",
)
EARTH_FEEDBACK = {
    "same-wander-everywhere": "At {latitude} the rate is 15 × {sine} = {rate_size}° an hour.",
    "no-wander-at-poles": "At {latitude} the sine is {sine}, so the rate is {rate_size}° an hour.",
    "falls-in-both-hemispheres": "At {latitude} the reading {rate}.",
    "no-earth-wander": "At {latitude} the reading of even a perfect instrument {rate}.",
    "rises-in-the-north": "At {latitude} the reading {rate}.",
    "wander-straight-with-latitude": "At {latitude} the sine is {sine}, so the rate is {rate_size}° an hour.",
}


def earth_facts(latitude_deg: float) -> dict[str, str]:
    """The facts for the words of an item about apparent wander at a latitude."""
    rate = wander_deg_h(latitude_deg)
    return {
        "latitude": notation.latitude(latitude_deg),
        "sine": f"{abs(math.sin(math.radians(latitude_deg))):.2f}",
        "rate": notation.rate(rate),
        "rate_size": f"{abs(rate):.1f}",
        "direction": "falls" if rate < 0.0 else "rises",
        "side": "north" if latitude_deg > 0.0 else "south",
        "Side": "North" if latitude_deg > 0.0 else "South",
    }


def _rate(d: Drawn) -> Worked:
    latitude = d["latitude_deg"]
    return Worked(
        wander_deg_h(latitude),
        under(EARTH_IDEAS, lambda laws: wander_deg_h(latitude, laws=laws)),
        earth_facts(latitude),
        signs=int(latitude < 0.0),
    )


RATE = ItemModel(
    id="wander-rate",
    topic="wander",
    level="apply",
    kind="choice",
    draw=lambda draw: {"latitude_deg": draw.placed_deg(15, 75, 1)},
    work=_rate,
    second=lambda d, believed: rates(d["latitude_deg"], believed=believed).earth_deg_h,
    second_way=KERNEL,
    words=Words(
        stem="An aircraft stands still at {latitude}. " + PERFECT + " How does its reading change?",
        reason="Apparent wander is 15° an hour × sin {latitude} = 15 × {sine} = {rate_size}° an hour. "
        "{Side} of the equator the reading {direction}.",
        feedback=EARTH_FEEDBACK,
    ),
    source=THEORY,
    steps=2,
    notation=notation.RATE,
    apart=1.0,
    agree=0.15,
    crossed=True,
    unoffered=("no-earth-wander",),
)


def _after(d: Drawn) -> Worked:
    latitude, hours = d["latitude_deg"], d["minutes"] / 60.0
    return Worked(
        abs(wander_deg_h(latitude)) * hours,
        under(SIZE_IDEAS, lambda laws: abs(wander_deg_h(latitude, laws=laws)) * hours),
        {**earth_facts(latitude), "minutes": f"{d['minutes']:.0f}"},
    )


AFTER = ItemModel(
    id="wander-after-a-time",
    topic="wander",
    level="apply",
    kind="number",
    draw=lambda draw: {
        "latitude_deg": draw.latitude_deg(20, 75, 5),
        "minutes": draw.pick((20.0, 30.0, 40.0, 45.0, 60.0, 80.0, 90.0)),
    },
    work=_after,
    second=lambda d, believed: (
        abs(rates(d["latitude_deg"], believed=believed).earth_deg_h) * d["minutes"] / 60.0
    ),
    second_way=KERNEL,
    words=Words(
        stem="An aircraft stands still at {latitude}. " + PERFECT + " It is set correctly and then left "
        "alone for {minutes} minutes. By how many degrees does its reading change? (Whole degrees, "
        "without a sign.)",
        reason="Apparent wander is 15 × sin {latitude} = {rate_size}° an hour. In {minutes} minutes that is "
        "{key}.",
        feedback={idea: EARTH_FEEDBACK[idea] for idea in SIZE_IDEAS},
    ),
    source=THEORY,
    steps=2,
    notation=notation.DEGREES,
    apart=2.0,
    agree=0.75,
    tolerance=1.0,
    least=1,
)


def _to_read(d: Drawn) -> Worked:
    latitude, hours, heading = d["latitude_deg"], d["minutes"] / 60.0, d["heading_deg"]
    moved = wander_deg_h(latitude) * hours
    return Worked(
        heading + moved,
        under(EARTH_IDEAS, lambda laws: heading + wander_deg_h(latitude, laws=laws) * hours),
        {
            **earth_facts(latitude),
            "minutes": f"{d['minutes']:.0f}",
            "heading": notation.heading(heading),
            "moved": f"{abs(moved):.0f}",
        },
        signs=1 + int(latitude < 0.0),
    )


TO_READ = ItemModel(
    id="wander-reading-after",
    topic="wander",
    level="apply",
    kind="number",
    draw=lambda draw: {
        "latitude_deg": draw.latitude_deg(30, 70),
        "minutes": draw.pick((30.0, 40.0, 45.0, 60.0)),
        "heading_deg": draw.heading_deg(10),
    },
    work=_to_read,
    second=lambda d, believed: (
        d["heading_deg"] + rates(d["latitude_deg"], believed=believed).earth_deg_h * d["minutes"] / 60.0
    ),
    second_way=KERNEL,
    words=Words(
        stem="An aircraft stands still at {latitude} on a heading of {heading}. " + PERFECT + " It is set "
        "to {heading}. What does it read {minutes} minutes later?",
        reason="Apparent wander is 15 × sin {latitude} = {rate_size}° an hour, which is {moved}° in "
        "{minutes} minutes. {Side} of the equator the reading {direction}, so {heading} becomes {key}.",
        feedback={
            **EARTH_FEEDBACK,
            "rises-in-the-north": "At {latitude} the reading {direction} by {moved}°, from {heading} to "
            "{key}.",
        },
    ),
    source=THEORY,
    steps=3,
    notation=notation.HEADING,
    apart=3.0,
    agree=0.7,
    tolerance=1.5,
    least=2,
)


INTERVAL_IDEAS = ("same-wander-everywhere", "no-wander-at-poles", "wander-straight-with-latitude")


def _interval(d: Drawn) -> Worked:
    latitude, limit = d["latitude_deg"], d["limit_deg"]

    def minutes(rate: float) -> float:
        return 60.0 * limit / abs(rate) if abs(rate) > 0.05 else math.inf

    return Worked(
        minutes(wander_deg_h(latitude)),
        under(INTERVAL_IDEAS, lambda laws: minutes(wander_deg_h(latitude, laws=laws))),
        {**earth_facts(latitude), "limit": f"{limit:.0f}"},
    )


INTERVAL = ItemModel(
    id="wander-interval",
    topic="wander",
    level="judge",
    kind="number",
    draw=lambda draw: {
        "latitude_deg": draw.latitude_deg(20, 70),
        "limit_deg": draw.pick((2.0, 3.0, 4.0, 5.0)),
    },
    work=_interval,
    second=lambda d, believed: (
        60.0 * d["limit_deg"] / abs(rates(d["latitude_deg"], believed=believed).earth_deg_h)
    ),
    second_way=KERNEL,
    words=Words(
        stem="A pilot flies due north near {latitude}. " + PERFECT + " Its reading must never be "
        "wrong by more than {limit}°. About how many minutes after setting it must the pilot set it again?",
        reason="There is no transport wander on a flight due north. Apparent wander is 15 × {sine} = "
        "{rate_size}° an hour, and at that rate a change of {limit}° takes about {key}.",
        feedback={idea: EARTH_FEEDBACK[idea] for idea in INTERVAL_IDEAS},
    ),
    source=THEORY,
    steps=3,
    notation=notation.MINUTES,
    apart=3.0,
    agree=0.75,
    tolerance=1.0,
    least=1,
)


LEAST_SEEN_DEG = 1.5


def _where(d: Drawn) -> Worked:
    latitude, minutes = d["latitude_deg"], d["minutes"]
    moved = wander_deg_h(latitude) * minutes / 60.0
    size = math.sin(math.radians(abs(latitude)))
    wrong = (
        Wrong("no-wander-at-poles", math.copysign(90.0 - abs(latitude), latitude)),
        Wrong("rises-in-the-north", -latitude),
        Wrong("wander-straight-with-latitude", math.copysign(90.0 * size, latitude)),
    )
    return Worked(
        latitude,
        # Only those that the drawn dials tell from the key.
        tuple(
            one
            for one in wrong
            if abs(wander_deg_h(float(one.value)) * minutes / 60.0 - moved) >= LEAST_SEEN_DEG
        ),
        {
            **earth_facts(latitude),
            "minutes": f"{minutes:.0f}",
            "moved": notation.change(moved, 1),
            "hourly": f"{abs(moved) * 60.0 / minutes:.1f}",
        },
        signs=1,
        figure=then_and_now(10.0 * (abs(latitude) % 36.0), moved, minutes),
    )


WHERE = ItemModel(
    id="wander-find-latitude",
    pictured=True,
    topic="wander",
    level="judge",
    kind="choice",
    draw=lambda draw: {
        "latitude_deg": draw.placed_deg(15, 70, 5),
        "minutes": draw.pick((40.0, 50.0, 60.0)),
    },
    work=_where,
    second=lambda d, believed: latitude_of_rate(rates(d["latitude_deg"]).earth_deg_h, believed),
    second_way="the latitude at which the engine's wander is the one observed, found by search",
    words=Words(
        stem="A heading indicator without friction and without a latitude nut is in an aircraft that stands "
        "still on a constant heading. The drawing shows its reading at first and {minutes} minutes later. At "
        "about what latitude is the aircraft?",
        reason="The reading {moved}. That is {hourly}° an hour, and {hourly} / 15 = {sine} is the sine of "
        "{latitude}. The reading {direction}, so the place is {side} of the equator.",
        feedback={
            "no-wander-at-poles": "At {this} the rate would be 15° × the sine of that latitude, not "
            "{hourly}° an hour.",
            "rises-in-the-north": "A reading that {direction} means a place {side} of the equator.",
            "wander-straight-with-latitude": "{sine} is the sine of {latitude}.",
        },
    ),
    source=THEORY,
    steps=3,
    notation=notation.LATITUDE,
    apart=5.0,
    agree=1.0,
    crossed=True,
)


def _faster(d: Drawn) -> Worked:
    first, second = d["first_deg"], d["second_deg"]
    asked = d.get("asked", "faster")
    nearer = abs(wander_deg_h(first)) < abs(wander_deg_h(second))
    key, other = ("second", "first") if nearer == (asked == "faster") else ("first", "second")
    return Worked(
        key,
        (
            Wrong("no-wander-at-poles", other),
            Wrong("same-wander-everywhere", "same"),
            Wrong("no-earth-wander", "neither"),
        ),
        {
            "first": notation.latitude(first),
            "second": notation.latitude(second),
            "asked": asked,
            "first_rate": f"{abs(wander_deg_h(first)):.1f}",
            "second_rate": f"{abs(wander_deg_h(second)):.1f}",
        },
    )


def _faster_second(d: Drawn, believed: Belief) -> str:
    first, second = (
        abs(rates(d[name], believed=believed).earth_deg_h) for name in ("first_deg", "second_deg")
    )
    if abs(first - second) < 0.01:
        return "neither" if first < 0.01 else "same"
    return "first" if (first > second) == (d.get("asked", "faster") == "faster") else "second"


TWO_OF = (0.0, 10.0, 25.0, 40.0, 55.0, 70.0, 85.0, -20.0, -35.0, -50.0, -65.0, -80.0)


def _draw_two(draw: Draw) -> dict[str, float | str]:
    """Two places; with a home, one of them is there."""
    two = draw.random.sample(TWO_OF, 2)
    if draw.home is not None:
        here = draw.latitude_of(TWO_OF)
        two = [here, draw.pick([place for place in TWO_OF if abs(place) != abs(here)])]
        draw.random.shuffle(two)
    return {"first_deg": two[0], "second_deg": two[1], "asked": draw.pick(("faster", "slower"))}


FASTER = ItemModel(
    id="wander-faster-of-two",
    topic="wander",
    level="recall",
    kind="choice",
    draw=_draw_two,
    work=_faster,
    second=_faster_second,
    second_way=KERNEL,
    words=Words(
        stem="Two perfect heading indicators without a latitude nut are in aircraft that stand still, one at "
        "{first} and one at {second}. Where is the one that drifts {asked}?",
        reason="The rate is 15° an hour times the sine of the latitude: {first_rate}° an hour at {first} and "
        "{second_rate}° an hour at {second}.",
        feedback=dict.fromkeys(
            ("no-wander-at-poles", "same-wander-everywhere", "no-earth-wander"),
            "The rate is {first_rate}° an hour at {first} and {second_rate}° an hour at {second}.",
        ),
        options={
            "first": "{first}",
            "second": "{second}",
            "same": "both drift at the same rate",
            "neither": "neither of them drifts",
        },
    ),
    source=THEORY,
    steps=1,
    least=1,
    most=1,
    unoffered=("same-wander-everywhere", "no-earth-wander"),
)


# How much of apparent wander is taken away: at speeds that a light aircraft has.
PARTS = {0.25: "a quarter", 0.333: "a third", 0.5: "half", 1.0: "all"}
SPEEDS_KT = 90.0, 200.0


def _draw_part(draw: Draw) -> dict[str, float]:
    latitude = draw.latitude_deg(40, 76)
    whole_kt = TAUGHT_EARTH_DEG_H * 60.0 * math.cos(math.radians(latitude))
    fitting = [part for part in PARTS if SPEEDS_KT[0] <= part * whole_kt <= SPEEDS_KT[1]]
    return {"latitude_deg": latitude, "part": draw.pick(fitting)}


def _cancels(d: Drawn) -> Worked:
    latitude, part = d["latitude_deg"], d.get("part", 1.0)
    circle_kt = part * TAUGHT_EARTH_DEG_H * 60.0
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
            "part": PARTS[part],
        },
        signs=1,
    )


def _cancels_second(d: Drawn, believed: Belief) -> float:
    found = rates(d["latitude_deg"], -100.0, believed=believed)
    return float(d.get("part", 1.0) * 100.0 * abs(found.earth_deg_h / found.travel_deg_h))


CANCELS = ItemModel(
    id="wander-cancelled-by-speed",
    topic="wander",
    level="judge",
    kind="number",
    draw=_draw_part,
    work=_cancels,
    second=_cancels_second,
    second_way="the engine's apparent wander over its transport wander at 100 kt west",
    words=Words(
        stem="An aircraft flies due west at {latitude}. " + PERFECT + " At what ground speed, in knots, does "
        "transport wander take away {part} of the apparent wander?",
        reason="Apparent wander is 15 × {sine} = {rate_size}° an hour; transport wander at a ground speed V "
        "is V / 60 × {tangent}. On a flight west transport wander takes away {part} of the apparent wander "
        "at about {key}.",
        feedback={
            "same-wander-everywhere": "At {latitude} apparent wander is {rate_size}° an hour, not 15° an "
            "hour.",
            "no-wander-at-poles": "At {latitude} apparent wander is {rate_size}° an hour.",
        },
    ),
    source=THEORY,
    steps=4,
    notation=notation.KNOTS,
    apart=10.0,
    agree=4.0,
    tolerance=5.0,
    least=1,
)


MODELS = (RATE, AFTER, TO_READ, INTERVAL, WHERE, FASTER, CANCELS)
