"""No cues: the options alone do not show which of them is right. The long measure is `benchmarks/cues.py`."""

import re
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from benchmarks.cues import COUNT, GOAL_POINTS, SPLITS, Seen, as_numbers, gains, seen
from lubberline.questions.bank import models
from lubberline.questions.generate import generate, item_of
from lubberline.questions.item import Item, Option

A_MODEL = 12
NO_CHANGE = re.compile(r"\b(no error|nothing|none|neither|does not change)\b", re.IGNORECASE)
# Of few questions and divisions the gain is uncertain; a cue of the kind that this shall find gives ten.
QUICK_POINTS = 5.0
# The options of the engineer's checks are what they are: a fault shows at one of the two powers.
TWO_KEYS = {"suction-next-check"}


@pytest.fixture(scope="module")
def items() -> dict[str, list[Item]]:
    """Some items of every model that has options."""
    return {
        id: made
        for id, model in models().items()
        if (made := [generate(model, seed) for seed in range(A_MODEL)])[0].options
    }


@pytest.fixture(scope="module")
def few(items: dict[str, list[Item]]) -> Seen:
    return as_numbers(
        [(index, item) for index, made in enumerate(items.values()) for item in made], tuple(items)
    )


def test_whoever_sees_the_options_alone_gains_little(few: Seen) -> None:
    gained = 100.0 * float(np.nanmean(gains(few, "conditional logit", 3)))
    assert gained < QUICK_POINTS


@pytest.mark.acceptance
@pytest.mark.parametrize("classifier", ["conditional logit", "network"])
def test_nobody_gains_two_points_by_the_options_alone(classifier: str) -> None:
    gained = 100.0 * float(np.nanmean(gains(seen(COUNT), classifier, SPLITS)))
    assert gained <= GOAL_POINTS


def test_a_cue_is_found(few: Seen) -> None:
    """If the longest option were the key, a classifier would know that of models that it has never seen."""
    length = few.features[:, :, 10] - 1e6 * ~few.there
    planted = few._replace(key=length.argmax(axis=1))
    assert 100.0 * float(np.nanmean(gains(planted, "conditional logit", 2))) > 40.0


def test_of_chance_nothing_is_learnt(few: Seen) -> None:
    rng = np.random.default_rng(1)
    drawn = few._replace(key=np.asarray([rng.integers(count) for count in few.there.sum(axis=1)]))
    assert abs(100.0 * float(np.nanmean(gains(drawn, "conditional logit", 3)))) < QUICK_POINTS


def test_the_key_stands_at_no_place_too_often_in_any_model(items: dict[str, list[Item]]) -> None:
    for id, made in items.items():
        place, times = Counter(item.key for item in made).most_common(1)[0]
        assert times <= 10, f"{id}: the key is at place {place} in {times} of {len(made)}"
        counts = {len(item.options) for item in made}
        assert len(counts) == 1 or id in TWO_KEYS, f"{id}: {counts} options"


def test_that_nothing_happens_is_right_as_often_as_it_is_offered(items: dict[str, list[Item]]) -> None:
    """Over the bank: an option that says so is the key about as often as any other option."""
    expected = right = 0.0
    for model in models().values():
        for item in items.get(model.id, ()):
            for place, option in enumerate(item.options):
                if item.kind == "choice" and NO_CHANGE.search(option.text):
                    expected += 1.0 / len(item.options)
                    right += place == item.key
    assert 0.5 * expected <= right <= 2.0 * expected


def test_a_verdict_is_not_read_off_the_raw_number() -> None:
    """Neither from it nor from its opposite: the allowance leaves out apparent wander."""
    model = models()["wander-verdict"]
    items = [generate(model, seed) for seed in range(60)]
    agree = sum(
        (abs(item.drawn["observed_deg"]) <= 3.0) == (item.options[item.key].text == "within the allowance")
        for item in items
    )
    assert 18 <= agree <= 42


def _places(items: list[Item]) -> Counter[int]:
    return Counter(item.key for item in items if item.options)


def test_the_time_of_a_turn_is_asked_as_a_number() -> None:
    """All but one of its ideas give a longer time: among options the key would be the second."""
    model = models()["turning-timed-turn"]
    assert not _places([generate(model, seed) for seed in range(30)])
    assert _places([generate(replace(model, kind="choice"), seed) for seed in range(30)])[1] >= 27


@pytest.mark.parametrize(
    "id", ["wander-faster-of-two", "rotor-real-wander", "supply-what-stops", "procedure-next-step"]
)
def test_no_size_of_the_options_shows_the_key(id: str) -> None:
    """The largest number, or the longest words, are not the key more often than chance has it."""
    items = [generate(models()[id], seed) for seed in range(120)]
    for size in (lambda option: len(option.text), lambda option: abs(option.value or 0.0), _first_number):
        for most in (max, min):
            known = [item for item in items if len({size(option) for option in item.options}) > 1]
            ends = [
                [place for place, o in enumerate(item.options) if size(o) == most(map(size, item.options))]
                for item in known
            ]
            right = sum((item.key in end) / len(end) for item, end in zip(known, ends, strict=True))
            chance = sum(1.0 / len(item.options) for item in known)
            assert right <= chance + 0.2 * len(known), (id, size, most, right, chance)


def _first_number(option: Option) -> float:
    found = re.search(r"\d+(?:\.\d+)?", option.text)
    return float(found[0]) if found else 0.0


@pytest.mark.parametrize("id", ["trace-rate", "trace-where"])
def test_a_reason_agrees_with_the_drawn_line_to_its_last_digit(id: str) -> None:
    for latitude in range(25, 70, 5):
        for side in (1.0, -1.0):
            item = item_of(models()[id], {"latitude_deg": side * latitude})
            assert item.figure is not None
            drawn = re.search(r"(minus|plus) ([\d.]+) degrees at 30\.", item.figure.alt)
            told = re.search(r"the reading (falls|rises) by ([\d.]+)°", item.reason)
            assert drawn is not None
            assert told is not None
            assert (drawn[1] == "plus", drawn[2]) == (told[1] == "rises", told[2])
