"""What the results pages show, worked out once for the same records."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from typing import Any

from lubberline.classroom.diagnosis.diagnose import class_picture, diagnose_all, teach_again
from lubberline.classroom.diagnosis.next_questions import Pool, ask_next, pool_from_bank
from lubberline.classroom.diagnosis.records import ClassPicture, Diagnosis, Held, TeachAgain
from lubberline.classroom.exam import ClassReadiness, Exam, StudentReadiness
from lubberline.classroom.marking import score
from lubberline.classroom.readiness import readiness
from lubberline.classroom.records import Marked, Sitting
from lubberline.classroom.statistics import PaperStatistics, item_statistics
from lubberline.questions.bank import TOPICS
from lubberline.web.results.gathering import Gathered
from lubberline.web.results.kept import KEPT, Kept

MOST_COLUMNS = 14
SHOWN_FROM = 0.4
NEXT = 5
POOL = Kept(most=1)


def diagnoses(gathered: Gathered) -> dict[str, Diagnosis]:
    """What each student who answered anything seems to think."""
    return KEPT.get(("diagnoses", gathered.digest), lambda: diagnose_all(gathered.answered))


def picture(gathered: Gathered) -> ClassPicture:
    """How many hold which wrong idea."""
    return KEPT.get(("picture", gathered.digest), lambda: class_picture(diagnoses(gathered)))


def again(gathered: Gathered) -> tuple[TeachAgain, ...]:
    """What to teach again, the first first."""
    return KEPT.get(("again", gathered.digest), lambda: teach_again(diagnoses(gathered)))


def ready(gathered: Gathered, exam: Exam) -> ClassReadiness:
    """Who is ready for the exam."""
    key = ("ready", gathered.digest, exam)
    return KEPT.get(key, lambda: readiness(gathered.answered, exam, sittings=gathered.sittings))


def readiness_of(gathered: Gathered, exam: Exam, student: str) -> StudentReadiness | None:
    """One student's readiness; None without an answer."""
    return next((one for one in ready(gathered, exam).students if one.student == student), None)


def next_items(gathered: Gathered, student: str) -> tuple[Any, ...]:
    """The questions that would tell most about a student, none that was asked already."""
    found = diagnoses(gathered).get(student)
    if found is None:
        return ()
    asked = [mark.item for mark in gathered.by_student[student]]
    return KEPT.get(("next", gathered.digest, student), lambda: ask_next(found, _pool(), NEXT, asked=asked))


def _pool() -> Pool:
    """The questions to choose from, drawn from the bank once."""
    return POOL.get("bank", lambda: pool_from_bank(1))


def make_ready() -> None:
    """Draws the questions in the background, before a student's page needs them."""
    threading.Thread(target=_pool, daemon=True).start()


def statistics(gathered: Gathered, sitting: Sitting) -> PaperStatistics:
    """The statistics of a sitting; forms of one set are pooled."""
    several = len({asked.form for asked in sitting.asked}) > 1
    key = ("statistics", gathered.digest, sitting.id)
    return KEPT.get(key, lambda: item_statistics(gathered.by_sitting[sitting.id], by_model=several))


def columns(gathered: Gathered) -> list[dict[str, Any]]:
    """The ideas that at least one student may well hold, most common first, for the matrix."""
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
    rows = []
    for topic in TOPICS:
        points, count = score(mark for mark in marks if mark.item.topic == topic)
        if count:
            rows.append({"topic": topic, "points": points, "count": count, "share": points / count})
    return rows


def chance(diagnosis: Mapping[str, Diagnosis], student: str, ideas: tuple[str, ...]) -> float | None:
    """How likely a student holds an idea; None where nothing asked could show it."""
    found = diagnosis.get(student)
    if found is None:
        return None
    for law in found.laws:
        for held in law.held:
            if set(ideas) & set(held.ideas):
                return held.p
    return None
