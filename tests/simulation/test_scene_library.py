"""The library of scenes: every number and side that a scene's texts state is asserted against the engine.

The engine itself is held to published formulas and to a rigid-body engine elsewhere; formulas beside the
claims in the files say where their numbers come from.
"""

from itertools import pairwise

import pytest

from lubberline.instruments.instrument import Laws
from lubberline.simulation.live import state
from lubberline.simulation.live.orders import Pace, Pause
from lubberline.simulation.live.scene import Claim, Scene
from lubberline.simulation.scenes import broken_claims, library, run_scene, scene_from_text, scene_named
from tests.frozen import numbers
from tests.frozen.numbers import differences
from tests.simulation.scene_numbers import (
    Stated,
    is_claimed,
    looks,
    misread,
    paces,
    paces_said,
    stated_in,
    texts_of,
    watching_s,
)
from tools.write import scenes_page

SCENES = {id: scene for id, scene in library().items() if not scene.steps}
GREATEST_CAPTION = 200
each = pytest.mark.parametrize("id", SCENES)


def broken(scene: Scene) -> list[tuple[Claim, float]]:
    return broken_claims(scene, run_scene(scene, scene.length_s))


@each
def test_the_engine_keeps_what_the_scene_claims_and_its_numbers_are_what_they_were(id: str) -> None:
    found, frames = numbers.flown(SCENES[id], looks(SCENES[id]))
    for claim in SCENES[id].entry.claim:
        assert claim.low <= found["claims"][f"{claim.name} at {claim.at_s:g} s"] <= claim.high, claim
    now = {"address": f"/bench?scene={id}"} | found
    assert list(differences(numbers.frozen("scenes")[id], now)) == []
    assert misread(SCENES[id], frames) == []


def test_there_are_enough() -> None:
    titles = [scene.entry.title for scene in SCENES.values()]
    assert len(SCENES) >= 22
    assert len(set(titles)) == len(titles)


@each
def test_the_texts_are_there(id: str) -> None:
    entry = SCENES[id].entry
    assert entry.aim.endswith(".")
    assert entry.watch.endswith((".", "?"))
    assert entry.ask.endswith("?")
    assert not any("!" in text for _, text in texts_of(SCENES[id]))
    assert len(entry.claim) >= 3


@each
def test_captions_come_in_order_and_the_scene_ends(id: str) -> None:
    scene = SCENES[id]
    times = [event.at_s for event in scene.entry.event]
    assert times == sorted(times)
    captions = [event.caption for event in scene.events if event.caption]
    assert any(event.caption for event in scene.events if event.at_s == 0.0)
    assert all(event.caption or event.do for event in scene.entry.event)
    assert len(captions) >= 3
    assert len(set(captions)) == len(captions)
    assert max(len(caption) for caption in captions) <= GREATEST_CAPTION
    assert scene.events[-1].order == Pause(True)
    assert scene.events[-1].at_s == scene.length_s
    assert all(claim.at_s <= scene.length_s for claim in scene.entry.claim)


@each
def test_a_caption_is_the_last_thing_said_at_its_time(id: str) -> None:
    events = [event for event in SCENES[id].events if not isinstance(event.order, Pace | Pause)]
    for event, after in pairwise(events):
        assert not (event.caption and event.at_s == after.at_s), event.caption


@each
def test_it_takes_half_a_minute_to_three_minutes_to_watch(id: str) -> None:
    assert 30.0 <= watching_s(SCENES[id]) <= 180.0


@each
def test_a_new_pace_is_announced(id: str) -> None:
    scene = SCENES[id]
    said = list(paces_said(scene))
    for at_s, factor in said:
        assert any(f == factor and abs(t - at_s) <= 6.0 for t, f in paces(scene))
    for at_s, factor in paces(scene):
        if factor > 15.0:
            assert any(f == factor and abs(t - at_s) <= 6.0 for t, f in said)


@each
def test_numbers_in_the_texts_are_claimed(id: str) -> None:
    scene = SCENES[id]
    stated = [number for at_s, text in texts_of(scene) for number in stated_in(at_s, text)]
    assert [number.words for number in stated if not is_claimed(number, scene)] == []


@each
def test_what_is_unclaimed_stands_in_the_texts(id: str) -> None:
    entry = SCENES[id].entry
    everything = " ".join([entry.title, entry.aim, entry.watch, entry.ask, *(e.caption for e in entry.event)])
    assert [phrase for phrase in entry.unclaimed if phrase not in everything] == []


@pytest.mark.parametrize(
    ("law", "wrong", "ids"),
    [
        ("earth_sine", -1.0, ["fifteen_minutes_45n", "fifteen_minutes_45s"]),
        ("travel", -1.0, ["flying_west_70n"]),
        ("geometry", 0.0, ["bank_and_card"]),
        ("levelling", 0.0, ["long_turn", "turn_with_slow_rotor"]),
        ("slow_rotor_power", 0.0, ["pump_failure_in_cloud"]),
        ("balance_everywhere", 1.0, ["balance_after_a_ferry"]),
        ("compass_turning", 0.0, ["compass_turn_north_55n", "compass_turn_south_55n"]),
        ("compass_northern_everywhere", 1.0, ["compass_turn_38s"]),
        ("compass_acceleration", 0.0, ["compass_acceleration"]),
        ("compass_deviation", -1.0, ["setting_it"]),
    ],
)
def test_claims_notice_a_wrong_law(
    law: str, wrong: float, ids: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(state, "PHYSICS", Laws({law: wrong}))
    assert [id for id in ids if not broken(scene_named(id))] == []


SAMPLE = """
id = "sample"
title = "Sample"
[[event]]
at_s = 100.0
caption = "It reads 2.7 degrees low, and falls by 10.6 degrees an hour. Under 3 degrees. 10 minutes passed."
[[claim]]
at_s = 100.0
name = "shown.error_deg"
low = -3.0
high = -2.6
[[claim]]
at_s = 700.0
name = "rates.earth_deg_h"
low = -10.7
high = -10.5
"""


def test_a_number_is_claimed_by_its_unit_its_side_and_its_time() -> None:
    scene = scene_from_text("sample.toml", SAMPLE)
    numbers = [number for at_s, text in texts_of(scene) for number in stated_in(at_s, text)]
    low, rate, bound, time = numbers
    assert low == Stated("2.7 degrees low", 2.7, 1, "degrees", -1, 100.0)
    assert is_claimed(low, scene)
    assert is_claimed(bound, scene)
    assert is_claimed(time, scene)
    assert not is_claimed(rate, scene), "its claim is made ten minutes later"
    high = Stated("2.7 degrees high", 2.7, 1, "degrees", 1, 100.0)
    other = Stated("2.7 inHg", 2.7, 1, "inHg", 0, 100.0)
    assert not is_claimed(high, scene)
    assert not is_claimed(other, scene)


def test_the_page_of_scenes_is_as_the_files_are() -> None:
    assert scenes_page.PAGE.read_text(encoding="utf-8") == scenes_page.page()
