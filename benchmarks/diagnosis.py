"""Diagnosis of simulated students whose beliefs are known, compared with simple scoring and a sampler.

    python -m benchmarks.diagnosis [--students N] [--seed N] [--write]

Students hold 0 to 3 beliefs, each drawn from all the ideas that a subject's questions can show (one that
contradicts a belief held already, being of the same law, is drawn again); every tenth holds a wrong idea
outside the catalogue as well. They slip in 10% of their answers and guess blindly in 15%. They answer 20
questions drawn by blueprint; others answer 20 chosen one by one by what would tell most. `--write` puts
the tables into docs/methods/diagnosis.md.
"""

import argparse
from collections.abc import Callable, Sequence
from pathlib import Path
from random import Random
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from benchmarks.diagnosis_sampler import SAMPLER_HEAD, sampler_rows
from benchmarks.machine import heading, median_s, table
from lubberline.classroom.demo_term import Mind, answer
from lubberline.classroom.diagnosis.beliefs import (
    Asking,
    ByLevel,
    LawStates,
    Said,
    asking,
    by_level,
    of_class,
)
from lubberline.classroom.diagnosis.diagnose import LIKELY
from lubberline.classroom.diagnosis.likelihood import ItemTable, reading_of, table_of
from lubberline.classroom.diagnosis.next_questions import (
    ASK_ODDS,
    PLACE,
    Pool,
    choose,
    pool_from_bank,
    pool_of,
    prior_chances,
)
from lubberline.questions.bank import LEVELS, models
from lubberline.questions.blueprint import Blueprint, TopicEntry
from lubberline.questions.model import random_of
from lubberline.questions.papers import assemble
from lubberline.simulation.misconceptions import BY_ID

Floats = NDArray[np.float64]
PAGE = Path(__file__).parents[1] / "docs" / "methods" / "diagnosis.md"
SLIP, GUESS, OUTSIDE, MOST_BELIEFS, QUESTIONS, MORE_QUESTIONS = 0.10, 0.15, 0.10, 3, 20, 30
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
    """A simulated student, the questions, and the diagnosis."""

    mind: Mind
    asked: Asking
    said: tuple[Said, ...]
    shares: tuple[Floats, ...]


class Sat(NamedTuple):
    """Simulated students who were asked the same questions, diagnosed for each level."""

    minds: list[Mind]
    asked: Asking
    said: list[list[Said]]
    part: ByLevel


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
        if all(BY_ID[idea].law != BY_ID[other].law for other in held):
            held.append(idea)
    outside: tuple[str, ...] = ()
    if random.random() < OUTSIDE:
        laws = sorted({BY_ID[idea].law for idea in ideas} - {BY_ID[idea].law for idea in held})
        outside = (random.choice(laws),)
    return Mind(tuple(held), SLIP, GUESS, outside, random.getrandbits(32))


def said_of(mind: Mind, table: ItemTable, random: Random) -> Said:
    return Said(*answer(mind, table, random))


def by_blueprint(subject: str, ideas: Sequence[str], students: int, seed: int) -> list[Sat]:
    """Classes of students who sit papers drawn by the subject's blueprint."""
    found = []
    for first in range(0, students, CLASS_SIZE):
        random = random_of("diagnosis", subject, "blueprint", seed, first)
        paper = assemble(SUBJECTS[subject], random.getrandbits(32))[0]
        asked = asking([table_of(item) for item in paper.items])
        minds = [mind_of(ideas, random) for _ in range(min(CLASS_SIZE, students - first))]
        said = [[said_of(mind, table, random) for table in asked.tables] for mind in minds]
        found.append(Sat(minds, asked, said, by_level(asked, said)))
    return found


def by_choice(pool: Pool, ideas: Sequence[str], students: int, seed: int, count: int) -> list[Sat]:
    """Students who are each asked the best question after every answer."""
    return [
        asked_by_choice(pool, ideas, random_of("diagnosis", "choice", seed, number), count)
        for number in range(students)
    ]


def chances_from(states: Sequence[LawStates], shares: Sequence[Floats]) -> Floats:
    """The vector of chances from the sums themselves: (states,) for each law."""
    found = prior_chances()
    for law, share in zip(states, shares, strict=True):
        for idea in law.untested:
            found[PLACE[idea]] = share[0] * ASK_ODDS / (1.0 + ASK_ODDS * len(law.untested))
        for group, p in zip(law.groups, share[1:-1], strict=True):
            for idea in group:
                found[PLACE[idea]] = p / len(group)
        found[PLACE[law.law.id]] = share[-1]
    return found


def asked_by_choice(pool: Pool, ideas: Sequence[str], random: Random, count: int) -> Sat:
    """One student, asked the best question after every answer."""
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
    return Sat([mind], asked, [said], part)


def read_together(sat: Sequence[Sat], students: int) -> list[Read]:
    """The diagnoses when so many students are read together."""
    found = []
    waiting: list[Sat] = []
    for place, one in enumerate(sat):
        waiting.append(one)
        if place + 1 < len(sat) and sum(len(other.minds) for other in waiting) < students:
            continue
        for of, sums in zip(waiting, of_class([other.part for other in waiting]), strict=True):
            for number, mind in enumerate(of.minds):
                shares = tuple(law[number] for law in sums.laws)
                found.append(Read(mind, of.asked, tuple(of.said[number]), shares))
        waiting = []
    return found


class Score(NamedTuple):
    """How well a way of reading answers did.

    Attributes:
        planted: beliefs of the catalogue.
        shown: those that some question asked could show.
        first: those that came first of all on their law, the truth and other wrong ideas included.
        sound: students without any wrong idea.
        accused: those of them who were said to hold one.
    """

    planted: int
    shown: int
    first: int
    sound: int
    accused: int

    def row(self, *names: str) -> tuple[str, ...]:
        return (
            *names,
            share(self.shown, self.planted),
            share(self.first, self.planted),
            share(self.first, self.shown),
            share(self.sound - self.accused, self.sound),
        )


def share(part: int, whole: int) -> str:
    return f"{100.0 * part / whole:.1f}%" if whole else "-"


def diagnosed(read: Read) -> tuple[dict[str, tuple[str, ...]], bool]:
    """By law the group that comes first, () for the truth or some other idea; whether one is likely."""
    first: dict[str, tuple[str, ...]] = {}
    accused = False
    for law, p in zip(read.asked.laws, read.shares, strict=True):
        best = int(np.argmax(p))
        first[law.law.id] = law.groups[best - 1] if 0 < best <= len(law.groups) else ()
        accused = accused or bool(p[1:-1].max() >= LIKELY)
    return first, accused


def counted_up(read: Read, least: int) -> tuple[dict[str, tuple[str, ...]], bool]:
    """Simple scoring: by law the idea that most answers fit, if so many do; whether there is any."""
    counts: dict[str, int] = {}
    for one, said in zip(read.asked.tables, read.said, strict=True):
        for idea, prediction in one.said.items():
            hit = said.chosen in prediction.options
            if said.value is not None and prediction.value is not None:
                hit = one.item.apart(said.value, prediction.value) <= 2.0 * reading_of(one.item)
            counts[idea] = counts.get(idea, 0) + hit
    first: dict[str, tuple[str, ...]] = {}
    for idea in sorted(counts, key=lambda one: -counts[one]):
        if counts[idea] >= least:
            first.setdefault(BY_ID[idea].law, (idea,))
    return first, bool(first)


def score(reads: Sequence[Read], way: Callable[[Read], tuple[dict[str, tuple[str, ...]], bool]]) -> Score:
    planted = shown = first = sound = accused = 0
    for read in reads:
        found, is_accused = way(read)
        groups = {idea for law in read.asked.laws for group in law.groups for idea in group}
        planted += len(read.mind.ideas)
        shown += sum(idea in groups for idea in read.mind.ideas)
        first += sum(idea in found.get(BY_ID[idea].law, ()) for idea in read.mind.ideas)
        if not read.mind.ideas and not read.mind.outside:
            sound += 1
            accused += is_accused
    return Score(planted, shown, first, sound, accused)


def calibration(reads: Sequence[Read]) -> list[tuple[int, float, float]]:
    """By tenths of the probability of an idea or group: how many, mean probability, share that is true."""
    given, true = [], []
    for read in reads:
        for law, p in zip(read.asked.laws, read.shares, strict=True):
            for group, one in zip(law.groups, p[1:-1], strict=True):
                given.append(one)
                true.append(any(idea in group for idea in read.mind.ideas))
    ps, held = np.array(given), np.array(true, dtype=float)
    bins = np.minimum((ps * 10).astype(int), 9)
    found = []
    for place in range(10):
        here = bins == place
        count = int(here.sum())
        found.append((count, float(ps[here].mean()), float(held[here].mean())) if count else (0, 0.0, 0.0))
    return found


def worst(bins: Sequence[tuple[int, float, float]], least: int = 300) -> str:
    """The widest gap between probability and truth, in points, of bins with so many."""
    gaps = [(abs(p - q), 100.0 * (p - q)) for count, p, q in bins if count >= least]
    return f"{max(gaps)[1]:+.1f}" if gaps else "-"


class Condition(NamedTuple):
    """Students of one subject, asked in one way."""

    subject: str
    asked: str
    ideas: int
    laws: int
    together: list[Read]
    classes: list[Read]


def conditions(students: int, chosen: int, seed: int, names: Sequence[str]) -> list[Condition]:
    """Every subject, asked by blueprint and by choice, with so many students each."""
    found = []
    for name in names:
        pool = pool_for(name, seed)
        ideas = findable(pool)
        laws = len({BY_ID[idea].law for idea in ideas})
        every = [("20 by blueprint", by_blueprint(name, ideas, students, seed))]
        for count in (QUESTIONS, MORE_QUESTIONS) if name == "course" else (QUESTIONS,):
            every.append((f"{count} by ask next", by_choice(pool, ideas, chosen, seed, count)))
        for asked, sat in every:
            together, classes = read_together(sat, students), read_together(sat, CLASS_SIZE)
            found.append(Condition(name, asked, len(ideas), laws, together, classes))
            print(name, asked, score(together, diagnosed).row(), worst(calibration(together)), flush=True)
    return found


def accuracy_rows(found: Sequence[Condition]) -> list[tuple[str, ...]]:
    rows = []
    for one in found:
        head = (f"{one.subject}: {one.ideas} ideas of {one.laws} laws", f"{one.asked} ({len(one.together)})")
        rows.append(score(one.together, diagnosed).row(*head, "diagnosis"))
        rows.append(score(one.classes, diagnosed).row("", "", f"in classes of {CLASS_SIZE}"))
        for least in (1, 2):
            name = f"counting, {least} answer{'s' if least > 1 else ''}"
            rows.append(
                score(one.together, lambda read, least=least: counted_up(read, least)).row("", "", name)
            )
    return rows


def calibration_rows(found: Sequence[Condition]) -> list[tuple[str, ...]]:
    rows = []
    for one in found:
        bins = calibration(one.together)
        cells = [f"{100.0 * (p - q):+.1f} ({count})" if count else "-" for count, p, q in bins]
        rows.append((one.subject, one.asked, *cells, worst(bins), worst(calibration(one.classes))))
    for way in sorted({one.asked for one in found}):
        bins = calibration([read for one in found if one.asked == way for read in one.together])
        cells = [f"{100.0 * (p - q):+.1f} ({count})" if count else "-" for count, p, q in bins]
        rows.append(("all", way, *cells, worst(bins), ""))
    return rows


ACCURACY_HEAD = (
    "subject",
    "questions (students)",
    "read by",
    "planted ideas that a question could show",
    "planted first on its law",
    "first, of those shown",
    "sound students not accused",
)
CALIBRATION_HEAD = (
    "subject",
    "questions",
    *(f"{10 * low} to {10 * low + 10}%" for low in range(10)),
    "widest, bins of 300",
    f"the same in classes of {CLASS_SIZE}",
)


def speeds() -> list[tuple[str, ...]]:
    """Students diagnosed in a second, and the time for a choice of questions."""
    sat = by_blueprint("course", findable(pool_for("course", 1)), CLASS_SIZE, 1)
    asked, said = sat[0].asked, 8 * sat[0].said
    class_s = median_s(lambda: of_class([by_level(asked, said)]), 3)
    one_s = median_s(lambda: of_class([by_level(asked, said[:1])]), 5)
    pool = pool_from_bank(1)
    several = np.tile(prior_chances(), (14, 1))
    choice_s = median_s(lambda: choose(pool, several, 10), 3)
    pool_from_bank.cache_clear()
    pool_s = median_s(lambda: (pool_from_bank.cache_clear(), pool_from_bank(1)), 1)
    return [
        ("students a second, a class on one paper of 20", f"{len(said) / class_s:,.0f}"),
        ("students a second, each on other questions", f"{1.0 / one_s:,.0f}"),
        (f"10 questions for a class of 14 out of {len(pool.tables)}", f"{1e3 * choice_s:.0f} ms"),
        ("drawing that pool from the bank, once", f"{pool_s:.1f} s"),
    ]


def put_into_page(name: str, text: str) -> None:
    """Replace the text between the marks of a name in docs/methods/diagnosis.md."""
    begin, end = f"<!-- {name} -->", f"<!-- end of {name} -->"
    before, _, rest = PAGE.read_text(encoding="utf-8").partition(begin)
    after = rest.partition(end)[2]
    PAGE.write_text(f"{before}{begin}\n{text}\n{end}{after}", encoding="utf-8")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--students", type=int, default=2000)
    parser.add_argument("--chosen", type=int, default=0, help="students who are asked by choice; as many")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--subjects", default=",".join(SUBJECTS))
    parser.add_argument("--write", action="store_true", help="put the tables into docs/methods/diagnosis.md")
    chosen = parser.parse_args()
    found = conditions(
        chosen.students, chosen.chosen or chosen.students, chosen.seed, chosen.subjects.split(",")
    )
    pages = {
        "accuracy": table(ACCURACY_HEAD, accuracy_rows(found)),
        "calibration": table(CALIBRATION_HEAD, calibration_rows(found)),
        "sampler": table(SAMPLER_HEAD, sampler_rows()),
        "speed": f"{heading(('numpy',))}\n\n{table(('', 'measured'), speeds())}",
    }
    for name, text in pages.items():
        print(text)
        if chosen.write:
            put_into_page(name, text)


if __name__ == "__main__":
    main()
