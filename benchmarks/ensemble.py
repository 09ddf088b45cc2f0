"""An ensemble's cost by length of flight, by members and by threads, and its greatest memory.

    python -m benchmarks.ensemble

Run from the repository's root on a quiet machine: threads are compared in wall time.
"""

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from benchmarks.flights import hold_toml
from benchmarks.machine import heading, load, median_s, table
from lubberline.flight.legs.motion import read_legs_text
from lubberline.simulation.flying import fly_ensemble, prepare_flight
from lubberline.simulation.heading_indicator.settings import Action
from lubberline.simulation.panel import Panel

HOURS = (0.5, 1.0, 2.0, 4.0)
MEMBERS = (25, 50, 100, 200)
FLIGHT_H = 2.0
COMMAND_MEMBERS = 1000
MIB = 1024.0

Prepared = tuple[Panel, tuple[Action, ...]]


def prepared(hours: float) -> Prepared:
    return prepare_flight(read_legs_text("hold.toml", hold_toml(hours)), set_every_min=15.0)


def member_s(flight: Prepared, members: int, repeats: int) -> float:
    """Processor time of each member beyond the first, so without what is done once a flight."""
    whole = median_s(lambda: fly_ensemble(*flight, members, workers=1), repeats)
    alone = median_s(lambda: fly_ensemble(*flight, 1, workers=1), repeats)
    return (whole - alone) / (members - 1)


def by_length(repeats: int) -> str:
    rows = []
    for hours in HOURS:
        flight = prepared(hours)
        real_s = flight[0].motion.duration_s
        taken = member_s(flight, 20, repeats)
        rows.append([f"{real_s / 3600.0:.2f}", f"{1e3 * taken:.1f}", f"{1e3 * taken * 3600.0 / real_s:.2f}"])
    return table(["flight, h", "ms per member", "ms per member and hour"], rows)


def by_members(repeats: int) -> str:
    flight = prepared(FLIGHT_H)
    rows = []
    for members in MEMBERS:
        taken = median_s(lambda count=members: fly_ensemble(*flight, count, workers=1), repeats)
        rows.append([str(members), f"{taken:.2f}", f"{1e3 * taken / members:.1f}"])
    return table(["members", "s", "ms per member"], rows)


def by_threads(repeats: int) -> str:
    """One and two threads in turns, in wall time."""
    flight = prepared(FLIGHT_H)
    taken: dict[int, list[float]] = {1: [], 2: []}
    for _ in range(repeats):
        for workers, times in taken.items():
            times.append(
                median_s(
                    lambda count=workers: fly_ensemble(*flight, 200, workers=count), 1, time.perf_counter
                )
            )
    one, two = (statistics.median(taken[workers]) for workers in (1, 2))
    return table(
        ["threads", "s", "faster by"], [["1", f"{one:.2f}", "1"], ["2", f"{two:.2f}", f"{one / two:.2f}"]]
    )


def whole_command() -> str:
    """Wall time and greatest memory of the command with its progress bar."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "hold.toml"
        file.write_text(hold_toml(FLIGHT_H), encoding="utf-8")
        command = [sys.executable, "-m", "lubberline.cli", "fly", str(file), "--set-every", "15"]
        start = time.perf_counter()
        with subprocess.Popen(
            [*command, "--ensemble", str(COMMAND_MEMBERS)], stdout=subprocess.PIPE, stderr=subprocess.PIPE
        ) as running:
            _, said = running.communicate()
            if running.returncode:
                raise RuntimeError(said.decode())
        taken = time.perf_counter() - start
    peak_mib = greatest_child_kib() / MIB
    return (
        f"`lubberline fly hold.toml --set-every 15 --ensemble {COMMAND_MEMBERS}`, {FLIGHT_H:g} h: "
        f"{taken:.1f} s, {peak_mib:.0f} MiB at most."
    )


def greatest_child_kib() -> float:
    """Greatest resident memory of a child that has ended; Unix alone."""
    import resource

    scale = 1024.0 if sys.platform == "darwin" else 1.0
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / scale


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--repeats", type=int, default=3)
    given = parser.parse_args()
    fly_ensemble(*prepared(0.5), 2)
    print(heading(("numpy", "numba")), end="\n\n")
    print(by_length(given.repeats), end="\n\n")
    print(by_members(given.repeats), end="\n\n")
    print(by_threads(given.repeats), end="\n\n")
    print(whole_command(), end="\n\n")
    print(f"Load {load()} at the end ({os.cpu_count()} cores).")


if __name__ == "__main__":
    main()
