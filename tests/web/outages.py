"""What can go away in the midst of a lesson, and come back: databases, disks, servers, replies."""

import os
import random
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from benchmarks.class_phones import Process
from tests.postgres import Cluster
from tests.web.cutting_proxy import CuttingProxy

HOLD = """
import sqlite3, sys
connection = sqlite3.connect(sys.argv[1], timeout=60.0, isolation_level=None)
connection.execute("BEGIN EXCLUSIVE")
print("held", flush=True)
sys.stdin.read()
"""
PIECE_BYTES = 4096
# A machine with too much to do may take this long to show what has gone away.
LONGEST_UNTOLD_S = 60.0
Told = Callable[[], bool]


def at_once() -> bool:
    """Nobody has to be told."""
    return True


def lasting(for_s: float, is_told: Told) -> Iterator[None]:
    """Again and again until a time is over and everybody who has to see the outage has seen it."""
    begins_s = time.monotonic()
    while (past_s := time.monotonic() - begins_s) < for_s or not (is_told() or past_s > LONGEST_UNTOLD_S):
        yield
        time.sleep(0.05)


def _wait(for_s: float, is_told: Told) -> None:
    for _ in lasting(for_s, is_told):
        pass


def postgresql_killed(cluster: Cluster, for_s: float, is_told: Told = at_once) -> Callable[[], None]:
    """The database's own server ends without a word, and is started again."""

    def outage() -> None:
        cluster.kill()
        try:
            _wait(for_s, is_told)
        finally:
            cluster.start()

    return outage


def sqlite_locked(path: Path, for_s: float, is_told: Told = at_once) -> Callable[[], None]:
    """Another program holds the file's lock."""

    def outage() -> None:
        words = [sys.executable, "-c", HOLD, str(path)]
        with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
            assert other.stdout is not None
            assert other.stdout.readline() == "held\n"
            _wait(for_s, is_told)
            other.communicate()

    return outage


def disk_full(folder: Path, for_s: float, is_told: Told = at_once) -> Callable[[], None]:
    """A file takes all the room that a disk has left."""

    def outage() -> None:
        filling = folder / "filling"
        try:
            # Whatever else frees a little is filled again.
            with filling.open("wb", buffering=0) as file:
                for _ in lasting(for_s, is_told):
                    with suppress(OSError):
                        while True:
                            file.write(bytes(PIECE_BYTES))
        finally:
            filling.unlink(missing_ok=True)

    return outage


def server_killed(
    process: Process, times: int, up_s: tuple[float, float], down_s: float, is_told: Told = at_once
) -> Callable[[], None]:
    """The server is killed and started again at the same port, again and again."""

    def outage() -> None:
        chance = random.Random(7)
        for number in range(times):
            if number:
                time.sleep(chance.uniform(*up_s))
            process.kill()
            _wait(down_s, is_told)
            process.start()

    return outage


def replies_lost(proxy: CuttingProxy, every: int, for_s: float) -> Callable[[], None]:
    """Of the replies each tenth (say) never comes."""

    def outage() -> None:
        proxy.every = every
        try:
            time.sleep(for_s)
        finally:
            proxy.every = 0
        assert proxy.lost > 0

    return outage


@contextmanager
def small_disk(folder: Path, size_mb: int) -> Iterator[Path]:
    """A file system of its own with little room, which only root may make; skips plainly for others."""
    folder.mkdir()
    words = ["mount", "-t", "tmpfs", "-o", f"size={size_mb}m", "tmpfs", str(folder)]
    if os.name != "posix" or os.geteuid() or subprocess.run(words, capture_output=True).returncode:
        said = "only root may make a small disk to fill (mount -t tmpfs)"
        if os.environ.get("CI"):
            pytest.fail(said)
        pytest.skip(said)
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)
