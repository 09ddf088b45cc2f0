"""A small class with a lesson and a paper, to try the records on."""

from dataclasses import dataclass
from functools import cache

from lubberline.classroom.records import Asked, Sitting, Student
from lubberline.questions.bank import model_named
from lubberline.questions.generate import generate
from lubberline.questions.item import Item
from lubberline.store.school import School


@cache
def items() -> tuple[Item, ...]:
    return tuple(generate(model_named(name), seed=5) for name in ("wander-rate", "wander-after-a-time"))


def lesson_questions() -> tuple[Asked, ...]:
    first, second = items()
    # Keys count steps from 1, a sitting's step from 0.
    return (Asked("step-2", first), Asked("step-4-1", second))


def paper_questions() -> tuple[Asked, ...]:
    first, second = items()
    return (Asked("A1", first, "A"), Asked("A2", second, "A"), Asked("B1", second, "B"))


@dataclass(frozen=True)
class Taught:
    school: School
    students: tuple[Student, ...]
    lesson: Sitting
    paper: Sitting


def taught(school: School, count: int = 3) -> Taught:
    """A class that is in a lesson, at its first question, and in a paper."""
    group = school.people.add_group("Spring")
    students = tuple(school.people.add_student(group.id, f"Student {k}", str(k)) for k in range(count))
    lesson = school.sittings.add(group.id, "lesson", "Wander", lesson_questions(), source="# Wander")
    paper = school.sittings.add(group.id, "paper", "Paper 1", paper_questions(), minutes=30.0)
    lesson = school.sittings.move(lesson.id, step=1)
    for student in students:
        school.sittings.add_place(lesson.id, student.id)
        school.sittings.add_place(paper.id, student.id, "A")
    return Taught(school, students, lesson, paper)
