"""The latitude nut: where it is right, what it does elsewhere, what it cannot cancel."""

from lubberline.questions.models import (
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    balance_deg_h,
    notation,
    rates,
    statements_model,
    travel_deg_h,
    under,
    wander_deg_h,
)

BALANCED = "Its heading indicator has no friction and a latitude nut set for {set_for}."
THEORY = "earth rate and its correction by latitude: AFPAM 11-216, Air Navigation (2001), section 14.18"
ENGINE = "the engine's precession at that place with that nut"


def _facts(d: Drawn) -> dict[str, str]:
    latitude, set_for, share = d["latitude_deg"], d["set_deg"], d.get("share", 1.0)
    balance = balance_deg_h(latitude, set_for, 0.0, share)
    return {
        "latitude": notation.latitude(latitude),
        "set_for": notation.latitude(set_for),
        "earth": notation.rate(wander_deg_h(latitude)),
        "balance": notation.rate(balance),
        "balance_size": f"{abs(balance):.1f}",
        "earth_size": f"{abs(wander_deg_h(latitude)):.1f}",
        "sum": notation.rate(wander_deg_h(latitude, set_deg=set_for, share=share)),
        "percent": f"{share * 100.0:.0f}",
    }


def _engine_deg_h(d: Drawn, believed: Belief) -> float:
    """The rate that a student expects, on the way of the item if there is one."""
    found = rates(
        d["latitude_deg"],
        d.get("east_kt", 0.0),
        set_deg=d["set_deg"],
        share=d.get("share", 1.0),
        believed=believed,
    )
    return found.earth_deg_h + found.travel_deg_h + believed.step("nut", found.nut_deg_h)


def _draw_elsewhere(draw: Draw) -> dict[str, float]:
    """A nut and a place; the place is the nut's own as often as that would be guessed."""
    set_deg = draw.latitude_deg(25, 60, 5)
    elsewhere = draw.random.random() < 0.75
    return {"set_deg": set_deg, "latitude_deg": draw.anywhere_deg(10, 70, 5) if elsewhere else set_deg}


def _elsewhere(d: Drawn) -> Worked:
    latitude, set_deg = d["latitude_deg"], d["set_deg"]
    return Worked(
        wander_deg_h(latitude, set_deg=set_deg),
        (
            *under(
                ("balance-works-everywhere", "no-earth-wander", "no-wander-at-poles"),
                lambda laws: wander_deg_h(latitude, set_deg=set_deg, laws=laws),
            ),
            Wrong("balance-left-out", wander_deg_h(latitude)),
        ),
        _facts(d),
        signs=1 + int(set_deg * latitude < 0.0),
        parts=(wander_deg_h(latitude), balance_deg_h(latitude, set_deg, 0.0, 1.0)),
    )


ELSEWHERE = ItemModel(
    id="balance-elsewhere",
    topic="balance",
    level="apply",
    kind="choice",
    draw=_draw_elsewhere,
    work=_elsewhere,
    second=_engine_deg_h,
    second_way=ENGINE,
    words=Words(
        stem="An aircraft stands still at {latitude} with its engine running. " + BALANCED + " How does "
        "its reading change?",
        reason="From apparent wander alone the reading {earth}. From the latitude nut, a fixed weight, it "
        "{balance}. In total it {sum}.",
        feedback={
            "balance-works-everywhere": "With a nut set for {set_for}, at {latitude} the reading {sum}.",
            "no-earth-wander": "Apparent wander must be added to the effect of the latitude nut: the "
            "reading {sum}.",
            "no-wander-at-poles": "At {latitude} the reading {earth} from apparent wander alone.",
            "balance-left-out": "With it the reading {sum}.",
        },
    ),
    source=THEORY,
    steps=4,
    notation=notation.RATE,
    apart=1.0,
    agree=0.4,
    zero=True,
)


def _slow(d: Drawn) -> Worked:
    latitude, share = d["latitude_deg"], d["share"]
    ideas = ("balance-right-at-any-rotor-speed", "more-suction-more-drift", "drift-by-the-square")
    return Worked(
        wander_deg_h(latitude, set_deg=latitude, share=share),
        under(ideas, lambda laws: wander_deg_h(latitude, set_deg=latitude, share=share, laws=laws)),
        _facts(d),
        signs=2,
        parts=(wander_deg_h(latitude), balance_deg_h(latitude, latitude, 0.0, share)),
    )


SLOW = ItemModel(
    id="balance-slow-rotor",
    topic="balance",
    level="judge",
    kind="choice",
    draw=lambda draw: (
        lambda latitude: {
            "latitude_deg": latitude,
            "set_deg": latitude,
            "share": draw.pick((0.5, 0.6, 0.75, 0.8)),
        }
    )(draw.latitude_deg(30, 65, 5)),
    work=_slow,
    second=_engine_deg_h,
    second_way=ENGINE,
    words=Words(
        stem="An aircraft stands still at {latitude} with its engine running. "
        + BALANCED
        + " Its rotor turns at only {percent}% of full speed. How does its reading change?",
        reason="The torque of the nut is fixed and moves a slower gyro faster: the nut now causes "
        "{balance_size}° an hour, and apparent wander is still {earth_size}° an hour the other "
        "way. The reading {sum}.",
        feedback=dict.fromkeys(
            ("balance-right-at-any-rotor-speed", "more-suction-more-drift", "drift-by-the-square"),
            "At {percent}% of full speed the latitude nut causes {balance_size}° an hour, against "
            "{earth_size}° of apparent wander: the reading {sum}.",
        ),
    ),
    source=THEORY + "; rigidity and precession: FAA-H-8083-25C, chapter 8",
    steps=4,
    notation=notation.RATE,
    apart=0.8,
    agree=0.3,
    least=1,
    most=1,
    unoffered=("balance-right-at-any-rotor-speed",),
)


OBSERVED_IDEAS = ("no-wander-at-poles", "no-earth-wander", "rises-in-the-north")


def _observed(d: Drawn) -> Worked:
    total, latitude, set_deg = d["observed_deg_h"], d["latitude_deg"], d["set_deg"]
    return Worked(
        total - wander_deg_h(latitude, set_deg=set_deg),
        (
            *under(OBSERVED_IDEAS, lambda laws: total - wander_deg_h(latitude, set_deg=set_deg, laws=laws)),
            Wrong("transport-wander-is-the-earth", wander_deg_h(latitude)),
            Wrong("balance-left-out", total - wander_deg_h(latitude)),
        ),
        {**_facts(d), "observed": notation.rate(total)},
        signs=2,
        parts=(total, -wander_deg_h(latitude), -balance_deg_h(latitude, set_deg, 0.0, 1.0)),
    )


def _draw_observed(draw: Draw) -> dict[str, float]:
    latitude, set_deg = draw.latitude_deg(40, 65, 5), draw.signed(25, 60, 5)
    still = wander_deg_h(latitude, set_deg=set_deg)
    east = draw.signed(100, 200, 20)
    return {
        "latitude_deg": latitude,
        "set_deg": set_deg,
        "observed_deg_h": round(still + travel_deg_h(latitude, east), 1),
    }


def _observed_second(d: Drawn, believed: Belief) -> float:
    """The observed rate less what the student expects of a card that stands still there with that nut."""
    travel: float = d["observed_deg_h"] - _engine_deg_h(d, believed)
    earth = rates(d["latitude_deg"], believed=believed).earth_deg_h
    return believed.of({"transport-wander": travel, "apparent-wander": earth}, "transport-wander")


OBSERVED = ItemModel(
    id="balance-find-transport",
    topic="balance",
    level="judge",
    kind="number",
    draw=_draw_observed,
    work=_observed,
    second=_observed_second,
    second_way="the observed rate less the engine's precession standing still there",
    words=Words(
        stem="An aircraft flies due east or west at {latitude}. "
        + BALANCED
        + " Its reading {observed}. By how many degrees an hour does the reading change because "
        "of transport wander alone? (+ if it rises, − if it falls.)",
        reason="The reading {observed} in total. From apparent wander alone it {earth}; from the latitude "
        "nut alone it {balance}. The rest is transport wander: from it the reading {key}.",
        feedback={
            "no-wander-at-poles": "From apparent wander alone the reading {earth}.",
            "no-earth-wander": "From apparent wander alone the reading {earth}; subtract that too.",
            "rises-in-the-north": "From apparent wander alone the reading {earth}.",
            "transport-wander-is-the-earth": "From apparent wander alone the reading {earth}; from transport "
            "wander alone it {key}.",
            "balance-left-out": "From the nut alone the reading {balance}; subtract that too.",
        },
    ),
    source=THEORY,
    steps=5,
    notation=notation.RATE,
    apart=0.7,
    agree=0.3,
    # An option that repeats the stem would stand out.
    also_right=lambda d: (d["observed_deg_h"],),
    tolerance=0.35,
)


def _same_place(draw: Draw) -> dict[str, float]:
    latitude = draw.latitude_deg(40, 65, 5)
    return {
        "set_deg": latitude,
        "latitude_deg": latitude,
        "east_kt": draw.pick((200.0, -200.0)),
        "limit_deg_h": draw.pick((1.0, 10.0)),
    }


def _total_deg_h(d: Drawn) -> float:
    return abs(wander_deg_h(d["latitude_deg"], d.get("east_kt", 0.0), set_deg=d["set_deg"]))


def _limit_facts(d: Drawn) -> dict[str, str]:
    east = d.get("east_kt", 0.0)
    return {
        **_facts(d),
        "limit": f"{d['limit_deg_h']:.0f}°",
        "way": "east" if east > 0.0 else "west",
        "whole": notation.rate(wander_deg_h(d["latitude_deg"], east, set_deg=d["set_deg"])),
    }


CLAIMS = statements_model(
    id="balance-claims",
    topic="balance",
    level="recall",
    claims=(
        Statement(
            "other-hemisphere",
            "In an aircraft that stands still at {latitude}, a perfect heading indicator with its latitude "
            "nut set for {set_for} drifts more slowly than one without a nut.",
            ("balance-works-everywhere", "balance-left-out"),
            lambda draw: {
                "set_deg": draw.either(draw.pick((30.0, 40.0, 50.0, 60.0))),
                "latitude_deg": draw.placed_deg(20, 60, 10),
            },
            lambda d: _total_deg_h(d) < abs(wander_deg_h(d["latitude_deg"])),
            lambda d, believed: (
                abs(_engine_deg_h(d, believed)) < abs(rates(d["latitude_deg"], believed=believed).earth_deg_h)
            ),
            "With the nut the reading {sum}; without it the reading {earth}.",
            _facts,
        ),
        Statement(
            "journey",
            "A perfect heading indicator has its latitude nut set for {latitude}. While the aircraft flies "
            "due {way} there at 200 kt, its reading drifts by more than {limit} an hour.",
            ("balance-left-out", "balance-cancels-journey", "journey-adds-nothing"),
            _same_place,
            lambda d: _total_deg_h(d) > d["limit_deg_h"],
            lambda d, believed: abs(_engine_deg_h(d, believed)) > d["limit_deg_h"],
            "The latitude nut cancels apparent wander and leaves transport wander: the reading {whole}.",
            _limit_facts,
        ),
        Statement(
            "equator",
            "A perfect heading indicator with its latitude nut set for {set_for} drifts by more than "
            "{limit} an hour in an aircraft that stands still on the equator.",
            ("no-wander-at-poles", "balance-works-everywhere", "same-wander-everywhere"),
            lambda draw: {
                "set_deg": draw.latitude_deg(30, 65, 5),
                "latitude_deg": 0.0,
                "limit_deg_h": draw.pick((3.0, 15.0)),
            },
            lambda d: _total_deg_h(d) > d["limit_deg_h"],
            lambda d, believed: abs(_engine_deg_h(d, believed)) > d["limit_deg_h"],
            "On the equator there is no apparent wander, but the latitude nut still acts: the reading {sum}.",
            _limit_facts,
        ),
    ),
    source=THEORY,
    second_way=ENGINE,
    steps=2,
)

MODELS = (ELSEWHERE, SLOW, OBSERVED, CLAIMS)
