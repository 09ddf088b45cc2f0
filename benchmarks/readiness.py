"""Readiness against students whose chance to pass is known, and against open answers.

    python -m benchmarks.readiness [--classes N] [--seed N] [--write]

Simulated students come from two generators that differ from the model: abilities that grow over a term, with
guessing and questions of different discrimination (a three-parameter model with skewed abilities), and
students like those of the demo class, who answer from wrong ideas that lessons remove. The model is compared
with the plain percentage right so far, as pass or fail and as the student's chance on each question, and
with the share of all who pass. The open answers are those of LSAT section 6,
tests/authorities/lsat6_patterns.txt.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import NamedTuple

import msgspec
import numpy as np

from lubberline.arrays import Floats
from lubberline.classroom.ability import Ability, Table, expected, fitted
from lubberline.classroom.demo_term import Mind, answer
from lubberline.classroom.diagnosis.likelihood import ItemTable, table_of
from lubberline.classroom.exam import Exam, usual_exam
from lubberline.classroom.exam_chances import binomial, least_right
from lubberline.classroom.marking import marked_answer
from lubberline.classroom.readiness import readiness
from lubberline.classroom.records import Answer, Marked
from lubberline.questions.bank import models
from lubberline.questions.generate import generate
from lubberline.questions.item import Item
from lubberline.simulation.misconceptions import IDEAS_OF_LAW

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "methods" / "readiness.md"
LSAT6 = ROOT / "tests" / "authorities" / "lsat6_patterns.txt"
CLASS_SIZE, SITTINGS, TERM_DAYS = 25, 4, 100
TRUE_EXAMS, BELIEVED_EXAMS = 400, 20
FIRST = datetime(2026, 1, 12, 18, tzinfo=UTC)
EXAM = usual_exam()


class Sat(NamedTuple):
    """A simulated class: marks by student, whether each passed the exam, and the true chances to pass."""

    marks: dict[str, list[Marked]]
    passed: NDArrayBool
    true: Floats


NDArrayBool = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
Generator = Callable[[Exam, Random], Sat]


def when(sitting: int) -> str:
    """The time of a sitting of the term; the last is a week before the exam."""
    at = FIRST + timedelta(days=TERM_DAYS * sitting / (SITTINGS - 1))
    return at.isoformat().replace("+00:00", "Z")


def bank_tables(random: Random, variants: int = 2) -> list[list[ItemTable]]:
    """Questions of every model that the exam's topics have, by section, with what wrong ideas answer."""
    return [
        [
            table_of(generate(model, random.getrandbits(30)))
            for model in models().values()
            if model.topic in section.topics
            for _ in range(variants)
        ]
        for section in EXAM.sections
    ]


def passes(exam: Exam, right: Sequence[Floats]) -> NDArrayBool:
    """Whether so many right answers in each section pass."""
    enough = np.asarray(sum(right)) >= least_right(exam.mark, exam.questions)
    for section, count in zip(exam.sections, right, strict=True):
        enough &= np.asarray(count) >= least_right(section.mark, section.questions)
    return np.asarray(enough)


def growing(exam: Exam, random: Random) -> Sat:
    """A class with skewed abilities that grow, guessing, and questions that tell more or less."""
    draw = np.random.default_rng(random.getrandbits(60))
    sections = len(exam.sections)
    general = draw.gamma(4.0, 0.5, CLASS_SIZE) - 2.0
    start = 0.3 + 0.9 * general[:, None] + 0.6 * draw.standard_t(6, (CLASS_SIZE, sections)) / math.sqrt(1.5)
    growth = draw.gamma(2.0, 0.5, (CLASS_SIZE, 1))

    def chance(ability: Floats, number: int) -> Floats:
        """(students, number) chances on fresh questions."""
        tells = draw.lognormal(0.0, 0.3, number)
        hard = draw.normal(0.0, 0.8, number)
        return np.asarray(0.2 + 0.8 / (1.0 + np.exp(-tells * (ability[:, None] - hard))))

    marks: dict[str, list[Marked]] = {f"s{k}": [] for k in range(CLASS_SIZE)}
    template = Item("m", "wander", "apply", "choice", "?", (), 0, "", "", {}, 0.4)
    for sitting in range(SITTINGS):
        ability = start + growth * sitting / (SITTINGS - 1) - 0.5 * growth
        for place, section in enumerate(exam.sections):
            right = draw.random((CLASS_SIZE, 4)) < chance(ability[:, place], 4)
            for number in range(4):
                item = msgspec.structs.replace(
                    template, model=f"m{sitting}{place}{number}", topic=section.topics[0]
                )
                for k, own in enumerate(marks.values()):
                    given = Answer(f"p{sitting}", f"s{k}", f"{place}{number}", 0, None, when(sitting))
                    own.append(Marked(given, item, float(right[k, number])))
    last = start + 0.5 * growth
    harder = draw.normal(0.0, 0.3)
    of_exam = [chance(last[:, k] - harder, one.questions) for k, one in enumerate(exam.sections)]
    many = [(draw.random((TRUE_EXAMS + 1, *each.shape)) < each).sum(axis=2) for each in of_exam]
    done = passes(exam, many)
    return Sat(marks, done[0], done[1:].mean(axis=0))


def believing(exam: Exam, random: Random) -> Sat:
    """A class that answers from wrong ideas, some of which the term takes away."""
    asked, kept = bank_tables(random), bank_tables(random)
    papers = [[random.choice(own) for own in asked for _ in range(4)] for _ in range(SITTINGS)]
    finals = [
        [
            [random.choice(own) for _ in range(one.questions)]
            for own, one in zip(kept, exam.sections, strict=True)
        ]
        for _ in range(BELIEVED_EXAMS + 1)
    ]
    marks: dict[str, list[Marked]] = {}
    outcomes = []
    for k in range(CLASS_SIZE):
        minds = minds_of_term(random, k)
        own = marks.setdefault(f"s{k}", [])
        for sitting, paper in enumerate(papers):
            for number, table in enumerate(paper):
                given = answer(minds[sitting], table, random)
                at = Answer(f"p{sitting}", f"s{k}", str(number), given.chosen, given.value, when(sitting))
                own.append(marked_answer(at, table.item))
        right = [[right_of(minds[-1], tables, random) for tables in final] for final in finals]
        outcomes.append(passes(exam, list(np.array(right, dtype=float).T)))
    done = np.array(outcomes)
    return Sat(marks, done[:, 0], done[:, 1:].mean(axis=1))


def minds_of_term(random: Random, own: int) -> list[Mind]:
    """What a student thinks at each sitting and in the exam: some wrong ideas go on the way."""
    ideas = [idea for law in IDEAS_OF_LAW.values() for idea in law]
    held = random.sample(ideas, random.choice((0, 2, 4, 7, 11, 16)))
    until = {idea: random.uniform(0.0, 2.0 * SITTINGS) for idea in held}
    slip, guess = random.uniform(0.02, 0.15), random.uniform(0.0, 0.35)
    return [
        Mind(tuple(idea for idea in held if until[idea] > sitting), slip, guess, (), own)
        for sitting in range(SITTINGS + 1)
    ]


def right_of(mind: Mind, tables: Sequence[ItemTable], random: Random) -> int:
    """How many of these a simulated student answers right."""
    given = [answer(mind, table, random) for table in tables]
    return sum(
        marked_answer(Answer("x", "x", "x", one.chosen, one.value), table.item).points == 1.0
        for one, table in zip(given, tables, strict=True)
    )


def plain(exam: Exam, marks: Sequence[Marked]) -> tuple[float, float]:
    """By the percentage right so far: 1 or 0, and the chance if it were that of each question."""
    shares, chance = [], np.ones(1)
    for section in exam.sections:
        own = [mark.points for mark in marks if mark.item.topic in section.topics]
        share = sum(own) / max(len(own), 1)
        shares.append(share)
        scores = binomial(np.array(share), section.questions)
        scores[: least_right(section.mark, section.questions)] = 0.0
        chance = np.convolve(chance, scores)
    whole = sum(mark.points for mark in marks) / max(len(marks), 1)
    safe = whole >= exam.mark and all(
        share >= section.mark for share, section in zip(shares, exam.sections, strict=True)
    )
    return float(safe), float(chance[least_right(exam.mark, exam.questions) :].sum())


class Told(NamedTuple):
    """Predictions by each method, the results, and whether the range includes the true chance."""

    ways: dict[str, Floats]
    passed: NDArrayBool
    true: Floats
    holds: NDArrayBool


HALF_LIVES = (math.inf, 120.0, 60.0, 30.0)


def told(generator: Generator, classes: int, seed: int, half_lives: Sequence[float] = HALF_LIVES) -> Told:
    """The predictions of each method for so many classes."""
    ways: dict[str, list[float]] = {}
    passed, true, holds = [], [], []
    for number in range(classes):
        sat = generator(EXAM, Random(f"{generator.__name__} {seed} {number}"))
        for half in half_lives:
            name = "model" if half == 60.0 else f"model, half-life {half:g} days"
            found = readiness(sat.marks, EXAM, half_life_days=half).students
            ways.setdefault(name, []).extend(one.pass_chance for one in found)
            if half == 60.0:
                holds += [
                    one.low - 1e-3 <= true <= one.high + 1e-3
                    for one, true in zip(found, sat.true, strict=True)
                ]
        for marks in sat.marks.values():
            rule, chance = plain(EXAM, marks)
            ways.setdefault("percentage so far, as pass or fail", []).append(rule)
            ways.setdefault("percentage so far, as a chance", []).append(chance)
        passed.append(sat.passed)
        true.append(sat.true)
    came = np.concatenate(passed)
    found_ways = {name: np.array(values) for name, values in ways.items()}
    found_ways["share of all who pass"] = np.full(len(came), came.mean())
    return Told(found_ways, came, np.concatenate(true), np.array(holds))


def brier(predicted: Floats, came: Floats | NDArrayBool) -> float:
    """Mean squared difference between chances and what came (Brier 1950)."""
    return float(((predicted - np.asarray(came, dtype=float)) ** 2).mean())


def bins(predicted: Floats, came: NDArrayBool) -> list[tuple[float, float, int]]:
    """Ten bins of chances: mean predicted, share that came, how many."""
    place = np.minimum((predicted * 10).astype(int), 9)
    return [
        (float(predicted[place == k].mean()), float(came[place == k].mean()), int((place == k).sum()))
        for k in range(10)
        if (place == k).any()
    ]


def lsat6() -> Floats:
    """1,000 persons by five answers."""
    rows: list[list[float]] = []
    for word in LSAT6.read_text(encoding="utf-8").split():
        pattern, count = word.split(":")
        rows += [[float(sign) for sign in pattern]] * int(count)
    return np.array(rows)


def chance_of(found: Ability, table: Table) -> Floats:
    """(students, columns) chance of a right answer to each column's question, by what is known of each."""
    chance = 1.0 / (1.0 + np.exp(-found.logits(table)))
    return np.stack(
        [
            np.einsum("ng,ngu,gu->n", found.general, found.given[:, section], chance[column])
            for column, section in enumerate(table.section)
        ],
        axis=1,
    )


def held_out(splits: int, seed: int) -> dict[str, list[float]]:
    """Brier scores of each of five questions, predicted from the other four."""
    points = lsat6()
    draw = np.random.default_rng(seed)
    one = Table(points[:0], points[:0], np.zeros(5, dtype=np.intp), 1, np.arange(5), np.zeros(5), np.zeros(5))
    scores: dict[str, list[list[float]]] = {}
    for _ in range(splits):
        order = draw.permutation(len(points))
        taught, asked = points[order[:500]], points[order[500:]]
        found = fitted(one._replace(right=taught, wrong=1.0 - taught))
        row: dict[str, list[float]] = {}
        for left in range(5):
            seen = np.ones(5)
            seen[left] = 0.0
            _, known = expected(one._replace(right=asked * seen, wrong=(1.0 - asked) * seen), found)
            ways = {
                "model": chance_of(known, one)[:, left],
                "percentage of the other four": (asked * seen).sum(axis=1) / 4.0,
                "share right of the fitted half": np.full(len(asked), taught[:, left].mean()),
            }
            for name, predicted in ways.items():
                row.setdefault(name, []).append(brier(predicted, asked[:, left]))
        for name, values in row.items():
            scores.setdefault(name, []).append(values)
    return {name: np.mean(values, axis=0).tolist() for name, values in scores.items()}


def generators_text(results: dict[str, Told]) -> str:
    """The tables of the simulated students."""
    lines = ["| method | " + " | ".join(f"Brier, {name}" for name in results) + " |"]
    lines.append("| --- |" + " ---: |" * len(results))
    for way in next(iter(results.values())).ways:
        scores = [f"{brier(one.ways[way], one.passed):.4f}" for one in results.values()]
        lines.append(f"| {way} | " + " | ".join(scores) + " |")
    lines.append(
        "| the true chances, if they were known | "
        + " | ".join(f"{brier(one.true, one.passed):.4f}" for one in results.values())
        + " |"
    )
    for name, one in results.items():
        held = 100.0 * one.holds.mean()
        lines += [
            "",
            f"{name[:1].upper()}{name[1:]}: {len(one.passed):,} students, {100.0 * one.passed.mean():.0f}% "
            f"pass; the range includes the true chance of {held:.0f}%. Calibration:",
            "",
            "| predicted | passed | students |",
            "| ---: | ---: | ---: |",
        ]
        lines += [f"| {p:.2f} | {c:.2f} | {n:,} |" for p, c, n in bins(one.ways["model"], one.passed)]
    return "\n".join(lines)


def lsat_text(scores: dict[str, list[float]]) -> str:
    """The table of the open answers."""
    lines = ["| method | 1 | 2 | 3 | 4 | 5 | mean |", "| --- |" + " ---: |" * 6]
    for name, values in scores.items():
        cells = " | ".join(f"{value:.4f}" for value in [*values, float(np.mean(values))])
        lines.append(f"| {name} | {cells} |")
    return "\n".join(lines)


def put(name: str, text: str) -> None:
    """Write a table into its place on the page."""
    begin, end = f"<!-- {name} -->", f"<!-- end of {name} -->"
    before, rest = PAGE.read_text(encoding="utf-8").split(begin)
    after = rest.split(end)[1]
    PAGE.write_text(f"{before}{begin}\n{text}\n{end}{after}", encoding="utf-8")


def main() -> None:
    """Make both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--classes", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--write", action="store_true", help="write docs/methods/readiness.md")
    given = parser.parse_args()
    tables = {"held out": lsat_text(held_out(20, given.seed))}
    results = {
        "growing abilities": told(growing, given.classes, given.seed),
        "wrong ideas": told(believing, given.classes, given.seed),
    }
    tables["simulated students"] = generators_text(results)
    for name, text in tables.items():
        print(f"{text}\n")
        if given.write:
            put(name, text)


if __name__ == "__main__":
    main()
