"""Which wrong ideas compete: each law, fault and term with the ideas that may stand in its place.

Of one law a student holds the truth, one of its ideas, or some other wrong idea; what a student holds of
one law says nothing of another. Ideas that are alternatives change the same law, relation or term.
"""

from __future__ import annotations

from typing import NamedTuple


class IdeaLaw(NamedTuple):
    """One thing to know, and the ways of having it wrong.

    Attributes:
        id: short name.
        title: what it is about, to follow 'On'.
        topic: of `questions.bank.TOPICS`.
        ideas: ids of the wrong ideas.
    """

    id: str
    title: str
    topic: str
    ideas: tuple[str, ...]


LAWS: tuple[IdeaLaw, ...] = (
    IdeaLaw(
        "earth",
        "the drift by the Earth's turning",
        "wander",
        (
            "same-wander-everywhere",
            "no-wander-at-poles",
            "wander-straight-with-latitude",
            "falls-in-both-hemispheres",
            "rises-in-the-north",
            "no-earth-wander",
            "no-drift-when-parked",
        ),
    ),
    IdeaLaw(
        "journey",
        "the drift by the journey",
        "wander",
        (
            "journey-adds-nothing",
            "journey-the-other-way",
            "journey-same-at-every-latitude",
            "journey-north-counts",
        ),
    ),
    IdeaLaw(
        "friction",
        "the drift by friction and unbalance",
        "rotor",
        ("only-the-earth", "friction-always-reads-low"),
    ),
    IdeaLaw(
        "rotor",
        "what the rotor's speed does to the drift",
        "rotor",
        ("more-suction-more-drift", "rotor-speed-does-not-matter", "drift-by-the-square"),
    ),
    IdeaLaw(
        "balance",
        "the latitude balance",
        "balance",
        ("balance-works-everywhere", "balance-cancels-journey", "balance-right-at-any-rotor-speed"),
    ),
    IdeaLaw("bank", "the card in a bank", "gimballing", ("bank-leaves-card-alone", "bank-error-by-quadrant")),
    IdeaLaw("pitch", "the card in a climb or dive", "gimballing", ("pitch-leaves-card-alone",)),
    IdeaLaw(
        "turns",
        "what turns leave behind on the card",
        "rotor",
        ("friction-drags-the-card-round", "levelling-does-no-harm"),
    ),
    IdeaLaw("bench", "what a still bench tells", "rotor", ("still-bench-proves-it",)),
    IdeaLaw("tumbling", "tumbling", "tumbling", ("tumbled-card-spins-on", "tumbling-is-gimballing")),
    IdeaLaw("caging", "caging", "tumbling", ("caged-card-goes-on",)),
    IdeaLaw("north", "where the heading indicator has its north from", "setting", ("finds-north-by-itself",)),
    IdeaLaw("variation", "variation", "compass", ("add-east-variation", "compass-points-to-true-north")),
    IdeaLaw(
        "deviation", "deviation", "compass", ("deviation-the-wrong-way", "swung-compass-has-no-deviation")
    ),
    IdeaLaw(
        "compass-turn",
        "the compass in a turn",
        "turning",
        (
            "set-it-in-the-turn",
            "compass-lag-and-lead-exchanged",
            "compass-northern-everywhere",
            "compass-leads-by-the-latitude",
            "compass-errors-exchanged",
        ),
    ),
    IdeaLaw(
        "compass-speed",
        "the compass while the speed changes",
        "turning",
        ("no-acceleration-error", "accelerating-shows-south"),
    ),
    IdeaLaw(
        "compass-settling",
        "how the compass comes to rest",
        "turning",
        ("liquid-only-damps", "compass-needs-no-time"),
    ),
    IdeaLaw(
        "filter",
        "a clogged filter",
        "suction",
        ("clogged-filter-reads-low", "clogged-filter-speeds-the-rotor"),
    ),
    IdeaLaw("pump", "a weak pump", "suction", ("weak-pump-shows-at-cruise",)),
    IdeaLaw("leak", "a leaking hose", "suction", ("leak-shows-at-cruise",)),
    IdeaLaw(
        "bearings",
        "worn bearings, and how they are told from want of suction",
        "suction",
        ("worn-bearings-lower-the-suction", "drift-means-suction", "short-run-down-means-suction"),
    ),
    IdeaLaw(
        "gauge",
        "what the suction gauge tells",
        "suction",
        ("green-gauge-good-instrument", "gauge-tells-rotor-speed"),
    ),
    IdeaLaw(
        "regulator",
        "what the regulator does",
        "suction",
        ("regulator-governs-the-rotor", "suction-same-at-idle"),
    ),
    IdeaLaw(
        "running",
        "how long the rotor takes to run up and down",
        "rotor",
        ("gyro-stops-with-the-pump", "ready-with-the-gauge"),
    ),
    IdeaLaw("allowance", "the allowance for drift", "wander", ("three-degrees-means-worn",)),
    IdeaLaw("term-variation", "the word 'variation'", "terms", ("variation-is-deviation",)),
    IdeaLaw("term-deviation", "the word 'deviation'", "terms", ("deviation-is-variation",)),
    IdeaLaw("term-dip", "the word 'dip'", "terms", ("dip-is-variation",)),
    IdeaLaw("term-compass-heading", "compass heading", "setting", ("compass-heading-is-magnetic",)),
    IdeaLaw("term-turning", "the words 'turning error'", "terms", ("turning-error-is-the-cards",)),
    IdeaLaw("term-precession", "the word 'precession'", "terms", ("precession-is-the-earth",)),
    IdeaLaw("term-apparent", "the words 'apparent wander'", "terms", ("apparent-wander-is-friction",)),
    IdeaLaw("term-real", "the words 'real wander'", "terms", ("real-wander-is-the-journey",)),
    IdeaLaw("term-transport", "the words 'transport wander'", "terms", ("transport-wander-is-the-earth",)),
    IdeaLaw("term-gimballing", "the words 'gimballing error'", "terms", ("gimballing-error-is-friction",)),
    IdeaLaw("term-topple", "the word 'topple'", "terms", ("topple-is-card-drift",)),
    IdeaLaw("term-drift", "the word 'drift'", "terms", ("gyro-drift-is-the-winds",)),
)

LAW_BY_ID: dict[str, IdeaLaw] = {law.id: law for law in LAWS}
LAW_OF: dict[str, IdeaLaw] = {idea: law for law in LAWS for idea in law.ideas}
