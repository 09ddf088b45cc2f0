"""A lesson or a scene names an aircraft of the school, checked with its line; the usual one is default."""

import msgspec
import pytest

from lubberline.classroom.lessons.file import lesson_from_text, lesson_with_scenes, with_own_scenes
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.errors import InputError
from lubberline.flight.home import Home
from lubberline.simulation.live.address import scene_at
from lubberline.simulation.scenes import Library, faults_in

KEA = {"heading_indicator": {"balance_latitude_deg": -43.0}, "fault": [{"name": "pump", "size": 0.5}]}
HOME = Home("Kauri Flat", -43.4, 172.2, aircraft="ZK-KEA")
SCHOOL = Library(home=HOME, aircraft={"ZK-KEA": KEA, "ZK-TUI": {}})
LESSON = """# At home

minutes: 5
aim: See it.{front}

## Show: The bench
bench: 1_lat-43_kt0{words}{step}
to: 5

It reads {{{{ shown.gauge_inhg @ 1_lat-43_kt0{words} 5, 1 }}}} inHg.
"""


def bench_of(front: str = "", words: str = "", step: str = "", school: Library = SCHOOL) -> str:
    lesson = lesson_from_text("lesson.md", LESSON.format(front=front, words=words, step=step), school)
    assert lesson.steps[0].show is not None
    assert lesson.numbers[0].scene_ref == lesson.steps[0].show.bench
    return lesson.steps[0].show.bench


def test_the_usual_aircraft_flies_unless_another_is_named() -> None:
    for bench in (
        bench_of(),
        bench_of("\naircraft: zk-kea"),
        bench_of(words="_leak0.2", step="\naircraft: ZK-KEA"),
    ):
        scene = scene_at(bench)
        assert scene.aircraft[0].heading_indicator.balance_latitude_deg == -43.0
        assert [(one.name, one.given) for one in scene.aircraft[0].fault] == [("pump", 0.5)]
    for plain in ("\naircraft: ZK-TUI", "\naircraft: healthy"):
        assert bench_of(plain) == bench_of(step=plain) == "1_lat-43_kt0"
    # An address with instruments of its own is what it says.
    assert bench_of(words="_leak0.2") == "1_lat-43_kt0_leak0.2"
    assert bench_of(school=Library()) == "1_lat-43_kt0"


@pytest.mark.parametrize(
    ("front", "step", "line"), [("\naircraft: ZK-MOA", "", 5), ("", "\naircraft: ZK-MOA", 8)]
)
def test_an_unknown_aircraft_is_an_error_at_its_line(front: str, step: str, line: int) -> None:
    with pytest.raises(InputError) as caught:
        bench_of(front, step=step)
    assert caught.value.where == f"lesson.md, line {line}"
    assert caught.value.right == "there are: ZK-KEA, ZK-TUI, healthy"


def test_a_scene_has_its_own_aircraft() -> None:
    text = LESSON.format(front="", words="", step="\naircraft: ZK-TUI").replace(
        "bench: 1_lat-43_kt0", "scene: rigidity"
    )
    with pytest.raises(InputError, match="a scene has its own"):
        lesson_from_text("lesson.md", text, SCHOOL)


SCENE = 'id = "own"\ntitle = "Own"\naircraft = "{}"\n[second]\naircraft = "ZK-TUI"\n'


def test_an_own_scene_names_its_aircraft() -> None:
    school = Library({"own": SCENE.format("ZK-KEA")}, aircraft=SCHOOL.aircraft)
    assert school["own"].aircraft[0].heading_indicator.balance_latitude_deg == -43.0
    [fault] = faults_in("own", SCENE.format("ZK-MOA"), SCHOOL.aircraft)
    assert (fault.where, fault.right) == ("own.toml, line 3, aircraft", "there are: ZK-KEA, ZK-TUI, healthy")
    changed = Library({"own": SCENE.format("ZK-KEA")}, aircraft={"ZK-KEA": {}, "ZK-TUI": {}})
    assert school.version_of("own") != changed.version_of("own")


def test_a_taught_lesson_keeps_its_aircraft_its_home_and_its_unit() -> None:
    """Also after the aircraft has been changed or deleted."""
    metric = Library(home=msgspec.structs.replace(HOME, suction="hPa"), aircraft=SCHOOL.aircraft)
    lesson = lesson_from_text("lesson.md", LESSON.format(front="", words="", step=""), metric)
    kept = lesson_with_scenes("lesson.md", with_own_scenes(lesson))
    assert kept.steps[0].show == lesson.steps[0].show
    # A weak pump at cruise: 4.9 inHg, as the scene of a weak pump and a leaking hose claims; 166 hPa.
    assert "hPa" in taught_lesson(kept).lesson.steps[0].text
    assert "inHg" not in taught_lesson(kept).lesson.steps[0].text
