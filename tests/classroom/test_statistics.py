"""Item statistics against published data, a general-purpose statistics library and their own laws."""

import math
from pathlib import Path

import msgspec
import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from lubberline.classroom import reliability
from lubberline.classroom.marking import marked_answer
from lubberline.classroom.records import Answer, Marked
from lubberline.classroom.statistics import item_statistics, upper_lower
from tests.classroom.made import CHOICE, DIAL, table_of_marks

LSAT6 = Path(__file__).parents[1] / "authorities" / "lsat6_patterns.txt"


def lsat6() -> np.ndarray:
    """1,000 rows of five answers; tests/authorities/lsat6_patterns.txt."""
    rows = []
    for word in LSAT6.read_text().split():
        pattern, count = word.split(":")
        rows += [[float(sign) for sign in pattern]] * int(count)
    return np.array(rows)


@pytest.fixture(scope="module")
def published():
    points = lsat6()
    return item_statistics(table_of_marks(points.astype(int).tolist()))


def test_lsat6_has_its_published_numbers(published) -> None:
    """Bock and Lieberman 1970; alpha and point-biserials as published with ltm, digits of the reference."""
    assert published.students == 1000
    assert published.mean == pytest.approx(3.819)
    assert published.sd**2 == pytest.approx(1.071310, abs=5e-7)
    assert published.kr20 == pytest.approx(0.294997, abs=5e-7)
    assert published.kr21 == pytest.approx(0.196441, abs=5e-7)
    assert published.error_of_measurement == pytest.approx(math.sqrt(1.071310 * (1 - 0.294997)), abs=1e-5)
    columns = {
        "right_share": (0.924, 0.709, 0.553, 0.763, 0.870),
        "in_total": (0.362010, 0.566772, 0.618440, 0.534418, 0.435366),
        "in_rest": (0.112833, 0.153178, 0.172779, 0.144428, 0.121596),
        "alpha_without": (0.275356, 0.237584, 0.216799, 0.245933, 0.266294),
    }
    for name, values in columns.items():
        found = [getattr(item, name) for item in published.items]
        np.testing.assert_allclose(found, values, atol=6e-7, err_msg=name)


def test_lsat6_interval_of_alpha_is_feldts(published) -> None:
    """Feldt, Woodruff and Salih 1987; pingouin gives 0.223 and 0.362 on these data."""
    assert published.kr20_low == pytest.approx(0.223, abs=5e-4)
    assert published.kr20_high == pytest.approx(0.362, abs=5e-4)


tables = st.integers(0, 2**31).map(
    lambda seed: (np.random.default_rng(seed).random((17, 6)) < np.linspace(0.2, 0.9, 6)).astype(float)
)


@given(points=tables)
def test_as_scipy_has_them(points: np.ndarray) -> None:
    found = item_statistics(table_of_marks(points.astype(int).tolist()))
    totals = points.sum(axis=1)
    for j, item in enumerate(found.items):
        own = points[:, j]
        if np.ptp(own) and np.ptp(totals - own) and np.ptp(totals):
            assert item.in_total == pytest.approx(scipy.stats.pointbiserialr(own, totals).statistic)
            rest = scipy.stats.pearsonr(own, totals - own)
            assert item.in_rest == pytest.approx(rest.statistic)
            ends = rest.confidence_interval(0.95)
            assert (item.rest_low, item.rest_high) == pytest.approx((ends.low, ends.high), abs=1e-6)
        ends = scipy.stats.binomtest(int(own.sum()), 17).proportion_ci(0.95, method="wilson")
        assert (item.right_low, item.right_high) == pytest.approx((ends.low, ends.high), abs=1e-9)
    spread = np.cov(points.T)
    expected = 6 / 5 * (1 - np.trace(spread) / spread.sum()) if spread.sum() > 1e-9 else math.nan
    assert found.kr20 == pytest.approx(expected, nan_ok=True)
    shares = points.mean(axis=0)
    if totals.var():
        kuder = 6 / 5 * (1 - (shares * (1 - shares)).sum() / totals.var())
        assert found.kr20 == pytest.approx(kuder)


@pytest.mark.parametrize(("students", "questions", "true_alpha"), [(30, 10, 0.7), (14, 6, 0.4)])
def test_feldts_interval_covers(students: int, questions: int, true_alpha: float) -> None:
    """Parallel questions with normal errors: the model under which Feldt's interval is exact."""
    rng = np.random.default_rng(8)
    correlation = true_alpha / (questions - (questions - 1) * true_alpha)
    hits = 0
    for _ in range(1500):
        person = rng.normal(size=(students, 1)) * math.sqrt(correlation)
        points = person + rng.normal(size=(students, questions)) * math.sqrt(1.0 - correlation)
        low, high = reliability.feldt(reliability.alpha(points), students, questions)
        hits += low <= true_alpha <= high
    assert hits / 1500 == pytest.approx(0.95, abs=0.02)


def test_gaps_are_taken_pair_by_pair() -> None:
    """The covariance of each pair by the rows that have both, as pandas' cov does."""
    rng = np.random.default_rng(3)
    points = rng.integers(0, 2, (40, 4)).astype(float)
    points[rng.random((40, 4)) < 0.2] = np.nan
    found = reliability.covariances(points)
    for i in range(4):
        for j in range(4):
            both = np.isfinite(points[:, i]) & np.isfinite(points[:, j])
            assert found[i, j] == pytest.approx(np.cov(points[both, i], points[both, j])[0, 1])


def marks_of(columns: list[list[int]]) -> tuple[Marked, ...]:
    """Chosen options of one choice question beside a second question that ranks the students."""
    found = []
    for k, (chosen, right) in enumerate(zip(*columns, strict=True)):
        found.append(marked_answer(Answer("s", f"p{k:02d}", "1", chosen=chosen), CHOICE))
        found += [
            marked_answer(Answer("s", f"p{k:02d}", f"r{j}", chosen=1 if j < right else 0), CHOICE)
            for j in range(5)
        ]
    return tuple(found)


def first(columns: list[list[int]]):
    return item_statistics(marks_of(columns)).items[0]


def test_the_distractor_table_counts_by_thirds_and_names_ideas() -> None:
    item = first([[0, 0, 2, 1, 1, 1, 1, 1, -1], [0, 0, 1, 2, 3, 3, 4, 5, 5]])
    table = {line.label: (line.count, line.by_third, line.idea, line.is_key) for line in item.table}
    assert table["A"] == (2, (2, 0, 0), "no-earth-wander", False)
    assert table["B"] == (5, (0, 3, 2), "", True)
    assert table["C"] == (1, (1, 0, 0), "rises-in-the-north", False)
    assert table["-"] == (1, (0, 0, 1), "", False)
    assert sum(line.count for line in item.table) == item.count == 9


@pytest.mark.parametrize(
    ("chosen", "flag"),
    [
        ([1] * 12, "Everybody got it right"),
        ([0, 2] * 6, "Nobody got it right"),
        ([1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0], "The best third chose option A 4 times and the key 0 times"),
        ([0] * 6 + [1] * 6, "Option C was never chosen."),
        ([-1] * 4 + [1] * 8, "4 of 12 left it blank"),
    ],
)
def test_flags_say_what_to_look_at(chosen: list[int], flag: str) -> None:
    ability = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 5, 5]
    assert any(said.startswith(flag) for said in first([chosen, ability]).flags), first(
        [chosen, ability]
    ).flags


def test_good_questions_are_left_alone_and_few_answers_say_so() -> None:
    good = first([[0, 0, 2, 0, 2, 1, 0, 1, 1, 1, 1, 1], [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 5, 5]])
    assert good.flags == ()
    few = first([[0, 1, 1], [0, 1, 2]])
    assert few.flags == ("Only 3 answered it: too few to say anything of the question.",)


def test_forms_are_pooled_by_model_and_ideas() -> None:
    other = msgspec.structs.replace(CHOICE, drawn={"n": 9.0})
    marks = [
        marked_answer(Answer("s", f"p{k}", "A1" if k % 2 else "B3", chosen=k % 3), other if k % 2 else CHOICE)
        for k in range(12)
    ]
    (item,) = item_statistics(marks, by_model=True).items
    assert item.count == 12
    assert {line.idea: line.count for line in item.table if line.idea} == {
        "no-earth-wander": 4,
        "rises-in-the-north": 4,
    }
    assert len(item_statistics(marks).items) == 2


def test_numbers_have_their_slips_in_the_table() -> None:
    values = [358.0, 359.0, 1.0, 1.5, 180.0, 354.0]
    marks = [marked_answer(Answer("s", f"p{k}", "1", value=v), DIAL) for k, v in enumerate(values)]
    table = {line.label: line.count for line in item_statistics(marks).items[0].table}
    assert table == {"=": 2, "001": 2, "354": 1, "355": 0, "*": 1}


def test_struck_questions_do_not_count_and_nobody_is_no_error() -> None:
    marks = table_of_marks([[1, 0], [0, 1], [1, 1]])
    struck = [msgspec.structs.replace(m, struck=m.answer.key == "1") for m in marks]
    assert item_statistics(struck).questions == 1
    empty = item_statistics([])
    assert (empty.students, empty.questions, empty.items) == (0, 0, ())


def told(chosen: list[int], ability: list[int]) -> str:
    return " ".join(first([chosen, ability]).flags)


def test_a_key_that_the_better_half_misses_is_to_be_checked() -> None:
    """Outright where the interval lies below zero, with a doubt where it nearly does, else not at all."""
    ability = [0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5]
    assert "more often than those who know less: check the key" in told([1] * 6 + [0] * 6, ability)
    doubtful = first([[1, 2, 1, 1, 0, 1, 1, 2, 0, 1, 0, 2], ability])
    assert 0.2 < doubtful.rest_high < 0.3
    assert [flag.split(";")[0] for flag in doubtful.flags] == [
        "Those who know more got it right less often than the others"
    ]
    mixed = [1, 0, 1, 0, 1, 1, 0, 1, 0, 1, 1, 0]
    item = first([mixed, ability])
    assert item.in_rest < 0.1 < 0.3 < item.rest_high
    assert item.flags == ()


def test_a_large_class_says_outright_what_hardly_tells() -> None:
    rng = np.random.default_rng(2)
    chosen = rng.choice([0, 1, 2], 400, p=[0.25, 0.5, 0.25]).tolist()
    ability = rng.integers(0, 6, 400).tolist()
    flags = first([chosen, ability]).flags
    assert flags == ("It hardly tells those who know more from those who know less.",)


def test_the_best_and_the_weakest_are_of_those_who_were_asked() -> None:
    """Kelley 1939: 27%. Eleven of twenty-two were asked, so three and three are set against each other."""
    asked = [0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 1.0, 1.0, 1.0]
    own = np.array([*asked, *[math.nan] * 11])
    assert upper_lower(own, np.arange(22)) == 1.0
