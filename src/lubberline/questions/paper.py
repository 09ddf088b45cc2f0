"""A paper: items in order, the form's letter, and what it was made from."""

from __future__ import annotations

import msgspec

from lubberline.questions.blueprint import Blueprint
from lubberline.questions.item import Item


class Paper(msgspec.Struct, frozen=True):
    """One form of a set of parallel papers.

    Attributes:
        title: as printed.
        form: 'A', 'B', ...
        items: in the order of the blueprint's topics, easier levels first.
        seed: that made all forms of the set.
        blueprint: what was asked for.
    """

    title: str
    form: str
    items: tuple[Item, ...]
    seed: int
    blueprint: Blueprint

    @property
    def difficulty(self) -> float:
        """The expected share of wrong answers, by the items' priors."""
        return sum(item.difficulty for item in self.items) / len(self.items)
