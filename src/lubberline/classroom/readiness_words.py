"""What readiness comes to, in words."""

from __future__ import annotations

from collections.abc import Sequence

from lubberline.classroom.readiness_records import Exam, SectionReadiness
from lubberline.simulation.misconceptions import BY_ID

# Fewer answers than this leave nearly everything to what is usual in the class.
FEW = 8
LIKELY, UNLIKELY, OPEN = 0.9, 0.5, 0.4
# A rise in the chance that is worth a sentence.
WORTH = 0.01


def percent(share: float) -> str:
    """A share in whole percent; never 0 or 100, which nobody can promise."""
    return "over 99%" if share > 0.99 else "under 1%" if share < 0.01 else f"{100.0 * share:.0f}%"


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
        passing: chance to pass, and its interval.
        expected: share right, and its interval.
        sections: of the exam.
        best: the one where one more right in ten raises the chance most.
    """
    chance, low, high = passing
    words = [
        f"Chance to pass: {percent(chance)} ({percent(low)} to {percent(high)}); "
        f"about {percent(expected[0])} of the questions right ({percent(expected[1])} to "
        f"{percent(expected[2])})."
    ]
    if answers < FEW:
        words.append(f"Only {answers} answers so far: this is mostly what is usual in the class.")
    elif chance >= LIKELY:
        words.append("Ready, as far as these answers tell.")
    elif high - low > OPEN:
        words.append("The answers do not tell yet: a practice paper would.")
    elif chance < UNLIKELY:
        words.append("Not ready yet.")
    else:
        words.append("More likely than not to pass, but not safely.")
    words += _section_words(chance, sections, best)
    unknown = [one.title for one in sections if one.answers == 0]
    if unknown:
        words.append(f"Nothing was answered yet on {_listed(unknown)}: that is judged by the other sections.")
    return tuple(words)


def _section_words(chance: float, sections: Sequence[SectionReadiness], best: int) -> list[str]:
    one = sections[best]
    words = []
    if one.raised - chance >= WORTH:
        words.append(
            f"{one.title} would add most: with one more in ten right there the chance would be "
            f"{percent(one.raised)}."
        )
        if one.idea in BY_ID:
            statement = BY_ID[one.idea].statement.rstrip(".")
            words.append(
                f"There, {one.idea_count} wrong answers of late fit one idea: '{statement}'. Mend it first."
            )
    weak = min(sections, key=lambda section: section.pass_chance)
    if weak is not one and weak.pass_chance < UNLIKELY:
        words.append(f"{weak.title} by itself would more likely be missed than passed.")
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
        "The instructor sets these.",
        "The exam is taken to be about as hard as the questions asked in class, and of the same kind.",
        f"An answer counts half when it is {half_life_days:g} days older than the student's last.",
    ]
    if students < FEW:
        notes.append(f"{students} in the class: how hard the questions are is mostly an estimate beforehand.")
    if answers == 0:
        notes.append("No answers yet: nothing can be said of anybody.")
    notes.append("A help for planning lessons; whether somebody sits the exam, the instructor decides.")
    return tuple(notes)
