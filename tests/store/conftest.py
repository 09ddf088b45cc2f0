"""Every test of the store runs on SQLite and on PostgreSQL."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from lubberline.store.database import engines
from lubberline.store.school import School, open_school

KINDS = ("sqlite", "postgresql")


@pytest.fixture(autouse=True)
def own_data_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Copies of what is in PostgreSQL go to no folder of whoever runs the tests."""
    monkeypatch.setattr(engines, "data_folder", lambda: tmp_path / "data")


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
