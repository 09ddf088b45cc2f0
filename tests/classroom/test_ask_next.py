"""What to ask next: information against scipy's entropy, and what a class would really be asked."""

import msgspec
import numpy as np
import pytest
from scipy import stats

from lubberline.classroom.diagnosis.diagnose import diagnose
from lubberline.classroom.diagnosis.next_questions import (
    NOTHING,
    PLACE,
    ask_next,
    gains,
    opened,
    pool_from_bank,
    pool_of,
    prior_chances,
)
from lubberline.classroom.marking import is_right
from lubberline.classroom.records import Answer
from lubberline.errors import InputError
from lubberline.questions.bank import model_named, models
from lubberline.questions.generate import generate
from tests.classroom.test_diagnosis import CAREFUL, DRIFT, answered, items_of


def test_information_is_that_of_the_entropies() -> None:
    pool = pool_of([generate(model_named("gimballing-largest"), 1)])
    chances = np.zeros(NOTHING + 1)
    chances[PLACE["bank-leaves-card-alone"]] = 0.2
    truth, held = pool.answers[0, 0], pool.answers[0, 1]
    whole = stats.entropy(0.8 * truth + 0.2 * held, base=2)
    right = whole - 0.8 * stats.entropy(truth, base=2) - 0.2 * stats.entropy(held, base=2)
    assert gains(pool, chances[None])[0, 0, 0] == pytest.approx(right)


def test_what_is_certain_tells_nothing() -> None:
    pool = pool_of(items_of(*DRIFT))
    chances = np.zeros((1, NOTHING + 1))
    assert np.allclose(gains(pool, chances), 0.0)


def test_chances_of_all_answers_add_up_to_one() -> None:
    pool = pool_from_bank(0)
    whole = pool.answers.sum(axis=2)
    assert np.allclose(whole[pool.answers.any(axis=2)], 1.0)
    assert np.all(pool.answers >= 0.0)


def test_a_suspected_idea_is_asked_about() -> None:
    marked = answered(CAREFUL._replace(ideas=("no-earth-wander",)), items_of("wander-real-left-over"))
    found = diagnose(marked)
    assert 0.1 < found.p("no-earth-wander") < 0.95
    first = ask_next(found, count=3)
    assert any("no-earth-wander" in one.ideas for one in first)
    assert first[0].bits >= first[1].bits
    assert "best tests" in first[0].sentence


def test_several_questions_spread_over_the_ideas() -> None:
    nobody = diagnose([])
    laws = {one.sentence.split(":")[0] for one in ask_next(nobody, count=10)}
    assert len(laws) >= 5


def test_nothing_is_asked_again() -> None:
    nobody = diagnose([])
    first = ask_next(nobody, count=5)
    again = ask_next(nobody, count=5, asked=[one.item for one in first])
    assert not {one.item.id for one in first} & {one.item.id for one in again}


def test_a_class_is_asked_as_many_as_were_wanted() -> None:
    several = [diagnose(answered(CAREFUL, items_of(*DRIFT)))] * 14
    assert len(ask_next(several, count=10)) == 10


def test_the_seed_decides_the_values() -> None:
    nobody = diagnose([])
    first, same, other = (ask_next(nobody, seed=seed, count=2) for seed in (1, 1, 2))
    assert first == same
    assert {one.item.id for one in first} != {one.item.id for one in other}


def test_what_cannot_be_asked_is_refused() -> None:
    nobody = diagnose([])
    for count in (0, 51):
        with pytest.raises(InputError, match="1 to 50"):
            ask_next(nobody, count=count)
    with pytest.raises(InputError, match="at least one"):
        ask_next([])
    assert ask_next(nobody, []) == ()
    assert prior_chances()[NOTHING] == 0.0


def test_open_questions_keep_key_and_wrong_answers_apart() -> None:
    found = 0
    for model in models().values():
        item = generate(model, 2)
        asked = opened(item)
        if asked is None:
            continue
        found += 1
        assert asked.kind == "number"
        assert asked.id != item.id
        assert is_right(Answer("s", "t", "1", value=asked.answer), asked)
        assert asked.stem.startswith(item.stem)
        for slip in asked.slips:
            assert not is_right(Answer("s", "t", "1", value=slip.value), asked)
        assert msgspec.json.decode(msgspec.json.encode(asked))["answer"] == asked.answer
    assert found >= 20
    assert opened(generate(model_named("terms-meaning"), 1)) is None
