"""No file that a person gives breaks the program: it is read, or refused in a sentence, soon."""

import contextlib
import os
import signal
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest

from lubberline.errors import InputError, Unavailable
from tests.mutated.mutate import CHANGES
from tests.mutated.readers import READERS, Reader

QUICK, LONG = 15, 20_000
# Of work, not of waiting: the machine may be busy.
LONGEST_S = 15.0
LONGEST_MESSAGE = 5_000


class TookTooLongError(Exception):
    """A file that keeps the program busy."""


@contextlib.contextmanager
def bounded() -> Iterator[None]:
    if not hasattr(signal, "setitimer"):
        yield
        return

    def over(*_: object) -> None:
        raise TookTooLongError

    before = signal.signal(signal.SIGPROF, over)
    signal.setitimer(signal.ITIMER_PROF, LONGEST_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


def mutated(reader: Reader, folder: Path, seeds: range) -> tuple[Counter[str], list[str]]:
    """What became of so many changed files, and each that ended in an error of another kind."""
    done: Counter[str] = Counter()
    foreign: list[str] = []
    path = folder / reader.name
    for seed in seeds:
        random = Random(f"{reader.name} {seed}")
        reader.make(path, random)
        state = "read"
        try:
            # The first that is used may compile a kernel.
            with bounded() if done["used"] else contextlib.nullcontext():
                try:
                    found = reader.read(path)
                    if random.randrange(reader.used_of) == 0:
                        state = "used"
                        reader.use(found)
                    elif hasattr(found, "close"):
                        found.close()
                except (InputError, Unavailable) as error:
                    state = "refused" if state == "read" else "refused when used"
                    if len(str(error).encode()) > LONGEST_MESSAGE:
                        raise OverflowError("a message that nobody can read") from None
        except Exception as error:
            state = "foreign"
            last = traceback.extract_tb(error.__traceback__)[-1]
            told = f"{type(error).__name__}: {error}"[:300]
            foreign.append(f"{reader.name} {seed}: {told} ({Path(last.filename).name}:{last.lineno})")
        done[state] += 1
    return done, foreign


@pytest.mark.parametrize("reader", READERS, ids=lambda one: one.name)
def test_a_changed_file_is_read_or_refused(reader: Reader, tmp_path: Path) -> None:
    done, foreign = mutated(reader, tmp_path, range(QUICK))
    assert foreign == []
    assert done.total() == QUICK


@pytest.mark.acceptance
@pytest.mark.parametrize("reader", READERS, ids=lambda one: one.name)
def test_20_000_changed_files_are_read_or_refused(reader: Reader, tmp_path: Path) -> None:
    count = int(os.environ.get("MUTATED", LONG))
    began_s = time.monotonic()
    done, foreign = mutated(reader, tmp_path, range(count))
    print(f"{reader.name}: {dict(done)} in {time.monotonic() - began_s:.0f} s")
    assert foreign == []
    assert done.total() == count
    # Neither is everything refused at the door, nor is nothing wrong with any.
    assert done["refused"] > count // 50
    assert done["read"] + done["used"] > count // 50
    assert done["used"] + done["refused when used"] > 0


def test_every_change_is_one() -> None:
    for kind, changes in CHANGES.items():
        for change in changes:
            text = 'a = 1\n[b]\nc = "d"\n,x;y\n<e f="g">h</e>\n'
            assert any(change(text, Random(seed)) != text for seed in range(20)), (kind, change)
