"""Settings: every name that the program writes is known, and nothing else is taken or restored."""

import re
from pathlib import Path

import pytest

from lubberline.errors import InputError
from lubberline.store import settings as known
from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from tests.store.test_backup import rewritten
from tests.web.caller import Caller

SOURCES = Path(__file__).resolve().parents[2] / "src"
YEW = 'name = "ZZ-YEW"\n'

WRONG = {
    "name": "Field school",
    "aircraft": '["zz-yew"',
    known.AIRCRAFT: "[1]",
    "aircraft_file:zz-yew": "name = ",
    "aircraft_file:zz-elm": YEW,
    "aircraft_file:": YEW,
    "aircraft_swing:zz-yew": "[" * 100_000,
    "aircraft_code:zz-yew": "lower",
    "exam": '{"sections": []}',
    "school_name": " two  spaces",
    "home": 'place = "Kauri Flat"\nlatitude_deg = -91.0\nlongitude_deg = 0.0',
    "made-up class": "a b",
    "passphrase": "plain",
    "session-key": "short",
    "records-id": "",
}


@pytest.mark.parametrize("name", [name for name in WRONG if WRONG[name]])
def test_what_the_program_does_not_write_is_refused_by_name(name: str) -> None:
    with pytest.raises(InputError, match=name):
        known.check_setting(name, WRONG[name])


def test_a_listed_aircraft_has_its_file() -> None:
    known.check_settings({"aircraft": '["zz-yew"]', "aircraft_file:zz-yew": YEW})
    with pytest.raises(InputError, match="zz-yew"):
        known.check_settings({"aircraft": '["zz-yew"]'})


@pytest.fixture
def brought(tmp_path: Path) -> tuple[School, Path]:
    school = open_school("memory")
    path = tmp_path / "x.backup"
    school.backup(path)
    return school, path


@pytest.mark.parametrize("name", ["aircraft", "aircraft_swing:zz-yew", "name"])
def test_a_backup_with_such_a_setting_changes_nothing(brought: tuple[School, Path], name: str) -> None:
    school, path = brought
    school.people.add_group("Spring")

    def add(rows: list[dict]) -> None:
        rows.append({"table": "settings", "row": {"name": name, "value": WRONG[name]}})

    path.write_bytes(rewritten(path.read_bytes(), add))
    with pytest.raises(InputError, match=f"setting '{name}'"):
        school.restore(path)
    assert [one.title for one in school.people.groups()] == ["Spring"]


@pytest.mark.parametrize(
    ("name", "value"),
    [("aircraft", '["zz-yew"]'), ("aircraft", "[1]"), ("aircraft_swing:zz-oak", "[]"), ("exam", "[" * 9000)],
)
def test_pages_live_with_a_broken_setting_and_say_which(
    monkeypatch: pytest.MonkeyPatch, name: str, value: str
) -> None:
    school = open_school("memory")
    monkeypatch.setattr(known, "check_setting", lambda *_: None)
    school.settings.put(name, value)
    monkeypatch.undo()
    call = Caller(create_app(school=school))
    for address in ("/school", "/aircraft", "/aircraft/zz-oak", "/results"):
        assert call.get(address, follow_redirects=True).status_code == 200, address
    if name != "aircraft" or value == "[1]":
        assert f"setting &#39;{name}&#39;" in call.get("/school").text
    if name == "aircraft":
        missing = "aircraft_file:zz-yew" if "zz-yew" in value else "aircraft"
        assert f"setting &#39;{missing}&#39;" in call.get("/aircraft").text
    school.close()


def test_every_setting_that_is_set_has_a_known_name() -> None:
    """Names are given as constants of `store.settings`, never as texts of their own."""
    of_its_own = re.compile(r"settings\.(?:put|settle)\(\s*(?:connection,\s*)?f?[\"']")
    assert of_its_own.search('school.settings.put("x", value)')
    found = [path.name for path in SOURCES.rglob("*.py") if of_its_own.search(path.read_text("utf-8"))]
    assert found == []
