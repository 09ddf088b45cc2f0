"""A PostgreSQL of the tests' own: a private cluster in a temporary folder, on a port of its own."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
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


@contextmanager
def cluster() -> Iterator[str]:
    """The address of a cluster's database while the block runs.

    Skips plainly where there are no server programs; in CI there must be some.
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
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    data = folder / "data"
    _run([programs / "initdb", "-D", data, "-A", "trust", "-U", "school", "-E", "UTF8", "--no-sync"], log)
    options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1"
    options += "".join(f" -c {option}" for option in QUICK)
    _run(
        [programs / "pg_ctl", "-D", data, "-o", options, "-w", "-t", "60", "-l", folder / "log", "start"], log
    )
    try:
        yield f"postgresql://school@127.0.0.1:{port}/postgres"
    finally:
        _run([programs / "pg_ctl", "-D", data, "-m", "immediate", "-w", "stop"], log)
        shutil.rmtree(folder, ignore_errors=True)
        log.unlink(missing_ok=True)


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
