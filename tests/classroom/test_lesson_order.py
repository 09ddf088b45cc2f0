"""The options of a lesson's questions: shuffled alike for the class, the right one at each place in turn."""

from collections import Counter
from pathlib import Path

import msgspec
import pytest

from lubberline.classroom.lessons import audiences, own_answers, teaching
from lubberline.classroom.lessons.file import read_lesson
from lubberline.classroom.lessons.order import is_shuffled, orders_of, own_index, place_of, shuffled
from lubberline.classroom.lessons.questions import quiz_items, taught_lesson
from lubberline.classroom.records import Answer, Asked, Sitting
from lubberline.questions.item import Item, Option

ROOT = Path(__file__).parents[2]
LESSON = ROOT / "tests" / "web" / "class_lesson.md"
IDS = [f"sitting-{number}" for number in range(30)]


def item(count: int, key: int = 0, kind: str = "choice", value: float | None = None) -> Item:
    options = tuple(Option(f"option {own}", "", "", value) for own in range(count))
    return Item("m", "rotor", "recall", kind, "stem", options, key, "", "", {}, 0.3)  # type: ignore[arg-type]


def sitting(id: str, items: list[Item]) -> Sitting:
    asked = tuple(Asked(f"step-{number}", one) for number, one in enumerate(items, 1))
    return Sitting(id, "g", "lesson", "L", "2026-01-01T00:00:00Z", asked=asked)


def keys_of(made: Sitting) -> Counter[int]:
    orders = orders_of(made)
    return Counter(place_of(orders[one.key], one.item.key) for one in made.asked if one.item.options)


@pytest.mark.parametrize("id", IDS[:10])
def test_every_option_stands_once_and_leads_back_to_itself(id):
    made = sitting(id, [item(count, count - 1) for count in (2, 3, 4, 4, 3, 8)])
    for one in made.asked:
        order = orders_of(made)[one.key]
        assert sorted(order) == list(range(len(one.item.options)))
        assert [own_index(order, place_of(order, own)) for own in order] == list(order)
    assert own_index((1, 0), 2) == own_index((1, 0), -2) == own_index((), 0) == place_of((1, 0), 5) == -1


@pytest.mark.parametrize(
    ("counts", "wanted"),
    [
        ([3] * 9, [3, 3, 3]),
        ([4] * 8, [2, 2, 2, 2]),
        ([3] * 3 + [4] * 5, [2, 2, 2, 2]),
        ([4, 3, 3, 3], [1, 1, 1, 1]),
        ([3] * 4, [1, 1, 2]),
    ],
)
def test_over_a_lesson_the_right_option_stands_at_each_place_equally_often(counts, wanted):
    for id in IDS:
        keys = keys_of(sitting(id, [item(count) for count in counts]))
        assert sorted(keys.values()) == wanted, id


def test_true_and_false_and_rising_numbers_stay_and_their_keys_are_counted():
    rising, statement = item(3, 0, value=1.0), item(2, 0, "statement")
    made = sitting("x", [rising, statement, item(3)])
    orders = orders_of(made)
    assert (orders["step-1"], orders["step-2"]) == ((0, 1, 2), (0, 1))
    assert place_of(orders["step-3"], 0) in (1, 2)


def test_another_class_has_another_order_and_the_same_class_the_same():
    items = [item(4) for _ in range(6)]
    assert orders_of(sitting("one", items)) == orders_of(sitting("one", items))
    assert len({str(orders_of(sitting(id, items))) for id in IDS}) == len(IDS)


DEMO = sorted((ROOT / "demo" / "lessons").glob("*.md"))


@pytest.mark.parametrize("path", DEMO, ids=[one.stem for one in DEMO])
def test_in_the_demo_lessons_the_right_one_is_not_always_the_first(path: Path):
    predicted, fixed = [], []
    for step in read_lesson(path).steps:
        if step.question is not None and step.question.choices:
            choices = step.question.choices
            predicted.append(item(len(choices), next(k for k, one in enumerate(choices) if one.right)))
        elif step.quiz is not None:
            fixed += [one for one in quiz_items(step.quiz, 0) if one.options]
    assert all(one.key == 0 for one in predicted)
    for id in IDS:
        keys = keys_of(sitting(id, [*predicted, *fixed]))
        places = range(min(len(one.options) for one in (*predicted, *fixed)))
        assert max(keys.values()) - min(keys[place] for place in places) <= 1, (id, keys)


def test_over_the_three_lessons_the_right_one_stands_at_each_place_equally_often():
    keys: Counter[int] = Counter()
    for path in DEMO:
        asked = [one for one in taught_lesson(read_lesson(path)).asked if is_shuffled(one.item)]
        three = [one for one in asked if len(one.item.options) == 3]
        for k in range(60):
            orders = shuffled(f"class {k}", asked)
            keys.update(place_of(orders[one.key], one.item.key) for one in three)
    share = [keys[place] / keys.total() for place in range(3)]
    assert share == pytest.approx([1 / 3] * 3, abs=0.05), keys


def test_an_answer_without_the_order_that_was_seen_has_no_letter():
    asked = item(3)
    assert own_answers.words_of(asked, 1, None) == asked.options[1].text
    assert own_answers.words_of(asked, 1, None, (2, 1, 0)) == f"B: {asked.options[1].text}"


def test_all_pages_show_one_order_and_what_is_kept_is_the_option():
    lesson = taught_lesson(read_lesson(LESSON))
    for id in IDS[:6]:
        made = Sitting(
            id, "g", "lesson", "L", "2026-01-01T00:00:00Z", asked=lesson.asked, step=4, phase="open"
        )
        (asked,) = teaching.standing(made, lesson).asked
        order = orders_of(made)["step-5"]
        texts = tuple(asked.item.options[own].text for own in order)
        for phase, told in (("open", False), ("closed", False)):
            stands = teaching.standing(msgspec.structs.replace(made, phase=phase), lesson)
            answers = [Answer(id, "s1", "step-5", chosen=1), Answer(id, "s2", "step-5", chosen=1)]
            seen = audiences.seen_by_all(made, lesson, stands)
            assert seen.questions[0].options == texts
            alone = own_answers.seen_alone("Ada", stands, answers[:1])
            assert alone.given["step-5"].place == order.index(1)
            spread = audiences.spread_of(asked, answers, order, told=told)
            assert spread.options[order.index(1)] == 2
            assert spread.question.options == texts
        right = own_answers.told_of(asked, Answer(id, "s1", "step-5", chosen=asked.item.key), order)
        assert right.right
        assert (
            right.own == right.truth == f"{'ABC'[order.index(asked.item.key)]}: {asked.item.options[0].text}"
        )
