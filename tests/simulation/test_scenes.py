"""Scenes: read or refused by name, held to their claims at any pace; states kept as text and opened."""

import re
from pathlib import Path

import pytest

from lubberline.errors import InputError
from lubberline.flight.motion import STEP_S
from lubberline.simulation.bench import Bench
from lubberline.simulation.live.address import scene_at
from lubberline.simulation.live.orders import Pace, order_of
from lubberline.simulation.live.view import between
from lubberline.simulation.scenes import (
    broken_claims,
    read_scene,
    run_scene,
    scene_from_text,
    scene_named,
    state_address,
    state_toml,
)

HEAD = 'id = "a"\ntitle = "A"\n'


def test_a_claim_that_is_not_kept_is_found() -> None:
    claim = '[[claim]]\nat_s = 10\nname = "shown.rotor_rpm"\nlow = 0\nhigh = 10\n'
    scene = scene_from_text("a.toml", HEAD + claim)
    (found,) = broken_claims(scene, run_scene(scene))
    assert found[1] > 12000.0
    missing = scene_from_text("a.toml", HEAD + claim.replace("rotor_rpm", "rotor"))
    with pytest.raises(InputError, match="no 'rotor' here"):
        broken_claims(missing, run_scene(missing))


@pytest.mark.parametrize(
    ("text", "where", "wrong"),
    [
        ("id = ", "s.toml", "not valid TOML"),
        ('title = "A"', "s.toml, id", "missing"),
        ('id = "A b"\ntitle = "A"', "s.toml, id", "matching regex"),
        (HEAD + "aimm = 3", "s.toml, aimm", "unknown key"),
        (HEAD + "[start]\nlatitude = 3", "s.toml, start.latitude", "unknown key"),
        (HEAD + "[start]\nlatitude_deg = 95", "s.toml, start.latitude_deg", "89.9"),
        (HEAD + "[aircraft]\nwings = 2", "s.toml, aircraft, wings", "unknown key"),
        (HEAD + '[[aircraft.fault]]\nname = "wing"', "s.toml, aircraft, fault 1", "no fault 'wing'"),
        (HEAD + '[[event]]\nat_s = 1\ndo = { do = "bunk" }', "s.toml, event 1, do", "no order 'bunk'"),
        (
            HEAD + '[[event]]\nat_s = 1\ndo = { do = "bank", to_deg = 99 }',
            "s.toml, event 1, bank, to_deg",
            "75",
        ),
        (
            HEAD + '[[event]]\nat_s = 1\ndo = { do = "reset" }',
            "s.toml, event 1, do",
            "cannot give the order 'reset'",
        ),
        (HEAD + "[[event]]\nat_s = -1", "s.toml, event 1, at_s", ">= 0"),
        (HEAD + '[[camera]]\nat_s = 1\nlook = "moon"', "s.toml, camera 1, look", "moon"),
    ],
)
def test_a_wrong_scene_is_refused_by_file_and_field(text: str, where: str, wrong: str) -> None:
    with pytest.raises(InputError) as caught:
        scene_from_text("s.toml", text)
    place = re.sub(r", line \d+", "", caught.value.where)
    assert place == where
    assert wrong in caught.value.wrong
    assert caught.value.right


def test_a_file_carries_its_own_name(tmp_path: Path) -> None:
    path = tmp_path / "b.toml"
    path.write_text(HEAD, encoding="utf-8")
    with pytest.raises(InputError, match="the file's name"):
        read_scene(path)
    with pytest.raises(InputError, match="no scene 'rigiditi'"):
        scene_named("rigiditi")


def test_events_are_done_at_their_times_and_said() -> None:
    scene = scene_from_text(
        "a.toml",
        HEAD
        + '[[event]]\nat_s = 3\ndo = { do = "bank", to_deg = 20 }\ncaption = "Over it goes."\n'
        + '[[event]]\nat_s = 0\ndo = { do = "pace", factor = 5 }\n',
    )
    bench = Bench(scene)
    assert bench.wishes == [Pace(5.0)]
    bench.advance(29)
    assert bench.frame()["caption"] is None
    bench.advance(20)
    assert bench.frame()["caption"] == "Over it goes."
    assert bench.events[-1].words == "Over it goes."
    assert bench.frame()["truth"]["bank_deg"] > 5.0


def test_a_scene_goes_on_when_something_is_done_in_between() -> None:
    scene = scene_from_text("a.toml", HEAD + '[[event]]\nat_s = 9\ndo = { do = "bank", to_deg = 20 }\n')
    bench = Bench(scene)
    bench.advance(50)
    bench.give(order_of({"do": "ghost", "id": "no-earth-wander", "on": True}, "test"))
    bench.advance(150)
    assert bench.frame()["truth"]["bank_deg"] == pytest.approx(20.0, abs=0.01)
    bench.rewind(2.0)
    bench.advance(150)
    assert bench.frame()["truth"]["bank_deg"] == pytest.approx(20.0, abs=0.01)
    assert len(bench.frame()["ghosts"]) == 1


def test_an_order_that_cannot_be_done_fails_the_run() -> None:
    text = '[start]\non_ground = true\n[[event]]\nat_s = 1\ndo = { do = "bank", to_deg = 20 }\n'
    with pytest.raises(InputError, match="on the ground"):
        run_scene(scene_from_text("a.toml", HEAD + text))


def test_a_fault_of_the_aircraft_comes_at_its_time() -> None:
    text = '[aircraft]\n[[aircraft.fault]]\nname = "pump"\nsize = 1.0\nat_min = 1.0\n'
    bench = Bench(scene_from_text("a.toml", HEAD + text))
    bench.advance(590)
    assert bench.frame()["shown"]["gauge_inhg"] > 4.0
    bench.advance(20)
    assert bench.frame()["shown"]["gauge_inhg"] < 0.1


ORDERS = (
    {"do": "place", "latitude_deg": -35.25, "longitude_deg": 149.5},
    {"do": "climb", "to_fpm": 400},
    {"do": "speed", "to_kt": 140, "at_g": 0.2},
    {
        "do": "aircraft",
        "latitude_balance_deg": 45,
        "gauge_tap": "instruments",
        "deviation": [0, 1, -2, 0, 0.5],
    },
    {"do": "set", "to_deg": 123},
    {"do": "fault", "name": "filter", "size": 0.85},
    {"do": "ghost", "id": "no-earth-wander", "on": True},
    {"do": "rough", "level": "light"},
    {"do": "bank", "to_deg": -20},
)


def kept_bench() -> Bench:
    bench = Bench()
    for fields in ORDERS:
        bench.give(order_of(fields, "test"))
        bench.advance(30)
    bench.advance(300)
    return bench


@pytest.mark.parametrize("kind", ["address", "scene file"])
def test_a_kept_state_is_opened_as_it_was(kind: str) -> None:
    bench = kept_bench()
    before = bench.frame()
    if kind == "address":
        text = state_address(bench, pace=10.0)
        assert len(text) < 200
        assert all(sign.isalnum() or sign in "-._" for sign in text)
        again = Bench(scene_at(text))
        assert again.wishes == [Pace(10.0)]
    else:
        again = Bench(scene_from_text("kept.toml", state_toml(bench)))
    after = again.frame()
    for name in ("heading_deg", "latitude_deg", "longitude_deg", "airspeed_kt"):
        assert after["truth"][name] == pytest.approx(before["truth"][name], abs=0.15), name
    assert after["shown"]["error_deg"] == pytest.approx(before["shown"]["error_deg"], abs=2.0)
    assert after["faults"] == before["faults"]
    assert [ghost["id"] for ghost in after["ghosts"]] == ["no-earth-wander"]
    again.advance(100)
    assert again.frame()["truth"]["bank_deg"] == pytest.approx(-20.0, abs=8.0)
    assert again.state.steer.climb_mps == bench.state.steer.climb_mps
    own, kept = again.state.carried[0].aircraft, bench.state.carried[0].aircraft
    assert own.compass == kept.compass
    assert own.suction == kept.suction
    assert own.heading_indicator == kept.heading_indicator


def test_the_address_of_the_start_is_short_and_of_two_aircraft_whole() -> None:
    assert state_address(Bench()) == "1"
    second = "[second.aircraft.heading_indicator]\nreal_wander_deg_15min = 3.0\n"
    bench = Bench(
        scene_from_text("a.toml", HEAD + second + '[[second.aircraft.fault]]\nname = "bearings"\nsize = 1\n')
    )
    text = state_address(bench)
    assert text == "1_second_wanderx3_bearingsx1"
    again = Bench(scene_at(text))
    assert again.frame()["second"] == bench.frame()["second"]


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("", "not a version"),
        ("2_lat45", "'2' is not a version"),
        ("1_lat", "'lat'"),
        ("1_lat95", "89.9"),
        ("1_lut45", "'lut45'"),
        ("1_lat45__", "''"),
        ("1_ghost-x", "no wrong idea 'x'"),
        ("1_day20261340", "'day20261340'"),
        ("1_lat4.5.5", "'lat4.5.5'"),
        ("1_seed1.5", "int"),
        ("1" + "_lat45" * 400, "characters are too many"),
        ("1_wanderx3", "'wanderx3'"),
        ("1_<script>", "'<script>'"),
    ],
)
def test_a_wrong_address_is_refused(text: str, wrong: str) -> None:
    with pytest.raises(InputError) as caught:
        scene_at(text)
    assert wrong in str(caught.value)


def test_between_two_steps_headings_go_the_short_way() -> None:
    first = {"truth": {"heading_deg": 359.0}, "shown": {"error_deg": 179.0, "gauge_inhg": None}, "n": 1}
    last = {"truth": {"heading_deg": 1.0}, "shown": {"error_deg": -179.0, "gauge_inhg": 5.0}, "n": 2}
    shown = between(first, last, 0.25)
    assert shown == {
        "truth": {"heading_deg": 359.5},
        "shown": {"error_deg": 179.5, "gauge_inhg": 5.0},
        "n": 2,
    }
    assert between(first, last, 0.75)["shown"]["error_deg"] == -179.5


def test_frames_are_the_same_at_any_pace() -> None:
    scene = scene_named("rigidity")
    coarse = {frame["time_s"]: frame for frame in run_scene(scene, every_s=10.0)}
    fine = {frame["time_s"]: frame for frame in run_scene(scene, every_s=STEP_S)}
    assert len(fine) > 600
    assert all(fine[time_s] == frame for time_s, frame in coarse.items())
