"""A wrong idea: what a student would say, the correction, and the wrong model that runs."""

import re
from collections.abc import Callable, Mapping
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import lru_cache
from typing import ClassVar, Literal, NamedTuple

from lubberline.instruments.instrument import Laws
from lubberline.simulation.live.parts import PARTS
from lubberline.simulation.misconceptions.laws import LAW_BY_ID

HANDBOOK = "FAA-H-8083-15B, Instrument Flying Handbook, chapter 5"
GYRO_TEXT = "FAA-H-8083-25, Pilot's Handbook of Aeronautical Knowledge, chapter 8"
WANDER_TEXT = "apparent wander 15.04 sin(latitude) deg/h: any text on gyroscopic theory for pilots"
TRANSPORT_TEXT = (
    "transport wander, groundspeed east x tan(latitude) / R: any text on gyroscopic theory for pilots"
)
PRECESSION_TEXT = "precession = torque / angular momentum: any text on the theory of the gyroscope"
GIMBAL_PATENT = "US patent 3,870,940: gimbal error of a directional gyro by bank, pitch and spin axis"
COMPASS_TEXT = "Williams, Compass Errors (2001), equations 2 to 4"
DEVIATION_TEXT = "NGA, Handbook of Magnetic Compass Adjustment (2004), chapter V"
VARIATION_TEXT = "NOAA NCEI and BGS, The US/UK World Magnetic Model for 2025-2030 (declination)"
FIELD_TEXT = "NOAA NCEI and BGS, The US/UK World Magnetic Model for 2025-2030 (inclination)"
DRIFT_LIMIT_TEXT = "FAA-H-8083-25, chapter 8: 3 degrees in 15 minutes, without apparent wander"
PRACTICE = "common practice, no source"

Kind = Literal["physical", "causal", "verbal", "structural"]
Tap = Literal["cabin", "instruments"]
EVERY_FAULT: tuple[str, ...] = ()
HEALTHY = ""


class Speech(NamedTuple):
    """How a school says things.

    Attributes:
        ideas: statements by the ids of wrong ideas.
        terms: its terms by the program's.
        parts: its names by the ids of parts.
    """

    ideas: Mapping[str, str] = {}
    terms: Mapping[str, str] = {}
    parts: Mapping[str, str] = {}


_PLAIN = Speech()
# Of the school for which a request or a command is served, as a language would be.
SPOKEN: ContextVar[Callable[[], Speech]] = ContextVar("how the school says things", default=lambda: _PLAIN)


@lru_cache(maxsize=8)
def _pattern(terms: tuple[str, ...]) -> re.Pattern[str]:
    longest_first = "|".join(re.escape(term) for term in sorted(terms, key=len, reverse=True))
    return re.compile(rf"(?<![\w-])(?:{longest_first})(?![\w-])", re.IGNORECASE)


def spoken(text: str) -> str:
    """A text of the program with the school's terms; a capital stays a capital."""
    return _with_terms(text, SPOKEN.get()().terms)


def spoken_of_parts(text: str, part: str = "") -> str:
    """A text about the instrument, or that names a part, with the school's terms and names of parts."""
    speech = SPOKEN.get()()
    said = _with_terms(text, {**{PARTS[id]: name for id, name in speech.parts.items()}, **speech.terms})
    return speech.parts.get(part, said) if said == text else said


def _with_terms(text: str, terms: Mapping[str, str]) -> str:
    if not terms:
        return text
    lowered = {term.lower(): own for term, own in terms.items()}

    def own(found: re.Match[str]) -> str:
        said = lowered[found[0].lower()]
        return said[:1].upper() + said[1:] if found[0][0].isupper() else said

    return _pattern(tuple(lowered)).sub(own, text)


@dataclass(frozen=True)
class Misconception:
    """A wrong idea that runs.

    Attributes:
        id: a short name.
        plain: what a student would say, in the program's words.
        mend: the sentence that corrects it.
        source: a published place with the right fact, or 'common practice, no source'.
        law: id of the law that it replaces; ideas of one law are alternatives.
        scene: id of the scene that shows it; '' if there is none.
        mend_south: the correction in the southern hemisphere, if it differs.
    """

    kind: ClassVar[Kind]

    id: str
    plain: str
    mend: str
    source: str
    law: str = field(kw_only=True)
    scene: str = field(default="", kw_only=True)
    mend_south: str = field(default="", kw_only=True)

    @property
    def statement(self) -> str:
        """What a student would say, in the school's words."""
        return SPOKEN.get()().ideas.get(self.id) or spoken(self.plain)

    def mend_at(self, *, southern: bool) -> str:
        """The correction in a hemisphere."""
        return self.mend_south or self.mend if southern else self.mend

    def __post_init__(self) -> None:
        """An idea without a known law could never be asked about."""
        if self.law not in LAW_BY_ID:
            raise ValueError(f"{self.id}: there is no law '{self.law}' in {list(LAW_BY_ID)}")


@dataclass(frozen=True)
class Physical(Misconception):
    """A changed law of motion.

    Attributes:
        name: in two or three words, beside its ghost.
        change: the fields of instruments' records of laws that differ, with their wrong values.
    """

    kind = "physical"

    name: str = field(kw_only=True)
    change: Mapping[str, float] = field(kw_only=True)

    @property
    def laws(self) -> Laws:
        """The laws as a student with this idea believes them."""
        return Laws(self.change)


@dataclass(frozen=True)
class Rule:
    """A changed relation between a fault and its symptoms (the fields of `symptoms.Sight`).

    The student expects `factor` times what is really seen with `as_fault`, in `as_field`, on a gauge at
    `as_tap`; where one of these is None, the real fault, field or gauge is used.

    Attributes:
        fields: the fields of `Sight` that are believed to differ.
        faults: names of `instruments.faults.FAULTS`; `HEALTHY`: no fault; `EVERY_FAULT`: any fault or none.
        as_fault: see above.
        as_field: see above.
        as_tap: see above.
        factor: see above.
        by_gauge: a gauge's field of `Sight`: multiply by its reading (at `as_tap`) over its healthy reading.
        in_the_green: only if the gauge reads normal in cruise.
    """

    fields: tuple[str, ...]
    faults: tuple[str, ...] = EVERY_FAULT
    as_fault: str | None = None
    as_field: str | None = None
    as_tap: Tap | None = None
    factor: float = 1.0
    by_gauge: str | None = None
    in_the_green: bool = False


@dataclass(frozen=True)
class Causal(Misconception):
    """Changed relations of the model of faults.

    Attributes:
        rules: they apply in order; `symptoms.believed_sight` runs them.
    """

    kind = "causal"

    rules: tuple[Rule, ...] = field(kw_only=True)


@dataclass(frozen=True)
class Quantity:
    """What a term of the trade means.

    Attributes:
        term: as the trade writes it.
        definition: in one sentence; `quantities.measured` gives its values along a flight.
    """

    term: str
    definition: str


@dataclass(frozen=True)
class Verbal(Misconception):
    """A term that is mistaken for another.

    Attributes:
        term: key of `terms.QUANTITIES`.
        taken_for: key of the quantity that it is mistaken for.
    """

    kind = "verbal"

    term: str = field(kw_only=True)
    taken_for: str = field(kw_only=True)


@dataclass(frozen=True)
class Structural(Misconception):
    """A changed relation of what runs on what.

    Attributes:
        change: the fields of `supply.SupplyLaws` that differ, with their wrong values.
    """

    kind = "structural"

    change: Mapping[str, float] = field(kw_only=True)
