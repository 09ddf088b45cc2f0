"""One server for the records of a file: how it ends, what it leaves, and what a second start finds."""

import http.client
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.parse
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from lubberline.cli import main
from lubberline.errors import InputError
from lubberline.store import server as records_server
from lubberline.store.school import open_school
from lubberline.store.server import RunningServer, ServerLock
from lubberline.web import serve as serving

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals are sent to no single process there")
ENDINGS = [signal.SIGTERM, signal.SIGINT, *([signal.SIGHUP] if hasattr(signal, "SIGHUP") else [])]


class Server:
    """`lubberline open` as a process of its own."""

    def __init__(self, path: Path, *options: str) -> None:
        words = [sys.executable, "-m", "lubberline.cli", "open", "--no-open", *(options or ("--port", "0"))]
        environment = {**os.environ, "LUBBERLINE_DATABASE": f"sqlite:///{path}"}
        self.process = subprocess.Popen(
            words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment
        )

    def port(self) -> int:
        assert self.process.stdout is not None
        found = re.search(r"http://127\.0\.0\.1:(\d+)/", self.process.stdout.readline())
        assert found, self.process.communicate()
        return int(found[1])

    def end(self, how: int = signal.SIGTERM) -> str:
        if self.process.poll() is None:
            self.process.send_signal(how)
        out, err = self.process.communicate(timeout=60)
        assert err == ""
        return out


def post(port: int, path: str, fields: dict[str, str]) -> int:
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    told = {
        "origin": f"http://127.0.0.1:{port}",
        "content-type": "application/x-www-form-urlencoded",
    }
    line.request("POST", path, urllib.parse.urlencode(fields), told)
    status = line.getresponse().status
    line.close()
    return status


def groups_of(path: Path) -> list[str]:
    school = open_school(f"sqlite:///{path}")
    found = [group.title for group in school.people.groups()]
    school.close()
    return found


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, Server, int]]:
    path = tmp_path_factory.mktemp("one server") / "school.sqlite3"
    server = Server(path)
    yield path, server, server.port()
    server.end()


def test_a_second_start_shows_the_running_one(
    served: tuple[Path, Server, int], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path, server, port = served
    opened: list[str] = []
    monkeypatch.setattr(serving.webbrowser, "open", opened.append)
    linked = path.parent / "linked"
    linked.symlink_to(path.parent)
    for name in (path, linked / path.name):
        monkeypatch.setenv("LUBBERLINE_DATABASE", f"sqlite:///{name}")
        assert main(["open"]) == 0
        said = capsys.readouterr().out
        assert said.count("\n") == 1
        assert f"http://127.0.0.1:{port}/" in said
        assert str(server.process.pid) in said
    assert opened == [f"http://127.0.0.1:{port}/"] * 2
    assert main(["open", "--no-open"]) == 0
    assert len(opened) == 2


@pytest.mark.parametrize(
    "options", ["--lan", "--behind https://school.example", "--port 1", "--passphrase", "--no-passphrase"]
)
def test_a_second_start_with_other_options_says_what_is_running(
    served: tuple[Path, Server, int],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    options: str,
) -> None:
    path, server, port = served
    monkeypatch.setenv("LUBBERLINE_DATABASE", f"sqlite:///{path}")
    assert main(["open", "--no-open", *options.split()]) == 2
    said = capsys.readouterr().err
    for word in (f"http://127.0.0.1:{port}/", str(server.process.pid), "since 20", "no options"):
        assert word in said
    assert "Traceback" not in said


def test_what_another_program_writes_is_news_to_the_server(served: tuple[Path, Server, int]) -> None:
    """A school that watches as a server does, beside the real one."""
    import asyncio

    path, _, port = served
    school = open_school(f"sqlite:///{path}")
    heard: list[str] = []

    async def listen() -> None:
        news = school.changes.subscribe()
        school.watch()
        own = school.people.add_group("Own")
        assert await asyncio.wait_for(anext(news), 10.0) == "people", own
        other = await asyncio.to_thread(open_school, f"sqlite:///{path}")
        await asyncio.to_thread(other.people.add_group, "Another program's")
        heard.append(await asyncio.wait_for(anext(news), 10.0))
        other.close()
        await asyncio.sleep(0)

    thread = threading.Thread(target=lambda: asyncio.run(listen()))
    thread.start()
    thread.join(30.0)
    assert heard == ["*"]
    school.close()
    # The server's page shows both.
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    line.request("GET", "/school/people")
    page = line.getresponse().read().decode()
    line.close()
    assert "Another program" in page


def check_one_file(server: Server, path: Path, how: int, titles: list[str]) -> None:
    assert server.end(how).rstrip().endswith("Ended.")
    assert server.process.returncode == (130 if how == signal.SIGINT else 0)
    assert [one.name for one in path.parent.iterdir() if one.is_file()] == [path.name]
    copied = path.parent / "elsewhere" / path.name
    copied.parent.mkdir()
    shutil.copy(path, copied)
    assert groups_of(copied) == titles


def test_after_its_end_the_one_file_holds_everything(served: tuple[Path, Server, int]) -> None:
    path, server, port = served
    before = groups_of(path)
    assert post(port, "/school/classes", {"do": "add class", "title": "Spring"}) == 303
    check_one_file(server, path, signal.SIGTERM, [*before, "Spring"])


@pytest.mark.acceptance
@pytest.mark.parametrize("how", ENDINGS)
@pytest.mark.parametrize("compiling", [False, True])
def test_however_it_is_ended(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, how: int, compiling: bool
) -> None:
    path = tmp_path / "records" / "school.sqlite3"
    path.parent.mkdir()
    if compiling:
        monkeypatch.setenv("LUBBERLINE_CACHE", str(tmp_path / "cache"))
    server = Server(path)
    assert post(server.port(), "/school/classes", {"do": "add class", "title": "Spring"}) == 303
    check_one_file(server, path, how, ["Spring"])


def test_a_process_that_is_killed_leaves_no_lock(tmp_path: Path) -> None:
    path = tmp_path / "school.sqlite3"
    act = (
        f"from lubberline.store.server import take_lock; c = take_lock('sqlite:///{path}'); print(c); input()"
    )
    words = [sys.executable, "-c", act]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert "ServerLock" in process.stdout.readline()
        process.kill()
    assert (tmp_path / "school.sqlite3.running").exists()
    held = records_server.take_lock(f"sqlite:///{path}")
    assert isinstance(held, ServerLock)
    held.release()
    assert list(tmp_path.glob("*.running")) == []


def running_at(port: int) -> RunningServer:
    return RunningServer(f"http://127.0.0.1:{port}/", os.getpid(), "2026-05-01T10:00:00Z", port)


def test_of_many_that_start_at_once_one_has_the_records(tmp_path: Path) -> None:
    path = tmp_path / "school.sqlite3"
    found: list[ServerLock | RunningServer | None] = []

    def come(number: int) -> None:
        held = records_server.take_lock(f"sqlite:///{path}")
        if isinstance(held, ServerLock):
            # The others meet it before it has told where it is.
            time.sleep(0.1)
            held.tell(running_at(number))
        found.append(held)

    servers = [socket.create_server(("127.0.0.1", 0)) for _ in range(6)]
    # One that was killed left what it told.
    gone = socket.create_server(("127.0.0.1", 0))
    left = msgspec.json.encode(running_at(gone.getsockname()[1]))
    (tmp_path / "school.sqlite3.running").write_bytes(left)
    (tmp_path / "school.sqlite3.running").chmod(0o600)
    gone.close()
    threads = [threading.Thread(target=come, args=(one.getsockname()[1],)) for one in servers]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30.0)
    (held,) = [one for one in found if isinstance(one, ServerLock)]
    told = {one.port for one in found if isinstance(one, RunningServer)}
    assert len(found) == 6
    assert len(told) == 1
    with (tmp_path / "school.sqlite3.running").open("rb") as file:
        assert json.load(file)["port"] in told
    assert (tmp_path / "school.sqlite3.running").stat().st_mode & 0o077 == 0
    held.release()
    for one in servers:
        one.close()


def test_one_that_says_nothing_is_waited_for_and_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "school.sqlite3"
    held = records_server.take_lock(f"sqlite:///{path}")
    assert isinstance(held, ServerLock)
    monkeypatch.setattr(records_server, "LONGEST_WAIT_S", 0.2)
    with pytest.raises(InputError, match="at an unknown address"):
        records_server.take_lock(f"sqlite:///{path}")
    held.release()


def test_records_in_memory_and_in_postgresql_have_many_servers() -> None:
    assert records_server.take_lock("memory") is None
    assert records_server.take_lock("postgresql://u@h/d") is None


def test_a_file_that_somebody_else_put_there_is_not_believed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a folder that others may write to: no file of ours is overwritten, no address of theirs opened."""
    monkeypatch.setattr(records_server, "LONGEST_WAIT_S", 0.3)
    address, path = f"sqlite:///{tmp_path / 'school.sqlite3'}", tmp_path / "school.sqlite3.running"
    (tmp_path / "own.txt").write_text("mine")
    path.symlink_to(tmp_path / "own.txt")
    assert records_server.take_lock(address) is None
    assert (tmp_path / "own.txt").read_text() == "mine"
    path.unlink()
    held = records_server.take_lock(address)
    assert isinstance(held, ServerLock)
    held.tell(RunningServer("https://elsewhere.example/", 1, "2026-05-01T10:00:00Z", 443))
    with pytest.raises(InputError, match="at an unknown address"):
        records_server.take_lock(address)
    held.release()
    path.touch()
    monkeypatch.setattr(os, "geteuid", lambda: os.getuid() + 1)
    assert records_server.take_lock(address) is None
