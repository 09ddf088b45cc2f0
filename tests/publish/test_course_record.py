"""The course record, as records gather it and as an independent reader finds it in the PDF."""

import csv
import io
from pathlib import Path

import msgspec
import pytest

from lubberline.classroom.exam import StudentReadiness
from lubberline.publish.reports.course_record import (
    Attended,
    CourseRecord,
    Result,
    TopicResult,
    course_record,
    course_record_csv,
    course_record_pdf,
)
from tests.poppler import poppler
from tests.publish.made_up_class import (
    ADA,
    BO,
    CORRECTIONS,
    GROUP,
    HOSTILE,
    LATER,
    LESSON,
    PAPER,
    PLACES,
    marks,
)

READY = StudentReadiness("a", 9, 0.8, 0.5, 0.9, 0.7, 0.5, 0.9, (), 0, ("Chance to pass: 80%.",))


@pytest.fixture(scope="module")
def ada() -> CourseRecord:
    return course_record(
        ADA,
        GROUP,
        (PAPER, LATER, LESSON),
        marks(),
        places=PLACES,
        corrections=CORRECTIONS,
        readiness=READY,
        school="Marrowfen",
        made_on="2026-05-01",
    )


def test_it_gathers_what_the_student_did(ada: CourseRecord) -> None:
    assert ada.lessons == (Attended("2026-03-02", "Wander", ("wander",), 1.0, 1),)
    (paper,) = ada.results
    assert (paper.title, paper.form, paper.points, paper.questions) == ("Mid-term", "A", 1.5, 3)
    assert paper.topics == (TopicResult("wander", 1.5, 2), TopicResult("compass", 0.0, 1))
    assert ada.topics == paper.topics
    assert paper.corrections == (
        "Question A3: given 0.5 points (half right; N. N., 2026-03-10).",
        "Question A1: read as B instead of C (misread; N. N., 2026-03-10).",
    )
    assert ada.readiness == ("Chance to pass: 80%.",)


def test_another_form_has_its_own_corrections_and_coming_counts_without_answers() -> None:
    bo = course_record(BO, GROUP, (LESSON, PAPER, LATER), marks(), places=PLACES, corrections=CORRECTIONS)
    assert bo.lessons == (Attended("2026-03-02", "Wander", ("wander",), 0.0, 0),)
    (paper,) = bo.results
    # The struck question does not count, and the one left blank does.
    assert (paper.form, paper.points, paper.questions) == ("B", 0.0, 2)
    assert paper.corrections == ("Question B2: no longer counts (misprint; N. N., 2026-03-10).",)
    assert course_record(BO, GROUP, (LESSON,), marks()).lessons == ()


def test_the_print_says_it_all_on_one_page_to_sign(ada: CourseRecord, tmp_path: Path) -> None:
    made = course_record_pdf(ada)
    text = poppler("pdftotext", made, tmp_path, "-layout")
    for words in (
        "Marrowfen",
        "Course record",
        "Ada",
        "Spring",
        "2026-03-02",
        "Mid-term, form A",
        "1.5 of 3",
        "50%",
        "Question A3: given 0.5 points",
        "Chance to pass: 80%.",
        "Printed on 2026-05-01",
        "Issued by",
        "Instructor",
        "not a licence, rating or certificate",
    ):
        assert words in text, words
    info = poppler("pdfinfo", made, tmp_path)
    assert "Tagged:          yes" in info
    assert "Pages:           1\n" in info
    assert course_record_pdf(ada) == made


def test_an_empty_record_leaves_lines_and_hostile_words_stay_words(tmp_path: Path) -> None:
    bo = course_record(msgspec.structs.replace(BO, number=HOSTILE), GROUP, (), ())
    text = poppler("pdftotext", course_record_pdf(bo), tmp_path, "-layout")
    assert '=HYPERLINK("x")<b>#import $y$' in text
    assert text.count("None on record.") == 2
    assert "School" in text
    assert "Readiness" not in text


def test_many_results_run_over_pages(ada: CourseRecord, tmp_path: Path) -> None:
    result = Result("2026-03-09", "A paper with a long title " * 3, "A", 10.0, 20, ada.topics)
    long = msgspec.structs.replace(ada, results=(result,) * 100)
    info = poppler("pdfinfo", course_record_pdf(long), tmp_path)
    assert int(info.split("Pages:")[1].split()[0]) >= 3


def test_the_table_has_a_row_for_each_topic_and_no_formula(ada: CourseRecord) -> None:
    rows = list(csv.DictReader(io.StringIO(course_record_csv(ada).decode("utf-8-sig"))))
    assert [(row["kind"], row["topic"], row["points"], row["questions"]) for row in rows] == [
        ("lesson", "wander", "1", "1"),
        ("paper", "wander", "1.5", "2"),
        ("paper", "compass", "0", "1"),
        ("paper", "all", "1.5", "3"),
    ]
    bo = course_record(BO, GROUP, (PAPER,), marks())
    rows = list(csv.DictReader(io.StringIO(course_record_csv(bo).decode("utf-8-sig"))))
    assert all(row["student"] == f"'{HOSTILE}" for row in rows)
