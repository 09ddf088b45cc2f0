"""A program killed while it writes: whatever it said was kept is there, once."""

import os
import random
import subprocess
import sys
from collections import Counter
from pathlib import Path

from lubberline.store.school import open_school
from tests.store.made import taught

ROOT = Path(__file__).parents[2]
KILLS = 2


def test_what_was_acknowledged_survives_a_kill(address: str) -> None:
    school = open_school(address)
    class_ = taught(school)
    student = class_.students[0].id
    school.close()
    chance = random.Random(5)
    told: list[int] = []
    for _ in range(KILLS):
        first = max(told, default=-1) + 1
        words = [sys.executable, "-m", "tests.store.writes_until_killed"]
        writing = subprocess.Popen(
            [*words, address, class_.paper.id, student, str(first)],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
            stdout=subprocess.PIPE,
            text=True,
        )
        assert writing.stdout is not None
        told += [int(writing.stdout.readline()) for _ in range(chance.randint(1, 30))]
        writing.kill()
        told += [int(line) for line in writing.stdout.read().splitlines() if line]
        writing.wait(20.0)
        writing.stdout.close()
    school = open_school(address)
    kept = Counter(one.sent for one in school.answers.trail(class_.paper.id))
    assert len(told) >= KILLS
    assert all(kept[f"n{number}"] == 1 for number in told)
    # At most the one that was under way when it was killed is more than was told.
    assert len(kept) - len(set(told)) <= KILLS
    assert max(kept.values()) == 1
    (last,) = school.answers.of_sitting(class_.paper.id)
    assert int(last.sent[1:]) >= max(told)
    school.close()
