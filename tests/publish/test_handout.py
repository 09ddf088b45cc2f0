"""A lesson's sheets: what students take home holds no key; the instructor's holds all."""

import re
from pathlib import Path

import pytest

from lubberline.classroom.lessons.file import lesson_from_text, read_lesson
from lubberline.classroom.lessons.order import is_shuffled
from lubberline.classroom.lessons.questions import TaughtLesson, taught_lesson
from lubberline.publish.reports.handout import instructor_pdf, runs_of, student_pdf
from lubberline.simulation import CAUTIONS
from lubberline.simulation.live.parts import plain_of
from tests.classroom.test_lessons import LESSON
from tests.poppler import poppler

FILE = Path(__file__).parents[2] / "demo" / "lessons" / "3_when_it_fails.md"


def flat(text: str) -> str:
    """Letters and figures alone: lines break where they must, and the typesetter has signs of its own."""
    return re.sub(r"[^a-z0-9]", "", text.lower())


def read(pdf: bytes, tmp_path: Path) -> str:
    return flat(poppler("pdftotext", pdf, tmp_path))


@pytest.fixture(scope="module")
def made() -> TaughtLesson:
    return taught_lesson(read_lesson(FILE))


def test_the_students_sheet_asks_and_keeps_the_answers_back(made: TaughtLesson, tmp_path: Path) -> None:
    told = read(student_pdf(made), tmp_path)
    for step in made.lesson.steps:
        if step.question is not None:
            assert flat(step.text)[:60] in told
        if step.short:
            assert flat(plain_of(step.short))[:50] in told
        for note in step.notes.splitlines():
            assert len(note) < 20 or flat(note)[:60] not in told
    quiz = [one.item for at, step in enumerate(made.lesson.steps) if step.quiz for one in made.of_step(at)]
    assert quiz
    # A right option is not always the first of its question.
    worded = [one.item for one in made.asked if is_shuffled(one.item)]
    firsts = [told.find(flat(one.options[one.key].text)) for one in worded]
    assert any(
        told.find(flat(option.text)) < first
        for one, first in zip(worded, firsts, strict=True)
        for option in one.options
    )
    for item in quiz:
        assert flat(item.stem)[:50] in told
        assert flat(item.reason)[:50] not in told
    for asked in made.asked:
        for option in (*asked.item.options, *asked.item.slips):
            assert not option.misconception or flat(option.misconception) not in told
    assert flat(CAUTIONS[0])[:40] in told


def test_the_instructors_sheet_has_notes_answers_and_times(made: TaughtLesson, tmp_path: Path) -> None:
    told = read(instructor_pdf(made), tmp_path)
    assert flat("Not for students") in told
    for step in made.lesson.steps:
        assert flat(step.title) in told
        assert flat(plain_of(step.text))[:40] in told or step.question is not None
        assert flat(step.notes.partition("\n")[0])[:40] in told
    for asked in made.asked:
        for option in (*asked.item.options, *asked.item.slips):
            assert not option.misconception or flat(option.misconception) in told


def test_the_same_lesson_gives_the_same_bytes_and_markup_is_only_text(tmp_path: Path) -> None:
    text = LESSON.replace("Good **morning**.", "#set page(fill: red) <b>x</b> $x$ *y*")
    made = taught_lesson(lesson_from_text("small.md", text))
    assert instructor_pdf(made) == instructor_pdf(made)
    assert flat("#set page(fill: red) <b>x</b> $x$") in read(instructor_pdf(made), tmp_path)


def test_markdown_becomes_paragraphs_of_runs() -> None:
    runs = runs_of("One **two** `three` [four](https://x.example).\n\n- five\n- six")
    assert [[(run["text"], run["strong"]) for run in one] for one in runs] == [
        [("One ", False), ("two", True), (" three four.", False)],
        [("• five", False)],
        [("• six", False)],
    ]
