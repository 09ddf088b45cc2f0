"""Every test of the store runs on SQLite and on PostgreSQL."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.engine import make_url

from lubberline.store.school import School, open_school
from tests.postgres import cluster

KINDS = ("sqlite", "postgresql")


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
    own = create_engine(server.set(database="emptied"), isolation_level="AUTOCOMMIT")

    def empty() -> str:
        with own.connect() as connection:
            others = "select pg_terminate_backend(pid) from pg_stat_activity where datname = 'emptied'"
            connection.execute(text(f"{others} and pid <> pg_backend_pid()"))
            connection.execute(text("drop schema public cascade"))
            connection.execute(text("create schema public"))
        return make_url(postgres).set(database="emptied").render_as_string(hide_password=False)

    yield empty
    own.dispose()


@pytest.fixture(params=KINDS)
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of an empty database."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'school.sqlite3'}"
    empty: Callable[[], str] = request.getfixturevalue("emptied")
    return empty()


@pytest.fixture
def opened(address: str) -> Iterator[Callable[[], School]]:
    """Opens the database, as often as wanted."""
    schools: list[School] = []

    def again() -> School:
        schools.append(open_school(address))
        return schools[-1]

    yield again
    for school in schools:
        school.close()


@pytest.fixture
def school(opened: Callable[[], School]) -> School:
    return opened()
