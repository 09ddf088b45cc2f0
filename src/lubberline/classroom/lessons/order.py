"""The order in which the options of a lesson's questions stand, alike on every page of a class.

Answers are kept by option: an option's index in its item. Pages know only places in this order, which
follows from the sitting's id, so that it is the same after a restart and another one in the next class.
"""

from collections import Counter
from collections.abc import Iterable

from lubberline.classroom.records import NOT_CHOSEN, Asked, Sitting
from lubberline.questions.item import Item
from lubberline.questions.model import random_of

Order = tuple[int, ...]


def orders_of(sitting: Sitting) -> dict[str, Order]:
    """The orders of a sitting: see `shuffled`."""
    return shuffled(sitting.id, sitting.asked)


def shuffled(seed: str, asked: Iterable[Asked]) -> dict[str, Order]:
    """By the question's key, the indices of its options in the order in which they stand.

    Options in words are shuffled so that over the lesson the right one stands at each place equally often,
    as far as the numbers of options allow. True and false, and numbers, which rise, stay as they are.
    """
    random = random_of("options of a lesson", seed)
    orders: dict[str, Order] = {}
    taken: Counter[int] = Counter()
    words: list[Asked] = []
    for one in asked:
        if is_shuffled(one.item):
            words.append(one)
        elif one.item.options:
            orders[one.key] = printed_order(one.item)
            taken[one.item.key] += 1
    random.shuffle(words)
    # Those with the fewest options first: the last places are left to those that have them.
    for one in sorted(words, key=lambda one: len(one.item.options)):
        count, key = len(one.item.options), one.item.key
        place = min(range(count), key=lambda place: (taken[place], random.random()))
        taken[place] += 1
        others = [own for own in range(count) if own != key]
        random.shuffle(others)
        orders[one.key] = (*others[:place], key, *others[place:])
    return orders


def printed_order(item: Item) -> Order:
    """The order of an item's options on a paper: its own."""
    return tuple(range(len(item.options)))


def is_shuffled(item: Item) -> bool:
    """Whether an item's options are words without an order of their own."""
    return item.kind == "choice" and all(option.value is None for option in item.options)


def own_index(order: Order, place: int) -> int:
    """The option at a place, as its index in the item; `NOT_CHOSEN` for no place of the order."""
    return order[place] if 0 <= place < len(order) else NOT_CHOSEN


def place_of(order: Order, own: int) -> int:
    """The place at which an option stands; `NOT_CHOSEN` for none."""
    return order.index(own) if own in order else NOT_CHOSEN
