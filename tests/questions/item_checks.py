"""Holds made items to what they promise, and counts what is found."""

import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from lubberline.questions.bank import models
from lubberline.questions.belief import TRUTH, Belief, has_law
from lubberline.questions.generate import lands, make, printed, too_near
from lubberline.questions.item import Item, Option
from lubberline.questions.model import ItemModel, Value

# What a place that was not filled, or a number that is none, leaves in a text.
LEFT_OVER = ("{", "}", " nan", " inf ", "None")


@dataclass
class Report:
    """What a run of items showed; those from `unconfirmed` to `doubled` must be zero.

    Attributes:
        items: made and checked.
        seconds: that it took.
        distinct: different items among them.
        collisions: draws thrown away because too few distractors were left.
        unconfirmed: keys that the second way does not give.
        unproved: items with an option whose idea gives another answer by the second way.
        second_right: items with a distractor that is right too, or within reading error of right.
        repeated: items with two options alike or within reading error of each other.
        disordered: items whose options are not in natural order, or whose key index is wrong.
        unfinished: items with an empty or unfilled text.
        doubled: items that print like an item of other drawn values.
        plain: options that name no idea, and `options`: all wrong ones.
        proved: how often each pair of model and idea was proved.
        by_model: items by model.
        key_places: how often the key was the first, second, ... option of a choice.
        faults: the first few faults in words.
    """

    items: int = 0
    seconds: float = 0.0
    distinct: int = 0
    collisions: int = 0
    unconfirmed: int = 0
    unproved: int = 0
    second_right: int = 0
    repeated: int = 0
    disordered: int = 0
    unfinished: int = 0
    doubled: int = 0
    plain: int = 0
    options: int = 0
    proved: Counter[tuple[str, str]] = field(default_factory=Counter)
    by_model: Counter[str] = field(default_factory=Counter)
    key_places: Counter[int] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)

    @property
    def clean(self) -> bool:
        """Whether nothing was found."""
        return not any(getattr(self, name) for name in (*CHECKS, "doubled"))

    def sentence(self) -> str:
        """The counts in words."""
        return (
            f"{self.items} items of {len(self.by_model)} models ({self.distinct} different) in "
            f"{self.seconds:.1f} s: {self.collisions} draws collided and were drawn again; "
            f"{self.unconfirmed} keys not confirmed by the second way, "
            f"{len(self.proved)} pairs of model and idea proved {self.proved.total()} times, "
            f"{self.unproved} not; "
            f"{self.plain} of {self.options} wrong options name no idea, {self.second_right} with a second "
            f"right answer, {self.repeated} with repeated options, {self.disordered} out of order, "
            f"{self.unfinished} with unfinished words, {self.doubled} that print like another."
        )


def unconfirmed(model: ItemModel, item: Item) -> bool:
    """Whether the second way gives something else than the printed key."""
    second = model.second(item.drawn, TRUTH)
    if isinstance(second, str):
        return item.options[item.key].text != _text_of(model, item, second)
    key = item.answer if item.kind == "number" else item.options[item.key].value
    return key is None or model.notation.distance(key, second) > model.agree + 1e-9


def unproved(model: ItemModel, item: Item) -> bool:
    """Whether an option bears the name of an idea whose law gives something else by the second way."""
    key = item.answer if item.kind == "number" else _value_of(model, item, item.options[item.key])
    values = [_value_of(model, item, option) for option in _wrong_of(item)]
    assert key is not None
    for place, option in enumerate(_wrong_of(item)):
        others = [key, *values[:place], *values[place + 1 :]]
        if any(not _gives(model, item, idea, values[place], others) for idea in option.ideas):
            return True
    return False


def _gives(model: ItemModel, item: Item, idea: str, shown: Value, others: Sequence[Value]) -> bool:
    return has_law(idea) and lands(model, model.second(item.drawn, Belief(idea)), shown, others)


def _value_of(model: ItemModel, item: Item, option: Option) -> Value:
    """The number of an option, or the name that the model has for it."""
    if option.value is not None:
        return option.value
    return next(name for name in model.words.options if _text_of(model, item, name) == option.text)


def _text_of(model: ItemModel, item: Item, name: str) -> str:
    """How a named option would read in this item; '' for a name that the model does not have."""
    template = model.words.options.get(name, "")
    return template.format_map(model.work(item.drawn).facts) if "{" in template else template


def second_right(model: ItemModel, item: Item) -> bool:
    """Whether a distractor is right by the second way, or by another road that the model knows."""
    second = model.second(item.drawn, TRUTH)
    if isinstance(second, str):
        right = _text_of(model, item, second)
        return any(option.text == right for option in _wrong_of(item))
    wrong = [option.value for option in _wrong_of(item)]
    others = [value for value in model.also_right(item.drawn) if not isinstance(value, str)]
    half = 0.5 * model.apart
    return any(
        value is None
        or model.notation.distance(value, second) < max(half, model.agree)
        or any(model.notation.distance(value, other) < model.apart - 1e-9 for other in others)
        for value in wrong
    )


def _wrong_of(item: Item) -> list[Option]:
    """The wrong options, or the wrong numbers that are known."""
    return [option for place, option in enumerate(item.options) if place != item.key] or list(item.slips)


def repeated(model: ItemModel, item: Item) -> bool:
    """Whether two options print alike or cannot be told apart."""
    options = item.options
    if len({option.text for option in options}) != len(options):
        return True
    values = [option.value for option in options if option.value is not None]
    return any(
        too_near(model, one, other, model.apart)
        for index, one in enumerate(values)
        for other in values[index + 1 :]
    )


def disordered(model: ItemModel, item: Item) -> bool:
    """Whether options are out of natural order, too few, or the key's index points at what is wrong."""
    if item.kind == "number":
        return item.key != -1 or bool(item.options) or item.answer is None
    if not 0 <= item.key < len(item.options) or len(item.options) <= model.least:
        return True
    if item.options[item.key].ideas or item.options[item.key].feedback != item.reason:
        return True
    values = [option.value for option in item.options if option.value is not None]
    return values != sorted(values) or (bool(values) and any(v != printed(model, v) for v in values))


def unfinished(item: Item) -> bool:
    """Whether a text is empty or holds an unfilled place."""
    texts = [item.stem, item.reason, item.source, *map(_words_of, (*item.options, *item.slips))]
    if item.figure is not None:
        texts.append(item.figure.alt)
    return any(not text.strip() or any(mark in text for mark in LEFT_OVER) for text in texts)


def _words_of(option: Option) -> str:
    return f"{option.text} {option.feedback}" if option.text and option.feedback else ""


CHECKS: dict[str, Callable[[ItemModel, Item], bool]] = {
    "unconfirmed": unconfirmed,
    "unproved": unproved,
    "second_right": second_right,
    "repeated": repeated,
    "disordered": disordered,
    "unfinished": lambda _, item: unfinished(item),
}
MOST_FAULTS = 20


def check_item(model: ItemModel, item: Item) -> list[str]:
    """The names of the checks that an item fails; none when it keeps its promises."""
    return [name for name, fails in CHECKS.items() if fails(model, item)]


def check_many(count: int, seed: int, of: Sequence[ItemModel] | None = None) -> Report:
    """Make and check many items, the models taking turns.

    Args:
        count: how many.
        seed: decides all of them.
        of: the models; all of the bank without it.
    """
    report, taken = Report(), list(of) if of is not None else list(models().values())
    printed_ids: dict[tuple[str, ...], str] = {}
    begun = time.perf_counter()
    for number in range(count):
        model = taken[number % len(taken)]
        item, redraws, _ = make(model, seed + number)
        _count(report, model, item, redraws)
        if printed_ids.setdefault(_as_printed(model, item), item.id) != item.id:
            _found(report, "doubled", item)
    report.seconds = time.perf_counter() - begun
    report.items, report.distinct = count, len(printed_ids)
    return report


def _count(report: Report, model: ItemModel, item: Item, redraws: int) -> None:
    report.by_model[model.id] += 1
    report.collisions += redraws
    for option in _wrong_of(item):
        report.options += 1
        report.plain += not option.ideas
        report.proved.update((model.id, idea) for idea in option.ideas)
    if item.kind == "choice":
        report.key_places[item.key] += 1
    for name in check_item(model, item):
        _found(report, name, item)


def _found(report: Report, name: str, item: Item) -> None:
    setattr(report, name, getattr(report, name) + 1)
    if len(report.faults) < MOST_FAULTS:
        report.faults.append(f"{item.id}: {name}: {item.stem}")


def _as_printed(model: ItemModel, item: Item) -> tuple[str, ...]:
    """What a candidate sees of an item; which of many distractors were drawn is seldom a difference."""
    key = item.options[item.key].text if item.options else ""
    drawn = sorted(option.text for option in item.options) if model.needs_options else ()
    return item.model, item.stem, key, item.figure.svg if item.figure else "", *drawn
