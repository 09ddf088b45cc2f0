"""A PostgreSQL of the tests' own: a private cluster in a temporary folder, on a port of its own."""

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.engine import make_url

FOLDERS = ("/usr/lib/postgresql", "/opt/homebrew/opt", "/usr/local/opt")
UNPRIVILEGED = "postgres"
QUICK = ("fsync=off", "synchronous_commit=off", "full_page_writes=off", "max_connections=120")


def _programs() -> Path | None:
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).parent
    found = [path.parent for folder in FOLDERS for path in Path(folder).glob("*/bin/initdb")]
    return max(found, default=None)


def _run(command: list[str | Path], log: Path) -> None:
    """As somebody who may run a cluster: not root."""
    as_other = ["setpriv", f"--reuid={UNPRIVILEGED}", f"--regid={UNPRIVILEGED}", "--clear-groups"]
    words = [*(as_other if os.geteuid() == 0 else []), *map(str, command)]
    with log.open("ab") as file:
        subprocess.run(words, check=True, stdout=file, stderr=file, cwd="/")


class Cluster:
    """A running PostgreSQL that can be killed and started again.

    Attributes:
        address: of its database.
    """

    def __init__(self, programs: Path, folder: Path, durable: bool) -> None:
        self._programs, self._folder, self._data = programs, folder, folder / "data"
        self._log = folder.with_suffix(".log")
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        self.address = f"postgresql://school@127.0.0.1:{port}/postgres"
        options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1"
        quick = [*QUICK, "synchronous_commit=on"] if durable else QUICK
        self._options = options + "".join(f" -c {option}" for option in quick)

    def make(self) -> None:
        """The cluster's own folder."""
        words = ["-D", self._data, "-A", "trust", "-U", "school", "-E", "UTF8", "--no-sync"]
        self._do("initdb", *words)

    def start(self) -> None:
        """As after a killed one, whose last processes may still be on their way out."""
        words = ["-D", self._data, "-o", self._options, "-w", "-t", "60", "-l", self._folder / "log"]
        for tries_left in range(50, -1, -1):
            try:
                self._do("pg_ctl", *words, "start")
            except subprocess.CalledProcessError:
                if not tries_left:
                    raise
                time.sleep(0.1)
            else:
                return

    def kill(self) -> None:
        """Without a chance to end well, all connections with it."""
        first = (self._data / "postmaster.pid").read_text(encoding="utf-8").splitlines()[0]
        os.kill(int(first), signal.SIGKILL)

    def stop(self) -> None:
        """For good."""
        self._do("pg_ctl", "-D", self._data, "-m", "immediate", "-w", "stop")

    def _do(self, program: str, *words: str | Path) -> None:
        _run([self._programs / program, *words], self._log)


@contextmanager
def running_cluster(*, durable: bool = False) -> Iterator[Cluster]:
    """A cluster while the block runs.

    Skips plainly where there are no server programs; in CI there must be some.

    Args:
        durable: whether what was committed survives a kill of the server (not one of the machine).
    """
    programs = _programs()
    if programs is None or not hasattr(os, "geteuid"):
        said = "there is no PostgreSQL server here (Debian: apt-get install postgresql)"
        if os.environ.get("CI"):
            pytest.fail(said)
        pytest.skip(said)
    folder = Path(tempfile.mkdtemp(prefix="lubberline-postgres-"))
    log = folder.with_suffix(".log")
    log.touch()
    if os.geteuid() == 0:
        shutil.chown(folder, UNPRIVILEGED, UNPRIVILEGED)
    made = Cluster(programs, folder, durable)
    made.make()
    made.start()
    try:
        yield made
    finally:
        made.stop()
        shutil.rmtree(folder, ignore_errors=True)
        log.unlink(missing_ok=True)


@contextmanager
def cluster() -> Iterator[str]:
    """The address of a cluster's database while the block runs; see `running_cluster`."""
    with running_cluster() as running:
        yield running.address


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    with cluster() as address:
        yield address


@pytest.fixture(scope="session")
def emptied(postgres: str) -> Iterator[Callable[[], str]]:
    """Gives the address of a database after emptying it: far quicker than to make one for each test."""
    server = make_url(postgres).set(drivername="postgresql+psycopg")
    engine = create_engine(server, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text("create database emptied"))
    engine.dispose()
    own = create_engine(server.set(database="emptied"), isolation_level="AUTOCOMMIT", pool_pre_ping=True)

    def empty() -> str:
        with own.connect() as connection:
            others = "select pg_terminate_backend(pid) from pg_stat_activity where datname = 'emptied'"
            connection.execute(text(f"{others} and pid <> pg_backend_pid()"))
            connection.execute(text("drop schema public cascade"))
            connection.execute(text("create schema public"))
        return make_url(postgres).set(database="emptied").render_as_string(hide_password=False)

    yield empty
    own.dispose()
