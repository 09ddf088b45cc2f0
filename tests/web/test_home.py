"""The school's home on the pages, in the records and on the command line."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import msgspec
import pytest

from lubberline.classroom.lessons.file import lesson_from_text
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.classroom.records import Answer, Correction
from lubberline.cli import main
from lubberline.commands.home import aircraft_called
from lubberline.flight.home import Home, read_home
from lubberline.questions.bank import model_named
from lubberline.questions.generate import item_of
from lubberline.questions.handwritten import items_from_text, said_at
from lubberline.simulation.live.address import scene_at
from lubberline.simulation.misconceptions import BY_ID
from lubberline.store import times
from lubberline.store.fleet import demo_folder, demo_home
from lubberline.store.school import School, open_school
from lubberline.web.aircraft import plan
from lubberline.web.app import create_app
from lubberline.web.kit import HERE
from tests.poppler import poppler
from tests.web.caller import Caller
from tests.web.papers import asked, words

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
    assert demo_home().place in call.get("/school").text
    school.settings.put_home(SOUTH)
    page = words(call.get("/school").text)
    assert "No home is set" not in page
    assert "24.6 E" in page or "24.5 E" in page
    assert "southern" in page


def test_a_scene_is_flown_at_home_from_the_list(call: Caller, school: School) -> None:
    school.settings.put_home(SOUTH)
    page = call.get("/scenes").text
    assert "Fifteen minutes at home" in page
    assert "Your own" not in page
    for id in ("fifteen_minutes_home", "rigidity", "how_it_works/3"):
        scene = call.app.state.shared.shelves.scenes_now()[id]
        assert scene.entry.start.latitude_deg == -43.4
    assert call.get("/scenes/fifteen_minutes_home/picture.svg").status_code == 200


def test_pages_that_use_home_say_once_that_none_is_set(call: Caller, school: School) -> None:
    """In the frame, with a link to where it is set; never to students or to the room."""
    said = '<a class="no-home" href="/school#home">No home is set</a>'
    using = ("/stage", "/bench", "/questions/paper", "/flights", "/aircraft/zz-oak/plan")
    assert [call.get(address).text.count(said) for address in using] == [1] * len(using)
    assert "No home is set" not in call.get("/join").text
    saying = {path.name for path in HERE.rglob("*.html") if "_no_home.html" in path.read_text("utf-8")}
    assert saying == {"stage.html", "bench.html", "paper.html", "flights.html", "plan.html"}
    school.settings.put_home(SOUTH)
    assert not any("No home is set" in call.get(address).text for address in using)


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


YEW = 'name = "ZK-YEW"\n\n[heading_indicator]\nbalance_latitude_deg = -43.0\n'


def test_an_aircraft_of_the_school_can_be_chosen_on_flights(call: Caller, school: School) -> None:
    school.settings.put("aircraft_file:zk-yew", YEW)
    school.settings.put("aircraft", '["zk-yew"]')
    assert '<option value="zk-yew">ZK-YEW' in call.get("/flights?flight=short_circuit").text
    flown = call.fly(flight="short_circuit", aircraft="zk-yew")
    assert flown.status_code == 200
    assert flown.json()["aircraft"] == "ZK-YEW"
    # The usual aircraft, and a flight from home in its morning, are what the page opens with.
    school.settings.put_home(msgspec.structs.replace(SOUTH, aircraft="ZK-YEW"))
    flown = call.fly().json()
    assert (flown["aircraft"], flown["title"]) == ("ZK-YEW", "Short circuit at Kauri Flat")
    assert flown["trace"]["latitude_deg"][0] == pytest.approx(-43.4, abs=0.01)
    assert flown["start"] == "2 June 2026, 22:00 UTC"
    assert "ZK-YEW" in call.get("/aircraft/zk-yew/plan?flight=home_short_circuit").text


def test_a_paper_stands_on_the_day_it_was_sat_at_home(
    call: Caller, school: School, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """In the evening of the 24th in UTC it is the morning of the 25th in New Zealand."""
    school.settings.put_home(SOUTH)
    monkeypatch.setattr("lubberline.store.sittings.now_utc", lambda: "2026-05-24T22:30:00Z")
    monkeypatch.setattr("lubberline.store.answers.now_utc", lambda: "2026-05-24T22:40:00Z")
    group = school.people.add_group("Spring")
    student = school.people.add_student(group.id, "Ada", "7")
    sitting = school.sittings.add(group.id, "paper", "Drift", asked(("A",)), on_paper=True)
    school.sittings.add_place(sitting.id, student.id)
    school.answers.put_all([Answer(sitting.id, student.id, "A1", 1)])
    signed = ("A1", "I. Structor", "2026-05-24T23:10:00Z", "The ring was round B", "points", "0", "1")
    school.answers.correct(Correction(sitting.id, student.id, *signed))
    for address in ("/sittings", f"/sittings/{sitting.id}", f"/results?group={group.id}"):
        page = words(call.get(address).text)
        assert "2026-05-25" in page, address
        assert "2026-05-24" not in page, address
    for name in ("record.csv", "record.pdf"):
        record = call.get(f"/results/student/{student.id}/{name}")
        said = record.text if name.endswith("csv") else poppler("pdftotext", record.content, tmp_path)
        assert "2026-05-25" in said, name
        assert "2026-05-24" not in said, name


def test_a_plan_is_for_the_day_at_home(
    call: Caller, school: School, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    school.settings.put_home(SOUTH)
    monkeypatch.setattr(times, "now", lambda: datetime(2026, 5, 24, 22, 30, tzinfo=UTC))
    page = call.get("/aircraft/zz-oak/plan").text
    assert "Home,-43.40,172.20" in page
    asked = {"flight": "own", "text": plan.sample(SOUTH)}
    card = call.post("/aircraft/zz-oak/plan/kneeboard.pdf", data=asked)
    assert "2026-05-25" in poppler("pdftotext", card.content, tmp_path)


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


def test_the_bench_begins_at_home_with_any_aircraft(call: Caller, school: School) -> None:
    rooms = call.app.state.shared.rooms
    assert rooms.begins().entry.start.latitude_deg == 45.0
    school.settings.put("aircraft_file:zk-yew", YEW)
    school.settings.put("aircraft", '["zk-yew"]')
    school.settings.put_home(msgspec.structs.replace(SOUTH, aircraft="ZK-YEW"))
    began = call.get("/bench?aircraft=zk-yew").headers["location"].partition("state=")[2]
    for scene in (rooms.begins(), scene_at(began)):
        assert scene.entry.start.latitude_deg == -43.4
        assert scene.aircraft[0].heading_indicator.balance_latitude_deg == -43.0
    scene = scene_at(call.get("/bench?aircraft=zz-oak").headers["location"].partition("state=")[2])
    assert scene.aircraft[0].heading_indicator.balance_latitude_deg == 45.0
    assert call.get("/bench?aircraft=none").status_code == 404
    assert "/bench?aircraft=zk-yew" in call.get("/aircraft/zk-yew").text


def test_suction_is_written_in_the_unit_of_home(call: Caller, school: School) -> None:
    # 1 inHg is 33.86 hPa (conventional inch of mercury at 0 C).
    school.settings.put_home(msgspec.structs.replace(SOUTH, suction="hPa"))
    form = {
        "indicated": "100",
        "compass": "102",
        "suction": "166",
        "set_ago_min": "15",
        "place": "43.4S 172.2E",
    }
    assert (
        call.post("/aircraft/zz-oak/log", data={**form, "engine": "cruise", "sent": "a1"}).status_code == 303
    )
    [entry] = school.log.entries("ZZ-OAK")
    assert entry.typed["suction_cruise"] == "166 hPa"
    assert entry.understood["cruise_inhg"] == pytest.approx(4.90, abs=0.01)
    assert "166 hPa" in call.get("/aircraft/zz-oak/log").text
    assert "166 hPa at cruise" in call.get("/aircraft/zz-oak").text


def test_an_aircraft_is_called_by_its_name_on_the_command_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("LUBBERLINE_DATABASE", f"sqlite:///{tmp_path / 'records.sqlite3'}")
    school = open_school()
    school.settings.put("aircraft_file:zk-yew", YEW)
    school.settings.put("aircraft", '["zk-yew"]')
    school.close()
    assert aircraft_called("zk-yew").heading_indicator.balance_latitude_deg == -43.0
    assert aircraft_called("ZZ-OAK").name == "ZZ-OAK"
    assert aircraft_called(None).name == "healthy aircraft"
    assert main(["fly", str(demo_folder() / "flights/short_circuit.toml"), "--aircraft", "ZK-YEV"]) == 2
    assert "ZK-YEW" in capsys.readouterr().err


LESSON = """# Fifteen minutes

minutes: 5
aim: See it.

## Predict: As a number
answer: dial
scene: {scene}
at: 900
asks: shown.indicated_deg
ideas: rises-in-the-north
topic: wander
because: The ground turns.

What does the card read?

## Predict: In words
answer: options
scene: {scene}
at: 900
topic: wander

Where does the card go?

- [x] The right way.
  It is so.
- [ ] The wrong way.
  idea: rises-in-the-north
"""
OWN = """# Written at the school

topic: turning
level: recall

Which way does it swing?

- [x] To the near pole.
  It is so.
- [ ] To the far pole.
  idea: accelerating-shows-south
"""


def test_a_correction_is_said_for_the_hemisphere_of_what_it_corrects(call: Caller, school: School) -> None:
    """A flight's, a prediction's and a drawn item's own; home's for an item that names none."""
    idea = BY_ID["accelerating-shows-south"]
    north, south = (idea.mend_at(southern=southern) for southern in (False, True))
    assert north != south
    for flight, said in (("westbound_35s", south), ("short_circuit", north)):
        flown = call.fly(flight=flight, believe=[idea.id]).json()
        assert [one["mending"] for one in flown["believed"]] == [said], flight
    wander = BY_ID["rises-in-the-north"]
    for scene, southern in (("fifteen_minutes_45s", True), ("fifteen_minutes_45n", False)):
        lesson = lesson_from_text("fifteen.md", LESSON.format(scene=scene))
        number, words_asked = (asked.item for asked in taught_lesson(lesson, home=SOUTH).asked)
        for option in (number.slips[0], words_asked.options[1]):
            assert option.feedback.startswith(wander.mend_at(southern=southern)), scene
    [own] = [record.item for record in items_from_text("own.md", OWN)]
    assert said_at(SOUTH, own).options[1].feedback == south
    assert said_at(demo_home(), own).options[1].feedback == north
    about = msgspec.structs.replace(own, stem="Which way in the northern hemisphere?")
    assert said_at(SOUTH, about) == about
    for latitude_deg in (-35.0, 35.0):
        drawn = {"latitude_deg": latitude_deg, "minutes": 40.0}
        options = item_of(model_named("wander-find-latitude"), drawn).options
        [told] = [one.feedback for one in options if one.misconception == wander.id]
        assert told.startswith(wander.mend_at(southern=latitude_deg < 0.0)), latitude_deg


def test_the_report_of_a_flight_has_the_paper_of_home(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LUBBERLINE_DATABASE", f"sqlite:///{tmp_path / 'records.sqlite3'}")
    school = open_school()
    school.settings.put_home(msgspec.structs.replace(SOUTH, paper="Letter"))
    school.close()
    assert main(["fly", str(demo_folder() / "flights/short_circuit.toml"), "--out", str(tmp_path)]) == 0
    said = poppler("pdfinfo", (tmp_path / "report.pdf").read_bytes(), tmp_path)
    # US Letter is 8.5 x 11 in (ANSI/ASME Y14.1, size A), that is 612 x 792 points.
    assert "612 x 792 pts" in said
