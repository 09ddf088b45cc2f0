"""Parallel papers from a blueprint: the same models with other values, of equal expected difficulty."""

import math
from collections.abc import Mapping, Sequence
from random import Random

import msgspec

from lubberline.errors import InputError
from lubberline.flight.home import Home
from lubberline.questions.bank import LEVELS, are_enemies, meets_enemy, models
from lubberline.questions.bank_changes import Retired
from lubberline.questions.blueprint import Blueprint, TopicEntry, check_blueprint, usable
from lubberline.questions.generate import ELSEWHERE, Made, make
from lubberline.questions.handwritten import is_handwritten, said_at
from lubberline.questions.item import Item, in_own_words
from lubberline.questions.model import ItemModel, random_of


class Paper(msgspec.Struct, frozen=True):
    """One form of a set of parallel papers.

    Attributes:
        title: as printed.
        form: 'A', 'B', ...
        items: in the order of the blueprint's topics, easier levels first.
        seed: of all forms of the set.
        blueprint: of the set.
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


# Tries for an item with new values before a model counts as used up.
TRIES_FOR_NEW = 60
# What answers an item mostly answers it whatever its values are: a few candidates tell.
TRIES_FOR_ROOM = 5
MATCHING_ROUNDS = 400
# At least this share of a paper's questions is answered by looking, if the bank has as many.
LOOKED_AT = 1.0 / 3.0


def assemble(
    blueprint: Blueprint,
    seed: int,
    forms: Sequence[str] = (),
    *,
    own: Sequence[Item] = (),
    drawn: Sequence[Item] = (),
    changed: Mapping[str, ItemModel] | None = None,
    retired: Retired | None = None,
    home: Home | None = None,
) -> tuple[Paper, ...]:
    """The parallel forms of a paper.

    No two items in all forms have the same model and drawn values, and no two of a form answer each other.
    If a model can give enough different items, every form has it in the same place.

    Items written by hand fill the rows of the blueprint that ask for them (`own`), each in one form. If no
    row does, all of them are at the end of every form.

    Args:
        blueprint: the plan of the paper.
        seed: decides every draw.
        forms: letters of the forms; by default those of the blueprint.
        own: items written by hand.
        drawn: further items written by hand: rows of their topic and level draw them beside the models, each
            for one form at most, unless the blueprint asks for items written by hand.
        changed: models with other words, by id.
        retired: questions that are not used.
        home: where the questions are set if the blueprint does not say; None for anywhere.

    Raises:
        InputError: if the bank cannot give so many different items, there are too few of `own`, or the
            forms cannot be made equally hard within the blueprint's tolerance.
    """
    if forms:
        blueprint = msgspec.structs.replace(blueprint, forms=tuple(forms))
    retired = retired or Retired()
    blueprint = blueprint.at(home)
    blueprint = msgspec.structs.replace(blueprint, retired=(*blueprint.retired, *retired.models))
    check_blueprint(blueprint)
    made = _Making(blueprint, seed, {**models(), **(changed or {})}, retired)
    kept = [said_at(blueprint.set_at, item) for item in own if not retired.holds(item)]
    if not _asks_for_own(blueprint):
        made.closing = kept
        there = {item.model for item in kept}
        made.by_hand = {
            item.model: said_at(blueprint.set_at, item)
            for item in drawn
            if item.model not in there
            and item.jurisdiction in ("", blueprint.jurisdiction)
            and not retired.holds(item)
        }
    for entry in blueprint.topic:
        for level in LEVELS:
            made.add_cell(entry, level)
        made.add_own(entry, [item for item in kept if item.topic == entry.name])
    if not _asks_for_own(blueprint):
        made.append_to_all(kept)
    made.match()
    return tuple(
        Paper(
            blueprint.title,
            form,
            tuple(item if is_handwritten(item) else in_own_words(item) for item in items),
            seed,
            blueprint,
        )
        for form, items in zip(blueprint.forms, made.papers, strict=True)
    )


def with_school_items(blueprint: Blueprint, own: Sequence[Item], of_school: Sequence[Item]) -> list[Item]:
    """Items given for a paper, and those of the school if the blueprint asks for items written by hand."""
    if not _asks_for_own(blueprint):
        return list(own)
    return list({item.model: item for item in (*of_school, *own)}.values())


def _asks_for_own(blueprint: Blueprint) -> bool:
    """Whether rows of a blueprint ask for items written by hand."""
    return any(entry.own for entry in blueprint.topic)


class _Making:
    """Papers in the making: their items, and the ids already used."""

    def __init__(
        self, blueprint: Blueprint, seed: int, bank: Mapping[str, ItemModel], retired: Retired
    ) -> None:
        self.blueprint = blueprint
        self.bank = bank
        self.random: Random = random_of("paper", blueprint.title, seed)
        self.papers: list[list[Item]] = [[] for _ in blueprint.forms]
        self.taken: set[str] = set(retired.items)
        self.home = blueprint.set_at
        self.share = ELSEWHERE if blueprint.elsewhere is msgspec.UNSET else blueprint.elsewhere
        self.placed = 0
        self.pictured = 0
        cells = [(entry, level) for entry in blueprint.topic for level in LEVELS]
        self.later = sum(self._pictures_in(entry, level) for entry, level in cells)
        self.far: set[str] = set()
        self.closing: Sequence[Item] = ()
        self.by_hand: Mapping[str, Item] = {}

    def add_cell(self, entry: TopicEntry, level: str) -> None:
        """The items of a topic and level, in every form."""
        asked: int = getattr(entry, level)
        if not asked:
            return
        ids = list(usable(self.blueprint, entry.name, level))
        self.later -= self._pictures_in(entry, level)
        at = (entry.name, level)
        ids += [id for id, item in self.by_hand.items() if (item.topic, item.level) == at]
        queue: list[str] = []
        for place in range(asked):
            if not queue:
                queue = self.random.sample(ids, len(ids))
            first = self._next(queue)
            before = self.placed
            for items in self.papers:
                # The same places in every form.
                self.placed = before
                # Of the same model in every form, if need be by drawing again what stands against it, and at
                # last with another model in its place.
                tries = ((some, others) for others in (False, True) for some in ([first], ids))
                made = (self._placed(some, items, others=others) for some, others in tries)
                item = next(filter(None, made), None)
                if item is None:
                    raise self._used_up(entry, level, place)
                hand = is_handwritten(item)
                items.append(
                    _coded(item, entry.codes) if hand else msgspec.structs.replace(item, codes=entry.codes)
                )

    def _pictures_in(self, entry: TopicEntry, level: str) -> int:
        """How many questions with a picture a topic and level can give, its models taking turns."""
        asked: int = getattr(entry, level)
        if not asked:
            return 0
        ids = usable(self.blueprint, entry.name, level)
        there = sum(self.bank[id].pictured for id in ids)
        return asked // len(ids) * there + min(asked % len(ids), there)

    def _next(self, queue: list[str]) -> str:
        """The next model of a queue: one with a picture if the paper would otherwise have too few."""
        needed = math.ceil(LOOKED_AT * self.blueprint.count)
        behind = self.pictured < LOOKED_AT * (len(self.papers[0]) + 1)
        looked = [id for id in queue if id in self.bank and self.bank[id].pictured]
        if looked and self.pictured < needed and (behind or self.pictured + self.later < needed):
            queue.remove(looked[-1])
            queue.append(looked[-1])
        self.pictured += queue[-1] in self.bank and self.bank[queue[-1]].pictured
        return queue.pop()

    def add_own(self, entry: TopicEntry, there: Sequence[Item]) -> None:
        """Items written by hand on a topic, different ones in every form."""
        needed = entry.own * len(self.papers)
        if needed > len(there):
            raise InputError(
                f"blueprint, topic '{entry.name}', own",
                f"{entry.own} in each of {len(self.papers)} forms need {needed} items written by hand, "
                f"but there are {len(there)} on this topic",
                "write more items, or ask for fewer items or forms",
            )
        left = self.random.sample(list(there), len(there))[:needed]
        for items in self.papers:
            for _ in range(entry.own):
                # Of those that are left, one that meets no enemy here, if there is one.
                item = min(left, key=lambda one: meets_enemy(one, items, self.bank))
                left.remove(item)
                items.append(_coded(item, entry.codes))

    def append_to_all(self, own: Sequence[Item]) -> None:
        """Items that were written by hand, at the end of every form."""
        codes = {entry.name: entry.codes for entry in self.blueprint.topic}
        for items in self.papers:
            items += [_coded(item, codes.get(item.topic, ())) for item in own]

    def _used_up(self, entry: TopicEntry, level: str, place: int) -> InputError:
        forms = len(self.papers)
        return InputError(
            f"blueprint, topic '{entry.name}', {level}",
            f"{getattr(entry, level)} in each of {forms} forms are more than the bank has without repeats "
            "and without questions that answer each other",
            f"ask for about {place} or fewer, or for fewer forms",
        )

    def _new_item(self, ids: Sequence[str], company: Sequence[Item]) -> Item | None:
        """An item that is in no form yet and meets no enemy, of the first model that can give one.

        Every few of those that depend on the place are far from home, and those for which home has no
        more values.
        """
        far = math.floor((self.placed + 1) * self.share + 0.5) > math.floor(self.placed * self.share + 0.5)
        for is_far in dict.fromkeys((far, True)) if self.home else (False,):
            for id in ids:
                if hand := self.by_hand.get(id):
                    if hand.id not in self.taken and not self._meets_enemy(hand, company):
                        self.taken.add(hand.id)
                        return hand
                    continue
                for _ in range(TRIES_FOR_NEW):
                    made = make(self.bank[id], self.random.getrandbits(48), self.home, far=is_far)
                    if made.item.id not in self.taken and not self._meets_enemy(made.item, company):
                        self._take(made, is_far)
                        return made.item
        return None

    def _placed(self, ids: Sequence[str], items: list[Item], *, others: bool) -> Item | None:
        return self._new_item(ids, items) or self._displacing(ids, items, others=others)

    def _displacing(self, ids: Sequence[str], items: list[Item], *, others: bool) -> Item | None:
        """An item of the first model that can give one if those that answer it get other values."""
        for id in ids:
            for _ in range(TRIES_FOR_ROOM):
                item = self._new_item([id], ())
                if item is None:
                    break
                if self._moved_away(item, items, others=others):
                    return item
                self.taken.remove(item.id)
        return None

    def _moved_away(self, item: Item, items: list[Item], *, others: bool) -> bool:
        """Whether every item that answers this one, or is answered by it, could be drawn again."""
        moved = list(items)
        for place, old in enumerate(items):
            if not are_enemies(item, old, self.bank):
                continue
            company = [*moved[:place], *moved[place + 1 :], item]
            ids = [old.model, *(usable(self.blueprint, old.topic, old.level) if others else ())]
            new = None if is_handwritten(old) else self._new_item(ids, company)
            if new is None:
                return False
            moved[place] = msgspec.structs.replace(new, codes=old.codes)
        items[:] = moved
        return True

    def _meets_enemy(self, item: Item, company: Sequence[Item]) -> bool:
        return meets_enemy(item, (*company, *self.closing), self.bank)

    def _take(self, made: Made, is_far: bool) -> None:
        self.taken.add(made.item.id)
        self.placed += made.placed
        if made.placed and is_far:
            self.far.add(made.item.id)

    def match(self) -> None:
        """Redraw items of the hardest and easiest form until all forms are about equally hard."""
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
            f"the expected difficulties of the forms still differ by {spread:.3f}",
            f"give {spread + 0.005:.2f} or more, or change the counts",
        )

    def _nearer(self, items: list[Item], sense: float) -> None:
        """Replace one item by another of its model if that makes the form harder (1) or easier (-1)."""
        place = self.random.randrange(len(items))
        old = items[place]
        if is_handwritten(old):
            return
        far = old.id in self.far
        made = make(self.bank[old.model], self.random.getrandbits(48), self.home, far=far)
        new = made.item
        if new.id in self.taken or (new.difficulty - old.difficulty) * sense <= 0.0:
            return
        if self._meets_enemy(new, [*items[:place], *items[place + 1 :]]):
            return
        self.taken.remove(old.id)
        self._take(made, far)
        items[place] = msgspec.structs.replace(new, codes=old.codes)


def _coded(item: Item, codes: tuple[str, ...]) -> Item:
    """An item written by hand with the topic's codes, unless it has its own."""
    return item if item.codes else msgspec.structs.replace(item, codes=codes)


def _mean(items: Sequence[Item]) -> float:
    return sum(item.difficulty for item in items) / len(items)
