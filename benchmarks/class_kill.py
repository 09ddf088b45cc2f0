"""kill -9 of the server while a class answers, again and again: every acknowledged answer is there, once.

python benchmarks/class_kill.py            # 20 kills; prints the table of docs/developers/performance.md
python benchmarks/class_kill.py --kills 2
"""

import argparse
import asyncio
import random
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.class_phones import STEP, Phone, Process, Sent, begun
from lubberline.store.school import School, open_school

# Between two kills, at random within these.
SHORTEST_S, LONGEST_S = 0.2, 1.5


class Killed(NamedTuple):
    """The result of a run.

    Attributes:
        kills: how often the server was killed.
        acknowledged: answers that it said it has.
        missing: of these, how many are not in the records, or not as acknowledged.
        doubled: answers in the records beyond one for each that was sent.
        not_last: students whose answer that counts is not one of those sent last.
    """

    kills: int
    acknowledged: int
    missing: int
    doubled: int
    not_last: int


async def _answer_on(phone: Phone, sent: list[Sent], ended: asyncio.Event, seed: int) -> None:
    random_ = random.Random(seed)
    while not ended.is_set():
        sent.append(await phone.answer(round(random_.uniform(0.0, 359.9), 3)))
        await asyncio.sleep(random_.uniform(0.0, 0.2))


async def _kill(process: Process, kills: int, seed: int) -> None:
    random_ = random.Random(seed)
    for _ in range(kills):
        await asyncio.sleep(random_.uniform(SHORTEST_S, LONGEST_S))
        process.kill()
        await asyncio.to_thread(process.start)
    await asyncio.sleep(SHORTEST_S)


def judged(school: School, id: str, sent: list[Sent], kills: int) -> Killed:
    """What the records contain at the end."""
    names = {one.id: one.name for one in school.people.students(school.sittings.sitting(id).group)}
    trail = school.answers.trail(id)
    kept = {(names[one.student], one.sent): one.value for one in trail}
    counting = Counter((names[one.student], one.sent) for one in school.answers.of_sitting(id))
    last = {one.student: one.id for one in sent}
    return Killed(
        kills,
        len(sent),
        sum(kept.get((one.student, one.id)) != one.value for one in sent),
        # Each phone sent until it was acknowledged, so nothing else can be there.
        len(trail) - len({(one.student, one.id) for one in sent}),
        sum(counting[key] != 1 for key in last.items()),
    )


async def drive(process: Process, school: School, kills: int, phones: int, seed: int) -> Killed:
    """A class that answers all the time on a server that is killed all the time."""
    sitting = school.sittings.move(begun(school).id, step=STEP, phase="open")
    class_ = [Phone(process.address, f"Student {number}") for number in range(phones)]
    await asyncio.gather(*(phone.join(sitting.code) for phone in class_))
    sent: list[Sent] = []
    ended = asyncio.Event()
    answering = [
        asyncio.create_task(_answer_on(phone, sent, ended, seed + number))
        for number, phone in enumerate(class_)
    ]
    await _kill(process, kills, seed)
    ended.set()
    await asyncio.gather(*answering)
    for phone in class_:
        await phone.client.aclose()
    return judged(school, sitting.id, sent, kills)


def run(kills: int, phones: int = 12, seed: int = 1, database: str = "") -> Killed:
    """A separate server and a class on it."""
    with tempfile.TemporaryDirectory() as folder:
        address = database or f"sqlite:///{Path(folder) / 'school.sqlite3'}"
        school = open_school(address)
        process = Process(address)
        try:
            return asyncio.run(drive(process, school, kills, phones, seed))
        finally:
            process.kill()
            school.close()


def table(killed: Killed) -> str:
    """The run as a table in Markdown."""
    rows = [
        ("kills (SIGKILL) while answers came", killed.kills),
        ("answers acknowledged", killed.acknowledged),
        ("of these missing from the records, or other than acknowledged", killed.missing),
        ("answers in the records beyond one for each sending", killed.doubled),
        ("students whose last acknowledged answer does not count", killed.not_last),
    ]
    return "\n".join(["| | |", "| --- | --- |", *(f"| {name} | {value} |" for name, value in rows)])


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--phones", type=int, default=12)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    print(table(run(given.kills, given.phones, given.seed)))
