"""Which wrong answers may stand beside a key: apart from it and from each other, and in natural order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from random import Random

from lubberline.questions.model import Drawn, ItemModel, Value, Worked, Wrong
from lubberline.questions.slips import SLIPS


def printed(model: ItemModel, value: Value) -> Value:
    """A value as it will stand on paper: rounded to the form's step; names as they are."""
    return value if isinstance(value, str) else model.form.rounded(value)


def too_near(model: ItemModel, one: Value, other: Value, apart: float) -> bool:
    """Whether two values cannot be told apart by reading, or are the same words."""
    if isinstance(one, str) or isinstance(other, str):
        return one == other
    return model.form.distance(one, other) < apart - 1e-9


def live_wrong(model: ItemModel, drawn: Drawn, worked: Worked) -> list[Wrong]:
    """The wrong answers that may stand.

    None is near the key, near what is right by another road, or near one taken already.
    """
    apart = model.apart
    if model.tolerance is not None:
        apart = max(apart, 2.0 * model.tolerance)
    right = [printed(model, worked.key), worked.key, *model.also_right(drawn)]
    taken: list[Wrong] = []
    for idea, value in worked.wrong:
        shown = printed(model, value)
        if any(too_near(model, shown, other, apart) for other in right):
            continue
        if any(too_near(model, shown, other.value, apart) for other in taken):
            continue
        taken.append(Wrong(idea, shown))
    return taken


def chosen(model: ItemModel, live: Sequence[Wrong], random: Random) -> list[Wrong]:
    """As many of the live wrong answers as an item may have: wrong models before mere slips."""
    if len(live) <= model.most:
        return list(live)
    ideas = [wrong for wrong in live if wrong.idea not in SLIPS]
    slips = [wrong for wrong in live if wrong.idea in SLIPS]
    taken = random.sample(ideas, min(len(ideas), model.most))
    return taken + random.sample(slips, model.most - len(taken))


def ordered(model: ItemModel, wrongs: Iterable[Wrong], facts: Mapping[str, str]) -> list[Wrong]:
    """Numbers rising; words in the order of the model's table, or by their text."""
    if model.by_text:
        return sorted(wrongs, key=lambda wrong: model.words.options[str(wrong.value)].format_map(facts))
    if model.words.options:
        places = list(model.words.options)
        return sorted(wrongs, key=lambda wrong: places.index(str(wrong.value)))
    return sorted(wrongs, key=lambda wrong: float(wrong.value))
