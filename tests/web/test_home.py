"""The school's home on the pages, in the records and on the command line."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from lubberline.cli import main
from lubberline.flight.home import Home, read_home
from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from lubberline.web.catalogue import demo_home
from tests.web.caller import Caller
from tests.web.papers import words

SOUTH = Home("Kauri Flat", -43.4, 172.2, 300.0, "Pacific/Auckland")
FORM = {
    "place": "Kauri Flat",
    "latitude_deg": "-43.4",
    "longitude_deg": "172.2",
    "elevation_ft": "300",
    "time_zone": "Pacific/Auckland",
    "aircraft": "",
    "regulations": "",
    "suction": "inHg",
    "paper": "A4",
}


@pytest.fixture
def school() -> Iterator[School]:
    found = open_school("memory")
    yield found
    found.close()


@pytest.fixture
def call(school: School) -> Caller:
    return Caller(create_app(school=school))


def test_a_school_without_a_home_is_told_so_and_uses_the_demos(call: Caller, school: School) -> None:
    page = words(call.get("/school").text)
    assert "No home is set: the demo school’s is used" in page
    assert demo_home().place in page
    school.settings.put_home(SOUTH)
    page = words(call.get("/school").text)
    assert "No home is set" not in page
    assert "43.4 S, 172.2 E" in page
    assert "southern" in page


def test_the_page_sets_the_home_and_names_a_wrong_field(call: Caller, school: School) -> None:
    assert call.post("/school/home", data=FORM).status_code == 303
    assert school.settings.home() == SOUTH
    for name, bad in (
        ("latitude_deg", "south"),
        ("latitude_deg", ""),
        ("latitude_deg", "95"),
        ("time_zone", "Mars"),
        ("aircraft", "ZZ-NIL"),
        ("regulations", "Atlantis"),
        ("suction", "psi"),
        ("place", ""),
    ):
        refused = call.post("/school/home", data={**FORM, name: bad})
        assert refused.status_code == 422, name
        assert f"home, {name}" in refused.text
        assert school.settings.home() == SOUTH


def test_the_home_goes_with_the_backup(call: Caller, school: School, tmp_path: Path) -> None:
    school.settings.put_home(SOUTH)
    school.backup(tmp_path / "x.backup")
    school.settings.put("home", "")
    school.restore(tmp_path / "x.backup")
    assert school.settings.home() == SOUTH
    assert call.get("/school/home.toml").text.startswith('place = "Kauri Flat"')


def test_the_command_shows_sets_and_writes_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("LUBBERLINE_DATABASE", f"sqlite:///{tmp_path / 'records.sqlite3'}")
    assert main(["home"]) == 0
    assert "No home is set" in capsys.readouterr().out
    assert not (tmp_path / "records.sqlite3").exists()
    place = ["--place", "Kauri Flat", "--latitude=-43.4", "--longitude=172.2", "--elevation=300"]
    assert main(["home", "set", *place, "--time-zone", "Pacific/Auckland"]) == 0
    assert main(["home", "--out", str(tmp_path)]) == 0
    assert "No home is set" not in capsys.readouterr().out
    assert read_home(tmp_path / "home.toml") == SOUTH
    assert main(["home", "set", "--aircraft", "zz-elm"]) == 0
    assert main(["home", "set", str(tmp_path / "home.toml"), "--paper", "Letter"]) == 0
    assert "Letter" in capsys.readouterr().out
