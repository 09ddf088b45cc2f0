"""All commands as real processes, each with every fault of its surroundings. The quick versions of what is
looked for here are in this folder's other tests, in process."""

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

pytestmark = [
    pytest.mark.acceptance,
    pytest.mark.skipif(sys.platform == "win32", reason="signals and devices of Unix"),
]
resource = pytest.importorskip("resource")
ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo"
FLIGHT = str(DEMO / "flights/eastbound_60n.toml")
OAK = str(DEMO / "aircraft/zz_oak.toml")
STATISTICS = ("statistics", str(DEMO / "answers/answers.csv"), "--paper", str(DEMO / "answers/paper.json"))
# OUT stands for a folder to write to.
WRITING = {
    "fly": ("fly", FLIGHT, "--aircraft", OAK, "--ensemble", "20", "--out", "OUT"),
    "ask": ("ask", "--blueprint", str(DEMO / "papers/heading_instruments.toml"), "--out", "OUT"),
    "judge": ("judge", str(DEMO / "logs/zz_oak.csv"), "--aircraft", OAK, "--out", "OUT"),
    "plan": ("plan", FLIGHT, "--aircraft", OAK, "--out", "OUT"),
    "swing": ("swing", str(DEMO / "swings/zz_oak.csv"), "--out", "OUT"),
    "statistics": (*STATISTICS, "--out", "OUT"),
    "handout": ("lesson", "handout", str(DEMO / "lessons/1_how_it_works.md"), "--out", "OUT"),
    "course": ("course", "CLASS", "--out", "OUT"),
}
SAYING = {
    "ideas": ("ideas",),
    "wander": ("wander", "--latitude", "60"),
    "check": ("lesson", "check", str(DEMO / "lessons/1_how_it_works.md")),
    "time": ("lesson", "time", str(DEMO / "lessons/1_how_it_works.md")),
    "where": ("records", "where"),
    "help": ("--help",),
}
RECORDS = {"demo-class": ("demo-class",), "backup": ("records", "backup", "OUT")}
ALL = {**WRITING, **SAYING}
# A slow machine is no fault, a hang is one.
LIMIT_S = 300


@pytest.fixture(scope="session")
def school(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A file of records with the demo class, and that class's title."""
    folder = tmp_path_factory.mktemp("school")
    done = subprocess.run(
        [sys.executable, "-m", "lubberline", "demo-class"],
        env={**os.environ, "LUBBERLINE_DATABASE": f"sqlite:///{folder / 'school.db'}"},
        capture_output=True,
        text=True,
        check=True,
    )
    return folder / "school.db", done.stdout.splitlines()[0].partition(" now: ")[2]


class Run:
    """A command in a folder of its own, with records of its own."""

    def __init__(self, school: tuple[Path, str], folder: Path) -> None:
        self.folder = folder
        self.title = school[1]
        self.out = folder / "out"
        database = folder / "school.db"
        shutil.copy(school[0], database)
        self.environment = {**os.environ, "LUBBERLINE_DATABASE": f"sqlite:///{database}"}
        self.before: set[str] = set()

    def command(self, arguments: tuple[str, ...]) -> list[str]:
        names = {"OUT": str(self.out), "CLASS": self.title}
        return [sys.executable, "-m", "lubberline", *(names.get(one, one) for one in arguments)]

    def __call__(
        self, arguments: tuple[str, ...], shell: str = "", preexec: Callable[[], None] | None = None
    ) -> subprocess.CompletedProcess[str]:
        command = self.command(arguments)
        if shell:
            command = ["bash", "-c", f'"$@" {shell}', "bash", *command]
        return subprocess.run(
            command,
            env=self.environment,
            cwd=self.folder,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=LIMIT_S,
            preexec_fn=preexec,
            check=False,
        )

    def written(self) -> set[str]:
        """Files that the command has written, hidden ones as well; not the database's own."""
        found = (path.relative_to(self.folder) for path in self.folder.rglob("*"))
        return {str(path) for path in found if not str(path).startswith("school.db")}


@pytest.fixture
def run(school: tuple[Path, str], tmp_path: Path) -> Run:
    return Run(school, tmp_path)


def sentences(done: subprocess.CompletedProcess[str]) -> list[str]:
    """What stands on standard error without what tells of progress."""
    return [line for line in done.stderr.splitlines() if line.startswith("lubberline: ")]


def assert_plain(done: subprocess.CompletedProcess[str]) -> None:
    assert "Traceback" not in done.stderr
    assert "Exception ignored" not in done.stderr


@pytest.mark.parametrize("name", [*ALL, *RECORDS])
def test_without_a_fault_it_works(run: Run, name: str) -> None:
    if name == "demo-class":
        run.environment["LUBBERLINE_DATABASE"] = f"sqlite:///{run.folder / 'school.db.new'}"
    done = run({**ALL, **RECORDS}[name])
    assert_plain(done)
    assert done.returncode == 0
    assert run.out.exists() == (name in WRITING or name == "backup")


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("reader", ["true", "head -1"])
def test_a_reader_who_goes_away(run: Run, name: str, reader: str) -> None:
    done = run(ALL[name], f"| {reader} > read; exit ${{PIPESTATUS[0]}}")
    assert_plain(done)
    assert (done.returncode, sentences(done)) == (0, [])
    assert (len(run.written()) > 2) == (name in WRITING)


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("place", ["> /dev/full", ">&-"])
def test_output_that_cannot_be_written(run: Run, name: str, place: str) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("no /dev/full here")
    done = run(ALL[name], place)
    assert_plain(done)
    assert (done.returncode, len(sentences(done))) == (2, 1)
    assert sentences(done)[0].startswith("lubberline: output: ")
    assert run.out.exists() == (name in WRITING)


@pytest.mark.parametrize("name", [*WRITING, "backup"])
def test_a_disk_that_fills_up_while_files_are_written(run: Run, name: str) -> None:
    """The system refuses each file beyond 2 kB, as it does where no room is left."""
    done = run(
        {**WRITING, **RECORDS}[name],
        preexec=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (2048, 2048)),
    )
    assert_plain(done)
    assert (done.returncode, len(sentences(done))) == (2, 1)
    assert run.written() == set()


@pytest.mark.parametrize("name", WRITING)
def test_a_full_disk(run: Run, name: str) -> None:
    """A disk of 16 kB, in a name space of its own."""
    run.out.mkdir()
    mount = f"mount -t tmpfs -o size=16k tmpfs {run.out}"
    if subprocess.run(["unshare", "-m", "bash", "-c", mount], check=False, capture_output=True).returncode:
        pytest.skip("a disk cannot be mounted here")
    script = f'{mount} && "$@"; code=$?; ls -A {run.out} >&2; exit $code'
    command = ["unshare", "-m", "bash", "-c", script, "bash", *run.command(WRITING[name])]
    done = subprocess.run(
        command, env=run.environment, capture_output=True, text=True, timeout=LIMIT_S, check=False
    )
    assert_plain(done)
    assert (done.returncode, len(sentences(done))) == (2, 1)
    assert "the disk is full" in sentences(done)[0]
    assert done.stderr.endswith(sentences(done)[0] + "\n")


@pytest.mark.parametrize("name", WRITING)
def test_a_folder_that_can_only_be_read(run: Run, name: str) -> None:
    run.out.mkdir()
    mount = f"mount -t tmpfs -o ro tmpfs {run.out}"
    if subprocess.run(["unshare", "-m", "bash", "-c", mount], check=False, capture_output=True).returncode:
        pytest.skip("a disk cannot be mounted here")
    command = ["unshare", "-m", "bash", "-c", f'{mount} && "$@"', "bash", *run.command(WRITING[name])]
    done = subprocess.run(
        command, env=run.environment, capture_output=True, text=True, timeout=LIMIT_S, check=False
    )
    assert (done.returncode, done.stdout, len(done.stderr.splitlines())) == (2, "", 1)
    assert "read-only disk" in done.stderr


ENCODINGS = {
    "ascii": {"PYTHONIOENCODING": "ascii"},
    "cp1252": {"PYTHONIOENCODING": "cp1252"},
    "C": {"LC_ALL": "C", "PYTHONUTF8": "0"},
}


@pytest.mark.parametrize(
    ("name", "encoding"),
    [*((name, "ascii") for name in ALL), ("fly", "cp1252"), ("fly", "C"), ("where", "C")],
)
def test_few_characters(run: Run, name: str, encoding: str) -> None:
    run.environment |= {"PYTHONCOERCECLOCALE": "0", **ENCODINGS[encoding]}
    done = run(ALL[name], "> read")
    assert_plain(done)
    assert done.returncode == 0


@pytest.mark.parametrize("name", ["wander", "swing", "ideas", "where", "judge"])
@pytest.mark.parametrize("place", ["file", "file/deep", "/proc/none", "HOME"])
def test_a_cache_that_cannot_be_written(run: Run, name: str, place: str) -> None:
    (run.folder / "file").write_text("mine")
    if place == "HOME":
        for variable in ("LUBBERLINE_CACHE", "XDG_CACHE_HOME"):
            run.environment.pop(variable, None)
        run.environment["HOME"] = "/proc/none"
    else:
        run.environment["LUBBERLINE_CACHE"] = place
    done = run(ALL[name])
    assert_plain(done)
    assert done.returncode == 0
    # Only those that compile have something to say.
    assert done.stderr.count("compiled in memory") == (name in ("wander", "judge"))


# Long enough work that an interruption meets it; delays from the imports to the last files.
LONG = {
    **WRITING,
    **RECORDS,
    "fly": ("fly", FLIGHT, "--aircraft", OAK, "--ensemble", "20000", "--out", "OUT"),
}


@pytest.mark.parametrize("delay_s", [1.5, 2.5, 4.0])
@pytest.mark.parametrize(
    ("name", "compiled"), [*((name, True) for name in LONG), ("fly", False), ("judge", False)]
)
def test_an_interruption(run: Run, name: str, delay_s: float, compiled: bool) -> None:
    if not compiled:
        run.environment["LUBBERLINE_CACHE"] = str(run.folder / "school.db-cache")
    with subprocess.Popen(
        run.command(LONG[name]),
        env=run.environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        time.sleep(delay_s)
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=LIMIT_S)
    assert "Traceback" not in err
    if process.returncode == 2:
        # It had ended before: these records hold the demo class already.
        assert name == "demo-class"
        assert "already" in err
    elif process.returncode != 0:
        assert process.returncode == 130
        assert run.written() == set()
    # What the records hold is whole: the whole class, or what was there before.
    done = run(("records", "where"))
    assert done.returncode == 0
    assert re.search(r"\b(14|28) students", done.stdout)
