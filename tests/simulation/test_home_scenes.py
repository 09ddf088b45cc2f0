"""Scenes flown at a school's home: what 'Fifteen minutes at home' claims, and what is flown there."""

import math
import re

import msgspec
import pytest

from lubberline.flight.home import Home
from lubberline.simulation.home_scenes import FIFTEEN
from lubberline.simulation.live.scene import Scene
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


ANYWHERE = {
    *(
        "filter_clogging",
        "how_it_works",
        "precession_by_touch",
        "pump_or_leak",
        "regulator_set_low",
        "rigidity",
    ),
    *("run_down_side_by_side", "setting_it", "taxi_check", "tumble_and_recovery"),
}


def flown_at_home(home: Home) -> dict[str, Scene]:
    scenes = Library(home=home)
    return {id: scene for id, scene in scenes.items() if scene is not library().get(id)}


def test_a_scene_that_names_no_place_begins_at_home_and_another_says_where_it_is() -> None:
    flown = flown_at_home(HOMES[0])
    assert flown.keys() == ANYWHERE | {FIFTEEN}
    assert {scene.entry.start.latitude_deg for scene in flown.values()} == {-43.0}
    for id, scene in library().items():
        places = (scene, *(step.scene for step in scene.steps))
        captions = [next((one.caption for one in place.events if one.caption), "") for place in places]
        said = " ".join([scene.entry.title, scene.entry.aim, *captions])
        assert id in ANYWHERE or re.search("equator|north|south|pole", said), id


@pytest.mark.parametrize("home", HOMES[:2], ids=lambda home: home.place)
@pytest.mark.parametrize(
    "id",
    [pytest.param(id, marks=() if id == "setting_it" else pytest.mark.acceptance) for id in sorted(ANYWHERE)],
)
def test_what_a_scene_claims_holds_at_home(id: str, home: Home) -> None:
    """Also where the variation is 25 degrees: magnetic headings stay what the captions say."""
    scene = Library(home=home)[id]
    for flown in [step.scene for step in scene.steps] or [scene]:
        assert flown.entry.claim
        assert broken_claims(flown, run_scene(flown, flown.length_s)) == []


def test_another_home_is_another_edition() -> None:
    one, other = (Library(home=home) for home in HOMES[:2])
    for id in (FIFTEEN, "rigidity"):
        assert one.edition(id) != other.edition(id)
    assert (
        one.edition("near_the_pole") == other.edition("near_the_pole") == library().edition("near_the_pole")
    )


def test_scenes_are_in_the_unit_of_home() -> None:
    """4.9 inHg are 166 hPa: 1 inHg is 33.86 hPa (conventional inch of mercury at 0 C)."""
    metric = Library(home=msgspec.structs.replace(HOMES[0], suction="hPa"))
    assert "both gauges read 166 hPa" in metric["pump_or_leak"].events[0].caption
    for id, scene in metric.items():
        texts = str(msgspec.to_builtins(scene.entry))
        assert "inHg" not in texts, id
        # Every suction in a text of the program has its unit, or it would stay in inches.
        assert not re.search(r"hPa[^.]* (and|the second reads|second) \d\.\d+[. ]", texts), id
    assert metric.edition("slow_rotor_descent") != library().edition("slow_rotor_descent")
