"""The data for the pages of a live lesson: each audience's view, and what cannot be reached."""

from collections.abc import Sequence
from functools import cached_property, lru_cache
from typing import Any, NamedTuple

import msgspec

from lubberline.classroom.lessons import audiences, own_answers, teaching
from lubberline.classroom.lessons.file import lesson_with_scenes
from lubberline.classroom.lessons.questions import TaughtLesson, taught_lesson
from lubberline.classroom.records import Answer, Place, Sitting
from lubberline.errors import InputError, UnavailableCode
from lubberline.store.database.outage import WORDS
from lubberline.store.school import School
from lubberline.store.times import now_ms
from lubberline.web.phones import Heard
from lubberline.web.refusals import Refused
from lubberline.web.sittings.late_answers import came_late, late_rows


@lru_cache(maxsize=32)
def lesson_of(source: str) -> TaughtLesson:
    """A lesson from the text of its sitting, with its numbers inserted; cached, as it is needed all the time.

    Raises:
        InputError: the text is no longer a valid lesson, or disagrees with the engine.
    """
    return taught_lesson(lesson_with_scenes("lesson.md", source))


def lesson_sitting(school: School, id: str) -> Sitting:
    """The sitting of a lesson with this id.

    Raises:
        Refused: there is none.
    """
    try:
        sitting = school.sittings.sitting(id)
    except InputError as error:
        if error.code != "no-sitting":
            raise
        sitting = None
    if sitting is None or sitting.kind != "lesson":
        right = "join with the code on the projector"
        raise Refused(404, "address", "there is no lesson here", right, "no-sitting")
    return sitting


def _in_order(places: Sequence[Place]) -> dict[str, int]:
    """How many joined before each student."""
    return {place.student: before for before, place in enumerate(places)}


class Snapshot:
    """A lesson's sitting at one moment: who is in it and what they answered.

    Attributes:
        sitting: as it stood.
        places: of the students who have joined.
        answers: of all.
        names: of the students by id.
        late: late answers.
    """

    def __init__(self, school: School, id: str) -> None:
        self.sitting = lesson_sitting(school, id)
        self.places: tuple[Place, ...] = school.sittings.places(id)
        self.answers: tuple[Answer, ...] = school.answers.of_sitting(id)
        self.names = {one.id: one.name for one in school.people.students(self.sitting.group)}
        self.late = late_rows(school, self.sitting)
        self.lesson = lesson_of(self.sitting.source)
        self.stands = teaching.standing(self.sitting, self.lesson)
        # Only while the class joins is it shown.
        self._before = _in_order(self.places) if self.stands.index < 0 else {}
        self._by_student: dict[str, list[Answer]] = {}
        for answer in self.answers:
            self._by_student.setdefault(answer.student, []).append(answer)

    @cached_property
    def _alike(self) -> msgspec.Raw:
        seen = audiences.seen_by_all(self.sitting, self.lesson, self.stands)
        return msgspec.Raw(msgspec.json.encode(seen))

    def for_student(self, student: str) -> bytes | None:
        """One student's view as JSON; None for somebody no longer in the class."""
        if student not in self.names:
            return None
        late = came_late([row for row in self.late if row.student == student])
        answers, before = self._by_student.get(student, ()), self._before.get(student, 0)
        own = own_answers.seen_alone(self.names[student], self.stands, answers, late, before)
        return msgspec.json.encode({"seen": self._alike, "own": own})

    @cached_property
    def for_projector(self) -> bytes:
        """The projector's view as JSON."""
        given: Any = (self.sitting, self.lesson, self.stands, self.places, self.answers)
        return msgspec.json.encode(audiences.seen_on_projector(*given))

    @cached_property
    def for_instructor(self) -> bytes:
        """The instructor's view as JSON."""
        given: Any = (self.sitting, self.lesson, self.stands, self.places, self.answers, self.names)
        seen = msgspec.json.encode(audiences.seen_by_instructor(*given))
        late = [row for row in self.late if row.state in ("waiting", "not taken")]
        return seen[:-1] + b',"late":%b}' % msgspec.json.encode(late)


def student_view(school: School, sitting: Sitting, student: str) -> bytes:
    """One student's view as JSON, reading only what it needs: for phones that poll."""
    lesson = lesson_of(sitting.source)
    stands = teaching.standing(sitting, lesson)
    own = [answer for answer in school.answers.of_student(student) if answer.sitting == sitting.id]
    before = _in_order(school.sittings.places(sitting.id)).get(student, 0) if stands.index < 0 else 0
    late = came_late(late_rows(school, sitting, student))
    alone = own_answers.seen_alone(school.people.student(student).name, stands, own, late, before)
    return msgspec.json.encode({"seen": audiences.seen_by_all(sitting, lesson, stands), "own": alone})


def stamped(view: bytes) -> bytes:
    """The data for a page with the server's time, from which a phone continues with its own clock."""
    return b'{"now_ms":%d%s' % (now_ms(), b"," if len(view) > 2 else b"") + view[1:]


class Contact(NamedTuple):
    """Whether the records and the phones of a lesson can be reached.

    Attributes:
        away: why the records cannot be read or written; None when they can.
        silent: names of students whose phones do not respond.
        waiting: unsent answers reported by the phones.
    """

    away: UnavailableCode | None = None
    silent: tuple[str, ...] = ()
    waiting: int = 0

    def for_instructor(self) -> dict[str, Any]:
        """The data for the instructor's page."""
        words = WORDS[self.away][0] if self.away else ""
        return {"away": self.away or "", "words": words, "silent": self.silent, "waiting": self.waiting}

    def for_projector(self) -> dict[str, Any]:
        """The part a whole class may see."""
        return {"away": self.away or "", "words": "", "silent": (), "waiting": 0}


def contact_of(why: UnavailableCode | None, heard: Heard, snapshot: Snapshot | None) -> Contact:
    """The contact of a lesson.

    Args:
        why: why the records cannot be reached, from `records.away`.
        heard: the phones that respond.
        snapshot: the lesson as last read; None before that.
    """
    if snapshot is None or snapshot.sitting.closed_utc:
        return Contact(why)
    phones = heard.of(snapshot.sitting.id, snapshot.places)
    silent = sorted(snapshot.names[id] for id in phones.silent if id in snapshot.names)
    return Contact(why, tuple(silent), phones.waiting)
