"""Every test of the store runs on SQLite and on PostgreSQL."""

from __future__ import annotations

import secrets
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


@pytest.fixture(params=KINDS)
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of an empty database."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'school.sqlite3'}"
    server = request.getfixturevalue("postgres")
    name = f"t{secrets.token_hex(6)}"
    engine = create_engine(
        make_url(server).set(drivername="postgresql+psycopg"), isolation_level="AUTOCOMMIT"
    )
    with engine.connect() as connection:
        connection.execute(text(f"create database {name}"))
    engine.dispose()
    return make_url(server).set(database=name).render_as_string(hide_password=False)


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
