"""A class's marks over its term, from the records, with a digest that changes when they do."""

from __future__ import annotations

import hashlib
from typing import NamedTuple

import msgspec

from lubberline.classroom.marking import marked, score
from lubberline.classroom.records import Group, Marked, Sitting, Student
from lubberline.errors import InputError
from lubberline.store.school import School


class Gathered(NamedTuple):
    """A class with everything that was answered in it.

    Attributes:
        group: the class.
        students: by name.
        sittings: the earliest first.
        by_student: marks by student's id, those with none included.
        by_sitting: marks by sitting's id.
        digest: the same for the same records.
    """

    group: Group
    students: tuple[Student, ...]
    sittings: tuple[Sitting, ...]
    by_student: dict[str, list[Marked]]
    by_sitting: dict[str, list[Marked]]
    digest: str

    @property
    def answered(self) -> dict[str, list[Marked]]:
        """Marks of those who answered anything."""
        return {student: marks for student, marks in self.by_student.items() if marks}

    def name(self, student: str) -> str:
        """A student's name."""
        return next((one.name for one in self.students if one.id == student), "")

    def share(self, student: str, sitting: str) -> float | None:
        """Share of the points in a sitting; None where the student was not in it."""
        own = [mark for mark in self.by_sitting.get(sitting, []) if mark.answer.student == student]
        points, count = score(own)
        return points / count if count else None


def group_shown(school: School, wanted: str) -> Group | None:
    """The class that is asked for, or the one that sat something last; None where there is none.

    Raises:
        InputError: no class has this id.
    """
    groups = school.groups()
    if wanted:
        found = next((one for one in groups if one.id == wanted), None)
        if found is None:
            raise InputError("class", "there is none with this id", "choose one of the list", "no-class")
        return found
    last = next((one.group for one in school.sittings()), "")
    return next((one for one in groups if one.id == last), groups[0] if groups else None)


def gather(school: School, group: Group) -> Gathered:
    """Everything that was answered in a class."""
    students = school.students(group.id)
    sittings = tuple(reversed(school.sittings(group.id)))
    by_student: dict[str, list[Marked]] = {one.id: [] for one in students}
    by_sitting: dict[str, list[Marked]] = {}
    digest = hashlib.sha256(msgspec.json.encode(students))
    for sitting in sittings:
        answers, corrections = school.answers(sitting.id), school.corrections(sitting.id)
        digest.update(msgspec.json.encode((sitting.id, sitting.title, answers, corrections)))
        by_sitting[sitting.id] = list(marked(sitting, answers, corrections))
        for mark in by_sitting[sitting.id]:
            by_student.setdefault(mark.answer.student, []).append(mark)
    return Gathered(group, students, sittings, by_student, by_sitting, digest.hexdigest())
