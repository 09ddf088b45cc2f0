"""Parallel papers from a blueprint: the same models with other values, matched in expected difficulty."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

import msgspec

from lubberline.errors import InputError
from lubberline.questions.bank import LEVELS, models
from lubberline.questions.blueprint import Blueprint, TopicEntry, check_blueprint, usable
from lubberline.questions.drawing import random_of
from lubberline.questions.generate import generate
from lubberline.questions.item import Item
from lubberline.questions.paper import Paper

# Tries for an item with values that no form has yet, before a model counts as used up.
TRIES_FOR_NEW = 60
MATCHING_ROUNDS = 400


def assemble(blueprint: Blueprint, seed: int, forms: Sequence[str] = ()) -> tuple[Paper, ...]:
    """The parallel forms of a paper.

    No two items of all forms have the same model and drawn values. Where a model can give enough
    different items every form has it in the same place.

    Args:
        blueprint: what is asked for.
        seed: decides every draw.
        forms: letters of the forms; those of the blueprint without it.

    Raises:
        InputError: when the bank cannot give so many different items, or the forms cannot be made equally
            hard within the blueprint's tolerance.
    """
    if forms:
        blueprint = msgspec.structs.replace(blueprint, forms=tuple(forms))
    check_blueprint(blueprint)
    made = _Making(blueprint, seed)
    for entry in blueprint.topic:
        for level in LEVELS:
            made.add_cell(entry, level)
    made.match()
    return tuple(
        Paper(blueprint.title, form, tuple(items), seed, blueprint)
        for form, items in zip(blueprint.forms, made.papers, strict=True)
    )


class _Making:
    """Papers while they are made: their items, and the ids that are taken."""

    def __init__(self, blueprint: Blueprint, seed: int) -> None:
        self.blueprint = blueprint
        self.random: Random = random_of("paper", blueprint.title, seed)
        self.papers: list[list[Item]] = [[] for _ in blueprint.forms]
        self.taken: set[str] = set()

    def add_cell(self, entry: TopicEntry, level: str) -> None:
        """The items of a topic and level, in every form."""
        asked: int = getattr(entry, level)
        if not asked:
            return
        ids = usable(self.blueprint, entry.name, level)
        queue: list[str] = []
        for place in range(asked):
            if not queue:
                queue = self.random.sample(ids, len(ids))
            first = queue.pop()
            for items in self.papers:
                item = self._new_item([first, *ids])
                if item is None:
                    raise self._used_up(entry, level, place)
                items.append(msgspec.structs.replace(item, codes=entry.codes))

    def _used_up(self, entry: TopicEntry, level: str, place: int) -> InputError:
        forms = len(self.papers)
        return InputError(
            f"blueprint, topic '{entry.name}', {level}",
            f"{getattr(entry, level)} in each of {forms} forms are more different items than the bank has",
            f"ask for about {place} or fewer, or for fewer forms",
        )

    def _new_item(self, ids: Sequence[str]) -> Item | None:
        """An item that no form has, of the first model that can give one."""
        for id in ids:
            for _ in range(TRIES_FOR_NEW):
                item = generate(models()[id], self.random.getrandbits(48))
                if item.id not in self.taken:
                    self.taken.add(item.id)
                    return item
        return None

    def match(self) -> None:
        """Draw items of the hardest and easiest form again until all are about equally hard."""
        for _ in range(MATCHING_ROUNDS):
            means = [_mean(items) for items in self.papers]
            hardest, easiest = means.index(max(means)), means.index(min(means))
            if means[hardest] - means[easiest] <= self.blueprint.difficulty_tolerance:
                return
            self._nearer(self.papers[hardest], -1.0)
            self._nearer(self.papers[easiest], 1.0)
        spread = max(map(_mean, self.papers)) - min(map(_mean, self.papers))
        raise InputError(
            "blueprint, difficulty_tolerance",
            f"the forms stay {spread:.3f} apart",
            f"give {spread + 0.005:.2f} or more, or other counts",
        )

    def _nearer(self, items: list[Item], sense: float) -> None:
        """Replace one item by another of the same model if that makes the form harder (1) or easier (-1)."""
        place = self.random.randrange(len(items))
        old = items[place]
        new = generate(models()[old.model], self.random.getrandbits(48))
        if new.id in self.taken or (new.difficulty - old.difficulty) * sense <= 0.0:
            return
        self.taken.remove(old.id)
        self.taken.add(new.id)
        items[place] = msgspec.structs.replace(new, codes=old.codes)


def _mean(items: Sequence[Item]) -> float:
    return sum(item.difficulty for item in items) / len(items)
