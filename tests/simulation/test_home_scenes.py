"""Scenes flown at a school's home: what 'Fifteen minutes at home' claims, and what is flown there."""

import math

import pytest

from lubberline.flight.home import Home
from lubberline.simulation.home_scenes import AT_HOME, FIFTEEN
from lubberline.simulation.scenes import Library, broken_claims, library, number_in, run_scene

HOMES = (
    Home("Kauri Flat", -43.0, 172.2, 300.0, "Pacific/Auckland"),
    Home("Birch Lake", 65.0, 25.0),
    Home("Palm Strip", 0.5, 32.0),
)


@pytest.mark.parametrize("home", HOMES, ids=lambda home: home.place)
def test_fifteen_minutes_at_home_are_flown_as_they_are_claimed(home: Home) -> None:
    scene = Library(home=home)[FIFTEEN]
    frames = run_scene(scene, scene.length_s)
    assert scene.entry.claim
    assert broken_claims(scene, frames) == []
    # Apparent wander 15.04 sin(latitude) deg/h: any text on gyroscopic theory for pilots. 100 kt north for a
    # quarter of an hour is 25 nm: the middle is 0.21 degrees further north.
    wander_deg = -15.04 * math.sin(math.radians(home.latitude_deg + 0.21)) * 0.25
    assert number_in(frames[-1], "shown.error_deg") == pytest.approx(wander_deg, abs=0.05)
    said = " ".join(event.caption for event in scene.events)
    assert home.position in said
    assert ("high at" in said, "low at" in said) == (wander_deg > 0.1, wander_deg < -0.1)
    if abs(wander_deg) > 0.1:
        assert f"reads {abs(wander_deg):.1f} degrees" in said


def test_scenes_that_hold_anywhere_are_flown_at_home_and_say_so() -> None:
    home = HOMES[0]
    scenes = Library(home=home)
    flown = {id.removeprefix(AT_HOME): scenes.opened(id) for id in scenes.with_drafts() if AT_HOME in id}
    assert {"rigidity", "pump_failure_in_cloud"} <= flown.keys()
    assert not flown.keys() & {
        "fifteen_minutes_45s",
        "near_the_pole",
        "balance_after_a_ferry",
        "how_it_works",
    }
    for id, scene in flown.items():
        assert scene.entry.start.latitude_deg == -43.0, id
        assert scene.entry.claim == (), id
        assert "Flown at Kauri Flat" in next(event.caption for event in scene.events if event.caption), id
        assert len(scene.aircraft) == len(library()[id].aircraft), id
    assert not [id for id in scenes if AT_HOME in id]


def test_another_home_is_another_edition() -> None:
    one, other = (Library(home=home) for home in HOMES[:2])
    for id in (FIFTEEN, f"{AT_HOME}rigidity"):
        assert one.edition(id) != other.edition(id)
    # A sitting keeps the scene as it was.
    kept = Library(one.texts([FIFTEEN]))
    assert kept[FIFTEEN].entry == one[FIFTEEN].entry
