"""Advice on wording: each fault is seen where it is and nowhere else.

The faults are those of the item-writing guidelines named in `advice.py`; the examples are ours.
"""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.questions.advice import FAULTS, PAPER_FAULTS, advice_on, advice_on_paper, interval_of
from lubberline.questions.bank import models
from lubberline.questions.generate import generate
from lubberline.questions.handwritten import items_from_text
from lubberline.questions.item import Item

STEM = "In cruise the card falls by 4° in a quarter of an hour. What is the first thing to look at?"


def item_of(*options: str, stem: str = STEM, key: int = 0) -> Item:
    lines = [f"- [{'x' if place == key else ' '}] {text}\n  Why." for place, text in enumerate(options)]
    text = f"# One\ntopic: wander\nlevel: apply\n\n{stem}\n\n" + "\n".join(lines)
    return items_from_text("own.md", text)[0].item


def seen(item: Item) -> dict[str, str]:
    return {advice.fault: advice.where for advice in advice_on(item)}


SOUND = [
    item_of("the suction gauge", "the clock", "the oil pressure", "the fuel state"),
    item_of("1 to 4 min", "5 to 9 min", "10 to 14 min"),
    item_of("less than 5 min", "5 min or more"),
    item_of("under 5 kt", "5 to 10 kt", "over 10 kt"),
    item_of("falls by 5°", "does not change", "rises by 5°"),
    item_of("the gauge", "the clock", stem="Which of these is NOT driven by air?"),
    item_of("the gauge", "the clock", stem="Why does the gyro not follow the meridian?"),
    item_of("both of them drift", "neither of them drifts", "the first drifts"),
    item_of("052°", "228°", "360°"),
]


@pytest.mark.parametrize("item", SOUND)
def test_sound_items_get_no_advice(item):
    assert advice_on(item) == ()


@pytest.mark.parametrize(
    ("item", "fault", "where"),
    [
        (
            item_of("the clock", "the suction gauge, and then the filter behind it", "the fuel", key=1),
            "longest-key",
            "option B",
        ),
        (item_of("a", "b", stem="Which of these is not driven by air?"), "unmarked-negative", "stem"),
        (item_of("a", "b", stem="All of these are true except which?"), "unmarked-negative", "stem"),
        (item_of("a", "b", stem="Which gyro doesn't drift?"), "unmarked-negative", "stem"),
        (item_of("the clock", "the fuel", "all of the above"), "of-the-above", "option C"),
        (item_of("the clock", "the fuel", "None of these."), "of-the-above", "option C"),
        (item_of("the clock", "the fuel", "A and B"), "of-the-above", "option C"),
        (item_of("1 to 5 min", "5 to 9 min"), "overlapping", "options A, B"),
        (item_of("5 to 9 min", "1 to 6 min"), "overlapping", "options A, B"),
        (item_of("2°", "less than 3°"), "overlapping", "options A, B"),
        (item_of("5 min or more", "at most 5 min"), "overlapping", "options A, B"),
        (item_of("10 kt", "20 kt", "10.0 kt"), "overlapping", "options A, C"),
        (item_of("12 min", "14 min", "very long"), "unlike", "option C"),
        (item_of("the clock", "the fuel", "It is the gauge."), "unlike", "option C"),
        (item_of("30 min", "10 min", "20 min"), "unordered", "options"),
        (item_of("it drifts", "it never drifts", "it tumbles"), "absolute", "option B"),
        (
            item_of("the card of it is wrong", "the card of it is right"),
            "repeated-stem",
            "options",
        ),
        (
            item_of("it falls by 4° in a quarter of an hour", "the clock shows something else"),
            "repeated-stem",
            "option A",
        ),
        (
            item_of(
                "look at suction",
                "look at fuel",
                stem="The suction-driven gyro is slow, its suction low. What now?",
            ),
            "echoed",
            "option A",
        ),
        (item_of("a", "b", stem="What is **now** so?"), "markdown-left", "stem"),
        (item_of("a `b`", "b c"), "markdown-left", "option A"),
    ],
)
def test_each_fault_is_seen_in_its_place(item, fault, where):
    assert seen(item).get(fault) == where


def test_every_fault_has_an_example_and_its_own_name():
    marks = test_each_fault_is_seen_in_its_place.pytestmark  # type: ignore[attr-defined]
    assert {case[1] for mark in marks for case in mark.args[1]} == set(FAULTS)
    assert not set(FAULTS) & set(PAPER_FAULTS)


def placed(keys: str) -> list[Item]:
    one = item_of("to the left", "to the right", "upwards at first", "downwards")
    return [msgspec.structs.replace(one, key="ABCD".index(key)) for key in keys]


@pytest.mark.parametrize(
    ("keys", "found"),
    [
        ("ABDCCABDACBD", {}),
        ("AABBBBCD", {"same-place": "questions 3 to 6"}),
        ("DABABABAB", {"in-turn": "questions 2 to 9"}),
        ("ABCDABCD", {"in-turn": "questions 1 to 8"}),
        ("BBABBCBBDBBA", {"mostly-one-place": "paper"}),
        ("CCACCBCCDBC", {"mostly-one-place": "paper", "mostly-longest": "paper"}),
    ],
)
def test_places_of_keys_over_a_paper(keys, found):
    assert {advice.fault: advice.where for advice in advice_on_paper(placed(keys))} == found


def test_numbers_of_a_paper_are_its_own_where_other_kinds_stand_between():
    number = next(generate(model, 1) for model in models().values() if model.kind == "number")
    items = [number, *placed("AA"), number, *placed("AA")]
    assert [advice.where for advice in advice_on_paper(items)] == ["questions 2 to 6"]
    assert advice_on(number) == ()
    assert advice_on_paper([]) == ()


# Faults of form that a model can always avoid; the others are hints that a strict reader may set aside,
# as where the steps of a checklist have the lengths that they have.
NEVER = {"unmarked-negative", "of-the-above", "overlapping", "unordered", "absolute", "markdown-left"}
MOST_HINTS = 0.05


def test_generated_items_have_no_fault_of_form_and_few_hints():
    found = {
        (model.id, seed): {advice.fault for advice in advice_on(generate(model, seed))}
        for model in models().values()
        for seed in range(4)
    }
    assert not {made: faults for made, faults in found.items() if faults & NEVER}
    assert sum(bool(faults) for faults in found.values()) <= MOST_HINTS * len(found)


@pytest.mark.parametrize("text", ["7 to 3 min", "the clock", "1 to 2 and 3", ""])
def test_what_is_no_range_is_none(text):
    assert interval_of(text) is None


WORDS = st.sampled_from(
    ["1 to 5", "not", "all", "of", "the above", "−3°", "under", "5", "min", ".", "A and B", "is"]
)


@given(
    st.lists(st.lists(WORDS, min_size=1, max_size=5), min_size=2, max_size=5, unique_by=" ".join), st.text()
)
def test_advice_never_fails(options, stem):
    item = msgspec.structs.replace(item_of("a", "b"), stem=stem)
    made = [msgspec.structs.replace(item.options[0], text=" ".join(words)) for words in options]
    for advice in advice_on(msgspec.structs.replace(item, options=tuple(made))):
        assert advice.fault in FAULTS
        assert advice.words
