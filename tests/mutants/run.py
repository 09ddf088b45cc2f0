"""Breaks one law at a time and sees whether a test notices: `python -m tests.mutants.run`.

The sources are copied, a mutant is put in, and the tests that ought to notice are run against the copy, the
likeliest first, until one fails: the one that did so last, then those of the modules named, then all of the
room. What is found is written to the report as it comes, so that a run that was interrupted goes on where it
stopped; a report of other sources or tests is begun anew.
"""

import argparse
import hashlib
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Self

import msgspec
import pytest

from tests.mutants.catalogue import (
    HERE,
    PACKAGE,
    ROOT,
    Mutant,
    dependents,
    holds_kernel_code,
    mutants,
    place,
    standing,
)
from tests.mutants.warm import Asked

KILLED, SURVIVED, BROKEN = "killed", "survived", "broken"
KILLED_BEFORE = HERE / "killed_before.txt"
KILLED_AFTER = HERE / "killed_after.txt"
LONGEST_S = 600
# A test function without its parameters, which may hold anything.
_FAILED = re.compile(r"^(?:FAILED|ERROR) ([^\s[]+)", re.MULTILINE)


@dataclass(frozen=True)
class Found:
    """What became of a mutant.

    Attributes:
        id: of the mutant.
        outcome: `KILLED`, `SURVIVED`, or `BROKEN` where tests could not be run.
        test: the first that failed; why it is broken; '' for a survivor.
        lasting_s: how long it took.
        key: of the mutant's text and of all sources and tests; another one makes this worthless.
    """

    id: str
    outcome: str
    test: str
    lasting_s: float
    key: str


def tree_digest() -> str:
    """A digest of sources and tests, but of these."""
    digest = hashlib.sha256()
    for path in sorted([*PACKAGE.rglob("*.py"), *(ROOT / "tests").rglob("*.py")]):
        if HERE not in path.parents:
            digest.update(path.relative_to(ROOT).as_posix().encode() + path.read_bytes())
    return digest.hexdigest()


class Workshop:
    """A copy of the sources in which one mutant at a time is tried.

    Args:
        folder: for the copy and for compiled kernels; what is compiled there serves the next run.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.copy = folder / "src" / "lubberline"
        # Of the mutant in hand.
        self.cache = folder / "cache"
        shutil.rmtree(self.cache, ignore_errors=True)
        shutil.rmtree(self.copy, ignore_errors=True)
        # Times of change are kept: by them Numba knows its files again.
        shutil.copytree(PACKAGE, self.copy, ignore=shutil.ignore_patterns("__pycache__"))
        # The package looks for the invented school beside its sources.
        shutil.copytree(ROOT / "demo", folder / "demo", dirs_exist_ok=True)
        self.tree = tree_digest()
        self.killers = killers()
        environment = {
            **os.environ,
            "PYTHONPATH": str(self.copy.parent),
            "LUBBERLINE_CACHE": str(self.cache),
            "HYPOTHESIS_STORAGE_DIRECTORY": str(folder / "hypothesis"),
        }
        self.warm = subprocess.Popen(
            [sys.executable, "-m", "tests.mutants.warm", str(folder / "kept" / self.tree)],
            cwd=ROOT,
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            encoding="utf-8",
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.warm.communicate()

    def key(self, mutant: Mutant) -> str:
        """Of a mutant in this tree."""
        parts = (self.tree, mutant.id, mutant.was, mutant.now, *mutant.folders)
        return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:16]

    def tried(self, mutant: Mutant) -> Found:
        """Put a mutant in, run its tests, take it out."""
        begun = time.monotonic()
        if standing(mutant) != 1:
            return Found(
                mutant.id, BROKEN, f"its text stands {standing(mutant)} times", 0.0, self.key(mutant)
            )
        sound = place(mutant)
        broken = self.copy / sound.relative_to(PACKAGE)
        text = sound.read_text(encoding="utf-8")
        at = mutant.pattern.search(text)
        assert at is not None
        stale = dependents(sound) if holds_kernel_code(text, at.start()) else set()
        broken.write_text(text[: at.start()] + mutant.now + text[at.end() :], encoding="utf-8")
        outcome, test = SURVIVED, ""
        try:
            for tests in self._by_nearness(mutant):
                if outcome == SURVIVED:
                    outcome, test = self.run(tests, stale)
        finally:
            shutil.copy2(sound, broken)
            shutil.rmtree(self.cache, ignore_errors=True)
        return Found(mutant.id, outcome, test, round(time.monotonic() - begun, 1), self.key(mutant))

    def _by_nearness(self, mutant: Mutant) -> Iterator[list[str]]:
        """What to run for a mutant: its last killer, the likely modules, the others of its folders."""
        killer = self.killers.get(mutant.id, "")
        if (ROOT / killer.partition("::")[0]).is_file():
            yield [killer]
        # By themselves: a folder takes long to collect.
        likely = mutant.likely()
        if likely:
            yield likely
        yield [*(f"--ignore={module}" for module in likely), *mutant.folders]

    def failing_unbroken(self, tests: Iterable[str]) -> set[str]:
        """Those of some tests that fail with no law broken: they prove nothing."""
        wanted = sorted({test for test in tests if (ROOT / test.partition("::")[0]).exists()})
        return set(_FAILED.findall(self._pytest(wanted, set())[1])) if wanted else set()

    def run(self, tests: Sequence[str], stale: set[Path]) -> tuple[str, str]:
        """The outcome of some tests, and the first that failed."""
        code, output = self._pytest(["-x", *tests], stale)
        failed = _FAILED.search(output)
        # A killer that has another name now is no test any more.
        gone = code == pytest.ExitCode.USAGE_ERROR and "not found:" in output
        if gone or code in (0, pytest.ExitCode.NO_TESTS_COLLECTED):
            return SURVIVED, ""
        if code == -signal.SIGXCPU:
            return KILLED, f"nothing after {LONGEST_S} s of processor time"
        if code == 1 and failed:
            return KILLED, failed[1]
        return BROKEN, output[-600:]

    def _pytest(self, tests: Sequence[str], stale: set[Path]) -> tuple[int, str]:
        modules = sorted(f"{path.parent.name}/{path.stem}" for path in stale)
        output = self.folder / "output.txt"
        asked = Asked(list(tests), modules, str(output), LONGEST_S)
        assert self.warm.stdin is not None
        assert self.warm.stdout is not None
        self.warm.stdin.write(msgspec.json.encode(asked).decode() + "\n")
        self.warm.stdin.flush()
        code = int(self.warm.stdout.readline())
        return code, output.read_text(encoding="utf-8", errors="replace")


def read_report(path: Path | None) -> dict[str, Found]:
    """What an earlier run found, by key."""
    if path is None or not path.exists():
        return {}
    lines = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return {line["key"]: Found(**line) for line in lines}


def found_by_run(folder: Path, only: Sequence[str] = (), report: Path | None = None) -> list[Found]:
    """Try the mutants, or only some; what the report knows already is not tried again.

    A mutant killed by a test that fails anyway counts as a survivor.
    """
    known = read_report(report)
    wanted = [mutant for mutant in mutants() if not only or mutant.id in only]
    found = []
    with Workshop(folder) as workshop:
        for number, mutant in enumerate(wanted, start=1):
            one = known.get(workshop.key(mutant))
            if one is None:
                one = workshop.tried(mutant)
                if report is not None:
                    with report.open("a", encoding="utf-8") as file:
                        file.write(json.dumps(asdict(one)) + "\n")
            told = f"{one.outcome} {one.test} ({one.lasting_s:.0f} s)"
            print(f"{number}/{len(wanted)} {one.id}: {told}", flush=True)
            found.append(one)
        useless = workshop.failing_unbroken(one.test for one in found if one.outcome == KILLED)
    return [
        Found(one.id, SURVIVED, "", one.lasting_s, one.key) if one.test in useless else one for one in found
    ]


def table_of(found: Sequence[Found]) -> str:
    """The outcomes by room, and the laws that no test holds."""
    by_id = {mutant.id: mutant for mutant in mutants()}
    counts = Counter((by_id[one.id].room, one.outcome) for one in found)
    lines = ["room          killed  survived  broken"]
    for room in dict.fromkeys(by_id[one.id].room for one in found):
        killed, survived, broken = (counts[room, outcome] for outcome in (KILLED, SURVIVED, BROKEN))
        lines.append(f"{room:<12}  {killed:>6}  {survived:>8}  {broken:>6}")
    lines += [f"{one.outcome}: {one.id}: {by_id[one.id].law}" for one in found if one.outcome != KILLED]
    return "\n".join(lines)


def _listed(path: Path) -> dict[str, str]:
    """A list of mutants, one a line, each with the test that killed it or none; # begins a remark."""
    lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
    words = [line.partition(" ") for line in lines if line and not line.startswith("#")]
    return {id: test.strip() for id, _, test in words}


def killed_before() -> set[str]:
    """The ids of those that the tests noticed when the list was made."""
    return set(_listed(KILLED_BEFORE))


def killers() -> dict[str, str]:
    """The tests that noticed each of them when all were last run."""
    return _listed(KILLED_AFTER)


def write_killers(found: Sequence[Found]) -> None:
    """Keep which test noticed each; what was not run keeps its line."""
    kept = killers() | {one.id: one.test for one in found}
    for one in found:
        if one.outcome != KILLED:
            del kept[one.id]
    lines = [f"{mutant.id} {kept[mutant.id]}" for mutant in mutants() if mutant.id in kept]
    head = "# The test that noticed each: python -m tests.mutants.run --write; the next run begins with it."
    KILLED_AFTER.write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")


def main() -> int:
    """The command line; 1 when a mutant that was killed before is not any more."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", nargs="+", default=(), metavar="ID", help="these mutants alone")
    parser.add_argument("--report", type=Path, help="where findings are kept, one JSON object a line")
    parser.add_argument(
        "--folder", type=Path, help="for the copy and compiled kernels; kept for the next run"
    )
    parser.add_argument(
        "--write", action="store_true", help=f"write {KILLED_AFTER.name}, which the next run begins with"
    )
    given = parser.parse_args()
    unknown = set(given.only) - {mutant.id for mutant in mutants()}
    if unknown:
        parser.error(f"no mutant is called {', '.join(sorted(unknown))}")
    with tempfile.TemporaryDirectory() as temporary:
        found = found_by_run(given.folder or Path(temporary), given.only, given.report)
    print(table_of(found))
    if given.write:
        write_killers(found)
    lost = killed_before() & {one.id for one in found if one.outcome != KILLED}
    if lost:
        print(f"killed before and not any more: {', '.join(sorted(lost))}")
    return 1 if lost else 0


if __name__ == "__main__":
    sys.exit(main())
