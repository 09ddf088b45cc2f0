"""A class put together: how many hold which wrong idea, and what to teach again first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from lubberline.classroom.diagnosis_records import ClassPicture, Diagnosis, Held, IdeaInClass, TeachAgain
from lubberline.classroom.diagnosis_words import counted
from lubberline.classroom.idea_laws import LAW_BY_ID, LAW_OF
from lubberline.simulation.misconceptions import BY_ID

# An idea shows in the picture when so many students are expected to hold it.
LEAST_EXPECTED = 0.5
LIKELY = 0.5
LOW, HIGH = 0.05, 0.95


def class_picture(by_student: Mapping[str, Diagnosis]) -> ClassPicture:
    """How many of a class hold which wrong idea, the most common first.

    Expected counts are the sums of the students' probabilities; the interval holds 90% of the counts that
    so many independent chances give. It says nothing of students who were not asked.
    """
    shown = [one for one in _ideas(by_student) if one.expected >= LEAST_EXPECTED]
    if not by_student:
        sentence = "There are no answers yet."
    elif not shown:
        sentence = f"Of {counted(len(by_student), 'student', 'students')} none seems to hold a wrong idea."
    else:
        first = shown[0]
        sentence = f"Most common among {counted(len(by_student), 'student', 'students')}: {first.sentence}"
    return ClassPicture(len(by_student), tuple(shown), sentence)


def _ideas(by_student: Mapping[str, Diagnosis]) -> list[IdeaInClass]:
    chances: dict[str, dict[str, tuple[float, Held]]] = {}
    for student, diagnosis in by_student.items():
        for law in diagnosis.laws:
            for held in law.held:
                for idea in held.ideas:
                    chances.setdefault(idea, {})[student] = (held.p, held)
    found: list[IdeaInClass] = []
    done: set[str] = set()
    for idea, students in chances.items():
        if idea in done:
            continue
        group = _always_together(idea, students.values())
        done.update(group)
        found.append(_idea(group, {student: p for student, (p, _) in students.items()}))
    return sorted(found, key=lambda one: -one.expected)


def _always_together(idea: str, seen: Iterable[tuple[float, Held]]) -> tuple[str, ...]:
    """The ideas that stand in one group with this one in every student."""
    groups = [held.ideas for _, held in seen]
    return tuple(one for one in groups[0] if one == idea or all(one in group for group in groups))


def _idea(ideas: tuple[str, ...], chances: Mapping[str, float]) -> IdeaInClass:
    low, high = count_between(list(chances.values()))
    expected = sum(chances.values())
    likely = sorted((name for name, p in chances.items() if p >= LIKELY), key=lambda name: -chances[name])
    thinks = " or ".join(f"“{BY_ID[idea].statement}”" for idea in ideas)
    sentence = f"{thinks} {_about(expected, low, high)} of {len(chances)} who were asked."
    return IdeaInClass(
        ideas=ideas,
        law=LAW_OF[ideas[0]].id,
        statements=tuple(BY_ID[idea].statement for idea in ideas),
        scenes=tuple(dict.fromkeys(BY_ID[idea].scene for idea in ideas if BY_ID[idea].scene)),
        expected=expected,
        low=low,
        high=high,
        tested=len(chances),
        students=tuple(likely),
        sentence=sentence,
    )


def count_between(chances: Sequence[float], low: float = LOW, high: float = HIGH) -> tuple[int, int]:
    """Bounds of how many of several independent things are so, from the exact distribution of the count."""
    counts = np.ones(1)
    for p in chances:
        counts = np.convolve(counts, (1.0 - p, p))
    below = np.cumsum(counts)
    return int(np.searchsorted(below, low)), int(np.searchsorted(below, min(high, below[-1])))


def _about(expected: float, low: int, high: int) -> str:
    if low == high:
        return f"About {low}"
    return f"About {expected:.0f} ({low} to {high})"


def teach_again(by_student: Mapping[str, Diagnosis]) -> tuple[TeachAgain, ...]:
    """The laws to teach again, those first where most students are expected to need it."""
    ideas: dict[str, list[IdeaInClass]] = {}
    for one in _ideas(by_student):
        ideas.setdefault(one.law, []).append(one)
    found = []
    for id, of_law in ideas.items():
        wrong = {
            student: 1.0 - law.p_truth
            for student, diagnosis in by_student.items()
            for law in diagnosis.laws
            if law.law == id and law.asked
        }
        if sum(wrong.values()) >= LEAST_EXPECTED:
            found.append(_again(id, of_law, wrong))
    return tuple(sorted(found, key=lambda one: -one.expected))


def _again(id: str, ideas: Sequence[IdeaInClass], wrong: Mapping[str, float]) -> TeachAgain:
    law, commonest = LAW_BY_ID[id], ideas[0]
    expected = sum(wrong.values())
    low, high = count_between(list(wrong.values()))
    scene = next((one.scenes[0] for one in ideas if one.scenes), "")
    mend = BY_ID[commonest.ideas[0]].mend
    likely = sorted((name for name, p in wrong.items() if p >= LIKELY), key=lambda name: -wrong[name])
    shown = f" The scene '{scene}' shows it." if scene else ""
    sentence = (
        f"On {law.title}: {_about(expected, low, high).lower()} of {len(wrong)} need it. Most common: "
        f"“{commonest.statements[0]}” {mend}{shown}"
    )
    shown_ideas = tuple(one for one in ideas if one.expected >= 0.5 * LEAST_EXPECTED)
    return TeachAgain(
        law=id,
        title=law.title,
        topic=law.topic,
        expected=expected,
        low=low,
        high=high,
        ideas=shown_ideas or (commonest,),
        scene=scene,
        mend=mend,
        students=tuple(likely),
        sentence=sentence,
    )
