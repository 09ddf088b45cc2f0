"""A class's results: its marks over the term, and what is computed from its answers.

Each result is computed once for the same records and cached by their digest.
"""

import hashlib
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from typing import Any, NamedTuple, TypeVar

import msgspec

from lubberline.classroom.diagnosis.diagnose import class_picture, diagnose_all, teach_again
from lubberline.classroom.diagnosis.next_questions import Pool, ask_next, pool_from_bank
from lubberline.classroom.diagnosis.records import ClassPicture, Diagnosis, Held, TeachAgain
from lubberline.classroom.exam import ClassReadiness, Exam, StudentReadiness
from lubberline.classroom.marking import marked, score
from lubberline.classroom.readiness import readiness
from lubberline.classroom.records import Group, Marked, Sitting, Student
from lubberline.classroom.statistics import PaperStatistics, item_statistics
from lubberline.errors import InputError, required
from lubberline.flight.home import Home
from lubberline.questions.bank import TOPICS
from lubberline.questions.item import in_own_words
from lubberline.simulation.misconceptions.idea import SPOKEN
from lubberline.store.school import School

T = TypeVar("T")
MOST_FOUND = 60
MOST_COLUMNS = 14
SHOWN_FROM = 0.4
NEXT = 5


# The records


class Gathered(NamedTuple):
    """A class with all its answers.

    Attributes:
        group: the class.
        students: by name.
        sittings: the earliest first.
        by_student: marks by student's id, including students without any.
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
        """Marks of the students with answers."""
        return {student: marks for student, marks in self.by_student.items() if marks}

    def name(self, student: str) -> str:
        """A student's name."""
        return next((one.name for one in self.students if one.id == student), "")

    def share(self, student: str, sitting: str) -> float | None:
        """Share of the points in a sitting; None if the student was not in it."""
        own = [mark for mark in self.by_sitting.get(sitting, []) if mark.answer.student == student]
        points, count = score(own)
        return points / count if count else None


def group_shown(school: School, wanted: str) -> Group | None:
    """The class asked for, or the one with the latest sitting; None if there is none.

    Raises:
        InputError: no class has this id.
    """
    groups = school.people.groups()
    if wanted:
        return required(
            next((one for one in groups if one.id == wanted), None),
            InputError("class", "there is no class with this id", "choose one from the list", "no-class"),
        )
    last = next((one.group for one in school.sittings.listing()), "")
    return next((one for one in groups if one.id == last), groups[0] if groups else None)


def gather(school: School, group: Group) -> Gathered:
    """All answers in a class."""
    students = school.people.students(group.id)
    sittings = tuple(reversed(school.sittings.listing(group.id)))
    by_student: dict[str, list[Marked]] = {one.id: [] for one in students}
    by_sitting: dict[str, list[Marked]] = {}
    digest = hashlib.sha256(msgspec.json.encode(students))
    for sitting in sittings:
        answers, corrections = (
            school.answers.of_sitting(sitting.id),
            school.answers.corrections_of(sitting.id),
        )
        digest.update(msgspec.json.encode((sitting.id, sitting.title, answers, corrections)))
        by_sitting[sitting.id] = list(marked(sitting, answers, corrections))
        for mark in by_sitting[sitting.id]:
            by_student.setdefault(mark.answer.student, []).append(mark)
    return Gathered(group, students, sittings, by_student, by_sitting, digest.hexdigest())


# Computed results


class WorkedOut:
    """A cache of the last results; a second request waits for one being computed."""

    def __init__(self, most: int = MOST_FOUND) -> None:
        self._most = most
        self._found: OrderedDict[Hashable, Any] = OrderedDict()
        self._locks: dict[Hashable, threading.Lock] = {}
        self._lock = threading.Lock()

    def get(self, key: Hashable, work: Callable[[], T]) -> T:
        """The result for a key, computed in the thread of the first request, never in the event loop."""
        speech = SPOKEN.get()()
        key = (key, *sorted(speech.ideas.items()), *sorted(speech.terms.items()))
        with self._lock:
            own = self._locks.setdefault(key, threading.Lock())
        with own:
            with self._lock:
                if key in self._found:
                    self._found.move_to_end(key)
                    found: T = self._found[key]
                    return found
            made = work()
            with self._lock:
                self._found[key] = made
                self._locks.pop(key, None)
                while len(self._found) > self._most:
                    self._found.popitem(last=False)
            return made


WORKED_OUT = WorkedOut()
POOL = WorkedOut(most=1)


def diagnoses(gathered: Gathered) -> dict[str, Diagnosis]:
    """The diagnosis of each student with answers."""
    return WORKED_OUT.get(("diagnoses", gathered.digest), lambda: diagnose_all(gathered.answered))


def picture(gathered: Gathered) -> ClassPicture:
    """How many students hold each wrong idea."""
    return WORKED_OUT.get(("picture", gathered.digest), lambda: class_picture(diagnoses(gathered)))


def again(gathered: Gathered) -> tuple[TeachAgain, ...]:
    """What to reteach, in order."""
    return WORKED_OUT.get(("again", gathered.digest), lambda: teach_again(diagnoses(gathered)))


def ready(gathered: Gathered, exam: Exam) -> ClassReadiness:
    """Who is ready for the exam."""
    key = ("ready", gathered.digest, exam)
    return WORKED_OUT.get(key, lambda: readiness(gathered.answered, exam, sittings=gathered.sittings))


def readiness_of(gathered: Gathered, exam: Exam, student: str) -> StudentReadiness | None:
    """One student's readiness; None without answers."""
    return next((one for one in ready(gathered, exam).students if one.student == student), None)


def next_items(gathered: Gathered, student: str, home: Home) -> tuple[Any, ...]:
    """The most informative questions for a student, without those already asked."""
    found = diagnoses(gathered).get(student)
    if found is None:
        return ()
    asked = [mark.item for mark in gathered.by_student[student]]
    return WORKED_OUT.get(
        ("next", gathered.digest, student, home),
        lambda: tuple(
            msgspec.structs.replace(one, item=in_own_words(one.item))
            for one in ask_next(found, _pool(home), NEXT, asked=asked)
        ),
    )


def _pool(home: Home) -> Pool:
    """The questions to choose from, drawn from the bank once for a home."""
    return POOL.get(home, lambda: pool_from_bank(1, home=home))


def make_ready(home: Home) -> None:
    """Draws the questions in the background, before a student's page needs them."""
    threading.Thread(target=_pool, args=(home,), daemon=True).start()


def statistics(gathered: Gathered, sitting: Sitting) -> PaperStatistics:
    """The statistics of a sitting; forms of one set are pooled."""
    several = len({asked.form for asked in sitting.asked}) > 1
    key = ("statistics", gathered.digest, sitting.id)
    marks, lettered = gathered.by_sitting[sitting.id], sitting.kind != "lesson"
    return WORKED_OUT.get(key, lambda: item_statistics(marks, by_model=several, lettered=lettered))


def columns(gathered: Gathered) -> list[dict[str, Any]]:
    """The ideas that at least one student probably holds, most common first, for the matrix."""
    groups: dict[tuple[str, ...], dict[str, float]] = {}
    seen: dict[tuple[str, ...], Held] = {}
    for student, diagnosis in diagnoses(gathered).items():
        for law in diagnosis.laws:
            for held in law.held:
                groups.setdefault(held.ideas, {})[student] = held.p
                seen.setdefault(held.ideas, held)
    shown = [ideas for ideas, chances in groups.items() if max(chances.values()) >= SHOWN_FROM]
    shown.sort(key=lambda ideas: -sum(groups[ideas].values()))
    return [
        {"ideas": ideas, "statements": seen[ideas].statements, "scenes": seen[ideas].scenes}
        for ideas in shown[:MOST_COLUMNS]
    ]


def by_topic(marks: list[Marked]) -> list[dict[str, Any]]:
    """Points by topic of the bank."""
    scores = {topic: score(mark for mark in marks if mark.item.topic == topic) for topic in TOPICS}
    return [
        {"topic": topic, "points": points, "count": count, "share": points / count}
        for topic, (points, count) in scores.items()
        if count
    ]


def chance(diagnosis: Mapping[str, Diagnosis], student: str, ideas: tuple[str, ...]) -> float | None:
    """The probability that a student holds an idea; None if no question could show it."""
    laws = diagnosis[student].laws if student in diagnosis else ()
    return next((held.p for law in laws for held in law.held if set(ideas) & set(held.ideas)), None)
