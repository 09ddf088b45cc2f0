"""Ctrl-C and a request to end, in real processes: in work of Python's own and in one that it cannot stop."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C cannot be sent to one process there")
BEGIN = """
import hashlib, signal, sys, time
from pathlib import Path
signal.signal(signal.SIGINT, signal.default_int_handler)
from lubberline.commands import interrupt
from lubberline.unfinished import moving, part_of
interrupt.listen()
def work():
{work}
try:
    with part_of(Path(sys.argv[1]) / "x") as part:
        part.mkdir()
        (part / "half").write_text("half")
        print("begun", flush=True)
        work()
except KeyboardInterrupt:
    print("heard", flush=True)
    sys.exit(interrupt.exit_code())
"""
PYTHONS_OWN = "while True: time.sleep(0.01)"
# One call that would take hours, and lets other threads run, as a compiled flight does.
ONE_CALL = "hashlib.pbkdf2_hmac('sha256', b'', b'', 2**31 - 1)"
# An interruption that is lost: raised where Python can only tell of it.
LOST = """
class Deaf:
    def __del__(self):
        while True: time.sleep(0.01)
Deaf()
while True: time.sleep(0.01)
"""


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("work", [PYTHONS_OWN, ONE_CALL, LOST])
def test_it_ends_by_the_convention_and_leaves_nothing(number: int, work: str, tmp_path: Path) -> None:
    script = BEGIN.format(work="\n".join(f"    {line}" for line in work.strip("\n").splitlines()))
    with subprocess.Popen(
        [sys.executable, "-c", script, str(tmp_path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "begun\n"
        # Until it is in the midst of its work.
        time.sleep(0.1)
        process.send_signal(number)
        _, err = process.communicate(timeout=60)
    assert process.returncode == 128 + number
    assert err == ""
    assert list(tmp_path.iterdir()) == []


def test_a_move_under_way_is_ended_first(tmp_path: Path) -> None:
    steps = (
        "print('moving', flush=True)",
        "time.sleep(0.8)",
        "Path(sys.argv[1], 'moved').write_text('whole')",
    )
    work = "\n".join(f"        {step}" for step in steps)
    script = BEGIN.format(work=f"    with moving():\n{work}")
    with subprocess.Popen(
        [sys.executable, "-c", script, str(tmp_path)], stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        assert [process.stdout.readline().strip() for _ in range(2)] == ["begun", "moving"]
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=60)
    assert process.returncode == 130
    assert [path.name for path in tmp_path.iterdir()] == ["moved"]
