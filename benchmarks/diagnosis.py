"""Diagnosis of made-up students whose beliefs are known, beside simple scoring.

    python -m benchmarks.diagnosis [--students N] [--seed N] [--write]

Students hold 0 to 3 beliefs, each drawn from the ideas that the subject's questions can show (a second one
of the same law is drawn again); every tenth holds a wrong idea outside the catalogue as well. They slip in
10% of their answers and guess blindly in 15%, at rates and in ways that the diagnosis does not know. They
answer 20 questions drawn by blueprint, and 20 others chosen one by one by what would tell most.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from random import Random
from typing import NamedTuple

import numpy as np

from lubberline.classroom.answering import ItemTable, table_of
from lubberline.classroom.ask_next import Pool, chances_from, choose, pool_from_bank, pool_of, prior_chances
from lubberline.classroom.beliefs import Asking, ByLevel, Said, asking, believed, by_level, of_class
from lubberline.classroom.idea_laws import LAW_OF
from lubberline.classroom.made_up_minds import Mind, answer
from lubberline.questions.assemble import assemble
from lubberline.questions.bank import LEVELS, models
from lubberline.questions.blueprint import Blueprint, TopicEntry
from lubberline.questions.drawing import random_of

SLIP, GUESS, OUTSIDE, MOST_BELIEFS, QUESTIONS = 0.10, 0.15, 0.10, 3, 20
STATEMENTS = tuple(model.id for model in models().values() if model.kind == "statement")


def subject(title: str, *topics: TopicEntry) -> Blueprint:
    """A paper of 20 questions without true-or-false statements."""
    return Blueprint(title, topics, retired=STATEMENTS)


SUBJECTS = {
    "drift": subject(
        "Drift of the heading indicator",
        TopicEntry("wander", recall=1, apply=8, judge=3),
        TopicEntry("balance", apply=2, judge=2),
        TopicEntry("rotor", apply=2, judge=2),
    ),
    "compass": subject(
        "Compass and setting",
        TopicEntry("compass", recall=1, apply=5, judge=1),
        TopicEntry("turning", apply=4, judge=2),
        TopicEntry("setting", recall=1, apply=2, judge=4),
    ),
    "air": subject(
        "The air system",
        TopicEntry("suction", recall=0, apply=8, judge=8),
        TopicEntry("rotor", apply=2, judge=2),
    ),
    "course": subject(
        "The whole course",
        TopicEntry("wander", apply=3, judge=1),
        TopicEntry("balance", apply=1, judge=1),
        TopicEntry("gimballing", apply=1, judge=1),
        TopicEntry("compass", recall=1, apply=2),
        TopicEntry("turning", apply=2, judge=1),
        TopicEntry("setting", judge=1),
        TopicEntry("rotor", apply=1),
        TopicEntry("suction", apply=1, judge=2),
        TopicEntry("tumbling", judge=1),
    ),
}
CLASS_SIZE = 25


class Read(NamedTuple):
    """A made-up student, the questions, and what was made of the answers."""

    mind: Mind
    asked: Asking
    said: tuple[Said, ...]
    shares: tuple[np.ndarray, ...]


def laws_of(table: ItemTable) -> frozenset[str]:
    return frozenset(touched.law for touched in table.touched)


def findable(pool: Pool) -> list[str]:
    """Every idea that a pool's questions can show."""
    return sorted({idea for table in pool.tables for idea in table.said})


def pool_for(subject: str, seed: int) -> Pool:
    """Questions of the topics and levels that the subject's blueprint asks for."""
    whole = pool_from_bank(seed, tuple(entry.name for entry in SUBJECTS[subject].topic))
    cells = {
        (entry.name, level) for entry in SUBJECTS[subject].topic for level in LEVELS if getattr(entry, level)
    }
    return pool_of(
        [
            one.item
            for one in whole.tables
            if (one.item.topic, one.item.level) in cells and one.item.kind != "statement"
        ]
    )


def mind_of(ideas: Sequence[str], random: Random) -> Mind:
    """A student with 0 to 3 beliefs."""
    held: list[str] = []
    wanted = random.randint(0, MOST_BELIEFS)
    while len(held) < wanted:
        idea = random.choice(ideas)
        if all(LAW_OF[idea] != LAW_OF[other] for other in held):
            held.append(idea)
    outside: tuple[str, ...] = ()
    if random.random() < OUTSIDE:
        laws = sorted({LAW_OF[idea].id for idea in ideas} - {LAW_OF[idea].id for idea in held})
        outside = (random.choice(laws),)
    return Mind(tuple(held), SLIP, GUESS, outside, random.getrandbits(32))


def said_of(mind: Mind, table: ItemTable, random: Random) -> Said:
    return Said(*answer(mind, table.item, laws_of(table), random))


def by_blueprint(subject: str, ideas: Sequence[str], students: int, seed: int) -> list[Read]:
    """Classes of students who sit papers drawn by the subject's blueprint."""
    found: list[Read] = []
    for first in range(0, students, CLASS_SIZE):
        random = random_of("diagnosis", subject, "blueprint", seed, first)
        paper = assemble(SUBJECTS[subject], random.getrandbits(32))[0]
        asked = asking([table_of(item) for item in paper.items])
        minds = [mind_of(ideas, random) for _ in range(min(CLASS_SIZE, students - first))]
        said = [[said_of(mind, table, random) for table in asked.tables] for mind in minds]
        sums = believed(asked, said)
        for place, mind in enumerate(minds):
            shares = tuple(law[place] for law in sums.laws)
            found.append(Read(mind, asked, tuple(said[place]), shares))
    return found


def by_choice(pool: Pool, ideas: Sequence[str], students: int, seed: int, count: int) -> list[Read]:
    """Classes of students who are each asked, one by one, what would tell most."""
    found: list[Read] = []
    for first in range(0, students, CLASS_SIZE):
        one_class = [
            asked_by_choice(pool, ideas, random_of("diagnosis", "choice", seed, number), count)
            for number in range(first, min(first + CLASS_SIZE, students))
        ]
        sums = of_class([part for _, part in one_class])
        for (read, _), own in zip(one_class, sums, strict=True):
            found.append(read._replace(shares=tuple(law[0] for law in own.laws)))
    return found


def asked_by_choice(pool: Pool, ideas: Sequence[str], random: Random, count: int) -> tuple[Read, ByLevel]:
    """A student who is asked one by one what would tell most; read for each level."""
    mind = mind_of(ideas, random)
    taken: list[int] = []
    said: list[Said] = []
    chances = prior_chances()
    for _ in range(count):
        best = choose(pool, chances[None], 1, taken)[0][0]
        taken.append(best)
        said.append(said_of(mind, pool.tables[best], random))
        asked = asking([pool.tables[place] for place in taken])
        part = by_level(asked, [said])
        chances = chances_from(asked.laws, [law[0] for law in of_class([part])[0].laws])
    return Read(mind, asked, tuple(said), ()), part


class Score(NamedTuple):
    """How a way of reading answers did."""

    planted: int
    shown: int
    first: int
    first_of_ideas: int
    sound: int
    accused: int
    several: int

    def row(self, name: str) -> tuple[str, ...]:
        return (
            name,
            str(self.planted),
            share(self.shown, self.planted),
            share(self.first, self.planted),
            share(self.first, self.shown),
            share(self.first_of_ideas, self.planted),
            share(self.sound - self.accused, self.sound),
            share(self.several, self.first),
        )


def share(part: int, whole: int) -> str:
    return f"{100.0 * part / whole:.1f}%" if whole else "-"


def score(reads: Sequence[Read], accuse_from: float) -> Score:
    planted = shown = first = first_idea = sound = accused = several = 0
    for read in reads:
        states = {law.law.id: (law, share) for law, share in zip(read.asked.laws, read.shares, strict=True)}
        for idea in read.mind.ideas:
            planted += 1
            law, p = states.get(LAW_OF[idea].id, (None, None))
            place = next((k for k, group in enumerate(law.groups) if idea in group), -1) if law else -1
            if place < 0:
                continue
            shown += 1
            if int(np.argmax(p)) == place + 1:
                first += 1
                several += len(law.groups[place]) > 1
            first_idea += int(np.argmax(p[1:-1])) == place
        if not read.mind.ideas and not read.mind.outside:
            sound += 1
            accused += any(p[1:-1].size and p[1:-1].max() >= accuse_from for p in read.shares)
    return Score(planted, shown, first, first_idea, sound, accused, several)


def calibration(reads: Sequence[Read]) -> list[tuple[int, float, float]]:
    """By tenths of the probability given to an idea or group: how many, the mean given, the share true."""
    given, true = [], []
    for read in reads:
        for law, p in zip(read.asked.laws, read.shares, strict=True):
            for group, one in zip(law.groups, p[1:-1], strict=True):
                given.append(one)
                true.append(any(idea in group for idea in read.mind.ideas))
    ps, held = np.array(given), np.array(true, dtype=float)
    bins = np.minimum((ps * 10).astype(int), 9)
    return [
        (int((bins == k).sum()), float(ps[bins == k].mean()), float(held[bins == k].mean()))
        for k in range(10)
        if (bins == k).any()
    ]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--students", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--subjects", default=",".join(SUBJECTS))
    parser.add_argument("--count", type=int, default=QUESTIONS)
    chosen = parser.parse_args()
    for subject in chosen.subjects.split(","):
        pool = pool_for(subject, chosen.seed)
        ideas = findable(pool)
        laws = {LAW_OF[idea].id for idea in ideas}
        print(subject, len(pool.tables), "in pool;", len(ideas), "ideas of", len(laws), "laws")
        for name, reads in (
            ("blueprint", by_blueprint(subject, ideas, chosen.students, chosen.seed)),
            ("chosen", by_choice(pool, ideas, chosen.students, chosen.seed, chosen.count)),
        ):
            for accuse in (0.5, 0.8):
                print(score(reads, accuse).row(f"{name} {accuse}"))
            for count, p, q in calibration(reads):
                print(
                    f"   {count:6d} {p:.3f} {q:.3f} {100 * (p - q):+.1f}{' !' if count >= 300 and abs(p - q) > 0.05 else ''}"
                )


if __name__ == "__main__":
    main()
