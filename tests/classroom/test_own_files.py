"""Own files are checked with the program that runs: what they claim is flown, and what was found is kept."""

from pathlib import Path

import pytest

from lubberline.classroom import own_files
from lubberline.classroom.lessons.audiences import seen_by_instructor
from lubberline.classroom.lessons.file import lesson_from_text, lesson_with_scenes, with_own_scenes
from lubberline.classroom.lessons.lesson import Quiz
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.classroom.lessons.teaching import standing
from lubberline.classroom.own_files import check_files, last_check, waiting
from lubberline.classroom.records import Sitting
from lubberline.cli import main
from lubberline.errors import InputError
from lubberline.questions.blueprint import blueprint_from_text
from lubberline.questions.handwritten import (
    HandwrittenItem,
    is_handwritten,
    items_from_text,
    items_of_folder,
)
from lubberline.questions.papers import assemble
from lubberline.simulation.misconceptions.idea import SPOKEN
from lubberline.simulation.scenes import SchoolScenes
from lubberline.simulation.words import words_from_text

SCENE = """id = "ours"
title = "Ours"

[[event]]
at_s = 1
do = { do = "bank", to_deg = 20 }

[[claim]]
at_s = 1
name = "truth.latitude_deg"
low = 44.0
high = 46.0
"""
TOUR = """id = "tour"
title = "Our tour"

[[step]]
title = "One"
say = "[The card](part:card) is here."
try = "Look."
claim = [{ at_s = 1, name = "truth.latitude_deg", low = 0, high = 1 }]
"""
LESSON = """# Ours

minutes: 5
aim: Something.

## Predict: Where
answer: number
scene: ours
at: 1
asks: truth.latitude_deg
tolerance: 1
topic: wander
because: It is.

Where?

## Quiz: Own items
models: hand-where-there-is-none
"""
ITEM = """# Where there is none

topic: wander
level: recall

At which place is the apparent wander zero?

- [x] at the equator
  The sine is zero there.
- [ ] at the pole
  idea: no-wander-at-poles
"""
WORDS = '[parts]\ncard = "Skala"\n\n[ideas]\nno-earth-wander = "Die Erde dreht nicht mit."\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in {
        "scenes/ours.toml": SCENE,
        "items/ours.md": ITEM,
        "words/ours.toml": WORDS,
        "lessons/ours.md": LESSON,
    }.items():
        (tmp_path / name).parent.mkdir()
        (tmp_path / name).write_text(text)
    return tmp_path


def test_all_that_holds_is_found_to_hold_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert len(waiting(folder)) == 4
    told: list[tuple[int, int]] = []
    checked = check_files(folder, lambda done, of: told.append((done, of)))
    assert checked.findings == ()
    assert [*checked.files] == ["scenes/ours.toml", "items/ours.md", "words/ours.toml", "lessons/ours.md"]
    assert told[-1] == (3, 4)
    assert waiting(folder) == []
    assert last_check(folder) == checked
    # Nothing is flown again while nothing has changed.
    monkeypatch.setattr(own_files, "_faults", lambda *_: pytest.fail("looked at again"))
    assert check_files(folder) == checked
    # Another version of the program looks at everything again.
    monkeypatch.setattr(own_files, "program_digest", lambda: "another")
    assert len(waiting(folder)) == 4


def test_what_no_longer_holds_is_named_with_its_place_and_reason(folder: Path) -> None:
    check_files(folder)
    (folder / "scenes" / "ours.toml").write_text(SCENE.replace("44.0", "45.5"))
    (folder / "scenes" / "tour.toml").write_text(TOUR)
    (folder / "items" / "bad.md").write_text(ITEM.replace("no-wander-at-poles", "no-such-idea"))
    (folder / "words" / "bad.toml").write_text(WORDS.replace("card", "cart"))
    assert len(waiting(folder)) == 5
    found = {one.file: one for one in check_files(folder).findings}
    assert [*found] == ["scenes/ours.toml", "scenes/tour.toml", "items/bad.md", "words/bad.toml"]
    assert found["scenes/ours.toml"].where == "ours.toml, claim 1"
    assert found["scenes/ours.toml"].wrong == "truth.latitude_deg at 1 s is 45.001"
    assert found["scenes/tour.toml"].where == "tour.toml, step 1, claim 1"
    assert found["items/bad.md"].where == "bad.md, line 11"
    assert found["words/bad.toml"].where == "bad.toml, line 2, parts"
    # A lesson that plays a scene which is gone does not hold either, and is itself again with it.
    (folder / "scenes" / "ours.toml").unlink()
    assert "lessons/ours.md" in {one.file for one in check_files(folder).findings}
    (folder / "scenes" / "ours.toml").write_text(SCENE)
    assert "lessons/ours.md" not in {one.file for one in check_files(folder).findings}


def test_the_command_checks_all_and_ends_with_2_if_any_does_not_hold(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["own", "--folder", str(folder)]) == 0
    assert "lessons/ours.md: holds" in capsys.readouterr().out
    (folder / "scenes" / "ours.toml").write_text(SCENE.replace("44.0", "45.5"))
    assert main(["own", "--folder", str(folder)]) == 2
    said = capsys.readouterr()
    assert (
        "scenes/ours.toml: does not hold\n    ours.toml, claim 1: truth.latitude_deg at 1 s is 45" in said.out
    )
    assert "1 of 4 files do not hold" in said.err
    assert main(["own", "--folder", str(folder / "none")]) == 2


def test_a_lesson_on_the_command_line_plays_own_scenes(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LUBBERLINE_FOLDER", str(folder / "empty"))
    lesson = str(folder / "lessons" / "ours.md")
    assert main(["lesson", "check", lesson]) == 2
    assert "there is no scene 'ours'" in capsys.readouterr().err
    monkeypatch.setenv("LUBBERLINE_FOLDER", str(folder))
    assert main(["lesson", "check", lesson]) == 0
    assert "right: 45" in capsys.readouterr().out
    assert main(["lesson", "time", lesson, "--scenes", str(folder / "scenes")]) == 0
    assert main(["lesson", "time", lesson, "--scenes", str(folder / "none")]) == 2


def test_a_quiz_asks_own_items_and_a_sitting_carries_what_is_the_schools(folder: Path) -> None:
    scenes, items = SchoolScenes(folder / "scenes").library(), items_of_folder(folder / "items")
    lesson = lesson_from_text("ours.md", LESSON, scenes, items)
    asked = taught_lesson(lesson).asked
    assert [one.item.model for one in asked][1:] == ["hand-where-there-is-none"]
    carried = lesson_with_scenes("lesson.md", with_own_scenes(lesson))
    assert carried.text == LESSON
    again = taught_lesson(carried).asked
    assert [one.item.stem for one in again] == [one.item.stem for one in asked]
    with pytest.raises(InputError, match="line 18: unknown name 'hand-where-there-is-none'"):
        lesson_from_text("ours.md", LESSON, scenes)


def test_words_name_parts_and_ideas_that_exist() -> None:
    words = words_from_text("ours.toml", WORDS)
    assert words.named_parts()["card"] == "Skala"
    assert words.named_parts()["rotor"] == "rotor"
    other = words_from_text("b.toml", '[parts]\ncard = "Rose"\nrotor = "Kreisel"\n')
    assert words.with_words(other).parts == {"card": "Skala", "rotor": "Kreisel"}
    for text, line in (
        (WORDS.replace("card", "cart"), 2),
        (WORDS.replace("no-earth", "no-moon"), 5),
        (WORDS.replace('"Skala"', '""'), 2),
        (WORDS.replace("[ideas]", "[idea]"), 4),
        (WORDS.replace('"Skala"', "Skala"), 2),
    ):
        with pytest.raises(InputError, match=rf"^ours.toml, line {line}\b"):
            words_from_text("ours.toml", text)


def of_topic(count: int) -> dict[str, HandwrittenItem]:
    text = "\n".join(ITEM.replace("# Where there is none", f"# Own question {k}") for k in range(count))
    return {record.item.model: record for record in items_from_text("own.md", text)}


QUIZ = """# Ours

minutes: 5
aim: Something.

## Quiz: On wander
topics: wander
levels: recall
count: 4
"""


def test_a_quiz_by_topic_draws_own_items_too_and_the_instructor_is_told() -> None:
    own = of_topic(40)
    lesson = lesson_from_text("ours.md", QUIZ, items=own)
    drawn = [one.item for one in taught_lesson(lesson).asked]
    there = [item for item in drawn if is_handwritten(item)]
    assert len(drawn) == 4
    assert len(there) >= 1
    assert [item.id for item in drawn] == [one.item.id for one in taught_lesson(lesson).asked]
    # As they were when it was opened, and none of another level.
    again = taught_lesson(lesson_with_scenes("lesson.md", with_own_scenes(lesson)))
    assert [one.item for one in again.asked] == drawn
    assert lesson_from_text("ours.md", QUIZ.replace("recall", "judge").replace("4", "1"), items=own).steps[
        0
    ].quiz == Quiz((), ("wander",), ("judge",), 1)
    begun = Sitting("s", "g", "lesson", "Ours", "", step=0, phase="open", asked=taught_lesson(lesson).asked)
    stands = standing(begun, taught_lesson(lesson))
    view = seen_by_instructor(begun, taught_lesson(lesson), stands, (), (), {})
    assert len(view.own) == len(there)


def test_a_blueprint_by_topic_draws_own_items_once_in_all_forms_unless_it_asks_for_them() -> None:
    own = [record.item for record in of_topic(40).values()]
    text = 'title = "T"\nforms = ["A", "B"]\n[[topic]]\nname = "wander"\nrecall = 2\ncodes = ["X 1"]\n'
    blueprint = blueprint_from_text("b.toml", text)
    papers = assemble(blueprint, 1, drawn=own)
    found = [item for paper in papers for item in paper.items if is_handwritten(item)]
    assert found
    assert len({item.id for item in found}) == len(found)
    assert all(item.codes == ("X 1",) and item.level == "recall" for item in found)
    assert assemble(blueprint, 1, drawn=[]) == assemble(blueprint, 1)
    asks = blueprint_from_text("b.toml", f"{text}own = 1\n")
    only = assemble(asks, 1, own=own[:2], drawn=own)
    assert [sum(map(is_handwritten, paper.items)) for paper in only] == [1, 1]


def test_an_item_of_a_title_that_another_file_has_is_told_with_its_line(folder: Path) -> None:
    (folder / "items" / "theirs.md").write_text(f"{ITEM.replace('none', 'any')}\n{ITEM}")
    (found,) = check_files(folder).of("items/theirs.md")
    assert (found.where, found.wrong) == ("theirs.md, line 13", "ours.md has an item of this title")


def test_a_lesson_on_the_command_line_speaks_the_schools_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LUBBERLINE_FOLDER", str(tmp_path))
    (tmp_path / "words").mkdir()
    (tmp_path / "words" / "deutsch.toml").write_text('[terms]\n"heading indicator" = "Kursanzeiger"\n')
    lesson = tmp_path / "quiz.md"
    lesson.write_text("# A quiz\n\nminutes: 5\naim: Ask.\n\n## Quiz: It\nmodels: wander-rate\n")
    before = SPOKEN.get()
    try:
        assert main(["lesson", "check", str(lesson)]) == 0
    finally:
        SPOKEN.set(before)
    said = capsys.readouterr().out
    assert "Kursanzeiger" in said
    assert "heading indicator" not in said
