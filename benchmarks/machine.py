"""What the tables of the benchmarks begin with: the machine, the versions, how busy it was."""

import os
import platform
import statistics
import time
from collections.abc import Callable, Sequence
from importlib.metadata import version
from pathlib import Path


def processor() -> str:
    """The processor's name, as the system gives it."""
    info = Path("/proc/cpuinfo")
    if info.exists():
        for line in info.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.split(":", 1)[1].strip()
    return platform.processor() or platform.machine()


def load() -> str:
    """The load average of the last minute, where the system has one."""
    return f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "unknown"


def heading(packages: Sequence[str]) -> str:
    """One line on the machine and one on the versions."""
    versions = ", ".join(f"{name} {version(name)}" for name in packages)
    return (
        f"{time.strftime('%Y-%m-%d')}, {processor()}, {os.cpu_count()} cores, {platform.system()} "
        f"{platform.machine()}, load {load()} at the start. Python {platform.python_version()}, {versions}."
    )


def median_s(run: Callable[[], object], times: int, clock: Callable[[], float] = time.process_time) -> float:
    """Median time of several runs: processor time, which other work on the machine disturbs least."""
    taken = []
    for _ in range(times):
        start = clock()
        run()
        taken.append(clock() - start)
    return statistics.median(taken)


def table(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A Markdown table, the first column left, the others right."""
    lines = [columns, ["---"] + ["---:"] * (len(columns) - 1), *rows]
    return "\n".join("| " + " | ".join(cells) + " |" for cells in lines)
