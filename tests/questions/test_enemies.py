"""Items that answer each other never meet in a paper, a parallel form or the quiz of a lesson."""

from itertools import combinations
from typing import Any, NamedTuple

import msgspec
import pytest

from lubberline.classroom.lessons.lesson import Quiz
from lubberline.classroom.lessons.questions import quiz_items
from lubberline.questions.bank import LEVELS, TOPICS, are_enemies, meets_enemy, model_named, models, models_of
from lubberline.questions.blueprint import Blueprint, TopicEntry
from lubberline.questions.generate import generate, item_of
from lubberline.questions.handwritten import items_from_text
from lubberline.questions.item import Item
from lubberline.questions.papers import assemble

# One question of every level that a topic has.
WIDE = Blueprint(
    title="all topics",
    topic=tuple(
        TopicEntry(
            name=topic,
            **{level: 2 if topic == "procedures" else 1 for level in LEVELS if models_of(topic, level)},
        )
        for topic in TOPICS
        if topic != "regulations"
    ),
    forms=("A", "B"),
    difficulty_tolerance=0.2,
)


class Made(NamedTuple):
    """A model and drawn values."""

    model: str
    drawn: dict[str, Any]

    @property
    def item(self) -> Item:
        return item_of(model_named(self.model), self.drawn)


def of(model: str, **drawn: Any) -> Made:
    return Made(model, drawn)


TIMED = of("turning-timed-turn", start_deg=90.0, by_deg=90.0)
BANK = of("turning-rate-one-bank", speed_kt=120.0)
NEXT = of("procedure-next-step", procedure="before-take-off", after=0)
FIRST = of("procedure-first-step", procedure="before-take-off")
OTHER = of("procedure-first-step", procedure="drift-report")


@pytest.mark.parametrize(
    ("one", "other", "enemies"),
    [
        # Its stem prints the 3 degrees a second that the other needs.
        (TIMED, BANK, True),
        # 'The last step was: start the engine.'
        (FIRST, NEXT, True),
        (OTHER, NEXT, False),
        (of("terms-name-the-error", scene="iron"), of("terms-what-causes-it", term="deviation"), True),
        (of("terms-name-the-error", scene="iron"), of("terms-what-causes-it", term="real"), False),
        (of("terms-meaning", term="real-wander"), of("terms-which-instrument", term="real"), True),
        (TIMED, OTHER, False),
    ],
)
def test_who_answers_whom(one: Made, other: Made, enemies: bool) -> None:
    assert are_enemies(one.item, other.item) is enemies
    assert are_enemies(other.item, one.item) is enemies


def test_a_key_in_words_that_stands_in_another_stem_is_found_without_a_word_of_it() -> None:
    """Also of items written by hand, which declare nothing."""
    asked, timed, other = NEXT.item, TIMED.item, OTHER.item
    stem = f"{other.stem} Remember: {asked.options[asked.key].text}!"
    written = msgspec.structs.replace(other, model="own-1", stem=stem)
    assert are_enemies(written, asked)
    assert meets_enemy(asked, [timed, written])
    assert not meets_enemy(timed, [written])


WRITTEN = """# Rate one

topic: turning
level: recall

{stem}

- [x] {key}
  {reason}
- [ ] 6
  That is a circle in one minute.
"""


@pytest.mark.parametrize(
    ("stem", "key", "reason", "company", "enemies"),
    [
        (
            "A turn at 3 degrees a second is flown for one minute. By how much?",
            "180",
            "So it is.",
            TIMED,
            True,
        ),
        ("A turn at three degrees per second: how long for a circle?", "2 min", "So it is.", TIMED, True),
        ("A turn is flown for one minute. By how much?", "180", "So it is.", TIMED, False),
        # It asks for what the model's stem prints.
        ("How many degrees a second is rate one?", "3 degrees a second", "So it is.", BANK, True),
        ("How many degrees a second is rate one?", "3", "Rate one is 3° a second.", BANK, True),
        ("How many degrees a second is rate one?", "3", "Rate one is 3° a second.", OTHER, False),
    ],
)
def test_a_question_written_by_hand_and_one_of_a_model_answer_each_other(
    stem: str, key: str, reason: str, company: Made, enemies: bool
) -> None:
    written = items_from_text("own.md", WRITTEN.format(stem=stem, key=key, reason=reason))[0].item
    assert are_enemies(written, company.item) is enemies
    assert are_enemies(company.item, written) is enemies


def test_two_questions_written_by_hand_answer_each_other() -> None:
    tells, asks = (
        items_from_text("own.md", WRITTEN.format(stem=stem, key=key, reason="Rate one is 3° a second."))[
            0
        ].item
        for stem, key in (("Rate one is 3° a second. A circle takes?", "2 min"), ("What is rate one?", "3"))
    )
    assert are_enemies(tells, asks)
    assert are_enemies(asks, tells)


def answered(items: tuple[Item, ...]) -> list[tuple[str, str]]:
    """Pairs of which one's key in words stands in the other's stem, or of which both say 'rate one'."""
    found = []
    for one, other in combinations(items, 2):
        for asks, tells in ((one, other), (other, one)):
            key = asks.options[asks.key].text.lower() if asks.kind == "choice" else ""
            rate = asks.model == "turning-timed-turn" and "3° a second" in tells.stem
            if rate or (len(key.split()) > 3 and key in tells.stem.lower()):
                found.append((asks.id, tells.id))
        if one.drawn.get("procedure", "") == other.drawn.get("procedure", " "):
            found.append((one.id, other.id))
    return found


def test_no_two_items_of_a_paper_answer_each_other() -> None:
    for seed in range(2):
        for paper in assemble(WIDE, seed):
            assert answered(paper.items) == []
            assert not any(are_enemies(one, other) for one, other in combinations(paper.items, 2))


@pytest.mark.acceptance
def test_no_two_items_of_three_hundred_papers_answer_each_other() -> None:
    for seed in range(150):
        for paper in assemble(WIDE, seed):
            assert answered(paper.items) == []


def test_no_two_items_of_a_quiz_answer_each_other() -> None:
    quizzes = [
        Quiz(
            models=("turning-rate-one-bank", "procedure-first-step", "procedure-next-step", "procedure-order")
        ),
        Quiz(topics=("procedures", "terms"), count=6),
    ]
    for quiz in quizzes:
        for seed in range(5):
            items = quiz_items(quiz, seed)
            assert answered(items) == []
            assert not any(are_enemies(one, other) for one, other in combinations(items, 2))


def test_every_declared_fact_can_be_filled() -> None:
    for model in models().values():
        drawn = generate(model, 3).drawn
        assert all("{" not in fact for fact in (*model.asks(drawn), *model.tells(drawn)))
