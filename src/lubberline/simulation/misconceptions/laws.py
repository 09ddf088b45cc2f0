"""The laws that wrong ideas stand in place of: each thing to know, that somebody may have wrong.

Of one law a student holds the truth, one of its ideas, or some other wrong idea; what a student holds of
one law says nothing of another. An idea says itself of which law it is.
"""

from typing import NamedTuple


class IdeaLaw(NamedTuple):
    """One thing to know.

    Attributes:
        id: short name.
        title: what it is about, to follow 'On'.
        topic: of `questions.bank.TOPICS`.
    """

    id: str
    title: str
    topic: str


# In this order the diagnosis sums them.
LAWS: tuple[IdeaLaw, ...] = (
    IdeaLaw("earth", "the drift by the Earth's turning", "wander"),
    IdeaLaw("journey", "the drift by the journey", "wander"),
    IdeaLaw("friction", "the drift by friction and unbalance", "rotor"),
    IdeaLaw("rotor", "what the rotor's speed does to the drift", "rotor"),
    IdeaLaw("balance", "the latitude balance", "balance"),
    IdeaLaw("bank", "the card in a bank", "gimballing"),
    IdeaLaw("pitch", "the card in a climb or dive", "gimballing"),
    IdeaLaw("turns", "what turns leave behind on the card", "rotor"),
    IdeaLaw("bench", "what a still bench tells", "rotor"),
    IdeaLaw("tumbling", "tumbling", "tumbling"),
    IdeaLaw("caging", "caging", "tumbling"),
    IdeaLaw("north", "where the heading indicator has its north from", "setting"),
    IdeaLaw("variation", "variation", "compass"),
    IdeaLaw("deviation", "deviation", "compass"),
    IdeaLaw("compass-turn", "the compass in a turn", "turning"),
    IdeaLaw("compass-speed", "the compass while the speed changes", "turning"),
    IdeaLaw("compass-settling", "how the compass comes to rest", "turning"),
    IdeaLaw("filter", "a clogged filter", "suction"),
    IdeaLaw("pump", "a weak pump", "suction"),
    IdeaLaw("leak", "a leaking hose", "suction"),
    IdeaLaw("bearings", "worn bearings, and how they are told from want of suction", "suction"),
    IdeaLaw("gauge", "what the suction gauge tells", "suction"),
    IdeaLaw("regulator", "what the regulator does", "suction"),
    IdeaLaw("running", "how long the rotor takes to run up and down", "rotor"),
    IdeaLaw("allowance", "the allowance for drift", "wander"),
    IdeaLaw("term-variation", "the word 'variation'", "terms"),
    IdeaLaw("term-deviation", "the word 'deviation'", "terms"),
    IdeaLaw("term-dip", "the word 'dip'", "terms"),
    IdeaLaw("term-compass-heading", "compass heading", "setting"),
    IdeaLaw("term-turning", "the words 'turning error'", "terms"),
    IdeaLaw("term-precession", "the word 'precession'", "terms"),
    IdeaLaw("term-apparent", "the words 'apparent wander'", "terms"),
    IdeaLaw("term-real", "the words 'real wander'", "terms"),
    IdeaLaw("term-transport", "the words 'transport wander'", "terms"),
    IdeaLaw("term-gimballing", "the words 'gimballing error'", "terms"),
    IdeaLaw("term-topple", "the word 'topple'", "terms"),
    IdeaLaw("term-drift", "the word 'drift'", "terms"),
)
LAW_BY_ID: dict[str, IdeaLaw] = {law.id: law for law in LAWS}
