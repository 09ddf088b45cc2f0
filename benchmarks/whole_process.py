"""The command as a person waits for it: `lubberline fly` on a two-hour track, imports and all.

    python -m benchmarks.whole_process

Run from the repository's root on a quiet machine. One run beforehand fills the cache of compiled kernels.
"""

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from benchmarks.flights import track_csv
from benchmarks.machine import heading, load, table

HOURS = 2.0


def run_s(command: Sequence[str]) -> tuple[float, float]:
    """Wall time and processor time of a process."""
    start, before = time.perf_counter(), os.times()
    subprocess.run(command, check=True, capture_output=True)
    taken, after = time.perf_counter() - start, os.times()
    worked = after.children_user + after.children_system - before.children_user - before.children_system
    return taken, worked


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--repeats", type=int, default=7)
    given = parser.parse_args()
    print(heading(("numpy", "numba")), end="\n\n")
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        track = Path(folder) / "track.csv"
        track.write_text(track_csv(HOURS), encoding="utf-8")
        fly = [sys.executable, "-m", "lubberline.cli", "fly", str(track)]
        out = ["--out", str(Path(folder) / "out")]
        for words, more in (
            ("on the screen", []),
            ("with all files", out),
            ("pump failed at its start, on the screen", ["--fault", "pump=1@0"]),
            ("pump failed at its start, with all files", ["--fault", "pump=1@0", *out]),
        ):
            run_s([*fly, *more])
            wall, processor = zip(*(run_s([*fly, *more]) for _ in range(given.repeats)), strict=True)
            times = (statistics.median(wall), min(wall), statistics.median(processor))
            rows.append([words, *(f"{taken:.2f}" for taken in times)])
    print(table([f"`lubberline fly`, {HOURS:g} h track", "median s", "least s", "processor s"], rows))
    print(f"\nLoad {load()} at the end.")


if __name__ == "__main__":
    main()
