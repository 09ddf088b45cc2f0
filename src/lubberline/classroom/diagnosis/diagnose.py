"""Who believes what: each student, and the class as a whole.

`diagnose` reads the marked answers of one student, `diagnose_all` those of a class (faster if all were asked
the same). `class_picture` and `teach_again` sum up the class. `docs/methods/diagnosis.md` explains the
method. For teaching only: a probability is not a verdict on a person.
"""

from collections.abc import Iterable, Mapping, Sequence
from math import isfinite

import numpy as np

from lubberline.arrays import Floats
from lubberline.classroom.diagnosis.beliefs import Asking, LawStates, Said, asking, by_level, of_class
from lubberline.classroom.diagnosis.likelihood import IdeaAnswer, ItemTable, slips_of, table_of
from lubberline.classroom.diagnosis.records import (
    ClassPicture,
    Diagnosis,
    Evidence,
    Held,
    IdeaInClass,
    LawDiagnosis,
    SlipSeen,
    TeachAgain,
    Verdict,
)
from lubberline.classroom.diagnosis.words import (
    FEW,
    counted,
    evidence_of,
    fits,
    held_sentence,
    law_sentence,
    quoted,
    whole_sentence,
)
from lubberline.classroom.records import Marked
from lubberline.questions.item import Item
from lubberline.questions.slips import SLIPS
from lubberline.simulation.misconceptions import BY_ID, IDEAS_OF_LAW, LAW_BY_ID, LAWS

# An idea is shown if at least so many students are expected to hold it.
LEAST_EXPECTED = 0.5
LIKELY_IN = 0.5
LOW, HIGH = 0.05, 0.95


def class_picture(by_student: Mapping[str, Diagnosis]) -> ClassPicture:
    """How many students of a class hold each wrong idea, the most common first.

    Expected counts are the sums of the students' probabilities; the interval holds 90% of the distribution of
    the count. Students who were not asked are not included.
    """
    shown = [one for one in _ideas(by_student) if one.expected >= LEAST_EXPECTED]
    if not by_student:
        sentence = "There are no answers yet."
    elif not shown:
        sentence = f"No wrong idea shows among {counted(len(by_student), 'student', 'students')}."
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
    """The ideas that are in one group with this one for every student."""
    groups = [held.ideas for _, held in seen]
    return tuple(one for one in groups[0] if one == idea or all(one in group for group in groups))


def _idea(ideas: tuple[str, ...], chances: Mapping[str, float]) -> IdeaInClass:
    low, high = count_between(list(chances.values()))
    expected = sum(chances.values())
    likely = sorted((name for name, p in chances.items() if p >= LIKELY_IN), key=lambda name: -chances[name])
    asked = counted(len(chances), "student who was asked", "students who were asked")
    sentence = f"{quoted(ideas)}: {_about(expected, low, high)} of {asked}."
    return IdeaInClass(
        ideas=ideas,
        law=BY_ID[ideas[0]].law,
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
    """Bounds of a count of independent events, from its exact distribution."""
    counts = np.ones(1)
    for p in chances:
        counts = np.convolve(counts, (1.0 - p, p))
    below = np.cumsum(counts)
    return int(np.searchsorted(below, low)), int(np.searchsorted(below, min(high, below[-1])))


def _about(expected: float, low: int, high: int) -> str:
    return f"about {low}" if low == high else f"about {expected:.0f} ({low} to {high})"


def teach_again(by_student: Mapping[str, Diagnosis]) -> tuple[TeachAgain, ...]:
    """The laws to reteach, in order of how many students are expected to need it."""
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
    likely = sorted((name for name, p in wrong.items() if p >= LIKELY_IN), key=lambda name: -wrong[name])
    shown = f" The scene '{scene}' shows it." if scene else ""
    sentence = (
        f"Reteach {law.title}: {_about(expected, low, high)} of {counted(len(wrong), 'student', 'students')} "
        f"need it. Most common wrong idea: {quoted(commonest.ideas[:1])}. {mend}{shown}"
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


# How much an answer counts for each later sitting that asked about the same law.
FADE = 0.4
# At or above these probabilities an idea is called likely or possible, and a law known.
LIKELY, POSSIBLE, KNOWN = 0.9, 0.4, 0.8


def diagnose(marked: Sequence[Marked], student: str = "") -> Diagnosis:
    """What one student seems to think.

    Answers of earlier sittings count less if a later one asked about the same law, since people learn. Blank
    answers, questions struck out, and answers given points against the key are ignored.

    Args:
        marked: all the answers of the student, from any sittings.
        student: id; by default that of the first answer.
    """
    name = student or (marked[0].answer.student if marked else "")
    return diagnose_all({name: marked})[name]


def diagnose_all(by_student: Mapping[str, Sequence[Marked]]) -> dict[str, Diagnosis]:
    """What each student of a class seems to think.

    They are read together: the class's answers show how common wrong ideas and careless answers are in it.
    """
    tables = _Tables()
    alike: dict[tuple[int, ...], list[str]] = {}
    telling: dict[str, list[Marked]] = {}
    for student, marked in by_student.items():
        telling[student] = [one for one in marked if _tells(one)]
        numbers = tuple(tables.number(one.item) for one in telling[student])
        alike.setdefault(numbers, []).append(student)
    askings = [asking([tables.made[number] for number in numbers]) for numbers in alike]
    parts = [
        by_level(asked, [_said(telling[name], asked.tables) for name in of])
        for asked, of in zip(askings, alike.values(), strict=True)
    ]
    found: dict[str, Diagnosis] = {}
    for asked, students, sums in zip(askings, alike.values(), of_class(parts) if parts else [], strict=True):
        for place, name in enumerate(students):
            shares = [law[place] for law in sums.laws]
            found[name] = _diagnosis(name, asked, telling[name], shares, float(sums.care[place]))
    return {student: found[student] for student in by_student}


class _Tables:
    """Tables of items, one for all places that ask the same question."""

    def __init__(self) -> None:
        self.made: list[ItemTable] = []
        self._numbers: dict[int, int] = {}

    def number(self, item: Item) -> int:
        """The place of an item's table."""
        known = self._numbers.get(id(item))
        if known is None:
            same = (place for place, table in enumerate(self.made) if table.item == item)
            known = next(same, len(self.made))
            if known == len(self.made):
                self.made.append(table_of(item))
            self._numbers[id(item)] = known
        return known


def _said(marked: Sequence[Marked], tables: Sequence[ItemTable]) -> list[Said]:
    """The answers for the sums; people learn, so later sittings on the same law count more."""
    began: dict[str, str] = {}
    for one in marked:
        sitting, at = one.answer.sitting, one.answer.answered_utc
        began[sitting] = min(began.get(sitting, at), at)
    order = {sitting: place for place, sitting in enumerate(sorted(began, key=lambda name: began[name]))}
    asked: dict[str, set[int]] = {}
    for one, table in zip(marked, tables, strict=True):
        for touched in table.touched:
            asked.setdefault(touched.law, set()).add(order[one.answer.sitting])
    return [
        Said(one.answer.chosen, one.answer.value, _weight(order[one.answer.sitting], table, asked))
        for one, table in zip(marked, tables, strict=True)
    ]


def _weight(place: int, table: ItemTable, asked: Mapping[str, set[int]]) -> float:
    later = [sum(other > place for other in asked[touched.law]) for touched in table.touched]
    return FADE ** min(later, default=0)


def _tells(marked: Marked) -> bool:
    if marked.struck or marked.answer.blank:
        return False
    if marked.item.kind == "number":
        return marked.answer.value is not None and isfinite(marked.answer.value)
    if not 0 <= marked.answer.chosen < len(marked.item.options):
        return False
    return (marked.points > 0.0) == (marked.answer.chosen == marked.item.key)


def _diagnosis(
    student: str, asked: Asking, marked: Sequence[Marked], shares: Sequence[Floats], care: float
) -> Diagnosis:
    pairs = list(zip(marked, asked.tables, strict=True))
    laws = [_law(law, pairs, share) for law, share in zip(asked.laws, shares, strict=True)]
    laws.sort(key=lambda law: -max((held.p for held in law.held), default=0.0))
    there = {law.law for law in laws}
    laws += [_not_asked(law.id) for law in LAWS if law.id not in there]
    likely = sum(law.verdict == "holds" for law in laws)
    maybe = sum(law.verdict == "perhaps" for law in laws)
    return Diagnosis(
        student=student,
        laws=tuple(laws),
        slips=_slips(marked),
        answers=len(marked),
        care=care,
        sentence=whole_sentence(len(marked), likely, maybe, len(there)),
    )


def _law(states: LawStates, pairs: Sequence[tuple[Marked, ItemTable]], share: Floats) -> LawDiagnosis:
    law = states.law
    own = [pair for pair in pairs if any(touched.law == law.id for touched in pair[1].touched)]
    held = [_held(group, own, float(p)) for group, p in zip(states.groups, share[1:-1], strict=True)]
    held.sort(key=lambda one: -one.p)
    right = sum(marked.points > 0.0 for marked, _ in own)
    truth, other = float(share[0]), float(share[-1])
    verdict = _verdict(held[0].p, truth, other, len(own))
    return LawDiagnosis(
        law=law.id,
        title=law.title,
        topic=law.topic,
        verdict=verdict,
        p_truth=truth,
        p_other=other,
        held=tuple(held),
        untested=states.untested,
        asked=len(own),
        right=right,
        sentence=law_sentence(law.title, verdict, held, len(own), right),
    )


def _verdict(best: float, truth: float, other: float, asked: int) -> Verdict:
    if best >= LIKELY:
        return "holds"
    if best >= POSSIBLE and best > other:
        return "perhaps"
    if other >= POSSIBLE:
        return "other"
    return "knows" if truth >= KNOWN and asked >= FEW else "unclear"


def _not_asked(id: str) -> LawDiagnosis:
    law = LAW_BY_ID[id]
    sentence = law_sentence(law.title, "not-asked", (), 0, 0)
    return LawDiagnosis(
        law.id, law.title, law.topic, "not-asked", 1.0, 0.0, (), IDEAS_OF_LAW[id], 0, 0, sentence
    )


def _held(ideas: tuple[str, ...], own: Sequence[tuple[Marked, ItemTable]], p: float) -> Held:
    said: list[tuple[Marked, IdeaAnswer]] = [
        (marked, table.said[ideas[0]]) for marked, table in own if ideas[0] in table.said
    ]
    evidence: tuple[Evidence, ...] = tuple(evidence_of(marked, ideas, one) for marked, one in said)
    return Held(
        ideas=ideas,
        statements=tuple(BY_ID[idea].statement for idea in ideas),
        mends=tuple(BY_ID[idea].mend for idea in ideas),
        scenes=tuple(dict.fromkeys(BY_ID[idea].scene for idea in ideas if BY_ID[idea].scene)),
        p=p,
        fitting=sum(one.fits for one in evidence),
        asked=len(evidence),
        evidence=evidence,
        sentence=held_sentence(ideas, p, evidence),
    )


def _slips(marked: Sequence[Marked]) -> tuple[SlipSeen, ...]:
    keys: dict[str, list[str]] = {}
    for one in marked:
        slip = _slip_of(one)
        if slip:
            keys.setdefault(slip, []).append(one.answer.key)
    found = []
    for slip, places in sorted(keys.items(), key=lambda pair: -len(pair[1])):
        where = f"{counted(len(places), 'answer', 'answers')} ({', '.join(places)})"
        sentence = f"In {where}: “{SLIPS[slip].statement}” {SLIPS[slip].mend}"
        found.append(SlipSeen(slip, SLIPS[slip].statement, SLIPS[slip].mend, tuple(places), sentence))
    return tuple(found)


def _slip_of(marked: Marked) -> str:
    if marked.points > 0.0:
        return ""
    item = marked.item
    if item.kind != "number":
        return slips_of(item).get(marked.answer.chosen, "")
    for place, slip in slips_of(item).items():
        shown = item.slips[place]
        if fits(marked, IdeaAnswer((), shown.value, shown.text)):
            return slip
    return ""
