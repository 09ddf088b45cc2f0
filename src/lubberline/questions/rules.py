"""What the rules of a country ask for: facts with their paragraphs, as tables.

For teaching only: rules change, and the current text of the authority decides.
"""

from __future__ import annotations

from typing import NamedTuple

CANADA, UNITED_STATES = "Canada", "United States"
EDITION = "consolidation to November 2025"

# Direction equipment asked for, from the least to the most.
COMPASS, GYRO, NON_MAGNETIC = "compass", "gyro", "non-magnetic"


class DirectionRule(NamedTuple):
    """What a kind of flight must have to show direction.

    Attributes:
        id: short.
        flight: the kind of flight in words.
        asks: COMPASS, GYRO or NON_MAGNETIC.
        paragraph: where it stands.
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
# The same rules by paragraph: which flights each item of equipment is asked for on.
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

# 14 CFR 25.1327: deviation in level flight on any heading, deg; 25.1547: headings of the card at most so far
# apart, deg; 91.411: altimeter and static system tested within so many calendar months for IFR.
DEVIATION_LIMIT_DEG = 10.0
CARD_STEP_LIMIT_DEG = 45.0
ALTIMETER_TEST_MONTHS = 24
