"""start.py: what it says on each system, and when it does nothing."""

import ast
import importlib.util
import io
import json
import os
import socket
import subprocess
import sys
import threading
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from tools.start import browsers, causes, console, door, environment, first_flight, paths, sizes

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def start() -> ModuleType:
    spec = importlib.util.spec_from_file_location("start", ROOT / "start.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("version", [(2, 7), (3, 6), (3, 10), (3, 15)])
def test_a_python_that_will_not_do_is_told_so(start: ModuleType, version: tuple[int, int]) -> None:
    told = start.refuse((*version, 0))
    assert f"Python {version[0]}.{version[1]}" in told
    assert "3.11 to 3.14" in told


@pytest.mark.parametrize("minor", [11, 12, 13, 14])
def test_a_python_that_will_do_is_not(start: ModuleType, minor: int) -> None:
    assert start.refuse((3, minor, 0)) == ""


def test_start_is_readable_to_old_pythons() -> None:
    text = (ROOT / "start.py").read_text(encoding="utf-8")
    tree = ast.parse(text, feature_version=(3, 4))
    assert not any(isinstance(node, ast.JoinedStr | ast.AnnAssign) for node in ast.walk(tree))


def test_start_needs_only_the_standard_library() -> None:
    foreign = set()
    for path in [ROOT / "start.py", *(ROOT / "tools" / "start").glob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            foreign |= {name.split(".")[0] for name in names} - sys.stdlib_module_names - {"tools"}
    assert not foreign


# The package names are those of the systems' own documentation, from memory.
@pytest.mark.parametrize(
    ("system", "release", "python", "command"),
    [
        ("linux", "ID=debian", "/usr/bin/python3", "sudo apt install python3-venv"),
        ("linux", 'ID=ubuntu\nID_LIKE="debian"', "/usr/bin/python3.12", "sudo apt install python3.12-venv"),
        ("linux", "ID=fedora", "/usr/bin/python3", "sudo dnf install python3-pip"),
        (
            "linux",
            'ID=rocky\nID_LIKE="rhel centos fedora"',
            "/usr/bin/python3",
            "sudo dnf install python3-pip",
        ),
        ("linux", "ID=arch", "/usr/bin/python3", "sudo pacman -S python"),
        ("darwin", "", "/usr/bin/python3", "brew install python@3.13"),
        ("win32", "", "python.exe", "winget install Python.Python.3.13"),
    ],
)
def test_a_missing_venv_gets_the_one_command(system: str, release: str, python: str, command: str) -> None:
    assert environment.venv_advice(system, release, python) == command


def test_missing_venv_stops_with_that_command(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(paths, "STAMP", tmp_path / "stamp.json")
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    with pytest.raises(console.Stop, match="lacks venv or pip"):
        environment.prepare()


@pytest.mark.parametrize(
    ("output", "says"),
    [
        ("npm error code SELF_SIGNED_CERT_IN_CHAIN\nnpm error ENOTFOUND", "NODE_EXTRA_CA_CERTS"),
        ("OSError: [Errno 28] No space left on device", "disk is full"),
        (
            "ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE",
            "not the one in the lock",
        ),
        ("NewConnectionError: Temporary failure in name resolution", "could not be reached"),
        ("npm error code EAI_AGAIN", "could not be reached"),
        ("SSLCertVerificationError: unable to get local issuer", "PIP_CERT"),
        ("ERROR: No matching distribution found for numba==0.68.1", "no ready-made package"),
        ("some other trouble", ""),
    ],
)
def test_a_failure_is_one_plain_sentence(output: str, says: str) -> None:
    told = causes.explain(output.splitlines())
    assert says in told
    assert bool(told) == bool(says)


def test_programs_are_found_on_each_system(tmp_path: Path) -> None:
    assert paths.venv_program("python", tmp_path, "posix") == tmp_path / "bin" / "python"
    assert paths.venv_program("python", tmp_path, "nt") == tmp_path / "Scripts" / "python.exe"


def test_nothing_is_done_when_the_stamp_fits(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(paths, "STAMP", tmp_path / "stamp.json")
    monkeypatch.setattr(paths, "venv_python", lambda: Path(sys.executable))
    monkeypatch.setattr("tools.start.pages.is_current", lambda root: True)

    def never(*args: Any, **named: Any) -> None:
        raise AssertionError("something was run")

    for name in ("run", "_make_venv", "_check_system", "_fill_from_locks"):
        monkeypatch.setattr(environment, name, never)
    paths.STAMP.write_text(json.dumps(environment._wanted("run")), encoding="utf-8")
    environment.prepare()
    paths.STAMP.write_text("{half a stamp", encoding="utf-8")
    with pytest.raises(AssertionError, match="something was run"):
        environment.prepare()


def test_a_changed_lock_or_front_end_is_noticed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(paths, "venv_python", lambda: Path(sys.executable))
    wanted = environment._wanted("test")
    assert environment._fits(wanted, dict(wanted))
    for part in ("base", "run", "test", "package", "pages"):
        assert not environment._fits(wanted, {**wanted, part: "other"}), part


def test_download_watch_counts_what_pip_tells(capsys: pytest.CaptureFixture[str]) -> None:
    watch = environment.DownloadWatch(100_000_000)
    watch.read("  Downloading numba-0.68.1-cp311-cp311-manylinux_2_27_x86_64.whl (60.0 MB)")
    watch.read("  Downloading typst-0.15.2-cp39-abi3-manylinux2014_x86_64.whl.metadata (40 kB)")
    watch.read("  Downloading typst-0.15.2-cp39-abi3-manylinux2014_x86_64.whl (40.0 MB)")
    watch.read("Installing collected packages: numba, typst")
    assert capsys.readouterr().out.splitlines() == [
        "  0 kB of 100 MB  numba",
        "  60 MB of 100 MB  typst",
        "  100 MB of 100 MB  unpacking",
    ]


def test_the_size_is_said_first_and_a_full_disk_stops(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    counts = {"run": 100_000_000, "build": 0}
    monkeypatch.setattr(sizes, "python_bytes", lambda part, system, python: counts[part])
    monkeypatch.setattr(sizes, "npm_bytes", lambda system: 50_000_000)
    monkeypatch.setattr("shutil.disk_usage", lambda path: Free(10**12))
    environment._say_size(["run", "build"], npm=True)
    assert "150 MB" in capsys.readouterr().out
    monkeypatch.setattr("shutil.disk_usage", lambda path: Free(10**8))
    with pytest.raises(console.Stop, match="100 MB free; about 750 MB is needed"):
        environment._say_size(["run", "build"], npm=True)


class Free:
    def __init__(self, count: int) -> None:
        self.free = count


@pytest.fixture
def no_browser_on_path(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shutil.which", lambda name: None)
    monkeypatch.delenv("LUBBERLINE_BROWSER", raising=False)


def test_usual_places_of_browsers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PROGRAMFILES", "C:/Program Files")
    assert Path("/Applications/Google Chrome.app/Contents/MacOS/Google Chrome") in browsers._usual_places(
        "darwin"
    )
    windows = browsers._usual_places("win32")
    assert Path("C:/Program Files/Microsoft/Edge/Application/msedge.exe") in windows


@pytest.mark.usefixtures("no_browser_on_path")
def test_no_browser_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(browsers, "_usual_places", lambda system: [])
    assert browsers.find() is None


def test_ci_must_have_a_browser(monkeypatch: pytest.MonkeyPatch) -> None:
    from tools.start import checks

    monkeypatch.setattr(browsers, "find", lambda: None)
    monkeypatch.setattr(checks, "prepare", lambda **named: None)
    monkeypatch.setenv("CI", "true")
    with pytest.raises(console.Stop, match="CI must have one"):
        checks.run_all(acceptance=False, pytest_arguments=[])


def test_the_demo_that_is_flown_is_there() -> None:
    assert (ROOT / first_flight.FLIGHT).is_file()
    assert (ROOT / first_flight.AIRCRAFT).is_file()


def test_page_takes_the_next_free_port_and_ctrl_c_ends_it_with_0(tmp_path: Path) -> None:
    """The verb-less part of start.py after the flight, with this environment for its own."""
    script = tmp_path / "show.py"
    script.write_text(
        "import sys\nfrom pathlib import Path\n"
        f"sys.path.insert(0, {str(ROOT)!r})\n"
        "from tools.start import door, first_flight, paths\n"
        "paths.venv_python = lambda: Path(sys.executable)\n"
        "door.prepare = lambda: None\nfirst_flight.fly_demo = lambda: None\n"
        "sys.exit(door.main(['--no-open', '--port', sys.argv[1]]))\n",
        encoding="utf-8",
    )
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        # Records of its own: a start on records that are open elsewhere opens that page instead.
        own = {
            "PYTHONPATH": str(ROOT / "src"),
            "LUBBERLINE_DATABASE": f"sqlite:///{tmp_path / 'own.sqlite3'}",
        }
        environ = {**os.environ, **own}
        command = [sys.executable, str(script), str(port)]
        with subprocess.Popen(command, env=environ, stdout=subprocess.PIPE, encoding="utf-8") as process:
            assert process.stdout
            watchdog = threading.Timer(120.0, process.kill)
            watchdog.start()
            assert "taken" in process.stdout.readline()
            address = process.stdout.readline().split("The page is at ")[1].split()[0]
            assert not address.endswith(f":{port}/")
            process.send_signal(_ctrl_c())
            rest = process.stdout.read()
            assert process.wait(20) == 0
            watchdog.cancel()
    assert "The page is closed." in rest
    page = int(address.rstrip("/").rsplit(":", 1)[1])
    with socket.socket() as trial, pytest.raises(ConnectionRefusedError):
        trial.connect(("127.0.0.1", page))


def _ctrl_c() -> int:
    if os.name == "nt":
        pytest.skip("Windows sends Ctrl-C to a whole console, not to one program")
    import signal

    return signal.SIGINT


@pytest.mark.parametrize(
    ("given", "words"),
    [
        *((["--port", port], "--port") for port in ("65536", "99999", "-1", "x", "80.5")),
        (["--port"], "--port"),
        (["--bort"], "--bort"),
        (["tset"], "tset"),
        (["unpack-check"], "zip"),
        (["unpack-check", "none.zip"], "'none.zip' is not a zip file"),
        (["unpack-check", "start.py"], "'start.py' is not a zip file"),
        (["pack", "--out"], "--out"),
    ],
)
def test_what_cannot_be_is_one_line_and_code_2(
    given: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stop:
        door.main(given)
    assert stop.value.code == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert words in printed.err


def test_a_pack_is_not_made_where_it_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("tools.start.pack.prepare", lambda: pytest.fail("the work began"))
    (tmp_path / "file").write_text("mine")
    assert door.main(["pack", "--out", str(tmp_path / "file" / "deep")]) == 1
    assert "Name a folder that can be written to." in capsys.readouterr().out


def test_a_reader_who_goes_away_and_a_full_disk_do_not_stop_it(monkeypatch: pytest.MonkeyPatch) -> None:
    class Failing(io.StringIO):
        encoding = "ascii"

        def write(self, text: str) -> int:
            raise BrokenPipeError

    for stream in (Failing(), None):
        monkeypatch.setattr(sys, "stdout", stream)
        console.say("Übung")
        progress = console.Progress(10)
        progress.show(5, "half")
        progress.end("all")


def test_a_disk_that_fails_is_a_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fails() -> None:
        raise OSError(28, "No space left on device", ".lubberline/start.log")

    monkeypatch.setattr(door, "prepare", fails)
    assert door.main([]) == 1
    assert capsys.readouterr().out.startswith(".lubberline/start.log: No space left on device.")
