"""A written exam as the instructor describes it, and the readiness for it, as plain values."""

from typing import Annotated

import msgspec
from msgspec import Meta

from lubberline.errors import InputError
from lubberline.questions.bank import TOPICS

Share = Annotated[float, Meta(ge=0.0, le=1.0)]
# Common practice, as in the Canadian private pilot's written exam (TP 12880, 5th edition): 60% of the
# whole, and 60% in each subject. Other exams differ: the instructor sets what holds.
USUAL_MARK = 0.6
MOST_QUESTIONS, MOST_SECTIONS = 300, 12


class ExamSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A section of an exam.

    Attributes:
        title: as shown.
        topics: of `questions.bank.TOPICS`, whose answers count for it.
        questions: how many it has.
        mark: share of them that must be right; 0 if the section has no mark of its own.
    """

    title: str
    topics: tuple[str, ...]
    questions: int
    mark: Share = USUAL_MARK


class Exam(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A written exam.

    Attributes:
        sections: its parts.
        title: as shown.
        mark: share of all questions that must be right.
        unlike: how much harder or easier it may be than the questions asked in class: standard deviation
            on the logit scale, on which 0.3 is about 7 points in 100 near the middle.
    """

    sections: tuple[ExamSection, ...]
    title: str = "Written exam"
    mark: Share = USUAL_MARK
    unlike: Annotated[float, Meta(ge=0.0, le=2.0)] = 0.3

    @property
    def questions(self) -> int:
        """How many in all."""
        return sum(section.questions for section in self.sections)


class SectionReadiness(msgspec.Struct, frozen=True):
    """A student in a section of the exam.

    Attributes:
        title: of the section.
        answers: how many count for it.
        expected: expected share of its questions right; `low` to `high` is its 90% range.
        pass_chance: of reaching the section's own mark.
        raised: the chance to pass the whole exam if one more question in ten were right here.
        idea: id of the wrong idea that most wrong answers of the last two sittings fit, at least two; or ''.
        idea_count: how many answers fit it.
    """

    title: str
    answers: int
    expected: float
    low: float
    high: float
    pass_chance: float
    raised: float
    idea: str = ""
    idea_count: int = 0


class StudentReadiness(msgspec.Struct, frozen=True):
    """How ready a student is.

    Attributes:
        student: id.
        answers: how many count for the exam, of any time.
        pass_chance: chance of passing.
        low: and `high`: the 90% range of the chance, were the student's knowledge and the paper's
            difficulty known; the rest is the luck of the paper.
        expected: expected share of all questions right; `expected_low` to `expected_high` is its 90%
            range.
        sections: of the exam, in order.
        best: place in `sections` of the one where one more right answer in ten raises the chance most.
        words: the same in sentences.
    """

    student: str
    answers: int
    pass_chance: float
    low: float
    high: float
    expected: float
    expected_low: float
    expected_high: float
    sections: tuple[SectionReadiness, ...]
    best: int
    words: tuple[str, ...]


class ClassReadiness(msgspec.Struct, frozen=True):
    """How ready a class is.

    Attributes:
        exam: which one.
        students: by student, in the order given.
        notes: what was assumed, in words.
    """

    exam: Exam
    students: tuple[StudentReadiness, ...]
    notes: tuple[str, ...]


def usual_exam() -> Exam:
    """An exam on the subject of this course, with the usual marks and 40 questions in four sections.

    The sections and counts are ours, as a start; an instructor sets those of the real exam.
    """
    sections = (
        ExamSection("Gyro and its drift", ("wander", "balance", "rotor", "terms"), 12),
        ExamSection("Magnetic compass", ("compass", "turning"), 10),
        ExamSection("Use in flight", ("setting", "gimballing", "tumbling", "traces"), 10),
        ExamSection("Air system and procedures", ("suction", "procedures", "regulations"), 8),
    )
    return Exam(sections)


def check_exam(exam: Exam, where: str = "exam") -> None:
    """Check an exam.

    Raises:
        InputError: without sections, with a topic twice or unknown, or with counts and marks out of range.
    """
    if not 0 < len(exam.sections) <= MOST_SECTIONS:
        raise InputError(where, f"{len(exam.sections)} sections", f"give from 1 to {MOST_SECTIONS} sections")
    if not (0.0 <= exam.mark <= 1.0 and 0.0 <= exam.unlike <= 2.0):
        raise InputError(where, f"mark {exam.mark:g}", "give a share from 0 to 1, such as 0.6 for 60%")
    seen: set[str] = set()
    for number, section in enumerate(exam.sections, start=1):
        here = f"{where}, section {number}"
        if not section.topics or not section.title.strip():
            right = f"give a title and topics from {', '.join(TOPICS)}"
            raise InputError(here, "the title or the topics are missing", right)
        for topic in section.topics:
            if topic not in TOPICS:
                raise InputError(here, f"there is no topic '{topic[:60]}'", f"one of {', '.join(TOPICS)}")
            if topic in seen:
                raise InputError(here, f"'{topic}' is in two sections", "leave it in one of them")
            seen.add(topic)
        if section.questions < 1 or not 0.0 <= section.mark <= 1.0:
            wrong = f"{section.questions} questions, mark {section.mark:g}"
            raise InputError(here, wrong, "give at least one question and a mark from 0 to 1")
    if exam.questions > MOST_QUESTIONS:
        raise InputError(where, f"{exam.questions} questions", f"give at most {MOST_QUESTIONS}")
