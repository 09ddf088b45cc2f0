"""A flight that is kept on the bench does the same when it is opened again."""

import tomllib
from itertools import pairwise

import numpy as np
import pytest

from lubberline.errors import InputError
from lubberline.flight.motion import STEP_S
from lubberline.simulation.bench import Bench
from lubberline.simulation.live import orders
from lubberline.simulation.live.address import scene_at
from lubberline.simulation.scenes import begun, faults_in, library, own_scene, run_scene
from lubberline.web.bench.real_time import MOVE_S, Playing, kept_toml
from tests.simulation.bench_runs import busy, give, scene, wait


def numbers(frame: object) -> list[float]:
    """All numbers of a frame, in order."""
    if isinstance(frame, dict):
        return [one for value in frame.values() for one in numbers(value)]
    if isinstance(frame, list):
        return [one for value in frame for one in numbers(value)]
    return [float(frame)] if isinstance(frame, int | float) else []


def again(bench: Bench, **given: object) -> Bench:
    text = kept_toml(bench, "kept", "Kept", **given)
    assert faults_in("kept", text) == ()
    opened = Bench(own_scene("kept", text))
    opened.advance(bench.state.step - opened.state.step)
    assert opened.failures == []
    return opened


def assert_same(bench: Bench, other: Bench) -> None:
    assert other.state.step == bench.state.step
    ours, theirs = numbers(bench.frame()), numbers(other.frame())
    assert len(ours) > 60
    np.testing.assert_allclose(theirs, ours, rtol=0.0, atol=1e-9)
    for name in ("latitude_rad", "heading_rad", "altitude_m"):
        assert float(other.state.samples[1][name]) == pytest.approx(
            float(bench.state.samples[1][name]), abs=1e-12
        )
    for ours, theirs in zip(bench.state.carried, other.state.carried, strict=True):
        held, opened = ours.truth.held["heading_indicator"], theirs.truth.held["heading_indicator"]
        np.testing.assert_allclose(opened.rows.tolist()[-1], held.rows.tolist()[-1], rtol=0.0, atol=1e-9)


@pytest.mark.parametrize("second", [None, {"fault": [{"name": "bearings", "size": 0.5}]}])
def test_a_kept_flight_ends_in_the_same_state(second: dict | None) -> None:
    faults = [{"name": "filter", "size": 0.2}, {"name": "pump", "size": 0.6, "at_min": 0.5}]
    own = {"heading_indicator": {"balance_latitude_deg": 45.0}, "fault": faults}
    bench = Bench(scene(own, second, latitude_deg=-43.0, longitude_deg=172.0, heading_deg=20.0, seed=7))
    give(bench, do="aircraft", latitude_balance_deg=None)
    busy(bench)
    assert_same(bench, again(bench))


def test_a_scene_flown_on_by_hand_is_kept_with_both_and_from_where_it_opens() -> None:
    bench = begun(library().opened("how_it_works", 12))
    wait(bench, 30.0)
    give(bench, do="fault", name="pump", size=0.0)
    give(bench, do="bank", to_deg=-25)
    wait(bench, 40.05)
    scene = own_scene("kept", kept_toml(bench, "kept", "Kept"))
    assert scene.entry.from_s == 1.0
    assert_same(bench, again(bench))


def test_what_was_taken_back_is_not_kept() -> None:
    bench = Bench(scene_at("1_lat-43_lon172_ind20"))
    wait(bench, 20.0)
    give(bench, do="bank", to_deg=30)
    wait(bench, 10.0)
    bench.rewind(15.0)
    text = kept_toml(bench, "kept", "Kept")
    assert [event["do"]["do"] for event in tomllib.loads(text)["event"]] == ["pause"]
    assert_same(bench, again(bench))


def test_the_pace_the_view_and_the_end_are_kept() -> None:
    playing = Playing()
    playing.obey(orders.Pace(60.0))
    playing.fly(600, lambda: 0.0)
    playing.obey(orders.Bank(30.0))
    playing.obey(orders.Run(20.0, 10.0))
    playing.fly(200, lambda: 0.0)
    assert playing.paused
    text = playing.kept("kept", "Kept", [{"orbit_deg": 30.0, "look": "rotor"}])
    read = tomllib.loads(text)
    told = [(event["at_s"], event["do"]["do"], event["do"].get("factor")) for event in read["event"]]
    at_s = round(600 * STEP_S, 3)
    assert told[0] == (0.0, "pace", 60.0)
    assert told[1:3] == [(at_s, "bank", None), (at_s, "pace", 10.0)]
    assert told[3:] == [(at_s + 20.0, "pace", 1.0), (at_s + 20.0, "pause", None)]
    assert read["camera"] == [{"orbit_deg": 30.0, "look": "rotor", "at_s": 0.0}]
    kept = own_scene("kept", text)
    assert kept.length_s == at_s + 20.0
    assert run_scene(kept, 30.0)[-1]["time_s"] == pytest.approx(kept.length_s)


def test_what_cannot_be_kept_is_refused() -> None:
    bench = Bench(scene())
    with pytest.raises(InputError, match="title"):
        kept_toml(bench, "kept", "")
    with pytest.raises(InputError, match="wing"):
        kept_toml(bench, "kept", "Kept", camera=[{"look": "wing"}])
    for _ in range(501):
        give(bench, do="knob", by_deg=1)
    with pytest.raises(InputError, match="501 orders"):
        kept_toml(bench, "kept", "Kept")


def test_moves_of_the_camera_and_captions_are_kept_with_their_times() -> None:
    bench = Bench(scene())
    wait(bench, 60.0)
    drag = [{"at_s": round(20.0 + 0.25 * each, 2), "orbit_deg": 10.0 + each} for each in range(9)]
    long = [{"at_s": 40.0 + each, "orbit_deg": 90.0 + each} for each in range(9)]
    moved = [{"at_s": 5.0, "orbit_deg": 10.0}, *drag, {"at_s": 30.0, "orbit_deg": 18.0}, *long]
    after_end = {"at_s": 61.0, "orbit_deg": 0.0}
    said = [{"at_s": 30.0, "caption": "Here."}]
    text = kept_toml(bench, "kept", "Kept", camera=[*moved, after_end], captions=said)
    kept = own_scene("kept", text)
    told = [(one.at_s, one.orbit_deg) for one in kept.entry.camera]
    # The first view is there from the start; of a drag of 2 s its end remains, of a long move the way.
    assert told[:2] == [(0.0, 10.0), (22.0, 18.0)]
    assert told[-1] == (48.0, 98.0)
    assert 4 <= len(told) <= 2 + 9
    assert all(after[0] - before[0] >= 1.0 for before, after in pairwise(told))
    assert [(event.at_s, event.caption) for event in kept.events if event.caption] == [(30.0, "Here.")]
    opened = Bench(kept)
    opened.advance(round(30.0 / STEP_S))
    assert opened.frame()["caption"] == "Here."
    with pytest.raises(InputError, match="61 s is after the end"):
        kept_toml(bench, "kept", "Kept", captions=[{"at_s": 61.0, "caption": "Late."}])


def test_the_scenes_own_path_stays_until_somebody_moves_the_camera() -> None:
    first = library().opened("rigidity")
    path = [view.at_s for view in first.entry.camera]
    bench = Bench(first)
    wait(bench, path[-1] + MOVE_S)
    assert [one.at_s for one in own_scene("kept", kept_toml(bench, "kept", "Kept")).entry.camera] == path
    moved = kept_toml(bench, "kept", "Kept", camera=[{"at_s": path[-1] - 0.5, "orbit_deg": 1.0}])
    assert [one.at_s for one in own_scene("kept", moved).entry.camera] == [*path[:-1], path[-1] - 0.5]
