"""Wrong ideas as wrong models: one table for flights, the ghosts on the bench and the questions.

Physical ideas change coefficients that the kernels read, and can be flown. Causal ideas change relations of
the model of faults (`simulation/symptoms`). Verbal ideas mistake one term for another. Structural ideas
change what runs on what (`simulation/supply`).
`docs/methods/misconceptions.md` lists them.
"""

from collections.abc import Iterable

from lubberline.errors import InputError, nearest_of
from lubberline.simulation.misconceptions import card, compass, drift, faults, supply, terms
from lubberline.simulation.misconceptions.idea import Causal, Misconception, Physical, Structural, Verbal
from lubberline.simulation.misconceptions.laws import LAW_BY_ID, LAWS
from lubberline.simulation.misconceptions.terms import QUANTITIES

__all__ = [
    "ALL",
    "BY_ID",
    "CAUSAL",
    "FLOWN",
    "FLOWN_BY_ID",
    "IDEAS_OF_LAW",
    "LAWS",
    "LAW_BY_ID",
    "QUANTITIES",
    "STRUCTURAL",
    "VERBAL",
    "Causal",
    "Misconception",
    "Physical",
    "Structural",
    "Verbal",
    "add_ideas",
    "flown_idea",
    "misconception",
]

# Ideas that can be flown, for `fly --believe` and the ghosts; registered instruments add their own.
FLOWN_BY_ID: dict[str, Physical] = {idea.id: idea for idea in (*drift.IDEAS, *card.IDEAS, *compass.IDEAS)}
FLOWN = FLOWN_BY_ID.values()
CAUSAL: tuple[Causal, ...] = faults.IDEAS
VERBAL: tuple[Verbal, ...] = terms.IDEAS
STRUCTURAL: tuple[Structural, ...] = supply.IDEAS

BY_ID: dict[str, Misconception] = {idea.id: idea for idea in (*FLOWN, *CAUSAL, *VERBAL, *STRUCTURAL)}
ALL = BY_ID.values()
IDEAS_OF_LAW: dict[str, tuple[str, ...]] = {
    law.id: tuple(idea.id for idea in ALL if idea.law == law.id) for law in LAWS
}


def add_ideas(ideas: Iterable[Physical]) -> None:
    """Add the wrong ideas of an instrument."""
    for idea in ideas:
        BY_ID[idea.id] = FLOWN_BY_ID[idea.id] = idea
        IDEAS_OF_LAW[idea.law] = tuple(dict.fromkeys((*IDEAS_OF_LAW[idea.law], idea.id)))


def misconception(id: str, where: str = "misconception") -> Misconception:
    """The wrong idea with this id, of any kind.

    Raises:
        InputError: when there is none; names `where`.
    """
    if id not in BY_ID:
        raise InputError(where, f"there is no wrong idea '{id[:60]}'", nearest_of(id, list(BY_ID)))
    return BY_ID[id]


def flown_idea(id: str) -> Physical:
    """The physical wrong idea with this id.

    Raises:
        InputError: when there is none, or it is a causal or verbal idea, which cannot be flown.
    """
    if id in FLOWN_BY_ID:
        return FLOWN_BY_ID[id]
    wrong = f"there is no wrong idea '{id}'"
    if id in BY_ID:
        wrong = f"the wrong idea '{id}' is {BY_ID[id].kind}, and cannot be flown"
    raise InputError("--believe", wrong, nearest_of(id, list(FLOWN_BY_ID)))
