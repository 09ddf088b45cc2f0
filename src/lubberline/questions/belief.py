"""What a student believes: the truth, or one wrong idea. Here the law of each kind of idea is applied.

A second way asks its belief for what it needs: the laws of an instrument, the symptoms of a fault, the
meaning of a term, or the outcome of a step of working. Under the truth it gets these unchanged.
"""

from collections.abc import Mapping
from functools import cache
from typing import Any, NamedTuple, TypeVar

from lubberline.instruments.instrument import PHYSICS, Laws, Physics
from lubberline.questions.slips import SLIPS
from lubberline.simulation.misconceptions import BY_ID, Causal, Physical, Structural, Verbal
from lubberline.simulation.misconceptions.idea import HEALTHY, Tap
from lubberline.simulation.supply import TRUE_SUPPLY, SupplyLaws
from lubberline.simulation.symptoms import Seen, Sight, believed_field, believed_sight, sight

T = TypeVar("T")


class Belief(NamedTuple):
    """A student's belief.

    Attributes:
        idea: id of a misconception or slip; '' for the truth.
    """

    idea: str = ""

    @property
    def flown(self) -> Laws:
        """The laws by which the student flies the instruments."""
        held = BY_ID.get(self.idea)
        return held.laws if isinstance(held, Physical) else PHYSICS

    def laws(self, physics: Physics) -> Physics:
        """An instrument's record of laws as the student believes them."""
        believed: Physics = self.flown.of(physics)
        return believed

    @property
    def supply(self) -> SupplyLaws:
        """What drives what, as the student believes it."""
        held = BY_ID.get(self.idea)
        return TRUE_SUPPLY._replace(**held.change) if isinstance(held, Structural) else TRUE_SUPPLY

    def seen(self, fault: str = HEALTHY, size: float | None = None, tap: Tap = "cabin") -> Sight:
        """What the student expects to see with a fault of the air drive."""
        held = BY_ID.get(self.idea)
        if isinstance(held, Causal):
            return believed_sight(held, fault, size, tap)
        return sight(fault, size, tap)

    def expects(self, name: str, fault: str, size: float | None, tap: Tap, seen: Seen) -> float:
        """One field of that, from true fields that come from elsewhere, such as flights."""
        held = BY_ID.get(self.idea)
        if isinstance(held, Causal):
            return believed_field(held, name, fault, size, tap, seen)
        true: float = getattr(seen(fault, size, tap), name)
        return true

    def means(self, term: str) -> str:
        """The quantity that the student takes a term for, both keys of `QUANTITIES`."""
        held = BY_ID.get(self.idea)
        return held.taken_for if isinstance(held, Verbal) and held.term == term else term

    def named(self, quantity: str) -> str:
        """The term that the student calls a quantity by: the other way round."""
        held = BY_ID.get(self.idea)
        return held.term if isinstance(held, Verbal) and held.taken_for == quantity else quantity

    def step(self, name: str, value: T, *others: Any) -> T:
        """The outcome of a step of working: `value`, or what the student's slip makes of it.

        Args:
            name: of the step, as in `Slip.step`.
            value: its right outcome.
            others: what a slip may take instead, such as the other of a pair.
        """
        slip = SLIPS.get(self.idea)
        if slip is None or slip.instead is None or slip.step != name:
            return value
        found: T = slip.instead(value, *others)
        return found

    def of(self, values: Mapping[str, T], term: str) -> T:
        """The value of a term among the values of quantities, as the student takes it."""
        return values[self.means(term)]


TRUTH = Belief()


@cache
def has_law(idea: str) -> bool:
    """Whether an idea runs: a misconception, or a slip whose step of working is declared."""
    return idea in BY_ID or (idea in SLIPS and SLIPS[idea].instead is not None)
