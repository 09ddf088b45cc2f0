"""Blueprints: what they may ask for, what is refused and how, and that parallel papers are parallel."""

from pathlib import Path

import pytest

from lubberline.errors import InputError
from lubberline.questions.blueprint import Blueprint, blueprint_from_text, read_blueprint
from lubberline.questions.papers import assemble

WHOLE = """
title = "Heading instruments"
forms = ["A", "B", "C"]
total = 15
jurisdiction = "Canada"

[[topic]]
name = "wander"
recall = 1
apply = 3
judge = 1
codes = ["2.3.1", "2.3.2"]

[[topic]]
name = "turning"
apply = 2
judge = 1

[[topic]]
name = "suction"
judge = 2
apply = 1

[[topic]]
name = "regulations"
recall = 1
apply = 1

[[topic]]
name = "terms"
recall = 2
"""


def whole() -> Blueprint:
    return blueprint_from_text("whole.toml", WHOLE)


def test_parallel_papers_share_nothing_and_are_about_equally_hard() -> None:
    papers = assemble(whole(), 5)
    assert [paper.form for paper in papers] == ["A", "B", "C"]
    ids = [item.id for paper in papers for item in paper.items]
    assert len(ids) == 45
    assert len(set(ids)) == 45
    difficulties = [paper.difficulty for paper in papers]
    assert max(difficulties) - min(difficulties) <= whole().difficulty_tolerance


def test_each_paper_has_what_was_asked_for_in_its_order() -> None:
    for paper in assemble(whole(), 6):
        asked = [
            (entry.name, level)
            for entry in whole().topic
            for level in ("recall", "apply", "judge")
            for _ in range(getattr(entry, level))
        ]
        assert [(item.topic, item.level) for item in paper.items] == asked
        assert all(item.codes == ("2.3.1", "2.3.2") for item in paper.items if item.topic == "wander")
        assert {item.jurisdiction for item in paper.items} == {"", "Canada"}


def test_the_same_seed_gives_the_same_papers_and_another_others() -> None:
    assert assemble(whole(), 7) == assemble(whole(), 7)
    assert assemble(whole(), 7)[0].items != assemble(whole(), 8)[0].items


def test_forms_can_be_given_apart() -> None:
    assert [paper.form for paper in assemble(whole(), 1, ["X", "Y"])] == ["X", "Y"]


def test_a_retired_model_is_left_out() -> None:
    text = WHOLE.replace(
        'jurisdiction = "Canada"', 'jurisdiction = "Canada"\nretired = ["suction-next-check"]'
    )
    papers = assemble(blueprint_from_text("t", text), 2)
    assert all(item.model != "suction-next-check" for paper in papers for item in paper.items)


TOPIC = '[[topic]]\nname = "{}"\n{}\n'
HEAD = 'title = "t"\n'
REFUSED = {
    "a topic that does not exist": (HEAD + TOPIC.format("wandr", "apply = 1"), "topic 1, name", "'wander'"),
    "a level that the topic lacks": (
        HEAD + TOPIC.format("terms", "judge = 1"),
        "judge",
        "use a level of this topic: recall",
    ),
    "rules without a country": (HEAD + TOPIC.format("regulations", "recall = 1"), "recall", "Canada"),
    "rules of an unknown country": (
        'jurisdiction = "Canda"\n' + HEAD + TOPIC.format("wander", "apply = 1"),
        "jurisdiction",
        "'Canada'",
    ),
    "a total that contradicts": ("total = 3\n" + HEAD + TOPIC.format("wander", "apply = 2"), "total", "same"),
    "a topic twice": (HEAD + TOPIC.format("wander", "apply = 1") * 2, "topic 2, name", "one [[topic]]"),
    "no items": (HEAD + TOPIC.format("wander", ""), "topic 1", "count"),
    "no topics": (HEAD, "topic", "[[topic]]"),
    "an unknown key": (HEAD + TOPIC.format("wander", "aply = 1"), "topic 1, aply", "'apply'"),
    "a negative count": (HEAD + TOPIC.format("wander", "apply = -1"), "topic 1, apply", "questions.md"),
    "a count that is no number": (
        HEAD + TOPIC.format("wander", 'apply = "two"'),
        "topic 1, apply",
        "questions.md",
    ),
    "the same form twice": (
        'forms = ["A", "A"]\n' + HEAD + TOPIC.format("wander", "apply = 1"),
        "forms",
        "letter",
    ),
    "a form that is no letter": (
        'forms = ["../A"]\n' + HEAD + TOPIC.format("wander", "apply = 1"),
        "forms",
        "A, B, C",
    ),
    "a retired model that does not exist": (
        'retired = ["wander-rat"]\n' + HEAD + TOPIC.format("wander", "apply = 1"),
        "retired",
        "'wander-rate'",
    ),
    "an empty title": ('title = " "\n' + TOPIC.format("wander", "apply = 1"), "title", "title"),
    "no title": (TOPIC.format("wander", "apply = 1"), "title", "a title"),
    "no TOML": ("title = ", "bad.toml", "correct it"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_where_and_what_would_be_right(name: str) -> None:
    text, where, right = REFUSED[name]
    with pytest.raises(InputError) as caught:
        blueprint_from_text("bad.toml", text)
    assert caught.value.where.startswith("bad.toml")
    assert where in caught.value.where
    assert right in caught.value.right


def test_more_than_the_bank_has_is_refused() -> None:
    text = HEAD + TOPIC.format("turning", "recall = 90")
    with pytest.raises(InputError, match="more than the bank has without repeats"):
        assemble(blueprint_from_text("t", text), 1, ["A", "B"])


def test_forms_that_cannot_be_matched_are_refused_with_a_tolerance_that_would_do() -> None:
    text = "difficulty_tolerance = 0.001\n" + HEAD + TOPIC.format("wander", "apply = 1")
    found = [_spread(text, seed) for seed in range(12)]
    assert None in found
    assert all(spread is None or spread > 0.001 for spread in found)


def _spread(text: str, seed: int) -> float | None:
    try:
        assemble(blueprint_from_text("t", text), seed, ["A", "B", "C"])
    except InputError as refused:
        return float(refused.wrong.split()[3])
    return None


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="blueprint file"):
        read_blueprint(tmp_path / "none.toml")
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="UTF-8"):
        read_blueprint(tmp_path / "bytes.toml")
