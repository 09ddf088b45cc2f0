"""An item model: drawn values, a key calculated in two ways, and words that can be changed separately.

Values are drawn from a seed in the trade's usual steps: the same seed and model give the same values. A model
of statements makes claims with drawn numbers, each decided by a calculation and by a second way.
"""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from random import Random
from typing import Any, NamedTuple, TypeVar

from lubberline.flight.home import Home
from lubberline.questions.belief import Belief
from lubberline.questions.item import Figure, Kind, Level
from lubberline.questions.notation import WORDS, Notation

# The source of an item whose facts are in no document.
COMMON = "common practice, no source"

T = TypeVar("T")
Drawn = Mapping[str, Any]
Value = float | str


def random_of(*parts: object) -> Random:
    """A source of chance that depends on these parts alone, on every machine and in every process."""
    digest = hashlib.blake2b("/".join(map(str, parts)).encode(), digest_size=8).digest()
    return Random(int.from_bytes(digest, "big"))


# Values at home are drawn within these of its own.
LATITUDE_REACH_DEG = 10.0
VARIATION_REACH_DEG = 4.0
# Flatter, a compass hardly errs; steeper, it hardly points: only homes are asked about beyond 50 to 70.
LEAST_DIP_DEG, GREATEST_DIP_DEG = 40.0, 80.0
# The variation and dip of items are of this day, so that a seed gives the same item on every day.
FIELD_DAY = date(2026, 7, 1)


class Draw:
    """Draws values for one item: anywhere, at a school's home, or far from it.

    Args:
        random: the source of chance.
        home: where the item is set; None for anywhere.
        far: whether it is set elsewhere than at home, mostly in the other hemisphere.

    Attributes:
        placed: whether a value that depends on the place has been drawn.
        southern: whether the place drawn for a home is in the southern hemisphere.
    """

    def __init__(self, random: Random, home: Home | None = None, *, far: bool = False) -> None:
        self.random = random
        self.home = home
        self.far = far
        self.placed = False
        self.southern = False

    def step(self, low: float, high: float, step: float) -> float:
        """One of low, low + step, ... high."""
        count = round((high - low) / step)
        value = low + step * self.random.randrange(count + 1)
        return round(value, 6)

    def pick(self, choices: Sequence[T]) -> T:
        """One of several, with equal chances."""
        return choices[self.random.randrange(len(choices))]

    def heading_deg(self, step: int = 5) -> float:
        """A heading in steps, above 0 up to 360: north is 360, as the trade writes it."""
        return float(step * (1 + self.random.randrange(360 // step)))

    def anywhere_deg(self, low: float, high: float, step: float = 1) -> float:
        """A latitude or dip between two sizes, in either hemisphere; north positive."""
        return self.step(low, high, step) * self.pick((1.0, 1.0, -1.0))

    def latitude_deg(self, low: int, high: int, step: int = 1) -> float:
        """A latitude between two sizes, at home or far from it; north positive."""
        return self._at(self.home.latitude_deg if self.home else None, (low, high, step), LATITUDE_REACH_DEG)

    def placed_deg(self, low: int, high: int, step: int) -> float:
        """As `latitude_deg`, with both hemispheres alike where there is no home."""
        return self.signed(low, high, step) if self.home is None else self.latitude_deg(low, high, step)

    def latitude_of(self, choices: Sequence[float]) -> float:
        """One of several latitudes; at home one of the two sizes nearest to it, in its hemisphere."""
        if self.home is None:
            return self.pick(choices)
        sizes, here = sorted({abs(one) for one in choices if one}), abs(self.home.latitude_deg)
        if self.far:
            others = [size for size in sizes if abs(size - here) > LATITUDE_REACH_DEG] or sizes
            return self._stands(self.pick(others) * self._far_side(self.home.side))
        return self._stands(self.pick(sorted(sizes, key=lambda size: abs(size - here))[:2]) * self.home.side)

    def dip_deg(self, low: float, high: float, step: float) -> float:
        """A dip between two sizes, at home about its own, or far from it; north positive."""
        here = self.home.field(FIELD_DAY).dip_deg if self.home else None
        if here is not None and not self.far:
            # Home's own, also where it is steeper or flatter than what is asked about elsewhere.
            near = step * round(abs(here) / step)
            low, high = max(min(low, near), LEAST_DIP_DEG), min(max(high, near + step), GREATEST_DIP_DEG)
        return self._at(here, (low, high, step), step)

    def variation_deg(self, low: float, high: float, step: float) -> float:
        """A variation between two sizes, at home or far from it; east positive."""
        if self.home is None:
            return self.signed(low, high, step)
        # It says nothing about the latitude: it does not count as a question about another place.
        before = self.placed, self.southern
        here = self.home.field(FIELD_DAY).variation_deg
        value = self._at(here, (low, high, step), VARIATION_REACH_DEG)
        self.placed, self.southern = before
        return value

    def half(self) -> dict[str, str]:
        """The hemisphere as a drawn value, only where it is the southern one."""
        if self.home is None:
            return {}
        self._stands(-self.home.side if self.far else self.home.side)
        return {"half": "southern"} if self.southern else {}

    def either(self, value: float) -> float:
        """A value, with either sign at home."""
        return value if self.home is None else value * self.pick((1.0, -1.0))

    def _at(self, here: float | None, steps: tuple[float, float, float], reach: float) -> float:
        """A value in steps of its size, near the one here or far from it."""
        if here is None:
            return self.anywhere_deg(*steps)
        low, high, step = steps
        side = -1.0 if here < 0.0 else 1.0
        sizes = [round(low + step * n, 6) for n in range(round((high - low) / step) + 1)]
        if self.far:
            return self._stands(self.pick(sizes) * self._far_side(side))
        middle = min(max(abs(here), low), high)
        return self._stands(self.pick([size for size in sizes if abs(size - middle) <= reach]) * side)

    def _stands(self, place_deg: float) -> float:
        """The same place, after it is noted."""
        self.placed, self.southern = True, place_deg < 0.0
        return place_deg

    def _far_side(self, side: float) -> float:
        return side * self.pick((-1.0, -1.0, 1.0))

    def signed(self, low: float, high: float, step: float) -> float:
        """A value of either sign with a size between two sizes."""
        return self.step(low, high, step) * self.pick((-1.0, 1.0))


class Wrong(NamedTuple):
    """The answer of a student with a wrong idea: a value in the notation's unit, or the name of an option.

    Attributes:
        idea: its id.
        value: the answer.
        also: ids of other ideas with the same answer.
    """

    idea: str
    value: Value
    also: tuple[str, ...] = ()


class Worked(NamedTuple):
    """The results of a model for drawn values.

    Attributes:
        key: the right value, or the name of the right option.
        wrong: the answer of each wrong idea, before those that collide are dropped.
        facts: values as written, for the placeholders of the words.
        phrase: the name of the phrase for `{phrase}`; '' for none.
        signs: how many times a sign or direction has to be reversed on the way to the key.
        figure: the drawing of the stem.
        parts: what the reason adds up to the key; without rounding errors, or the item is not made.
    """

    key: Value
    wrong: tuple[Wrong, ...]
    facts: dict[str, str]
    phrase: str = ""
    signs: int = 0
    figure: Figure | None = None
    parts: tuple[float, ...] = ()

    def adds_up(self, rounded: Callable[[float], float]) -> bool:
        """Whether the parts as printed give the key as printed."""
        told = rounded(sum(map(rounded, self.parts)))
        return not self.parts or told == rounded(float(self.key))


@dataclass(frozen=True)
class Words:
    """The words of a model, as templates with `{placeholders}` of its facts.

    `{key}` is the key as written, `{this}` the option that a feedback belongs to, `{phrase}` the phrase
    that the model chose, and `{because}` the phrase with that name and ' because'.

    Attributes:
        stem: the question.
        reason: why the key is right, with the numbers.
        feedback: by wrong idea: the numbers of this item; it follows the sentence that corrects the idea.
        options: texts of word options by name, in natural order; none for numbers.
        phrases: texts by name; the model uses one of them for `{phrase}`.
    """

    stem: str
    reason: str
    feedback: Mapping[str, str]
    options: Mapping[str, str] = field(default_factory=dict)
    phrases: Mapping[str, str] = field(default_factory=dict)


def nothing(_: Drawn) -> tuple[Value, ...]:
    """No other value is right."""
    return ()


def no_facts(_: Drawn) -> tuple[str, ...]:
    """No fact that another item asks for or tells."""
    return ()


def facts(*names: str) -> Callable[[Drawn], tuple[str, ...]]:
    """These facts; `{name}` stands for a drawn value."""
    return lambda drawn: tuple(name.format_map(drawn) for name in names)


@dataclass(frozen=True, kw_only=True)
class ItemModel:
    """A question that can be asked repeatedly with other values.

    Attributes:
        id: a short name that never changes.
        topic: a key of `bank.TOPICS`.
        level: recall, apply or judge.
        kind: choice, number or statement.
        draw: values from a source of chance, in the trade's usual steps.
        work: the key, the wrong answers and the written facts of drawn values.
        second: the answer of a student by a second way that shares no code with `work`: under the truth it
            must give the key, under a wrong idea the option that bears its name.
        second_way: that way in words.
        words: the templates.
        source: published place of the fact, or 'common practice, no source'.
        steps: how many steps of thought lead to the key, for the prior difficulty.
        notation: how values are written.
        apart: least distance of two options, in the notation's unit, beyond the reading error.
        agree: how far the second way may be from what is printed.
        tolerance: for a number: how far from the key an answer is still right.
        also_right: values that are right by another method or convention; no distractor may be near them.
        least: fewest distractors; with fewer, the values are drawn again.
        most: most distractors; if there are more, some are drawn.
        crossed: the options are two sizes, each with both signs, so that none shows the key.
        unoffered: ideas whose answers are no options, and names of options that are none, because no key is
            like them; the diagnosis knows them.
        zero: a key may be zero, so that a distractor may be.
        by_text: word options are sorted by their printed text (as headings rise), not by the table.
        needs_options: the question makes sense only with its options.
        jurisdiction: whose rules, for a regulation.
        pictured: its stem has a drawing that must be looked at.
        asks: short names of the facts that an item of these values asks for.
        tells: those that its stem or drawing tells, so that it is no company for an item that asks for them.
    """

    id: str
    topic: str
    level: Level
    kind: Kind
    draw: Callable[[Draw], dict[str, Any]]
    work: Callable[[Drawn], Worked]
    second: Callable[[Drawn, Belief], Value]
    second_way: str
    words: Words
    source: str
    steps: int
    notation: Notation = WORDS
    apart: float = 0.0
    agree: float = 0.0
    tolerance: float | None = None
    also_right: Callable[[Drawn], tuple[Value, ...]] = nothing
    least: int = 2
    most: int = 3
    crossed: bool = False
    unoffered: tuple[str, ...] = ()
    zero: bool = False
    by_text: bool = False
    needs_options: bool = False
    jurisdiction: str = ""
    pictured: bool = False
    asks: Callable[[Drawn], tuple[str, ...]] = no_facts
    tells: Callable[[Drawn], tuple[str, ...]] = no_facts


TRUE, FALSE = "true", "false"


class Statement(NamedTuple):
    """One claim.

    Attributes:
        name: a short name that never changes.
        text: the claim, with placeholders.
        ideas: the wrong ideas of students who may be wrong about it; an item names those that are.
        draw: its values.
        holds: whether it is true of them.
        second: whether a student holds it for true, by a second way.
        because: why, with the numbers.
        facts: values as written.
    """

    name: str
    text: str
    ideas: tuple[str, ...]
    draw: Callable[[Draw], dict[str, Any]]
    holds: Callable[[Drawn], bool]
    second: Callable[[Drawn, Belief], bool]
    because: str
    facts: Callable[[Drawn], dict[str, str]]


def _word(holds: bool) -> str:
    return TRUE if holds else FALSE


def statements_model(
    *,
    id: str,
    topic: str,
    level: Level,
    claims: Sequence[Statement],
    source: str,
    second_way: str,
    steps: int,
    jurisdiction: str = "",
    asks: Callable[[Drawn], tuple[str, ...]] = no_facts,
    tells: Callable[[Drawn], tuple[str, ...]] = no_facts,
) -> ItemModel:
    """A model that asks whether one of several claims is true."""
    by_name = {claim.name: claim for claim in claims}

    def draw(source_of_values: Draw) -> dict[str, Any]:
        claim = source_of_values.pick(claims)
        return {"claim": claim.name, **claim.draw(source_of_values)}

    def work(drawn: Drawn) -> Worked:
        claim = by_name[drawn["claim"]]
        holds = claim.holds(drawn)
        wrong = tuple(Wrong(idea, _word(not holds)) for idea in claim.ideas)
        return Worked(_word(holds), wrong, claim.facts(drawn), phrase=claim.name)

    def second(drawn: Drawn, believed: Belief) -> Value:
        return _word(by_name[drawn["claim"]].second(drawn, believed))

    phrases = {claim.name: claim.text for claim in claims}
    phrases.update({f"{claim.name} because": claim.because for claim in claims})
    return ItemModel(
        id=id,
        topic=topic,
        level=level,
        kind="statement",
        draw=draw,
        work=work,
        second=second,
        second_way=second_way,
        words=Words(
            stem="True or false? {phrase}",
            reason="{because}",
            feedback={idea: "{because}" for claim in claims for idea in claim.ideas},
            options={TRUE: "True", FALSE: "False"},
            phrases=phrases,
        ),
        source=source,
        steps=steps,
        least=1,
        most=1,
        jurisdiction=jurisdiction,
        asks=asks,
        tells=tells,
    )
