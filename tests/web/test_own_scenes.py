"""A school's own scenes: found everywhere, edited in the page, led in a lesson, and kept from the bench."""

from pathlib import Path
from typing import Any

import pytest

from lubberline.simulation.bench import Bench
from lubberline.simulation.live import orders
from lubberline.simulation.scenes import SchoolScenes, library, own_scene, state_toml
from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from lubberline.web.bench.real_time import Playing
from lubberline.web.bench.rooms import Room
from lubberline.web.callers import Door
from lubberline.web.shelf import digest_of
from lubberline.web.teach.pages import bench_of
from lubberline.web.teach.views import lesson_of
from tests.web.caller import Caller
from tests.web.pretend import pretend_catalogue

OWN = 'id = "ours"\ntitle = "Our turn at 43 S"\naim = "What ours shows."\n\n[start]\nlatitude_deg = -43.0\n'
TURN = '\n[[event]]\nat_s = 2\ndo = { do = "bank", to_deg = 20 }\ncaption = "A turn."\n'
PAUSE = '\n[[event]]\nat_s = 20\ndo = { do = "pause", on = true }\n'
CLAIM = '\n[[claim]]\nat_s = 1\nname = "truth.latitude_deg"\nlow = -43.1\nhigh = -42.9\n'
SCENE = OWN + TURN + PAUSE + CLAIM
LESSON = """# With our scene

minutes: 5
aim: Use it.

## Predict: The latitude
answer: number
scene: ours
at: 10
asks: truth.latitude_deg
tolerance: 0.5
topic: wander
because: It was set so.

Where are we? {{ truth.latitude_deg @ ours 1, size 0 }} or not?

## Reveal: There
"""


@pytest.fixture
def school() -> Any:
    opened = open_school("memory")
    yield opened
    opened.close()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "school" / "scenes").mkdir(parents=True)
    return tmp_path / "school"


@pytest.fixture
def app(school: School, folder: Path, tmp_path: Path) -> Any:
    return create_app(pretend_catalogue(tmp_path), school, folder=folder)


@pytest.fixture
def call(app: Any) -> Caller:
    return Caller(app)


def put(folder: Path, text: str = SCENE, name: str = "ours") -> None:
    (folder / "scenes" / f"{name}.toml").write_text(text)


def test_an_own_scene_is_listed_drawn_and_opened(call: Caller, app: Any, folder: Path) -> None:
    assert "Our turn" not in call.get("/scenes").text
    put(folder)
    html = call.get("/scenes").text
    assert '<a href="/stage?scene=ours">Our turn at 43 S</a>' in html
    assert html.index("scene=ours") < html.index("scene=how_it_works")
    assert "Your own." in html
    assert call.get("/scenes/ours/picture.svg").text.startswith("<svg ")
    playing = Playing(scenes=app.state.shared.shelves.scenes_now)
    playing.obey(orders.PlayScene("ours"))
    assert playing.bench.state.samples[1]["latitude_rad"] == pytest.approx(-0.75049, abs=1e-4)
    assert playing.frame()["caption"] is None
    playing.fly(40, lambda: 0.0)
    assert playing.frame()["caption"] == "A turn."


def test_a_bench_names_own_scenes_and_drafts(folder: Path) -> None:
    put(folder)
    (folder / "scenes" / "drafts").mkdir()
    (folder / "scenes" / "drafts" / "ours.toml").write_text(SCENE.replace("Our turn", "Changed"))
    room = Room("main", SchoolScenes(folder / "scenes").library)
    viewer: Any = type("V", (), {"drives": True})
    told = {scene["id"]: scene["title"] for scene in room._hello(viewer, Playing())["scenes"]}
    assert told["ours"] == "Our turn at 43 S"
    assert told["~ours"] == "Changed at 43 S"


def test_a_lesson_plays_an_own_scene_when_it_is_edited_led_and_after_the_scene_was_changed(
    call: Caller, school: School, folder: Path
) -> None:
    put(folder)
    call.post("/lessons/mine/save", data={"text": LESSON})
    shown = call.get("/lessons/mine").text
    assert "Correct answer: −43" in shown or "Correct answer: -43" in shown
    assert call.get("/lessons/mine/print/handout.pdf").status_code == 200
    begun = call.post("/teach", files={"new_group": (None, "Spring"), "lesson": (None, "mine")})
    (sitting,) = school.sittings.listing()
    assert begun.headers["location"].startswith(f"/teach/{sitting.id}")
    # What a class was asked stays, whatever becomes of the scene.
    put(folder, SCENE.replace("-43.0", "-60.0"))
    assert "60 or not?" in call.get("/lessons/mine").text
    for page in ("", "/projector", "/state"):
        assert call.get(f"/teach/{sitting.id}{page}").status_code == 200
    assert "43 or not?" in lesson_of(sitting.source).lesson.steps[0].text
    (folder / "scenes" / "ours.toml").unlink()
    lesson_of.cache_clear()
    assert call.get(f"/teach/{sitting.id}/state").status_code == 200
    assert "there is no scene &#39;ours&#39;" in call.get("/lessons/mine").text


def test_the_projector_plays_a_scene_as_it_was_when_the_lesson_was_opened(
    call: Caller, app: Any, school: School, folder: Path
) -> None:
    put(folder)
    call.post("/lessons/mine/save", data={"text": LESSON})
    call.post("/teach", files={"new_group": (None, "Spring"), "lesson": (None, "mine")})
    put(folder, SCENE.replace("-43.0", "-60.0"))
    (sitting,) = school.sittings.listing()

    def latitude_deg(bench: str) -> float:
        playing = app.state.shared.rooms.enter(bench)._ready()
        playing.obey(orders.PlayScene("ours"))
        latitude: float = playing.frame()["truth"]["latitude_deg"]
        return latitude

    assert latitude_deg(bench_of(sitting.id)) == pytest.approx(-43.0, abs=0.1)
    assert latitude_deg("main") == pytest.approx(-60.0, abs=0.1)
    assert latitude_deg("class-somebody-else") == pytest.approx(-60.0, abs=0.1)


def test_a_scene_is_begun_edited_checked_and_saved(call: Caller, folder: Path) -> None:
    begun = call.post("/scenes", files={"name": (None, "ours")})
    assert begun.headers["location"] == "/scenes/ours"
    assert "<strong>does not hold" not in call.get("/scenes/ours").text
    broken = SCENE.replace("20 }", "200 }").replace('name = "truth', 'named = "truth')
    shown = call.post("/scenes/ours", data={"text": broken}).text
    assert "ours.toml, line 10, event 1, bank, to_deg" in shown
    assert "ours.toml, line 19, claim 1, named" in shown
    assert "There is no preview" in shown
    seen = call.post("/scenes/ours", data={"text": SCENE.replace("-42.9", "-43.05")}).text
    assert "<strong>does not hold</strong>" in seen
    assert "/stage?scene=~ours" in seen
    saved = call.post("/scenes/ours/save", data={"text": SCENE, "based": ""})
    assert saved.headers["location"].startswith("/scenes/ours?")
    assert (folder / "scenes" / "ours.toml").read_text() == SCENE
    assert "/stage?scene=ours" in call.get("/scenes/ours").text
    taken = call.post("/scenes/ours/file.toml", data={"text": SCENE})
    assert taken.headers["content-disposition"] == 'attachment; filename="ours.toml"'
    assert taken.text == SCENE


def test_two_who_edit_a_scene_do_not_overwrite_each_other(call: Caller, folder: Path) -> None:
    put(folder)
    based = digest_of(SCENE)
    assert call.post("/scenes/ours/save", data={"text": SCENE + "\n", "based": based}).status_code == 303
    other = SCENE.replace("A turn.", "Another.")
    refused = call.post("/scenes/ours/save", data={"text": other, "based": based})
    assert refused.status_code == 422
    assert "was changed elsewhere" in refused.text
    assert (folder / "scenes" / "ours.toml").read_text() == SCENE + "\n"
    assert (folder / "scenes" / "drafts" / "ours.toml").read_text() == other


def test_a_scene_of_the_program_is_changed_under_another_name_only(call: Caller, folder: Path) -> None:
    assert call.post("/scenes", files={"name": (None, "rigidity")}).status_code == 422
    text = state_toml(Bench(library()["rigidity"]), "rigidity", "Ours")
    refused = call.post("/scenes/rigidity/save", data={"text": text})
    assert refused.status_code == 422
    assert "came with the program" in refused.text
    saved = call.post("/scenes/rigidity/save", data={"text": text, "as": "our_rigidity"})
    assert saved.status_code == 303
    written = (folder / "scenes" / "our_rigidity.toml").read_text()
    assert own_scene("our_rigidity", written).entry.title == "Ours"


@pytest.mark.parametrize("name", ["../up", "a/b", "Ü", "", "x" * 61, "~ours", ".hidden"])
def test_no_name_leads_outside_the_folder(call: Caller, folder: Path, name: str) -> None:
    for address in ("/scenes", "/scenes/ours/save"):
        sent = (
            {"files": {"name": (None, name)}}
            if address == "/scenes"
            else {"data": {"text": SCENE, "as": name or "-"}}
        )
        assert call.post(address, **sent).status_code in (404, 422)


def test_a_file_is_sent_and_one_that_is_too_large_is_not(call: Caller, folder: Path) -> None:
    sent = call.post("/scenes", files={"name": (None, ""), "file": ("ours.toml", SCENE, "text/plain")})
    assert sent.headers["location"] == "/scenes/ours"
    assert "Our turn at 43 S" in call.get("/scenes/ours").text
    large = "# " + "x" * 200_000
    refused = call.post("/scenes", files={"name": (None, "large"), "file": ("l.toml", large, "text/plain")})
    assert refused.status_code in (413, 422)
    assert not (folder / "scenes" / "drafts" / "large.toml").exists()


def test_a_deleted_scene_comes_back_from_the_bin_with_its_draft(call: Caller, folder: Path) -> None:
    put(folder)
    call.post("/scenes/ours", data={"text": SCENE + "# changed\n"})
    deleted = call.post("/school/delete", data={"kind": "scene", "key": "ours"})
    assert deleted.headers["location"].startswith("/scenes?binned=")
    id = deleted.headers["location"].partition("binned=")[2]
    assert not (folder / "scenes" / "ours.toml").exists()
    assert "Our turn" not in call.get("/scenes").text
    assert "1 scene" in call.get("/school/bin").text
    back = call.post(f"/school/bin/{id}", data={"do": "bring back"})
    assert back.headers["location"].startswith("/scenes/ours")
    assert (folder / "scenes" / "ours.toml").read_text() == SCENE
    dropped = call.post("/scenes/ours/drop", data={"text": SCENE + "# changed\n"})
    id = dropped.headers["location"].partition("binned=")[2]
    assert (
        call.post(f"/school/bin/{id}", data={"do": "bring back"})
        .headers["location"]
        .startswith("/scenes/ours")
    )
    assert (folder / "scenes" / "drafts" / "ours.toml").read_text().endswith("# changed\n")


def test_a_flight_is_kept_as_a_draft_with_its_orders_its_title_and_its_view(
    call: Caller, app: Any, folder: Path
) -> None:
    assert call.post("/bench/keep", data={"bench": "main"}).status_code == 422
    room = app.state.shared.rooms.enter("main")
    room.playing = playing = Playing()
    playing.obey(orders.Place(latitude_deg=-43.0, longitude_deg=172.0))
    playing.fly(50, lambda: 0.0)
    playing.obey(orders.Bank(30.0))
    playing.fly(50, lambda: 0.0)
    camera = (
        '[{"at_s": 0, "orbit_deg": 30.5, "look": "rotor", "hide_case": true}, {"at_s": 4, "look": "card"}]'
    )
    said = "2.5: Now it turns.\r\n\r\n30 degrees of bank"
    sent = {"bench": "main", "title": "Ours: a turn", "camera": camera, "captions": said}
    kept = call.post("/bench/keep", data=sent)
    assert kept.headers["location"] == "/scenes/ours_a_turn"
    text = (folder / "scenes" / "drafts" / "ours_a_turn.toml").read_text()
    scene = own_scene("ours_a_turn", text)
    told = [type(event.order).__name__ for event in scene.events if event.order]
    assert told == ["Place", "Bank", "Pause"]
    assert (scene.entry.camera[0].orbit_deg, scene.entry.camera[0].look) == (30.5, "rotor")
    assert [(one.at_s, one.look) for one in scene.entry.camera] == [(0.0, "rotor"), (4.0, "card")]
    told = [(event.at_s, event.caption) for event in scene.events if event.caption]
    assert told == [(2.5, "Now it turns."), (scene.length_s, "30 degrees of bank")]
    late = call.post("/bench/keep", data=sent | {"captions": "99: Late."})
    assert late.status_code == 422
    assert "99 s is after the end" in late.text
    again = call.post("/bench/keep", data={"bench": "main"})
    assert again.headers["location"] == "/scenes/a_flight_at_43_s"
    assert call.post("/bench/keep", data={"bench": "main", "camera": "[1]"}).status_code == 422
    assert call.post("/bench/keep", data={"bench": "main", "camera": '[{"eye": 1}]'}).status_code == 422


def test_students_see_none_of_it(school: School, folder: Path, tmp_path: Path) -> None:
    put(folder)
    app = create_app(
        pretend_catalogue(tmp_path), school, Door(lan=True, names=frozenset({"hangar.local"})), folder
    )
    call = Caller(app)
    for address in ("/scenes", "/scenes/ours", "/scenes/ours/picture.svg"):
        asked = call.get(address, headers={"host": "hangar.local"})
        assert asked.status_code in (403, 404), address
        assert "Our turn" not in asked.text


ITEM = """# Where there is none

topic: wander
level: recall

At which place is the apparent wander of our gyro zero?

- [x] at the equator
  The sine is zero there.
- [ ] at the pole
  idea: no-wander-at-poles
"""
BLUEPRINT = 'title = "Short"\n\n[[topic]]\nname = "wander"\nrecall = 1\nown = 1\n'


def test_own_items_are_written_in_the_page_and_drawn_by_a_blueprint(call: Caller, school: School) -> None:
    made = {"blueprint": "own", "text": BLUEPRINT, "seed": "1", "forms": "A"}
    assert "of our gyro" not in call.post("/questions/paper", data=made).text
    assert (
        call.post("/questions/own", files={"name": (None, "ours")}).headers["location"]
        == "/questions/own/ours"
    )
    wrong = call.post(
        "/questions/own/ours", data={"text": ITEM.replace("wander\nlevel", "wonder\nlevel")}
    ).text
    assert "ours.md, line 3" in wrong
    assert "hand-where-there-is-none" in call.post("/questions/own/ours", data={"text": ITEM}).text
    assert call.post("/questions/own/ours/save", data={"text": ITEM}).status_code == 303
    assert "Where there is none" in call.get("/questions/own").text
    assert "of our gyro" in call.post("/questions/paper", data=made).text
    begun = call.post(
        "/sittings", files={name: (None, text) for name, text in {**made, "new_group": "S"}.items()}
    )
    assert begun.status_code == 303, begun.text
    assert any("of our gyro" in one.item.stem for one in school.sittings.listing()[0].asked)
    # One that does not ask for them draws them beside the models, and says so.
    drawn = {**made, "text": BLUEPRINT.replace("recall = 1\nown = 1", "recall = 3"), "key": "1"}
    shown = call.post("/questions/paper", data=drawn).text
    assert "of our gyro" in shown
    assert shown.count("Own item.") == 1


def test_what_no_longer_holds_is_on_the_page_of_scenes(call: Caller, folder: Path) -> None:
    put(folder)
    assert "Not checked since the program or the files changed: scenes/ours.toml." in call.get("/scenes").text
    assert call.post("/scenes/all/check").headers["location"].startswith("/scenes?done=checked")
    assert "Everything holds: 1 file of your own" in call.get("/scenes").text
    put(folder, SCENE.replace("-42.9", "-43.05"))
    call.post("/scenes/all/check")
    shown = call.get("/scenes").text
    assert "scenes/ours.toml: <strong>ours.toml, claim 1</strong>: truth.latitude_deg at 1 s is" in shown


TOUR = """id = "ours"
title = "Our tour"
start = { latitude_deg = -43.0 }

[[step]]
title = "One"
say = "[The card](part:card) is here."
try = "Look."

[[step]]
title = "Two"
say = "Now we bank."
try = "Look again."
from_s = 1.0
event = [{ at_s = 2, do = { do = "bank", to_deg = 20 } }]
claim = [{ at_s = 5, name = "truth.bank_deg", low = 10, high = 20.1 }]
"""


def test_an_own_tour_is_edited_listed_and_opened_step_by_step(call: Caller, app: Any, folder: Path) -> None:
    put(folder, TOUR)
    assert "A tour in 2 steps" in call.get("/scenes").text
    shown = call.get("/scenes/ours").text
    assert "<td>2</td><td>5</td>" in shown
    assert "<strong>does not hold" not in shown
    playing = Playing(scenes=app.state.shared.shelves.scenes_now)
    playing.obey(orders.PlayScene("ours", step=2))
    assert (playing.step, playing.bench.time_s) == (2, 1.0)
    assert playing.bench.state.samples[1]["latitude_rad"] == pytest.approx(-0.75049, abs=1e-4)
    # A lesson plays a step by its number.
    lesson = (
        LESSON.replace("scene: ours", "scene: ours/2")
        .replace("at: 10", "at: 5")
        .replace("@ ours 1", "@ ours/2 5")
    )
    lesson = lesson.replace("truth.latitude_deg", "truth.bank_deg")
    call.post("/lessons/mine/save", data={"text": lesson})
    assert "20 or not?" in call.get("/lessons/mine").text
    playing.obey(orders.PlayScene("ours/2"))
    assert (playing.scene_id, playing.step, playing.bench.time_s) == ("ours", 2, 1.0)
    call.post("/lessons/mine", data={"text": lesson.replace("ours/2", "ours/3")})
    assert "there is no scene &#39;ours/3&#39;" in call.get("/lessons/mine").text
