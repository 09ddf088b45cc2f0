"""Readiness for a written exam: each student's chance of passing, and what would raise it most.

    found = readiness({student: marks, ...}, exam)

The model of `ability` is fitted to the class; `exam_chances` applies it to the exam.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

import numpy as np

from lubberline.arrays import Floats
from lubberline.classroom.ability import DIFFICULTY_SPREAD, Ability, Table, fitted
from lubberline.classroom.diagnosis.words import counted as in_words
from lubberline.classroom.diagnosis.words import percent
from lubberline.classroom.exam import ClassReadiness, Exam, SectionReadiness, StudentReadiness, check_exam
from lubberline.classroom.exam_chances import Chances, exam_chances
from lubberline.classroom.records import Marked, Sitting
from lubberline.questions.item import Item
from lubberline.simulation.misconceptions import BY_ID

# With fewer answers than this the estimate is mostly the average of the class.
FEW = 8
LIKELY, UNLIKELY, OPEN = 0.9, 0.5, 0.4
# A rise in the chance that is worth a sentence.
WORTH = 0.01


def student_words(
    exam: Exam,
    answers: int,
    passing: tuple[float, float, float],
    expected: tuple[float, float, float],
    sections: Sequence[SectionReadiness],
    best: int,
) -> tuple[str, ...]:
    """Sentences for one student.

    Args:
        exam: which.
        answers: how many there are.
        passing: chance of passing, and its interval.
        expected: share right, and its interval.
        sections: of the exam.
        best: place of the section where one more right answer in ten raises the chance most.
    """
    chance, low, high = passing
    words = [
        f"Chance of passing: {percent(chance)} ({percent(low)} to {percent(high)}). Expected score: "
        f"{percent(expected[0])} ({percent(expected[1])} to {percent(expected[2])})."
    ]
    if answers == 0:
        words.append("No answers so far: the estimate is the class average.")
    elif answers < FEW:
        words.append(
            f"Only {in_words(answers, 'answer', 'answers')} so far: the estimate is mostly the class average."
        )
    elif chance >= LIKELY:
        words.append("Ready, as far as these answers show.")
    elif high - low > OPEN:
        words.append("The answers are not conclusive yet. Set a practice paper.")
    elif chance < UNLIKELY:
        words.append("Not ready yet.")
    else:
        words.append("More likely to pass than to fail, but not safe yet.")
    words += _section_words(chance, sections, best)
    unknown = [one.title for one in sections if one.answers == 0]
    if unknown:
        words.append(f"No answers yet on {_listed(unknown)}: estimated from the other sections.")
    return tuple(words)


def _section_words(chance: float, sections: Sequence[SectionReadiness], best: int) -> list[str]:
    one = sections[best]
    words = []
    if one.raised - chance >= WORTH:
        words.append(
            f"{one.title} would help most: the chance of passing would rise to {percent(one.raised)} if one "
            "more answer in ten were right there."
        )
        if one.idea in BY_ID:
            statement = BY_ID[one.idea].statement.rstrip(".")
            words.append(
                f"There, {one.idea_count} recent wrong answers fit one wrong idea: '{statement}'. Correct it "
                "first."
            )
    weak = min(sections, key=lambda section: section.pass_chance)
    if weak is not one and weak.pass_chance < UNLIKELY:
        words.append(f"{weak.title}: more likely to be failed than passed.")
    return words


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def class_notes(exam: Exam, students: int, answers: int, half_life_days: float) -> tuple[str, ...]:
    """What was assumed."""
    marks = "; ".join(
        f"{section.title}: {section.questions} questions"
        + (f", {percent(section.mark)} needed" if section.mark > 0.0 else "")
        for section in exam.sections
    )
    notes = [
        f"{exam.title}: {percent(exam.mark)} of {exam.questions} questions needed. {marks}. "
        "The instructor sets these marks.",
        "The exam is assumed to be about as hard as the questions asked in class, and of the same kind.",
        f"An answer that is {half_life_days:g} days older than the student's last one counts half."
        if math.isfinite(half_life_days)
        else "All answers count equally, however old they are.",
    ]
    if 0 < students < FEW:
        notes.append(
            f"Only {in_words(students, 'student', 'students')}: the difficulty of the questions is mostly a "
            "prior estimate."
        )
    if answers == 0:
        notes.append("No answers yet: the estimates are the same for every student.")
    notes.append("For planning lessons. The instructor decides whether a student sits the exam.")
    return tuple(notes)


# An answer counts half after two months. Common practice, no source.
HALF_LIFE_DAYS = 60.0
LEAST_OF_AN_IDEA = 2
DAY_S = 86400.0
# The time in which a class may learn as much as `ability.LEARNED_SPREAD` allows.
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
        by_student: marks by student's id, of all sittings that count; struck questions do not count.
        exam: sections and marks.
        sittings: for the times of answers without one, such as answers typed in from paper.
        half_life_days: after how many days an answer counts half; math.inf: all count equally.
        seed: of the draws behind the intervals.

    Raises:
        InputError: for an exam that is not valid.
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
    """Answers by student, model and day; topics in no section form one more, which is not in the exam."""
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
    """When an answer was given, in days; nan if unknown."""
    text = mark.answer.answered_utc or opened.get(mark.answer.sitting, "")
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return math.nan
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp() / DAY_S


def _of_sections(found: Ability, table: Table, sections: int) -> tuple[Floats, Floats]:
    """Mean difficulty and spread of each section: of the questions asked, drawn towards the usual values."""
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
    """The wrong idea that most recent answers fit, and how many; ideas with a single answer do not count.

    Recent: in the last two sittings with such questions. Ideas corrected earlier do not count again.
    """
    days = {mark.answer.sitting: _day(mark, opened) for mark in marks}
    late = sorted(days, key=lambda sitting: -math.inf if math.isnan(days[sitting]) else days[sitting])[-2:]
    ideas = Counter(mark.idea for mark in marks if mark.idea and mark.answer.sitting in late)
    found = ideas.most_common(1)
    return found[0] if found and found[0][1] >= LEAST_OF_AN_IDEA else ("", 0)
