"""Readiness for a written exam: each student's chance to pass, and what would raise it most.

    found = readiness({student: marks, ...}, exam)

The model of `ability` is fitted to the class; `exam_chances` carries it to the exam.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

import numpy as np

from lubberline.classroom.ability import DIFFICULTY_SPREAD, Ability, Floats, Table, fitted
from lubberline.classroom.exam_chances import Chances, exam_chances
from lubberline.classroom.readiness_records import (
    ClassReadiness,
    Exam,
    SectionReadiness,
    StudentReadiness,
    check_exam,
)
from lubberline.classroom.readiness_words import class_notes, student_words
from lubberline.classroom.records import Marked, Sitting
from lubberline.questions.item import Item

# Answers of a term count: half as much after two months. Common practice, no source.
HALF_LIFE_DAYS = 60.0
LEAST_OF_AN_IDEA = 2
DAY_S = 86400.0
# In so many days a class may learn what `ability.LEARNED_SPREAD` allows.
TERM_DAYS = 100.0


def readiness(
    by_student: Mapping[str, Sequence[Marked]],
    exam: Exam,
    *,
    sittings: Sequence[Sitting] = (),
    half_life_days: float = HALF_LIFE_DAYS,
    seed: int = 0,
) -> ClassReadiness:
    """Every student's readiness.

    Args:
        by_student: marks by student's id, of all sittings that should count; struck questions do not.
        exam: sections and marks.
        sittings: give the times of answers that have none of their own, as those typed in from paper.
        half_life_days: after how many days an answer counts half; math.inf for all alike.
        seed: of the draws behind the intervals.

    Raises:
        InputError: for an exam that cannot be worked out.
    """
    check_exam(exam)
    opened = {sitting.id: sitting.opened_utc for sitting in sittings}
    counted = {student: [mark for mark in marks if not mark.struck] for student, marks in by_student.items()}
    table = _table(counted, exam, opened, half_life_days)
    found = fitted(table)
    difficulty, spread = _of_sections(found, table, len(exam.sections))
    chances = exam_chances(found, exam, difficulty, spread, seed)
    students = tuple(
        _student(student, marks, exam, chances, row, opened)
        for row, (student, marks) in enumerate(counted.items())
    )
    answers = sum(len(marks) for marks in counted.values())
    return ClassReadiness(exam, students, class_notes(exam, len(students), answers, half_life_days))


def _sections_of(exam: Exam) -> dict[str, int]:
    return {topic: place for place, section in enumerate(exam.sections) for topic in section.topics}


def _table(
    counted: Mapping[str, Sequence[Marked]], exam: Exam, opened: Mapping[str, str], half_life_days: float
) -> Table:
    """Answers by student, model and day; topics of no section make one more, which the exam does not ask."""
    sections = _sections_of(exam)
    rest = len(exam.sections)
    days = {id(mark): _day(mark, opened) for marks in counted.values() for mark in marks}
    items: dict[str, Item] = {}
    columns: dict[tuple[str, int], int] = {}
    told: list[tuple[int, int, float, float]] = []
    for row, marks in enumerate(counted.values()):
        # Days are counted back from a student's own last answer, whatever others have answered since.
        latest = max((days[id(mark)] for mark in marks if math.isfinite(days[id(mark)])), default=0.0)
        for mark in marks:
            day = days[id(mark)]
            age = round(latest - day) if math.isfinite(day) else 0
            items.setdefault(mark.item.model, mark.item)
            column = columns.setdefault((mark.item.model, age), len(columns))
            told.append((row, column, 0.5 ** (age / half_life_days), min(max(mark.points, 0.0), 1.0)))
    right, wrong = np.zeros((2, len(counted), len(columns)))
    for row, column, weight, points in told:
        right[row, column] += weight * points
        wrong[row, column] += weight * (1.0 - points)
    place = {name: k for k, name in enumerate(items)}
    section = np.array([sections.get(items[name].topic, rest) for name, _ in columns], dtype=np.intp)
    # An item's prior is the share that is expected to get it wrong.
    expected = np.clip([one.difficulty for one in items.values()], 0.05, 0.95)
    return Table(
        right=right,
        wrong=wrong,
        section=section,
        sections=rest + 1 if (section == rest).any() else rest,
        item=np.array([place[name] for name, _ in columns], dtype=np.intp),
        age=np.array([age / TERM_DAYS for _, age in columns]),
        prior=np.log(expected / (1.0 - expected)),
    )


def _day(mark: Marked, opened: Mapping[str, str]) -> float:
    """When an answer was given, in days; nan where nobody knows."""
    text = mark.answer.answered_utc or opened.get(mark.answer.sitting, "")
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return math.nan
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp() / DAY_S


def _of_sections(found: Ability, table: Table, sections: int) -> tuple[Floats, Floats]:
    """Mean difficulty and spread of the questions of each section: of those asked, drawn to what is usual."""
    usual = float(found.difficulty.mean()) if len(found.difficulty) else 0.0
    means, spreads = np.full(sections, usual), np.full(sections, DIFFICULTY_SPREAD)
    for section in range(sections):
        items = np.unique(table.item[table.section == section])
        own, sure = found.difficulty[items], found.difficulty_sd[items]
        if len(own):
            # One question's worth of what is usual.
            means[section] = (own.sum() + usual) / (len(own) + 1.0)
            far = ((own - means[section]) ** 2 + sure**2).sum()
            spreads[section] = math.sqrt((far + 2.0 * DIFFICULTY_SPREAD**2) / (len(own) + 2.0))
    return means, spreads


def _student(
    student: str, marks: Sequence[Marked], exam: Exam, chances: Chances, row: int, opened: Mapping[str, str]
) -> StudentReadiness:
    by_topic = _sections_of(exam)
    sections = []
    for place, section in enumerate(exam.sections):
        own = [mark for mark in marks if by_topic.get(mark.item.topic) == place]
        idea, count = _commonest(own, opened)
        sections.append(
            SectionReadiness(
                title=section.title,
                answers=len(own),
                expected=float(chances.section_expected[row, place]),
                low=float(chances.section_low[row, place]),
                high=float(chances.section_high[row, place]),
                pass_chance=float(chances.section_passing[row, place]),
                raised=float(chances.raised[row, place]),
                idea=idea,
                idea_count=count,
            )
        )
    best = int(np.argmax(chances.raised[row]))
    passing = float(chances.passing[row]), float(chances.low[row]), float(chances.high[row])
    expected = (
        float(chances.expected[row]),
        float(chances.expected_low[row]),
        float(chances.expected_high[row]),
    )
    words = student_words(exam, len(marks), passing, expected, sections, best)
    return StudentReadiness(student, len(marks), *passing, *expected, tuple(sections), best, words)


def _commonest(marks: Sequence[Marked], opened: Mapping[str, str]) -> tuple[str, int]:
    """The wrong idea that most answers of late fit, and how many; none that fits a single one.

    Of late: in the last two sittings with such questions. What was mended before need not be again.
    """
    days = {mark.answer.sitting: _day(mark, opened) for mark in marks}
    late = sorted(days, key=lambda sitting: -math.inf if math.isnan(days[sitting]) else days[sitting])[-2:]
    ideas = Counter(mark.idea for mark in marks if mark.idea and mark.answer.sitting in late)
    found = ideas.most_common(1)
    return found[0] if found and found[0][1] >= LEAST_OF_AN_IDEA else ("", 0)
