"""Ctrl-C and a request to end, in real processes: in work of Python's own and in one that it cannot stop."""

import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
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


# A command of the command line whose work is one such call.
COMMAND = f"""
import hashlib, signal, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)
from lubberline import cli
from lubberline.commands import fly, terminal
terminal.AFTER_S, terminal.BAR_EVERY_S = 0.0, 0.01
def work(_):
    time.sleep(0.3)
    print("begun", flush=True)
    {ONE_CALL}
cli.COMMANDS = (fly.IDEAS._replace(act=work),)
sys.argv = ["lubberline", "ideas"]
sys.exit(cli.main())
"""


@contextmanager
def begun(script: str, folder: Path) -> Iterator[subprocess.Popen[str]]:
    """A process in the midst of its work; one that hears nothing does not outlive the test."""
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    with subprocess.Popen([sys.executable, "-c", script, str(folder)], text=True, **pipes) as process:
        try:
            assert process.stdout is not None
            assert process.stdout.readline() == "begun\n"
            yield process
        finally:
            process.kill()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("work", [PYTHONS_OWN, ONE_CALL, LOST])
def test_it_ends_by_the_convention_and_leaves_nothing(number: int, work: str, tmp_path: Path) -> None:
    script = BEGIN.format(work="\n".join(f"    {line}" for line in work.strip("\n").splitlines()))
    with begun(script, tmp_path) as process:
        time.sleep(0.1)
        process.send_signal(number)
        _, err = process.communicate(timeout=60)
    assert process.returncode == 128 + number
    assert err == ""
    assert list(tmp_path.iterdir()) == []


def test_a_command_listens_and_tells_how_far_it_is(tmp_path: Path) -> None:
    with begun(COMMAND, tmp_path) as process:
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=60)
    assert process.returncode == 130
    assert err == "Listing: 0 s so far\n"


def test_a_move_under_way_is_ended_first(tmp_path: Path) -> None:
    steps = (
        "print('begun', flush=True)",
        "time.sleep(0.8)",
        "Path(sys.argv[1], 'moved').write_text('whole')",
    )
    work = "\n".join(f"        {step}" for step in steps)
    told_later = BEGIN.replace('        print("begun", flush=True)\n', "")
    script = told_later.format(work=f"    with moving():\n{work}")
    with begun(script, tmp_path) as process:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=60)
    # The files are there, so the command did what was asked.
    assert process.returncode == 0
    assert [path.name for path in tmp_path.iterdir()] == ["moved"]


def ended(script: str, *given: str) -> tuple[int, str]:
    done = subprocess.run([sys.executable, "-c", script, *given], capture_output=True, text=True, timeout=60)
    return done.returncode, done.stderr


def test_an_interruption_while_the_program_is_imported_ends_it_without_a_word() -> None:
    """A module that is half imported makes an error of its own out of it, as compiled ones do."""
    script = """
import os, signal, sys, time
class Importing:
    def find_spec(self, name, *_):
        if name == "lubberline.cli":
            try:
                os.kill(os.getpid(), signal.SIGINT)
                time.sleep(5)
            except BaseException:
                raise ImportError("half") from None
sys.meta_path.insert(0, Importing())
signal.signal(signal.SIGINT, signal.default_int_handler)
from lubberline.__main__ import run
run()
"""
    assert ended(script) == (130, "")


def test_records_are_in_the_one_file_after_an_interruption_beside_the_engine(tmp_path: Path) -> None:
    file = tmp_path / "school.sqlite3"
    script = """
import os, signal, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)
from lubberline.commands import interrupt
from lubberline.store.school import open_school
sys.modules["lubberline.compiler"] = sys
interrupt.listen()
school = open_school(sys.argv[1])
school.people.add_group("Spring")
os.kill(os.getpid(), signal.SIGINT)
time.sleep(5)
"""
    assert ended(script, f"sqlite:///{file}") == (130, "")
    assert [path.name for path in tmp_path.iterdir()] == [file.name]
