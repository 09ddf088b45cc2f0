"""A class of 200 phones that answer within two seconds: nothing lost, how long until each is acknowledged.

python benchmarks/class_load.py            # prints the table of docs/developers/performance.md
python benchmarks/class_load.py --phones 50 --rounds 1
python benchmarks/class_load.py --phones 500 --servers 2 --restart --database postgresql://…
"""

import argparse
import asyncio
import random
import statistics
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import NamedTuple

import httpx

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.class_phones import STEP, Phone, Process, Sent, begun
from lubberline.store.school import School, open_school

WITHIN_S = 2.0


class Load(NamedTuple):
    """The result of a run of the class.

    Attributes:
        phones: how many.
        sent: answers that were acknowledged.
        lost: of these, how many are not in the records, or not as acknowledged.
        doubled: how many students have more than one answer that counts.
        took_ms: by answer, until it was acknowledged.
        told_ms: by phone and closing, until it knew of it.
        joined_s: until all were in.
        peak_mb: the most memory that a server held, MiB.
    """

    phones: int
    sent: int
    lost: int
    doubled: int
    took_ms: list[float]
    told_ms: list[float]
    joined_s: float
    peak_mb: float


def percentile(values: list[float], share: float) -> float:
    """The value that a share of all is not above."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, max(0, round(share * len(ordered)) - 1))]


async def drive(processes: list[Process], school: School, count: int, rounds: int, restart: bool) -> Load:
    """A class on running servers, dealt among them; the instructor is at the first one.

    With `restart` the last server is killed and started again while the middle question is open.
    """
    sitting = begun(school)
    servers = [processes[number % len(processes)] for number in range(count)]
    phones = [Phone(server.address, f"Student {number}") for number, server in enumerate(servers)]
    started_s = time.perf_counter()
    for start in range(0, count, 20):
        await asyncio.gather(*(phone.join(sitting.code) for phone in phones[start : start + 20]))
    joined_s = time.perf_counter() - started_s
    lines = [asyncio.create_task(phone.listen()) for phone in phones]
    await asyncio.gather(*(phone.until(-1, "closed") for phone in phones))
    took: list[float] = []
    told: list[float] = []
    lost = 0
    for number in range(rounds):
        restarted = _restart(processes[-1]) if restart and number == rounds // 2 else asyncio.sleep(0.0)
        moved = move_round(phones, processes[0], sitting.id, number)
        (sent, closed_s), _ = await asyncio.gather(moved, restarted)
        knew = await asyncio.gather(*(phone.until(STEP, "closed") for phone in phones))
        told += [1000.0 * (at_s - closed_s) for at_s in knew]
        took += [1000.0 * one.took_s for one in sent]
        lost += missing(school, sitting.id, sent)
    counted = Counter((one.student, one.key) for one in school.answers.of_sitting(sitting.id))
    for line in lines:
        line.cancel()
    for phone in phones:
        await phone.client.aclose()
    doubled = sum(times > 1 for times in counted.values())
    peak_mb = max(process.peak_mb() for process in processes)
    return Load(count, len(took), lost, doubled, took, told, joined_s, peak_mb)


async def _restart(process: Process) -> None:
    await asyncio.sleep(WITHIN_S / 2.0)
    process.kill()
    await asyncio.to_thread(process.start)


async def move_round(phones: list[Phone], process: Process, id: str, number: int) -> tuple[list[Sent], float]:
    """Opens the question, lets all answer, closes it: as the instructor's page does."""
    random_ = random.Random(number)
    headers = {"origin": process.address}
    async with httpx.AsyncClient(base_url=process.address, headers=headers, trust_env=False) as lead:

        async def move(do: str, step: int, phase: str) -> None:
            body = {"do": do, "step": step, "phase": phase, "to": STEP}
            (await lead.post(f"/teach/{id}/move", json=body)).raise_for_status()

        async def answer(phone: Phone) -> Sent:
            wait_s, value = random_.uniform(0.0, WITHIN_S), float(random_.randrange(360))
            await phone.until(STEP, "open")
            await asyncio.sleep(wait_s)
            return await phone.answer(value)

        if number == 0:
            await move("go", -1, "closed")
        else:
            await move("open", STEP, "closed")
        sent = await asyncio.gather(*(answer(phone) for phone in phones))
        closed_s = time.perf_counter()
        await move("close", STEP, "open")
    return list(sent), closed_s


def missing(school: School, id: str, sent: list[Sent]) -> int:
    """How many acknowledged answers are not in the records as they were acknowledged."""
    names = {one.id: one.name for one in school.people.students(school.sittings.sitting(id).group)}
    kept = Counter((names[one.student], one.value) for one in school.answers.of_sitting(id))
    return sum(kept[(one.student, one.value)] != 1 for one in sent)


def table(load: Load) -> str:
    """The run as a table in Markdown."""
    rows = [
        ("phones, each with a line", f"{load.phones}"),
        ("answers acknowledged", f"{load.sent}"),
        ("lost, or not as acknowledged", f"{load.lost}"),
        ("counted twice", f"{load.doubled}"),
        ("until acknowledged, median", f"{statistics.median(load.took_ms):.0f} ms"),
        ("until acknowledged, 99th percentile", f"{percentile(load.took_ms, 0.99):.0f} ms"),
        ("until acknowledged, longest", f"{max(load.took_ms):.0f} ms"),
        ("until a phone knows of the closing, 99th percentile", f"{percentile(load.told_ms, 0.99):.0f} ms"),
        ("until all have joined", f"{load.joined_s:.1f} s"),
        ("most memory of the server", f"{load.peak_mb:.0f} MiB"),
    ]
    return "\n".join(["| | |", "| --- | --- |", *(f"| {name} | {value} |" for name, value in rows)])


def run(count: int, rounds: int, database: str = "", servers: int = 1, restart: bool = False) -> Load:
    """Separate servers and a class on them, all ended afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        address = database or f"sqlite:///{Path(folder) / 'school.sqlite3'}"
        school = open_school(address)
        processes = [Process(address) for _ in range(servers)]
        try:
            return asyncio.run(drive(processes, school, count, rounds, restart))
        finally:
            for process in processes:
                process.kill()
            school.close()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--phones", type=int, default=200)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--database", default="", help="a PostgreSQL; SQLite in a file without it")
    parser.add_argument("--servers", type=int, default=1, help="on the same database: a PostgreSQL for more")
    parser.add_argument("--restart", action="store_true", help="the last server is killed in the midst")
    given = parser.parse_args()
    print(table(run(given.phones, given.rounds, given.database, given.servers, given.restart)))
