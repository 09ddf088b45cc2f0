"""An item model: drawn values, a key calculated in two ways, and words that can be changed separately."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from lubberline.questions.draws import Draw
from lubberline.questions.item import Figure, Kind, Level
from lubberline.questions.notation import WORDS, Notation

Drawn = Mapping[str, Any]
Value = float | str


class Wrong(NamedTuple):
    """The answer of a student with a wrong idea: a value in the notation's unit, or the name of an option."""

    idea: str
    value: Value


class Worked(NamedTuple):
    """The results of a model for drawn values.

    Attributes:
        key: the right value, or the name of the right option.
        wrong: the answer of each wrong idea, before those that collide are dropped.
        facts: values as written, for the placeholders of the words.
        phrase: the name of the phrase for `{phrase}`; '' for none.
        signs: how many times a sign or direction has to be reversed on the way to the key.
        figure: the drawing of the stem.
    """

    key: Value
    wrong: tuple[Wrong, ...]
    facts: dict[str, str]
    phrase: str = ""
    signs: int = 0
    figure: Figure | None = None


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
        second: the key by a second way that shares no code with `work`.
        second_way: that way in words.
        words: the templates.
        source: published place of the fact, or 'common practice, no source'.
        steps: how many steps of thought lead to the key, for the prior difficulty.
        notation: how values are written.
        apart: least distance of two options, in the notation's unit, beyond the reading error.
        agree: how far the second way may be from the printed key.
        tolerance: for a number: how far from the key an answer is still right.
        also_right: values that are right by another method or convention; no distractor may be near them.
        least: fewest distractors; with fewer, the values are drawn again.
        most: most distractors; if there are more, some are drawn.
        by_text: word options are sorted by their printed text (as headings rise), not by the table.
        needs_options: the question makes sense only with its options.
        jurisdiction: whose rules, for a regulation.
    """

    id: str
    topic: str
    level: Level
    kind: Kind
    draw: Callable[[Draw], dict[str, Any]]
    work: Callable[[Drawn], Worked]
    second: Callable[[Drawn], Value]
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
    by_text: bool = False
    needs_options: bool = False
    jurisdiction: str = ""
