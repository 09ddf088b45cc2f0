"""Lessons worked out by the engine; the demo's three held to its numbers and to their time."""

import math
import re
from pathlib import Path

import pytest

from lubberline.classroom.lessons.file import lesson_from_text, lessons_of, read_lesson
from lubberline.classroom.lessons.lesson import Lesson, Show
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.classroom.lessons.timing import show_seconds, timed, words_in
from lubberline.classroom.marking import marked_answer
from lubberline.classroom.records import Answer
from lubberline.errors import InputError
from lubberline.questions.item import Item
from lubberline.simulation.scenes import library, number_in, run_scene, scene_named
from tests.classroom.test_lessons import LESSON, line_of

FOLDER = Path(__file__).parents[2] / "demo" / "lessons"
FILES = sorted(FOLDER.glob("*.md"))
OMEGA_DEG_H = 15.041


def item(text: str, key: str) -> Item:
    return next(one.item for one in taught_lesson(lesson_from_text("small.md", text)).asked if one.key == key)


def test_a_dial_has_the_key_and_the_wrong_answers_of_the_blackboard() -> None:
    """Apparent wander 15.04 sin(latitude) deg/h, any text on gyroscopic theory for pilots."""
    asked = item(LESSON, "step-2")
    quarter = OMEGA_DEG_H / 4.0
    assert asked.circle
    assert asked.kind == "number"
    assert asked.answer == pytest.approx(360.0 - quarter * math.sin(math.radians(45.0)), abs=0.15)
    by_idea = {slip.misconception: slip.value or 0.0 for slip in asked.slips}
    assert by_idea["same-wander-everywhere"] == pytest.approx(360.0 - quarter, abs=0.15)
    assert min(by_idea["no-earth-wander"], 360.0 - by_idea["no-earth-wander"]) < 0.1
    slip = next(one for one in asked.slips if one.misconception == "same-wander-everywhere")
    assert slip.text in slip.feedback
    assert f"{asked.answer:g}" in slip.feedback


def test_an_answer_on_the_dial_is_marked_by_the_idea_behind_it() -> None:
    asked = item(LESSON, "step-2")
    for value, idea in (
        (357.0, ""),
        (0.0, "no-earth-wander"),
        (359.9, "no-earth-wander"),
        (356.0, "same-wander-everywhere"),
    ):
        assert marked_answer(Answer("s", "a", "step-2", value=value), asked).idea == idea
    assert marked_answer(Answer("s", "a", "step-2", value=357.0), asked).points == 1.0


def test_the_key_is_the_scenes_own_number() -> None:
    scene = scene_named("fifteen_minutes_45n")
    frame = run_scene(scene, 900.0)[-1]
    assert item(LESSON, "step-2").answer == pytest.approx(number_in(frame, "shown.indicated_deg"), abs=0.051)
    # The scene's own ghost is the lesson's, too.
    slip = item(LESSON, "step-2").slips[0].value
    assert slip == pytest.approx(number_in(frame, "ghosts.no-earth-wander.indicated_deg"), abs=0.051)


WRONG = [
    (
        "asks: shown.indicated_deg",
        "asks: shown.indicatd_deg\nunit: x",
        "## Predict: The dial",
        "indicated_deg",
    ),
    ("no-earth-wander,", "no-wander-at-poles,", "ideas:", "tells them apart"),
    ("between: 0.5 and 10", "between: 5 and 10", "- [x] Higher", "it is marked right"),
    ("between: -10 and -0.5", "between: -10 and 9", "- [ ] Lower", "it is not marked right"),
    (
        "between: -10 and -0.5",
        "between: -10 and -9",
        "- [ ] Lower",
        "'falls-in-both-hemispheres' gives -2.6",
    ),
    # What an idea gives must not be right too.
    ("between: 0.5 and 10", "between: -5 and 10", "- [ ] Lower", "which is right: -5 to 10"),
    ("shown.error_deg @ fifteen_minutes_45n", "shown.eror_deg @ fifteen_minutes_45n", "short:", "error_deg"),
    (
        "ideas: no-earth-wander, same-wander-everywhere",
        "ideas: no-earth-wander = shown.nothing",
        "ideas:",
        "nothing",
    ),
    # What is given for an idea that flies must be what it gives as flown.
    (
        "ideas: no-earth-wander, same-wander-everywhere",
        "ideas: no-earth-wander = 45",
        "ideas:",
        "as flown",
    ),
]


@pytest.mark.parametrize(("old", "new", "line", "says"), WRONG)
def test_what_the_engine_does_not_bear_out_is_refused_with_its_line(
    old: str, new: str, line: str, says: str
) -> None:
    text = LESSON.replace(old, new, 1)
    if "indicatd" in new:
        text = text.replace("ideas: no-earth-wander, same-wander-everywhere\n", "")
    with pytest.raises(InputError) as found:
        taught_lesson(lesson_from_text("small.md", text))
    assert found.value.where == f"small.md, line {line_of(text, line)}"
    assert says in str(found.value)


def test_an_idea_may_go_by_another_number_of_the_scene() -> None:
    text = LESSON.replace(
        "ideas: no-earth-wander, same-wander-everywhere",
        "ideas: no-earth-wander = shown.indicated_deg @ 0, gyro-stops-with-the-pump = 90",
    )
    by_idea = {slip.misconception: slip.value for slip in item(text, "step-2").slips}
    assert by_idea["no-earth-wander"] == pytest.approx(0.0, abs=0.01)
    assert by_idea["gyro-stops-with-the-pump"] == 90.0


def test_ideas_that_fly_and_ideas_with_a_number_stand_side_by_side() -> None:
    ideas = (
        "rises-in-the-north, same-wander-everywhere, gyro-stops-with-the-pump = 20, ready-with-the-gauge = 30"
    )
    text = LESSON.replace(
        "ideas: no-earth-wander, same-wander-everywhere", f"ideas: no-earth-wander, {ideas}"
    )
    assert len(item(text, "step-2").slips) == 5


def test_progress_is_told_and_work_is_not_done_twice() -> None:
    lesson = lesson_from_text("small.md", LESSON + "\n## Say: Again\n\nOnce more.\n")
    told: list[tuple[int, int]] = []
    first = taught_lesson(lesson, 3, lambda done, of: told.append((done, of)))
    assert told[0][0] == 0
    assert told[-1][0] == told[-1][1] > 0
    assert taught_lesson(lesson, 3, lambda done, of: told.append((-1, of))) is first
    assert all(done >= 0 for done, _ in told)


def test_the_seed_draws_the_quiz_and_leaves_predictions_alone() -> None:
    lesson = lesson_from_text("small.md", LESSON)
    one, same, other = (taught_lesson(lesson, seed).asked for seed in (1, 1, 2))
    assert one == same
    assert one[:2] == other[:2]
    assert one[2:] != other[2:]
    assert [asked.key for asked in one] == ["step-2", "step-4", "step-5-1", "step-5-2"]


def test_a_show_takes_as_long_as_its_pace_says() -> None:
    """fifteen_minutes_45n runs at x20 from its start; bank_and_card at x1, from 8 s at half of that."""
    assert show_seconds(Show("fifteen_minutes_45n", "", 0.0, 900.0), library()) == pytest.approx(45.0)
    assert show_seconds(Show("bank_and_card", "", 4.0, 10.0), library()) == pytest.approx(4.0 + 4.0)
    assert show_seconds(Show("bank_and_card", "", 4.0, 10.0, pace=2.0), library()) == pytest.approx(3.0)
    assert words_in("**Two** words, [three](https://x.example) of `four`\n\n- five") == 6


@pytest.fixture(scope="module", params=FILES, ids=lambda path: path.stem)
def demo(request: pytest.FixtureRequest) -> Lesson:
    return read_lesson(request.param)


def test_the_demo_has_three_lessons() -> None:
    assert len(lessons_of(FOLDER)) == 3


def test_a_demo_lesson_lies_within_its_time(demo: Lesson) -> None:
    rows = timed(taught_lesson(demo).lesson)
    estimated, planned = sum(row.estimated_min for row in rows), sum(row.planned_min for row in rows)
    assert 35.0 <= estimated <= 45.0
    assert 35.0 <= planned <= 45.0
    assert [row.title for row in rows if row.plan_is_off] == []


def test_a_demo_lesson_predicts_before_it_shows(demo: Lesson) -> None:
    kinds = [step.kind for step in demo.steps]
    answers = [step.question.answer for step in demo.steps if step.question is not None]
    assert len(answers) >= 5
    assert set(answers) == {"dial", "number", "options"}
    assert {"say", "predict", "reveal", "explain", "quiz"} <= set(kinds)
    # What is asked about has not been seen before: nothing played that scene as far as that moment.
    seen: dict[str, float] = {}
    for step in demo.steps:
        if step.question is not None:
            assert seen.get(step.question.show.scene_ref, -1.0) < step.question.at_s, step.title
        elif step.show is not None:
            seen[step.show.scene_ref] = max(seen.get(step.show.scene_ref, 0.0), step.show.to_s)
    revealed = [step.reveals for step in demo.steps if step.kind == "reveal"]
    assert revealed == [at for at, step in enumerate(demo.steps) if step.kind == "predict"]
    assert all(step.notes or step.kind in ("say", "explain") for step in demo.steps)


def test_every_wrong_answer_of_a_demo_lesson_says_what_is_right(demo: Lesson) -> None:
    for asked in taught_lesson(demo).asked:
        assert asked.item.reason
        assert all(option.feedback for option in (*asked.item.options, *asked.item.slips))
    ideas = {
        option.misconception
        for asked in taught_lesson(demo).asked
        for option in (*asked.item.options, *asked.item.slips)
    } - {""}
    assert len(ideas) >= 5


# Decimals that may be typed by hand: the sines on the blackboard, each held to its angle.
SINES = {"0.5": 30, "0.7": 45, "0.87": 60, "0.94": 70}


def test_no_number_that_the_engine_computes_is_typed_by_hand(demo: Lesson) -> None:
    prose = [text for step in demo.steps for text in (step.text, step.notes, step.short)]
    prose += [step.question.because for step in demo.steps if step.question is not None]
    typed = re.findall(r"\d+\.\d+", re.sub(r"\{\{.*?\}\}", "", "\n".join(prose)))
    for number in typed:
        if number != "14.5":  # the moment of a caption
            assert math.sin(math.radians(SINES[number])) == pytest.approx(float(number), abs=0.01)
    assert len(demo.numbers) >= 15
    told = taught_lesson(demo).lesson
    assert "{{" not in "".join(step.text + step.notes + step.short for step in told.steps)


def test_the_tables_of_the_manual_are_those_of_the_lessons() -> None:
    from tools.write.lessons_page import PAGE, page_with_tables

    page = PAGE.read_text(encoding="utf-8")
    assert page_with_tables(page) == page
