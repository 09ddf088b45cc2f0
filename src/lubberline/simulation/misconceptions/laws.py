"""The laws that wrong ideas replace: each is one thing to know.

Of each law a student believes the truth, one of its wrong ideas, or some other wrong idea. What a student
believes of one law says nothing about another. Each idea names its law.
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


# The diagnosis adds them up in this order.
LAWS: tuple[IdeaLaw, ...] = (
    IdeaLaw("earth", "apparent wander (Earth rate)", "wander"),
    IdeaLaw("journey", "transport wander", "wander"),
    IdeaLaw("friction", "real wander (friction and imbalance)", "rotor"),
    IdeaLaw("rotor", "rotor speed and drift", "rotor"),
    IdeaLaw("balance", "the latitude nut", "balance"),
    IdeaLaw("bank", "gimballing error in a bank", "gimballing"),
    IdeaLaw("pitch", "gimballing error in a climb or dive", "gimballing"),
    IdeaLaw("turns", "the error that a turn leaves on the card", "rotor"),
    IdeaLaw("bench", "a test on a still bench", "rotor"),
    IdeaLaw("tumbling", "tumbling", "tumbling"),
    IdeaLaw("caging", "caging", "tumbling"),
    IdeaLaw("north", "where the heading indicator gets its north from", "setting"),
    IdeaLaw("variation", "variation", "compass"),
    IdeaLaw("deviation", "deviation", "compass"),
    IdeaLaw("compass-turn", "the compass in a turn", "turning"),
    IdeaLaw("compass-speed", "the compass while the speed changes", "turning"),
    IdeaLaw("compass-settling", "the compass after a turn, until it is steady", "turning"),
    IdeaLaw("filter", "a clogged filter", "suction"),
    IdeaLaw("pump", "a weak pump", "suction"),
    IdeaLaw("leak", "a leaking hose", "suction"),
    IdeaLaw("bearings", "worn bearings, and how to tell them from low suction", "suction"),
    IdeaLaw("gauge", "what the suction gauge shows", "suction"),
    IdeaLaw("regulator", "what the regulator does", "suction"),
    IdeaLaw("running", "how long the rotor takes to spin up and run down", "rotor"),
    IdeaLaw("supply", "what each instrument runs on", "suction"),
    IdeaLaw("pumps", "one of two suction pumps", "suction"),
    IdeaLaw("electric", "the electric heading indicator", "rotor"),
    IdeaLaw("venturi", "the suction of a venturi", "suction"),
    IdeaLaw("icing", "suction in icing", "suction"),
    IdeaLaw("allowance", "the allowance for drift", "wander"),
    IdeaLaw("term-variation", "the term 'variation'", "terms"),
    IdeaLaw("term-deviation", "the term 'deviation'", "terms"),
    IdeaLaw("term-dip", "the term 'dip'", "terms"),
    IdeaLaw("term-compass-heading", "the term 'compass heading'", "setting"),
    IdeaLaw("term-turning", "the term 'turning error'", "terms"),
    IdeaLaw("term-precession", "the term 'precession'", "terms"),
    IdeaLaw("term-apparent", "the term 'apparent wander'", "terms"),
    IdeaLaw("term-real", "the term 'real wander'", "terms"),
    IdeaLaw("term-transport", "the term 'transport wander'", "terms"),
    IdeaLaw("term-gimballing", "the term 'gimballing error'", "terms"),
    IdeaLaw("term-topple", "the term 'topple'", "terms"),
    IdeaLaw("term-drift", "the term 'drift'", "terms"),
)
LAW_BY_ID: dict[str, IdeaLaw] = {law.id: law for law in LAWS}
