"""Makes items: draws values, calculates the answers, drops those that collide, proves the rest, adds words.

Every option that bears the name of an idea is proved: the idea's law gives that very option by the model's
second way. An item with an option that no idea gives is not made.
"""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from random import Random
from typing import NamedTuple

import msgspec

from lubberline.errors import required
from lubberline.flight.home import Home
from lubberline.questions.belief import TRUTH, Belief, has_law
from lubberline.questions.item import Item, Option, prior_difficulty
from lubberline.questions.model import Draw, Drawn, ItemModel, Value, Worked, Wrong, random_of
from lubberline.questions.panel_figures import HPA, INHG, gauges_in_hpa
from lubberline.questions.slips import SLIPS, mend_of
from lubberline.units import INHG_PA, hpa_of, hpa_text


def printed(model: ItemModel, value: Value) -> Value:
    """A value as printed: rounded to the notation's step; names are unchanged."""
    return value if isinstance(value, str) else model.notation.rounded(value)


def too_near(model: ItemModel, one: Value, other: Value, apart: float) -> bool:
    """Whether two values are too near to be told apart, or are the same words."""
    if isinstance(one, str) or isinstance(other, str):
        return one == other
    return model.notation.distance(one, other) < apart - 1e-9


def live_wrong(model: ItemModel, drawn: Drawn, worked: Worked) -> list[Wrong]:
    """The wrong answers that can be used, each with every idea that gives it.

    None is near the key, near an answer that is also right, or near another. None says that nothing happens
    in a model that never has such a key.
    """
    apart = model.apart
    if model.tolerance is not None:
        apart = max(apart, 2.0 * model.tolerance)
    right = [printed(model, worked.key), worked.key, *model.also_right(drawn)]
    taken: list[Wrong] = []
    for idea, value, _ in worked.wrong:
        shown = printed(model, value)
        if _never_right(model, shown) or idea in model.unoffered or shown in model.unoffered:
            continue
        if any(too_near(model, shown, one, apart) for one in right):
            continue
        near = [place for place, one in enumerate(taken) if too_near(model, shown, one.value, apart)]
        if not near:
            taken.append(Wrong(idea, shown))
        elif len(near) == 1 and too_near(model, shown, taken[near[0]].value, 0.5 * model.apart):
            one = taken[near[0]]
            taken[near[0]] = one._replace(also=(*one.also, idea))
    return taken


def _never_right(model: ItemModel, value: Value) -> bool:
    """Whether an option would say that nothing happens, in a model where that is not to be the key."""
    return value == 0.0 and model.kind == "choice" and not (model.zero or model.notation.circle)


def chosen(live: Sequence[Wrong], count: int, random: Random) -> list[Wrong]:
    """At most so many of the live wrong answers: wrong models, then slips, then those without law."""
    taken: list[Wrong] = []
    for group in (
        [wrong for wrong in live if wrong.idea not in SLIPS],
        [wrong for wrong in live if wrong.idea in SLIPS and has_law(wrong.idea)],
        [wrong for wrong in live if not has_law(wrong.idea)],
    ):
        taken += random.sample(group, min(len(group), count - len(taken)))
    return taken


def lands(model: ItemModel, answer: Value, shown: Value, others: Iterable[Value]) -> bool:
    """Whether an answer by the second way is the one that is printed, and nearer to it than to any other."""
    if isinstance(answer, str) or isinstance(shown, str):
        return answer == shown
    if not math.isfinite(answer):
        return False
    far = model.notation.distance(answer, shown)
    away = [model.notation.distance(answer, one) for one in others if not isinstance(one, str)]
    return far <= model.agree + 1e-9 and all(far < one for one in away)


def proved(model: ItemModel, drawn: Drawn, wrong: Wrong, others: Sequence[Value]) -> Wrong | None:
    """A wrong answer with those of its ideas whose law gives it by the second way; None if none does.

    An answer without an idea that has a law is left as it is: it names no idea.
    """
    ideas = [idea for idea in (wrong.idea, *wrong.also) if has_law(idea)]
    if not ideas:
        return wrong
    found = [idea for idea in ideas if lands(model, model.second(drawn, Belief(idea)), wrong.value, others)]
    return Wrong(found[0], wrong.value, tuple(found[1:])) if found else None


def _all_proved(model: ItemModel, drawn: Drawn, key: Value, wrongs: Sequence[Wrong]) -> list[Wrong] | None:
    """The chosen wrong answers, proved; None if one of them, or the key, is not what the second way gives."""
    values = [key, *(wrong.value for wrong in wrongs)]
    if not lands(model, model.second(drawn, TRUTH), key, values[1:]):
        return None
    found = []
    for place, wrong in enumerate(wrongs, start=1):
        one = proved(model, drawn, wrong, [*values[:place], *values[place + 1 :]])
        if one is None:
            return None
        found.append(one)
    return found


def placed(
    model: ItemModel,
    key: Wrong,
    live: Sequence[Wrong],
    facts: Mapping[str, str],
    share: float,
    random: Random,
) -> list[Wrong] | None:
    """As many distractors as the model has at most, of which a share stands before the key.

    Neither the place of the key nor the number of options may tell anything, so both are decided before the
    values; None if these values do not allow them.
    """
    if _never_right(model, key.value):
        return None
    own, groups = groups_of(model, key, live, random)
    needed = (model.most - len(own)) // (1 + len(own))
    place = int(share * (needed + 1))

    def head(group: Sequence[Wrong]) -> Wrong:
        return group[0]._replace(value=ordered(model, group, facts)[0].value)

    by_head = {head(group): group for group in groups}
    mine = head((key, *own))
    line = ordered(model, [*by_head, mine], facts)
    before, after = line[: line.index(mine)], line[line.index(mine) + 1 :]
    if place > len(before) or needed - place > len(after):
        return None
    if own:
        taken = [one for one in by_head if one in before][:place]
        taken += [one for one in by_head if one in after][: needed - place]
    else:
        taken = chosen(before, place, random) + chosen(after, needed - place, random)
    return [*own, *(wrong for one in taken for wrong in by_head[one])]


def groups_of(
    model: ItemModel, key: Wrong, live: Sequence[Wrong], random: Random
) -> tuple[tuple[Wrong, ...], list[tuple[Wrong, ...]]]:
    """The wrong answers that must stand beside the key, and the others in groups that are offered whole.

    Mostly each is a group of its own, and none must. Of crossed options each size has both signs: then no
    size, sign or pair shows the key. The sign of the key is left as it was drawn, because at a school's home
    it may be always the same; the answer of two ideas at once bears the name of none.
    """
    if not model.crossed:
        return (), [(wrong,) for wrong in live]
    turned = [wrong for wrong in live if wrong.value == -float(key.value)][:1]
    # Of a size that is nearly nothing, both signs are the same answer.
    sizes = [
        wrong
        for wrong in live
        if wrong.value != -float(key.value)
        and not too_near(model, wrong.value, -float(wrong.value), model.apart)
    ]
    drawn = random.sample(sizes, len(sizes)) if turned else []
    return tuple(turned), [(wrong, Wrong("", -float(wrong.value))) for wrong in drawn]


def ordered(model: ItemModel, wrongs: Iterable[Wrong], facts: Mapping[str, str]) -> list[Wrong]:
    """Numbers in rising order; words in the order of the model's table, or by their text."""
    if model.by_text:
        return sorted(wrongs, key=lambda wrong: model.words.options[str(wrong.value)].format_map(facts))
    if model.words.options:
        places = list(model.words.options)
        return sorted(wrongs, key=lambda wrong: places.index(str(wrong.value)))
    return sorted(wrongs, key=lambda wrong: float(wrong.value))


MOST_DRAWS = 200
# After so many draws whose values leave the key no other place, it may stand anywhere.
DRAWS_FOR_PLACE = 100


class CannotDrawError(RuntimeError):
    """A model's values always collide: a fault of the model, not of its user."""


class Made(NamedTuple):
    """An item, the count of draws that collided, and whether its values depend on the place."""

    item: Item
    redraws: int
    placed: bool


# Of the questions that depend on the place, this share asks about other places than home.
ELSEWHERE = 0.25


def make(model: ItemModel, seed: int, home: Home | None = None, *, far: bool = False) -> Made:
    """An item of a model.

    Args:
        model: of the item.
        seed: decides the values.
        home: where it is set; None for anywhere.
        far: whether it is set elsewhere than at home.

    Raises:
        CannotDrawError: when `MOST_DRAWS` draws all collide.
    """
    random = random_of(model.id, seed)
    share = random.random()
    for redraws in range(MOST_DRAWS):
        draw, place = Draw(random, home, far=far), share if redraws < DRAWS_FOR_PLACE else None
        item = _item(model, model.draw(draw), random, place, southern=draw.southern)
        if item is not None:
            return Made(item if home is None else measured_at(home, item, model), redraws, draw.placed)
    raise CannotDrawError(f"{model.id}: {MOST_DRAWS} draws from seed {seed} all collide")


def generate(model: ItemModel, seed: int, home: Home | None = None) -> Item:
    """An item of a model; the same seed and home give the same item, now and then one far from home.

    Raises:
        CannotDrawError: if the model's values always collide.
    """
    far = home is not None and random_of("elsewhere", model.id, seed).random() < ELSEWHERE
    return make(model, seed, home, far=far).item


def item_of(model: ItemModel, drawn: Drawn, seed: int = 0) -> Item:
    """The item of given values, such as a published example; the seed picks among many distractors.

    Raises:
        CannotDrawError: if these values leave too few distractors.
    """
    random = random_of(model.id, seed)
    places = random.sample(range(model.most + 1), model.most + 1)
    shares = (*((place + 0.5) / (model.most + 1) for place in places), None)
    return required(
        next((item for share in shares if (item := _item(model, drawn, random, share))), None),
        CannotDrawError(f"{model.id}: these values leave fewer than {model.least} distractors"),
    )


class WrongAnswer(NamedTuple):
    """The answer of a student with a wrong idea, whether or not it is among the options.

    Attributes:
        idea: id of the misconception or slip.
        value: in the notation's unit; None for words.
        text: as it would be printed.
        is_key: whether it cannot be told apart from the key.
    """

    idea: str
    value: float | None
    text: str
    is_key: bool


def wrong_answers(model: ItemModel, item: Item) -> tuple[WrongAnswer, ...]:
    """The proved answer of every wrong idea of the model to one of its items, among the options or not."""
    worked = model.work(item.drawn)
    facts = _facts(model, worked)
    right = [printed(model, worked.key), worked.key, *model.also_right(item.drawn)]
    apart = max(model.apart, 2.0 * (model.tolerance or 0.0))
    found = []
    for idea, value, _ in worked.wrong:
        shown = printed(model, value)
        is_key = any(too_near(model, shown, other, apart) for other in right)
        if not has_law(idea) or not lands(model, model.second(item.drawn, Belief(idea)), shown, ()):
            continue
        number, text = None if isinstance(shown, str) else shown, _text(model, shown, facts)
        if item.unit == HPA.unit and number is not None:
            number = hpa_of(float(value))
            text = f"{number:.0f} {HPA.unit}"
        found.append(WrongAnswer(idea, number, text, is_key))
    return tuple(found)


def measured_at(home: Home, item: Item, model: ItemModel | None = None) -> Item:
    """An item with its pressures in the unit of home: its texts, its numbers and its drawing.

    Args:
        home: of the school.
        item: with its pressures in inHg.
        model: by which it was made; its values are then rounded only once.
    """
    if home.suction == INHG.unit:
        return item
    exact = _exact_hpa(model, item) if model else {}

    def said(text: str) -> str:
        for inhg, hpa in exact.items():
            text = re.sub(rf"(?<![\d.]){re.escape(inhg)}\b", f"{hpa:.0f} {HPA.unit}", text)
        return hpa_text(text)

    in_inches = item.unit == INHG.unit

    def measured(inhg: float) -> float:
        return exact.get(f"{inhg:.1f} {INHG.unit}", hpa_of(inhg))

    def option(one: Option) -> Option:
        if not in_inches or one.value is None:
            return msgspec.structs.replace(one, text=said(one.text), feedback=said(one.feedback))
        value = measured(one.value)
        unit = f" {HPA.unit}" if INHG.unit in one.text else ""
        return msgspec.structs.replace(one, text=f"{value:g}{unit}", feedback=said(one.feedback), value=value)

    numbers: dict[str, float | None] = {}
    if in_inches and item.answer is not None and item.tolerance is not None:
        numbers = {"answer": measured(item.answer), "tolerance": max(hpa_of(item.tolerance), 1.0)}
    return msgspec.structs.replace(
        item,
        stem=said(item.stem),
        reason=said(item.reason),
        source=said(item.source),
        options=tuple(map(option, item.options)),
        slips=tuple(map(option, item.slips)),
        unit=HPA.unit if in_inches else item.unit,
        figure=gauges_in_hpa(item.figure),
        **numbers,
    )


def _exact_hpa(model: ItemModel, item: Item) -> dict[str, float]:
    """The values of a model in hPa, by how they are printed in inHg."""
    if model.notation.unit != INHG.unit:
        return {}
    worked = model.work(item.drawn)
    values = [*(wrong.value for wrong in worked.wrong), worked.key]
    return {model.notation.written(one): hpa_of(one) for one in values if not isinstance(one, str)}


def in_unit_of(item: Item, apart: float) -> float:
    """A distance or a tolerance of a model, in the unit of one of its items."""
    return hpa_of(apart) if item.unit == HPA.unit else apart


def ideas_today(model: ItemModel, item: Item) -> tuple[tuple[str, ...], ...]:
    """The ideas of each option (of a number, each slip) whose laws of today lead to it; of changed texts all.

    Raises:
        KeyError, TypeError, ValueError: the item has values that its model no longer knows.
    """
    worked = model.work(item.drawn)
    facts = _facts(model, worked)
    names = {_text(model, name, facts): name for name in model.words.options}
    shown = item.slips if item.kind == "number" else item.options
    # As the model has them: at a home with hPa they were rounded to whole ones.
    factor, slack = (100.0 / INHG_PA, 100.0 / INHG_PA) if item.unit == HPA.unit else (1.0, 0.0)
    model = replace(model, agree=model.agree + slack)
    values = [names.get(option.text) if option.value is None else factor * option.value for option in shown]
    others = () if item.answer is None else (factor * item.answer,)

    def leads(idea: str, place: int) -> bool:
        value, rest = values[place], [one for at, one in enumerate(values) if at != place and one is not None]
        if value is None or not has_law(idea):
            return value is None
        return lands(model, model.second(item.drawn, Belief(idea)), value, (*rest, *others))

    return tuple(
        tuple(idea for idea in option.ideas if leads(idea, place)) for place, option in enumerate(shown)
    )


def _item(
    model: ItemModel, drawn: Drawn, random: Random, share: float | None = None, *, southern: bool = False
) -> Item | None:
    """The item of drawn values; with a share, only if so many of its options stand before the key."""
    worked = model.work(drawn)
    live = live_wrong(model, drawn, worked)
    if len(live) < model.least or not worked.adds_up(model.notation.rounded):
        return None
    southern = southern or _is_southern(drawn)
    facts = _facts(model, worked)
    key = Wrong("", printed(model, worked.key))
    offered: list[Wrong] | None = chosen(live, model.most, random)
    if share is not None and model.kind != "number":
        offered = placed(model, key, live, facts, share, random)
    wrongs = _all_proved(model, drawn, key.value, offered) if offered is not None else None
    if wrongs is None:
        return None
    reason = model.words.reason.format_map(facts)
    is_number = model.kind == "number"
    together = ordered(model, wrongs if is_number else [*wrongs, key], facts)
    options = tuple(_option(model, wrong, facts, reason, southern=southern) for wrong in together)
    return Item(
        model=model.id,
        topic=model.topic,
        level=model.level,
        kind=model.kind,
        stem=model.words.stem.format_map(facts),
        options=() if is_number else options,
        key=-1 if is_number else together.index(key),
        reason=reason,
        source=model.source,
        drawn=dict(drawn),
        difficulty=prior_difficulty(model.steps, worked.signs, len(wrongs)),
        answer=float(key.value) if is_number else None,
        tolerance=model.tolerance if is_number else None,
        unit=model.notation.unit,
        figure=worked.figure,
        jurisdiction=model.jurisdiction,
        slips=options if is_number else (),
        circle=model.notation.circle,
    )


def _is_southern(drawn: Drawn) -> bool:
    """Whether the values themselves are of a place in the southern hemisphere."""
    values = [drawn.get("latitude_deg"), drawn.get("dip_deg")]
    return any(isinstance(value, float) and value < 0.0 for value in values)


def _facts(model: ItemModel, worked: Worked) -> dict[str, str]:
    facts = dict(worked.facts)
    if worked.phrase:
        phrases = model.words.phrases
        facts["phrase"] = phrases[worked.phrase].format_map(facts)
        facts["because"] = phrases.get(f"{worked.phrase} because", "").format_map(facts)
    facts["key"] = _text(model, printed(model, worked.key), facts)
    return facts


def _text(model: ItemModel, value: Value, facts: Mapping[str, str]) -> str:
    if isinstance(value, str):
        return model.words.options[value].format_map(facts)
    return model.notation.write(value)


def _option(model: ItemModel, wrong: Wrong, facts: dict[str, str], reason: str, *, southern: bool) -> Option:
    text = _text(model, wrong.value, facts)
    value = None if isinstance(wrong.value, str) else wrong.value
    if not wrong.idea:
        return Option(text, "", reason, value)
    here = model.words.feedback[wrong.idea].format_map({**facts, "this": text})
    told = f"{mend_of(wrong.idea, southern=southern)} {here}".rstrip()
    return Option(text, wrong.idea if has_law(wrong.idea) else "", told, value, wrong.also or msgspec.UNSET)
