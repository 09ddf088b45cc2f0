"""Readiness: published estimates, chances by direct sums, students whose chance is known."""

import itertools
import math
from random import Random

import msgspec
import numpy as np
import pytest

from benchmarks.readiness import EXAM, bins, brier, growing, held_out, told
from lubberline.classroom.ability import Table, fitted
from lubberline.classroom.exam import Exam, ExamSection, check_exam, usual_exam
from lubberline.classroom.exam_chances import binomial, exam_chances, least_right
from lubberline.classroom.marking import marked_answer
from lubberline.classroom.readiness import readiness
from lubberline.classroom.records import Answer, Marked, Sitting
from lubberline.errors import InputError
from tests.classroom.made import CHOICE
from tests.classroom.test_statistics import lsat6


def one_section(points: np.ndarray, prior_sd: float = 50.0) -> Table:
    count = points.shape[1]
    asked = np.isfinite(points)
    right = np.where(asked, points, 0.0)
    return Table(
        right,
        asked - right,
        np.zeros(count, int),
        1,
        np.arange(count),
        np.zeros(count),
        np.zeros(count),
        prior_sd,
    )


def test_lsat6_has_its_published_slope_and_difficulties() -> None:
    """Bock and Lieberman 1970's data: marginal maximum likelihood, normal ability, one slope of 0.7551.

    The estimates are those published with the packages ltm and mirt, to three places.
    """
    found = fitted(one_section(lsat6()), slope_spread=5.0)
    assert found.common == pytest.approx(0.7551, abs=2e-3)
    assert found.difficulty == pytest.approx([-2.7300, -0.9986, -0.2399, -1.3065, -2.0994], abs=2e-3)


def test_a_slope_held_fixed_has_difficulties_near_the_published() -> None:
    """The same data with the ability's standard deviation fixed at 1 (published with ltm); ours is 1.04."""
    table = one_section(lsat6())
    half = fitted(table, slope_spread=0.0)
    assert half.common == pytest.approx(math.hypot(0.85, 0.6))
    published = np.array([-2.8720, -1.0630, -0.2576, -1.3881, -2.2188])
    assert np.abs(half.difficulty / published - 1.0).max() < 0.03


def test_held_out_answers_are_told_better_than_by_any_plain_share() -> None:
    scores = {name: float(np.mean(values)) for name, values in held_out(3, 2).items()}
    assert scores["model"] < scores["share right of the fitted half"] - 0.001
    assert scores["model"] < scores["percentage of the other four"] - 0.03


def test_slopes_of_two_factors_are_found_again() -> None:
    random = np.random.default_rng(5)
    students, items, sections = 600, 24, 2
    section = np.arange(items) % sections
    hard = random.normal(0.0, 0.7, items)
    ability = 0.9 * random.normal(size=(students, 1)) + 0.7 * random.normal(size=(students, sections))
    points = (random.random((students, items)) < 1 / (1 + np.exp(hard - ability[:, section]))).astype(float)
    table = Table(points, 1 - points, section, sections, np.arange(items), np.zeros(items), np.zeros(items))
    found = fitted(table, slope_spread=5.0)
    assert (found.common, found.own) == pytest.approx((0.9, 0.7), abs=0.12)
    assert found.difficulty == pytest.approx(hard, abs=0.35)


def test_what_a_class_learned_is_found() -> None:
    random = np.random.default_rng(6)
    age = np.repeat([0.0, 1.0], 30)
    logit = random.normal(size=(400, 1)) - 0.8 * age
    points = (random.random((400, 60)) < 1 / (1 + np.exp(-logit))).astype(float)
    item = np.tile(np.arange(30), 2)
    table = Table(points, 1 - points, np.zeros(60, int), 1, item, age, np.zeros(30))
    assert fitted(table).learned == pytest.approx(0.8, abs=0.1)


@pytest.mark.parametrize(
    ("mark", "questions", "least"), [(0.6, 10, 6), (0.7, 10, 7), (0.65, 20, 13), (0.6, 7, 5), (0, 5, 0)]
)
def test_a_mark_is_reached_by_so_many(mark: float, questions: int, least: int) -> None:
    assert least_right(mark, questions) == least


def test_chances_are_the_direct_sum_over_scores() -> None:
    """Two sections, by enumeration of all abilities on the grid, papers and scores."""
    exam = Exam((ExamSection("a", ("wander",), 3, 0.6), ExamSection("b", ("compass",), 2, 0.0)), mark=0.8)
    right = np.array([[2.0, 1.0, 1.0], [0.0, 0.0, 2.0]])
    table = Table(right, 2.0 - right, np.array([0, 0, 1]), 2, np.arange(3), np.zeros(3), np.zeros(3))
    found = fitted(table)
    difficulty, spread = np.array([0.3, -0.2]), np.array([0.5, 0.0])
    chances = exam_chances(found, exam, difficulty, spread)
    for row in range(2):
        passing, raised = 0.0, 0.0
        for (g, node), (shift, part) in itertools.product(
            enumerate(found.nodes),
            zip((-math.sqrt(3), 0.0, math.sqrt(3)), (1 / 6, 2 / 3, 1 / 6), strict=True),
        ):
            scores, more = [], []
            for place, questions in enumerate((3, 2)):
                logit = found.common * node + found.own * found.own_nodes - difficulty[place] - 0.3 * shift
                chance = 1 / (1 + np.exp(-logit / math.sqrt(1 + math.pi / 8 * spread[place] ** 2)))
                scores.append(found.given[row, place, g] @ binomial(chance, questions))
                more.append(found.given[row, place, g] @ binomial(np.minimum(chance + 0.1, 1.0), questions))
            weight = found.general[row, g] * part
            passes = [(i, j) for i in range(4) for j in range(3) if i >= 2 and i + j >= 4]
            passing += weight * sum(scores[0][i] * scores[1][j] for i, j in passes)
            raised += weight * sum(scores[0][i] * more[1][j] for i, j in passes)
        assert chances.passing[row] == pytest.approx(passing, abs=1e-9)
        assert chances.raised[row, 1] == pytest.approx(raised, abs=1e-9)
    assert (chances.low <= chances.high).all()
    assert chances.expected[0] > chances.expected[1] - 0.2


def test_binomial_sums_to_one_at_the_ends_too() -> None:
    assert binomial(np.array([0.0, 0.3, 1.0]), 40).sum(axis=1) == pytest.approx(1.0)


def test_chances_come_true_and_beat_plain_percentages() -> None:
    """Classes from a generator that is not the model; the long table is in docs/methods/readiness.md."""
    found = told(growing, 6, 3, (60.0,))
    ours = brier(found.ways["model"], found.passed)
    plain = "percentage so far, as pass or fail", "percentage so far, as a chance"
    for way in (*plain, "share of all who pass"):
        assert ours < brier(found.ways[way], found.passed) - 0.02, way
    calibrated = bins(found.ways["model"], found.passed)
    off = sum(abs(said - came) * count for said, came, count in calibrated) / len(found.passed)
    assert off < 0.12
    assert found.holds.mean() > 0.75


@pytest.mark.acceptance
def test_chances_come_true_within_ten_points() -> None:
    found = told(growing, 60, 4, (60.0,))
    for said, came, count in bins(found.ways["model"], found.passed):
        assert abs(said - came) < 0.1 or count < 100, (said, came, count)
    assert found.holds.mean() > 0.8


def answered(
    student: str, rights: list[int], topic: str, *, sitting: str = "p", day: str = "2026-03-01"
) -> list[Marked]:
    found = []
    for number, right in enumerate(rights):
        item = msgspec.structs.replace(CHOICE, model=f"{topic}-{number}", topic=topic)
        given = Answer(
            sitting, student, str(number), chosen=1 if right else 0, answered_utc=f"{day}T10:00:00Z"
        )
        found.append(marked_answer(given, item))
    return found


TWO = Exam((ExamSection("Drift", ("wander",), 10, 0.6), ExamSection("Compass", ("compass",), 10, 0.6)))


def class_of(weak: list[Marked]) -> dict[str, list[Marked]]:
    others = {
        f"p{k}": answered(f"p{k}", [1] * 8 + [0] * 2, "wander")
        + answered(f"p{k}", [1] * 7 + [0] * 3, "compass")
        for k in range(8)
    }
    return {"weak": weak, **others}


def test_the_weak_section_is_named_with_the_idea_behind_it() -> None:
    weak = answered("weak", [1] * 2 + [0] * 8, "wander") + answered("weak", [1] * 9 + [0], "compass")
    found = readiness(class_of(weak), TWO)
    one = found.students[0]
    assert one.student == "weak"
    assert one.best == 0
    assert one.sections[0].raised > one.pass_chance
    assert (one.sections[0].idea, one.sections[0].idea_count) == ("no-earth-wander", 8)
    assert one.pass_chance < min(other.pass_chance for other in found.students[1:])
    words = " ".join(one.words)
    assert "Drift would add most" in words
    assert "8 wrong answers of late fit one idea" in words
    assert one.low <= one.pass_chance <= one.high


def test_what_was_mended_since_is_not_named() -> None:
    before = answered("weak", [0] * 10, "wander", sitting="a", day="2026-01-01")
    later = answered("weak", [1] * 10, "wander", sitting="b", day="2026-02-01")
    last = answered("weak", [1] * 10, "wander", sitting="c", day="2026-03-01")
    one = readiness(class_of(before + later + last), TWO).students[0]
    assert one.sections[0].idea == ""


def test_recent_answers_weigh_more_than_old_ones() -> None:
    old, new = "2025-11-01", "2026-03-01"
    up = answered("weak", [0] * 10, "wander", sitting="a", day=old) + answered(
        "weak", [1] * 10, "wander", day=new
    )
    down = answered("weak", [1] * 10, "wander", sitting="a", day=old) + answered(
        "weak", [0] * 10, "wander", day=new
    )
    chance = {
        name: readiness(class_of(marks), TWO).students[0].sections[0].expected
        for name, marks in (("up", up), ("down", down))
    }
    assert chance["up"] > chance["down"] + 0.2


def test_old_answers_can_be_made_to_weigh_the_same_or_less() -> None:
    up = answered("weak", [0] * 10, "wander", sitting="a", day="2025-11-01")
    up += answered("weak", [1] * 10, "wander", day="2026-03-01")
    expected = [
        readiness(class_of(up), TWO, half_life_days=days).students[0].sections[0].expected
        for days in (math.inf, 60.0, 20.0)
    ]
    assert expected == sorted(expected)
    assert expected[1] > expected[0] + 0.04


def test_questions_expected_to_be_hard_make_a_hard_exam() -> None:
    chance = {}
    for expected in (0.1, 0.9):
        marks = [
            msgspec.structs.replace(one, item=msgspec.structs.replace(one.item, difficulty=expected))
            for topic in ("wander", "compass")
            for one in answered("one", [1, 0], topic)
        ]
        chance[expected] = readiness({"one": marks}, TWO).students[0].pass_chance
    assert chance[0.1] > chance[0.9] + 0.2


def test_a_section_without_answers_is_judged_by_the_others_less_surely() -> None:
    strong = answered("weak", [1] * 10, "wander")
    one = readiness(class_of(strong), TWO).students[0]
    assert one.sections[1].answers == 0
    assert one.sections[1].high - one.sections[1].low >= one.sections[0].high - one.sections[0].low
    assert any("Nothing was answered yet on Compass" in said for said in one.words)


def test_marks_of_a_topic_outside_the_exam_still_tell() -> None:
    alone = readiness(class_of(answered("weak", [1] * 10, "suction")), TWO).students[0]
    nothing = readiness(class_of([]), TWO).students[0]
    assert alone.pass_chance > nothing.pass_chance
    assert alone.sections[0].answers == 0


def test_struck_questions_and_times_of_paper_sittings() -> None:
    marks = answered("weak", [0] * 10, "wander")
    struck = [msgspec.structs.replace(one, struck=True) for one in marks]
    assert readiness(class_of(struck), TWO).students[0].answers == 0
    undated = [
        msgspec.structs.replace(
            one, answer=msgspec.structs.replace(one.answer, answered_utc="", sitting="old")
        )
        for one in marks
    ]
    old = Sitting("old", "g", "paper", "Old", "2025-09-01T10:00:00Z")
    both = class_of([*undated, *answered("weak", [1] * 6, "wander")])
    at_once = readiness(both, TWO).students[0].pass_chance
    long_ago = readiness(both, TWO, sittings=[old]).students[0].pass_chance
    assert long_ago > at_once


def test_nobody_and_nothing_are_no_errors_and_the_same_comes_twice() -> None:
    assert readiness({}, usual_exam()).students == ()
    (one,) = readiness({"a": []}, usual_exam()).students
    assert 0.0 < one.pass_chance < 1.0
    assert any("Only 0 answers" in said for said in one.words)
    weak = class_of(answered("weak", [1, 0] * 5, "wander"))
    assert readiness(weak, TWO) == readiness(weak, TWO)


@pytest.mark.parametrize(
    ("sections", "mark", "said"),
    [
        ((), 0.6, "0 sections"),
        ((ExamSection("a", ("wander",), 0),), 0.6, "0 questions"),
        ((ExamSection("a", ("wander",), 10, 1.2),), 0.6, "mark 1.2"),
        ((ExamSection("a", ("wander",), 10),), 60.0, "mark 60"),
        ((ExamSection("a", ("weather",), 10),), 0.6, "no topic 'weather'"),
        ((ExamSection("a", ("wander",), 10), ExamSection("b", ("wander",), 10)), 0.6, "in two sections"),
        ((ExamSection("a", ("wander",), 301),), 0.6, "301 questions"),
        ((ExamSection(" ", ("wander",), 10),), 0.6, "no title"),
    ],
)
def test_an_exam_that_cannot_be_is_refused(sections: tuple[ExamSection, ...], mark: float, said: str) -> None:
    with pytest.raises(InputError, match=said):
        check_exam(Exam(sections, mark=mark))


def test_the_usual_exam_is_right_and_the_made_up_class_varies() -> None:
    check_exam(usual_exam())
    sat = growing(EXAM, Random(1))
    assert 0.0 < sat.true.mean() < 1.0


def test_what_somebody_knew_fades_from_their_own_last_answer() -> None:
    """Another student's answer months later leaves a student's own answers as they were."""
    ada = answered("ada", [1] * 8 + [0] * 2, "wander", day="2026-03-01")
    bo = answered("bo", [1, 0], "wander", day="2026-03-01")
    late = answered("bo", [1, 0], "wander", sitting="late", day="2026-11-01")
    before, after = (
        readiness({**class_of(ada), "bo": marks}, TWO).students[0].sections[0].expected
        for marks in (bo, [*bo, *late])
    )
    assert after == pytest.approx(before, abs=0.05)
