"""Marking: keys, tolerances round the circle, ideas behind answers, corrections that leave the answer."""

import msgspec
import pytest

from lubberline.classroom.answers_csv import read_answers
from lubberline.classroom.marking import answer_words, feedback_of, marked, marked_answer, read_answer, score
from lubberline.classroom.records import NOT_CHOSEN, Answer, Correction, Student
from lubberline.errors import InputError
from tests.classroom.made import CHOICE, DIAL, chose, put, sitting


@pytest.mark.parametrize(
    ("chosen", "points", "idea"),
    [(1, 1.0, ""), (0, 0.0, "no-earth-wander"), (2, 0.0, "rises-in-the-north"), (-1, 0.0, ""), (7, 0.0, "")],
)
def test_a_choice_is_its_option(chosen: int, points: float, idea: str) -> None:
    found = marked_answer(chose("p", "1", chosen), CHOICE)
    assert (found.points, found.idea) == (points, idea)


@pytest.mark.parametrize(
    ("value", "points", "idea"),
    [
        (358.0, 1.0, ""),
        (359.5, 1.0, ""),
        (356.5, 1.0, ""),
        (0.0, 0.0, "rises-in-the-north"),
        (2.5, 0.0, "rises-in-the-north"),
        (2.6, 0.0, ""),
        (354.6, 0.0, "same-wander-everywhere"),
        (354.9, 0.0, "no-wander-at-poles"),
        (180.0, 0.0, ""),
        (float("nan"), 0.0, ""),
    ],
)
def test_a_number_is_near_the_key_or_a_slip_round_the_circle(value: float, points: float, idea: str) -> None:
    found = marked_answer(put("p", "2", value), DIAL)
    assert (found.points, found.idea) == (points, idea)


@pytest.mark.parametrize(
    ("key", "value", "points"), [(359.5, 0.5, 1.0), (0.5, 359.5, 1.0), (359.5, 1.5, 0.0), (0.5, 358.5, 0.0)]
)
def test_a_direction_is_near_its_key_across_north(key: float, value: float, points: float) -> None:
    item = msgspec.structs.replace(DIAL, answer=key)
    assert marked_answer(put("p", "2", value), item).points == points


def test_feedback_is_of_the_idea_behind_the_answer() -> None:
    assert feedback_of(chose("p", "1", 2), CHOICE) == "It falls."
    assert feedback_of(put("p", "2", 1.0), DIAL) == "It falls, and does not rise."
    assert feedback_of(put("p", "2", 180.0), DIAL) == DIAL.reason
    assert feedback_of(put("p", "2", 358.0), DIAL) == DIAL.reason


def test_what_a_student_left_blank_counts_in_a_paper_and_not_in_a_lesson() -> None:
    answers = [chose("p", "A1", 1)]
    on_paper = marked(sitting(forms=("A", "B")), answers)
    assert [(mark.answer.key, mark.points) for mark in on_paper] == [("A1", 1.0), ("A2", 0.0)]
    assert on_paper[1].answer.blank
    assert score(on_paper) == (1.0, 2)
    in_class = marked(sitting("lesson", forms=("A",)), answers)
    assert [mark.answer.key for mark in in_class] == ["A1"]


def correction(field: str, after: str, *, student: str = "p", key: str = "1") -> Correction:
    return Correction("s", student, key, "N. N.", "2026-01-01T11:00:00Z", "misread", field, "", after)  # type: ignore[arg-type]


def test_corrections_apply_in_order_and_leave_the_answer_as_it_was_given() -> None:
    given = (chose("p", "1", 0), put("p", "2", 180.0), chose("q", "1", 0))
    corrections = [
        correction("chosen", "C"),
        correction("chosen", "B"),
        correction("value", "358", key="2"),
        correction("points", "0.5", key="2"),
        correction("struck", "struck", student="", key="1"),
    ]
    found = {(m.answer.student, m.answer.key): m for m in marked(sitting(), given, corrections)}
    assert (found["p", "1"].points, found["p", "1"].answer.chosen, found["p", "1"].corrected) == (
        1.0,
        1,
        True,
    )
    assert found["p", "2"].points == 0.5
    assert found["q", "1"].struck
    assert not found["q", "2"].struck
    assert score(found.values()) == (0.5, 2)
    assert given[0].chosen == 0
    back = marked(sitting(), given, [*corrections, correction("struck", "counts", student="", key="1")])
    assert not any(mark.struck for mark in back)


def test_answers_are_written_as_a_marker_reads_them() -> None:
    for text, item, words in (
        ("b", CHOICE, "B"),
        ("-", CHOICE, "-"),
        (" 274.5° ", DIAL, "274.5"),
        ("3,5", DIAL, "3.5"),
    ):
        chosen, value = read_answer(text, item, "here")
        assert answer_words(Answer("s", "p", "1", chosen, value), item) == words
    choices, numbers = ("E", "AB"), ("north", "3,5,1", "1.234,5", "1,234.5", "nan")
    for text, item in (*((text, CHOICE) for text in choices), *((text, DIAL) for text in numbers)):
        with pytest.raises(InputError, match="here"):
            read_answer(text, item, "here")


def test_a_comma_is_a_decimal_mark_but_not_where_it_may_part_thousands() -> None:
    for text, value in (("3,5", 3.5), ("-0,125°", -0.125), ("12,3456", 12.3456), ("1234,567", 1234.567)):
        assert read_answer(text, DIAL, "here") == (NOT_CHOSEN, value)
    for text, right in (("1,234", "1.234 or 1234"), ("-12,345°", "-12.345° or -12345°")):
        with pytest.raises(InputError, match="can be read in two ways") as told:
            read_answer(text, DIAL, "here")
        assert told.value.right == f"write {right}, without a comma"


STUDENTS = [Student("i1", "g", "Ada", "1"), Student("i2", "g", "Bo", "2"), Student("i3", "g", "Ada", "3")]


def test_a_file_of_answers_keeps_the_good_rows_and_lists_the_bad() -> None:
    text = (
        "\ufeffstudent;question;answer\n1;A1;b\nBo;A2;358\n3;B1;C\n1;A2;\nAda;A1;A\nZoe;A1;A\n2;A9;A\n"
        "2;A2;359\n2;A1;x\n3;A1;A\n\n"
    )
    read = read_answers("answers.csv", text, sitting(forms=("A", "B")), STUDENTS)
    assert [(a.student, a.key, a.chosen, a.value) for a in read.answers] == [
        ("i1", "A1", 1, None),
        ("i2", "A2", -1, 358.0),
        ("i3", "B1", 2, None),
        ("i1", "A2", -1, None),
    ]
    assert read.forms == {"i1": "A", "i2": "A", "i3": "B"}
    places = [(error.where.split()[-1], error.wrong) for error in read.refused]
    assert [place for place, _ in places] == ["6", "7", "8", "9", "10", "11"]
    assert "2 students are called 'Ada'" in places[0][1]
    assert "not in this class" in places[1][1]
    assert "no question 'A9'" in places[2][1]
    assert "in line 3 already" in places[3][1]
    assert "not an option" in places[4][1]
    assert "has answers of form B" in places[5][1]


def test_a_file_without_its_columns_is_refused() -> None:
    with pytest.raises(InputError, match=r"answers.csv line 1: there is no column 'question'"):
        read_answers("answers.csv", "student,answer\n1,A\n", sitting(), STUDENTS)
