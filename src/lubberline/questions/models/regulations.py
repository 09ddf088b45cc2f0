"""What the rules of a country require, from the tables of rules, for the chosen country only."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from lubberline.questions.model import Drawn, ItemModel, Statement, Words, Worked, Wrong, statements_model

CANADA, UNITED_STATES, UNITED_KINGDOM = "Canada", "United States", "United Kingdom"
EDITION = "consolidation to November 2025"

# Direction equipment required, from the least to the most.
COMPASS, GYRO, NON_MAGNETIC = "compass", "gyro", "non-magnetic"


class DirectionRule(NamedTuple):
    """What a kind of flight must have to show direction.

    Attributes:
        id: short.
        flight: the kind of flight in words.
        asks: what it requires: COMPASS, GYRO or NON_MAGNETIC.
        paragraph: of the rules.
    """

    id: str
    flight: str
    asks: str
    paragraph: str


CANADIAN_DIRECTION: tuple[DirectionRule, ...] = (
    DirectionRule("day", "by day under VFR, in sight of the ground", COMPASS, "CAR 605.14(d)"),
    DirectionRule("top", "VFR over-the-top, in Southern Domestic Airspace", GYRO, "CAR 605.15(d)"),
    DirectionRule(
        "top north", "VFR over-the-top, in Northern Domestic Airspace", NON_MAGNETIC, "CAR 605.15(d), (g)"
    ),
    DirectionRule(
        "night",
        "by night under VFR where no aerodrome can be seen, in Southern Domestic Airspace",
        GYRO,
        "CAR 605.16(f)",
    ),
    DirectionRule(
        "night north",
        "by night under VFR where no aerodrome can be seen, in Northern Domestic Airspace",
        NON_MAGNETIC,
        "CAR 605.16(f), (g)",
    ),
    DirectionRule(
        "ifr", "by day under IFR, in Southern Domestic Airspace", GYRO, "CAR 605.18, with 605.16(f)"
    ),
    DirectionRule(
        "ifr north",
        "by day under IFR, in Northern Domestic Airspace",
        NON_MAGNETIC,
        "CAR 605.18, with 605.16(f), (g)",
    ),
)
# The same rules by paragraph: the flights on which each item of equipment is required.
CANADIAN_PARAGRAPHS: dict[str, frozenset[str]] = {
    "gyroscopic direction indicator or stabilised magnetic one": frozenset(
        {"top", "top north", "night", "night north", "ifr", "ifr north"}
    ),
    "non-magnetic source of direction": frozenset({"top north", "night north", "ifr north"}),
}


AMERICAN_DIRECTION: tuple[DirectionRule, ...] = (
    DirectionRule("day", "by day under VFR", COMPASS, "14 CFR 91.205(b)"),
    DirectionRule("night", "by night under VFR", COMPASS, "14 CFR 91.205(c)"),
    DirectionRule("ifr", "by day under IFR", GYRO, "14 CFR 91.205(d)"),
    DirectionRule("ifr night", "by night under IFR", GYRO, "14 CFR 91.205(d)"),
)
AMERICAN_PARAGRAPHS: dict[str, frozenset[str]] = {
    "gyroscopic direction indicator or stabilised magnetic one": frozenset({"ifr", "ifr night"}),
    "non-magnetic source of direction": frozenset(),
}

# For heading, 'stabilised' is the rule's word for what a gyro steadies.
BRITISH_DIRECTION: tuple[DirectionRule, ...] = (
    DirectionRule("day", "by day under VFR, in sight of the ground", COMPASS, "NCO.IDE.A.120(a)(1)"),
    DirectionRule("night", "by night in visual meteorological conditions", GYRO, "NCO.IDE.A.120(b)(1)(iv)"),
    DirectionRule("ifr", "by day under IFR", GYRO, "NCO.IDE.A.125(a)(8)"),
    DirectionRule("ifr night", "by night under IFR", GYRO, "NCO.IDE.A.125(a)(8)"),
)
BRITISH_PARAGRAPHS: dict[str, frozenset[str]] = {
    "stabilised heading": frozenset({"night", "ifr", "ifr night"}),
    "non-magnetic source of direction": frozenset(),
}

# 14 CFR 25.1327: deviation in level flight on any heading, deg; 25.1547: headings of the card at most so far
# apart, deg; 91.411: altimeter and static system tested within so many calendar months for IFR.
DEVIATION_LIMIT_DEG = 10.0
CARD_STEP_LIMIT_DEG = 45.0
ALTIMETER_TEST_MONTHS = 24

BY_PARAGRAPH = "the same rules listed the other way, by item of equipment"
ASKED = {
    COMPASS: "a magnetic compass; no direction indicator is needed",
    GYRO: "a compass and a gyroscopic (or stabilised) indicator",
    NON_MAGNETIC: "a compass, a direction indicator and a source of direction that is not magnetic",
}
FEEDBACK = "For flight {flight}, the rules require {key} ({paragraph})."
ORDER = (COMPASS, GYRO, NON_MAGNETIC)


def _idea(key: str, wrong: str) -> str:
    if wrong == COMPASS:
        return "gyro-not-required"
    if wrong == NON_MAGNETIC:
        return "non-magnetic-everywhere"
    return "gyro-enough-in-the-north" if key == NON_MAGNETIC else "gyro-always-required"


def _by_paragraph(flight: str, paragraphs: Mapping[str, frozenset[str]]) -> str:
    gyro, other = paragraphs.values()
    return NON_MAGNETIC if flight in other else GYRO if flight in gyro else COMPASS


def _direction_model(
    id: str,
    country: str,
    rules: Sequence[DirectionRule],
    paragraphs: Mapping[str, frozenset[str]],
    source: str,
) -> ItemModel:
    """Which direction equipment a kind of flight must have."""
    by_id = {rule.id: rule for rule in rules}
    asked = {rule.asks for rule in rules}
    answers = [answer for answer in ORDER if answer in asked]
    ideas = {_idea(key, wrong) for key in asked for wrong in answers if wrong != key}

    def work(d: Drawn) -> Worked:
        rule = by_id[d["flight"]]
        return Worked(
            rule.asks,
            tuple(Wrong(_idea(rule.asks, other), other) for other in answers if other != rule.asks),
            {
                "flight": rule.flight,
                "paragraph": rule.paragraph,
                "country": country if country == CANADA else f"the {country}",
            },
        )

    return ItemModel(
        id=id,
        topic="regulations",
        level="recall",
        kind="choice",
        draw=lambda draw: {"flight": draw.pick(tuple(by_id))},
        work=work,
        second=lambda d, believed: believed.step(
            "what the rule asks", _by_paragraph(d["flight"], paragraphs)
        ),
        second_way=BY_PARAGRAPH,
        words=Words(
            stem="Under the rules of {country}, a private power-driven aeroplane flies {flight}. What must "
            "it have to show direction?",
            reason="The rule ({paragraph}) requires {key}.",
            feedback=dict.fromkeys(ideas, FEEDBACK),
            options=ASKED,
        ),
        source=source,
        steps=1,
        least=len(answers) - 1,
        most=len(answers) - 1,
        jurisdiction=country,
    )


CANADA_DIRECTION = _direction_model(
    "rules-canada-direction",
    CANADA,
    CANADIAN_DIRECTION,
    CANADIAN_PARAGRAPHS,
    f"Canadian Aviation Regulations, SOR/96-433, sections 605.14 to 605.18, {EDITION}",
)
AMERICA_DIRECTION = _direction_model(
    "rules-united-states-direction",
    UNITED_STATES,
    AMERICAN_DIRECTION,
    AMERICAN_PARAGRAPHS,
    "14 CFR 91.205",
)


BRITAIN_DIRECTION = _direction_model(
    "rules-united-kingdom-direction",
    UNITED_KINGDOM,
    BRITISH_DIRECTION,
    BRITISH_PARAGRAPHS,
    "Regulation (EU) No 965/2012 as retained in the United Kingdom, NCO.IDE.A.120, 125, read in 2026",
)


def _gyro_claim(name: str, flights: tuple[str, ...], *ideas: str) -> Statement:
    by_id = {rule.id: rule for rule in CANADIAN_DIRECTION}
    return Statement(
        name,
        "Under the rules of Canada, a private power-driven aeroplane may fly {flight}, with no direction "
        "instrument other than its magnetic compass.",
        ideas,
        lambda draw: {"flight": draw.pick(flights)},
        lambda d: by_id[d["flight"]].asks == COMPASS,
        lambda d, believed: (
            believed.step("what the rule asks", _by_paragraph(d["flight"], CANADIAN_PARAGRAPHS)) == "compass"
        ),
        "The rule ({paragraph}) requires {asked}.",
        lambda d: {
            "flight": by_id[d["flight"]].flight,
            "paragraph": by_id[d["flight"]].paragraph,
            "asked": ASKED[by_id[d["flight"]].asks],
        },
    )


CANADA_CLAIMS = statements_model(
    id="rules-canada-compass-alone",
    topic="regulations",
    level="apply",
    claims=(
        _gyro_claim("no gyro", ("top", "night", "ifr", "top north"), "gyro-not-required"),
        _gyro_claim("day", ("day",), "gyro-always-required", "non-magnetic-everywhere"),
    ),
    source=f"Canadian Aviation Regulations, SOR/96-433, sections 605.14 to 605.18, {EDITION}",
    second_way=BY_PARAGRAPH,
    steps=2,
    jurisdiction=CANADA,
)


AMERICA_CLAIMS = statements_model(
    id="rules-united-states-limits",
    topic="regulations",
    level="apply",
    claims=(
        Statement(
            "deviation",
            "Under the rules of the United States for transport category aeroplanes, a compensated magnetic "
            "compass with {deviation} of deviation on one heading in level flight is within its limit.",
            ("figure-of-another-rule", "limit-too-strict"),
            lambda draw: {"deviation_deg": draw.pick((4.0, 6.0, 8.0, 9.0, 11.0, 12.0, 15.0))},
            lambda d: d["deviation_deg"] <= DEVIATION_LIMIT_DEG,
            lambda d, believed: d["deviation_deg"] <= believed.step("figure of the rule", 10.0),
            "14 CFR 25.1327 allows 10° on any heading.",
            lambda d: {"deviation": f"{d['deviation_deg']:.0f}°"},
        ),
        Statement(
            "card",
            "Under the rules of the United States for transport category aeroplanes, a correction card with "
            "a row for every {step} of heading has enough rows.",
            ("figure-of-another-rule", "limit-too-strict"),
            lambda draw: {"step_deg": draw.pick((15.0, 30.0, 45.0, 60.0, 90.0))},
            lambda d: d["step_deg"] <= CARD_STEP_LIMIT_DEG,
            lambda d, believed: 360.0 / d["step_deg"] >= 8.0 / believed.step("figure of the rule", 1.0),
            "14 CFR 25.1547 requires headings that are no more than 45° apart.",
            lambda d: {"step": f"{d['step_deg']:.0f}°"},
        ),
        Statement(
            "altimeter",
            "Under the rules of the United States, an aeroplane whose altimeter and static system were "
            "tested {months} calendar months ago meets the requirement of that test for IFR flight in "
            "controlled airspace.",
            ("figure-of-another-rule", "limit-too-strict"),
            lambda draw: {"months": draw.pick((6, 11, 13, 18, 23, 25, 30, 36))},
            lambda d: d["months"] <= ALTIMETER_TEST_MONTHS,
            lambda d, believed: d["months"] / 12.0 <= believed.step("figure of the rule", 2.0),
            "14 CFR 91.411 requires the test within the last 24 calendar months.",
            lambda d: {"months": f"{d['months']}"},
        ),
    ),
    source="14 CFR 25.1327, 25.1547, 91.411",
    second_way="the limit written another way",
    steps=1,
    jurisdiction=UNITED_STATES,
)

MODELS = (CANADA_DIRECTION, CANADA_CLAIMS, AMERICA_DIRECTION, AMERICA_CLAIMS, BRITAIN_DIRECTION)
