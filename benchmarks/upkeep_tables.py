"""Tables of `docs/methods/upkeep.md`: logs simulated by the full engine, judged, and held to their truth.

    python -m benchmarks.upkeep_tables [--logs N] [--keep FOLDER] [--write]

N logs of each kind (60 without it). `--keep` keeps the simulated logs, so that they need not be flown again
when the judgement alone has changed. `--write` puts the tables into the page, between their marks.
"""

import argparse
import pickle
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import NamedTuple

import numpy as np

from benchmarks.simulated_logs import Simulated, simulated
from lubberline.upkeep.faults_fitted import CLASSES
from lubberline.upkeep.judge import by_rule_of_thumb, judge
from lubberline.upkeep.records import Log

PAGE = Path(__file__).parent.parent / "docs" / "methods" / "upkeep.md"
BEGIN, END = "<!-- tables: written by benchmarks/upkeep_tables.py -->", "<!-- /tables -->"
SEED = 20_261_125
COUNTS = (3, 6, 10, 15, 20, 30, 40, 60)
BANDS = ((-70.0, -40.0), (-20.0, 20.0), (40.0, 50.0), (60.0, 68.0), (75.0, 80.0))
NAMES = {"low_flow": "low flow", "balance": "latitude nut"}


class Task(NamedTuple):
    """One log to simulate and judge."""

    seed: int
    fault: str
    checks: int | None
    wrong_share: float
    gauges: bool


class Judged(NamedTuple):
    """What came of it; `caught` is the number of checks after which it was first 'look'."""

    task: Task
    latitude_deg: float
    covered: bool
    verdict: str
    named: str
    thumb: bool
    caught: int
    thumb_caught: int
    width: float


def _first(sim: Simulated) -> tuple[int, int]:
    """After how many checks the verdict, and the rule of thumb, blame it; 0 for never."""
    by_verdict = by_thumb = 0
    for count in COUNTS:
        if count > len(sim.log.checks):
            break
        part = sim.log.checks[:count]
        if not by_verdict and judge(Log("s", part, (), ()), sim.filed).verdict == "look":
            by_verdict = count
        if not by_thumb and by_rule_of_thumb(part):
            by_thumb = count
    return by_verdict, by_thumb


def flown(task: Task, keep: Path | None) -> Simulated:
    """The log of a task, from the folder where it is kept if it is there."""
    path = keep / f"{task.seed}.pickle" if keep is not None else None
    if path is not None and path.is_file():
        kept: Simulated = pickle.loads(path.read_bytes())
        return kept
    sim = simulated(
        task.seed, task.fault, checks=task.checks, wrong_share=task.wrong_share, gauges=task.gauges
    )
    if path is not None:
        path.write_bytes(pickle.dumps(sim))
    return sim


def run(task: Task, keep: Path | None) -> Judged:
    """One log."""
    sim = flown(task, keep)
    found = judge(sim.log, sim.filed)
    own = found.estimate
    caught, thumb_caught = _first(sim) if task.checks == 60 else (0, 0)
    return Judged(
        task,
        sim.latitude_deg,
        own.low_deg_15min <= sim.wander_deg_15min <= own.high_deg_15min,
        found.verdict,
        found.faults[0].fault,
        by_rule_of_thumb(sim.log.checks),
        caught,
        thumb_caught,
        own.high_deg_15min - own.low_deg_15min,
    )


def tasks(logs: int) -> list[Task]:
    """Healthy and each fault, 10 to 60 checks; the same with wrong entries; full logs for first catches."""
    found = []
    for k, fault in enumerate(CLASSES):
        many = 4 * logs if fault == "healthy" else logs
        found += [Task(SEED + 10_000 * k + i, fault, None, 0.0, True) for i in range(many)]
        found += [
            Task(SEED + 10_000 * k + 5_000 + i, fault, None, 0.1, True) for i in range(max(logs // 2, 1))
        ]
        for gauges in (True, False):
            base = SEED + 10_000 * k + 7_000 + 500 * gauges
            found += [Task(base + i, fault, 60, 0.0, gauges) for i in range(max(logs // 4, 1))]
    return found


def _share(values: list[bool]) -> str:
    if not values:
        return "-"
    share, half = float(np.mean(values)), 1.96 * float(np.std(values)) / np.sqrt(len(values))
    return f"{100 * share:.1f}% (± {100 * half:.1f})"


def tables(found: list[Judged]) -> Iterator[str]:
    """The tables in Markdown."""
    plain = [one for one in found if one.task.checks is None and one.task.wrong_share == 0.0]
    wrong = [one for one in found if one.task.wrong_share > 0.0]
    yield "### Does the 95% interval hold the truth?\n"
    yield "| logs of 10 to 60 checks | logs | truth within | mean width | with 10% wrong entries |"
    yield "| --- | ---: | ---: | ---: | ---: |"
    for fault in (*CLASSES, "all"):
        own = [one for one in plain if fault in ("all", one.task.fault)]
        bad = [one for one in wrong if fault in ("all", one.task.fault)]
        width = float(np.mean([one.width for one in own]))
        yield (
            f"| {NAMES.get(fault, fault)} | {len(own)} | {_share([one.covered for one in own])} | "
            f"{width:.2f} | {_share([one.covered for one in bad])} of {len(bad)} |"
        )
    yield "\n### False alarms: healthy instruments, by latitude\n"
    yield "| latitude | logs | have it checked | keep watching | rule of thumb blames |"
    yield "| --- | ---: | ---: | ---: | ---: |"
    healthy = [one for one in plain if one.task.fault == "healthy"]
    for low, high in (*BANDS, (-90.0, 90.0)):
        own = [one for one in healthy if low <= one.latitude_deg <= high]
        looked = _share([one.verdict == "look" for one in own])
        yield (
            f"| {low:g} to {high:g} | {len(own)} | {looked} | "
            f"{_share([v.verdict == 'watch' for v in own])} | {_share([v.thumb for v in own])} |"
        )
    yield "\n### Is the fault named correctly?\n"
    yield "Gauge at idle and cruise and the spin-down were logged; low flow is a weak pump or a leak.\n"
    yield "| fault | logs | named first | have it checked | rule of thumb blames |"
    yield "| --- | ---: | ---: | ---: | ---: |"
    for fault in CLASSES:
        own = [one for one in plain if one.task.fault == fault]
        yield (
            f"| {NAMES.get(fault, fault)} | {len(own)} | {_share([one.named == fault for one in own])} | "
            f"{_share([v.verdict == 'look' for v in own])} | {_share([v.thumb for v in own])} |"
        )
    yield "\n### How many checks until the fault is found?\n"
    yield "The smallest of 3, 6, 10, 15, 20, 30, 40 and 60 checks after which half of the faults are found.\n"
    yield "| fault | with gauge and spin-down | headings alone | rule of thumb | found by 60 (same order) |"
    yield "| --- | ---: | ---: | ---: | --- |"
    full = [one for one in found if one.task.checks == 60]
    for fault in CLASSES:
        if fault == "healthy":
            continue
        sets = [
            [o for o in full if o.task.fault == fault and o.task.gauges is gauges] for gauges in (True, False)
        ]
        every = sets[0] + sets[1]
        cells = [_half([one.caught for one in own]) for own in sets]
        cells.append(_half([one.thumb_caught for one in every]))
        ends = [_percent([one.caught > 0 for one in own]) for own in sets]
        ends.append(_percent([one.thumb_caught > 0 for one in every]))
        yield f"| {NAMES.get(fault, fault)} | {cells[0]} | {cells[1]} | {cells[2]} | {', '.join(ends)} |"
    yield ""


def _half(counts: list[int]) -> str:
    for count in COUNTS:
        if np.mean([0 < one <= count for one in counts]) >= 0.5:
            return str(count)
    return "not by 60"


def _percent(values: list[bool]) -> str:
    return f"{100.0 * float(np.mean(values)):.0f}%"


def judged(logs: int, workers: int, keep: Path | None) -> list[Judged]:
    """All logs, with progress."""
    todo = tasks(logs)
    found = []
    with ProcessPoolExecutor(workers) as pool:
        for done, one in enumerate(pool.map(partial(run, keep=keep), todo, chunksize=4), start=1):
            found.append(one)
            print(f"\r{done} of {len(todo)} logs", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--logs", type=int, default=60)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--write", action="store_true")
    given = parser.parse_args()
    if given.keep is not None:
        given.keep.mkdir(parents=True, exist_ok=True)
    text = "\n".join(tables(judged(given.logs, given.workers, given.keep)))
    print(text)
    if given.write:
        page = PAGE.read_text(encoding="utf-8")
        before, rest = page.split(BEGIN)
        PAGE.write_text(f"{before}{BEGIN}\n{text}{END}{rest.split(END)[1]}", encoding="utf-8")


if __name__ == "__main__":
    main()
