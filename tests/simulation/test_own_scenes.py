"""A school's own scenes: found beside the package's, and errors told with their lines."""

import os
from pathlib import Path

import pytest

from lubberline.errors import InputError
from lubberline.simulation.scenes import Library, SchoolScenes, faults_in, library, scene_from_text

OWN = 'id = "own"\ntitle = "Ours"\n\n[start]\nlatitude_deg = -43.0\n'
EVENT = '\n[[event]]\nat_s = 2\ndo = { do = "bank", to_deg = 20 }\n'


def test_own_scenes_are_found_beside_those_of_the_package_and_read_again_when_their_file_changes(
    tmp_path: Path,
) -> None:
    scenes = SchoolScenes(tmp_path)
    assert scenes.library() is library()
    (tmp_path / "own.toml").write_text(OWN)
    first = scenes.library()
    assert next(iter(first)) == "own"
    assert first.own == ("own",)
    assert first.named("own").entry.start.latitude_deg == -43.0
    assert first.named("rigidity") is library().named("rigidity")
    assert scenes.library() is first
    (tmp_path / "own.toml").write_text(OWN.replace("-43.0", "-44.0"))
    os.utime(tmp_path / "own.toml", (1, 1))
    second = scenes.library()
    assert second.named("own").entry.start.latitude_deg == -44.0
    assert first.version_of("own") != second.version_of("own") != ""
    assert second.version_of("rigidity") == ""
    # Another school in the same process has its own, and the package's has none of theirs.
    assert "own" not in SchoolScenes(tmp_path / "elsewhere").library()
    assert "own" not in library()


def test_an_own_scene_takes_no_id_of_the_package_and_a_wrong_file_hides_no_other() -> None:
    taken = OWN.replace('"own"', '"rigidity"')
    scenes = Library({"rigidity": taken, "own": OWN, "other": OWN, "broken": "id ="})
    assert scenes["rigidity"] is library()["rigidity"]
    assert scenes.own == ("own",)
    assert [*scenes.faults] == ["rigidity", "other", "broken"]
    assert scenes.faults["rigidity"].wrong == "the program has a scene 'rigidity'"
    with pytest.raises(InputError, match=r"'broken' has an error \(broken.toml, line 1"):
        scenes.named("broken")


def test_a_draft_is_opened_by_its_own_name_and_is_not_listed() -> None:
    scenes = Library({"own": OWN}, {"own": OWN.replace("Ours", "Ours, changed")})
    assert scenes.opened("own").entry.title == "Ours"
    assert scenes.opened("~own").entry.title == "Ours, changed"
    assert "~own" not in [*scenes]
    with pytest.raises(InputError):
        scenes.named("~own")


POMP = '[[aircraft.fault]]\nname = "pomp"\nsize = 1\n'
CLAIMS = """
claim = [
  { at_s = 1, name = "shown.error_deg", low = 0, high = 1 },
  { at_s = 2, name = "shown.error_deg", low = 0 }, # high is missing
]
"""


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (OWN.replace("-43.0", "-95.0"), 5),
        (OWN.replace("latitude_deg", "latitude"), 5),
        (OWN + EVENT + EVENT.replace("to_deg", "to"), 13),
        (OWN + EVENT + EVENT.replace("20", "200"), 13),
        (OWN + EVENT.replace("bank", "take"), 9),
        (OWN + EVENT + "sound = 1\n", 10),
        (OWN + '[[camera]]\nat_s = 0\nlook = "wing"\n', 8),
        (OWN.replace("\n\n", CLAIMS), 5),
        (OWN + '[aircraft.heading_indicator]\n"drive" = "steam"\n', 7),
        (
            OWN
            + '[[aircraft.fault]]\nname = "pump"\nsize = 1\n[[aircraft.fault]]\nname = "pomp"\nsize = 1\n',
            9,
        ),
        (OWN + '[[step]]\ntitle = "One"\nsay = """\n[a](part:wing)"""\ntry = "Press."\n', 8),
        (OWN + "\n# nothing = 1\nlongitude_deg = nan\n", 8),
        ('title = "No id"\n', 1),
    ],
)
def test_what_is_wrong_is_told_with_its_line(text: str, line: int) -> None:
    with pytest.raises(InputError, match=rf"^own.toml, line {line}\b"):
        scene_from_text("own.toml", text)


def test_all_errors_of_a_file_are_told_at_once() -> None:
    text = (
        OWN.replace("-43.0", "-95.0")
        + EVENT.replace("bank", "bonk")
        + EVENT.replace("20", "200")
        + EVENT
        + EVENT.replace("at_s = 2", "at_s = -2")
        + '[[claim]]\nat_s = 1\nname = "shown.error_deg"\nlow = 0\n'
        + '[aircraft.suction]\nregulator = "high"\n'
    ).replace('title = "Ours"\n', "\n")
    told = [fault.where for fault in faults_in("own", text)]
    lines = [int(where.split(", ")[1].removeprefix("line ")) for where in told]
    assert sorted(lines) == [1, 5, 9, 13, 20, 22, 27]
    assert faults_in("own", OWN + EVENT) == ()
    assert [fault.where for fault in faults_in("other", OWN)] == ["other.toml, id"]
