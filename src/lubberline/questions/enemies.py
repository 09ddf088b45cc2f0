"""Enemies: items that answer each other, which never meet in one paper or quiz."""

from collections.abc import Iterable, Mapping

from lubberline.questions.bank import models
from lubberline.questions.item import Item
from lubberline.questions.model import ItemModel

# A key of at least so many words that stands in another stem answers the question; 'the heading indicator',
# which stands in most of them, does not.
TELLING_WORDS = 4


def are_enemies(one: Item, other: Item, bank: Mapping[str, ItemModel] | None = None) -> bool:
    """Whether one of two items tells what the other asks for, or both ask for the same fact."""
    bank = models() if bank is None else bank
    asked, told = _facts(one, bank)
    asked_too, told_too = _facts(other, bank)
    if asked & (asked_too | told_too) or told & asked_too:
        return True
    return _key_stands_in(one, other) or _key_stands_in(other, one)


def meets_enemy(item: Item, company: Iterable[Item], bank: Mapping[str, ItemModel] | None = None) -> bool:
    """Whether an item would meet an enemy among others."""
    return any(are_enemies(item, other, bank) for other in company)


def _facts(item: Item, bank: Mapping[str, ItemModel]) -> tuple[set[str], set[str]]:
    model = bank.get(item.model)
    if model is None:
        return set(), set()
    return set(model.asks(item.drawn)), set(model.tells(item.drawn))


def _key_stands_in(one: Item, other: Item) -> bool:
    """Whether the key of one item, if it is in words, stands in the stem of the other."""
    if one.kind != "choice" or one.options[one.key].value is not None:
        return False
    key = " ".join(one.options[one.key].text.casefold().split())
    return len(key.split()) >= TELLING_WORDS and key in " ".join(other.stem.casefold().split())
