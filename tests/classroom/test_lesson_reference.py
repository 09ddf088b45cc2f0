"""A lesson that says 'pointing north' where the card reads another number is warned about, with its line."""

from pathlib import Path

import pytest

from lubberline.classroom.lessons.file import lesson_from_text, read_lesson
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.classroom.lessons.reference import mixed_references
from lubberline.cli import main
from lubberline.store.fleet import demo_folder

LESSON = """# Setting at home

id: at_home
minutes: 20
aim: Say what the card reads.
needs: Nothing.

## Predict: A card at home
answer: dial
bench: 1_lat-43.4_lon172.2_hdg0{}
at: 5
asks: shown.indicated_deg
tolerance: 2
topic: setting
level: apply
because: It is set to the compass.

An aircraft stands on the apron, {}. What does its card read?

## Reveal: The card
"""


def mixed(words: str, more: str = "") -> list[tuple[int, str]]:
    found = mixed_references(lesson_from_text("lesson.md", LESSON.format(more, words)))
    return [(one.line, one.words) for one in found]


def test_pointing_north_is_warned_about_with_its_line_and_what_to_write() -> None:
    # WMM-2025: about 25 E there (from memory: 24 to 25), so the card reads 335 with the nose at 000.
    [(line, words)] = mixed("pointing north")
    assert line == 18
    assert "the card reads 335" in words
    assert "'pointing north magnetic' and start at heading 025" in words
    assert mixed("heading 360")
    assert mixed("with its nose to the north") == []


@pytest.mark.parametrize(
    "right", ["pointing north true", "pointing east", "heading 336", "pointing north magnetic"]
)
def test_what_is_said_rightly_is_not(right: str) -> None:
    assert mixed(right) == []


def test_a_bench_that_is_set_to_true_is_right() -> None:
    assert mixed("pointing north", "_true") == []


def test_a_lesson_at_172_east_that_is_keyed_338_is_warned_about() -> None:
    """With variation 22 E the card reads 338 with the nose at true north: so it is at 41.3 S."""
    text = LESSON.replace("lat-43.4", "lat-41.3").format("", "pointing north")
    lesson = lesson_from_text("lesson.md", text)
    [asked] = taught_lesson(lesson).asked
    assert asked.item.answer == pytest.approx(338.0, abs=1.0)
    assert [one.line for one in mixed_references(lesson)] == [18]


def test_the_command_says_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "home.md"
    path.write_text(LESSON.format("", "pointing north"), encoding="utf-8")
    assert main(["lesson", "check", str(path)]) == 0
    assert "line 18: 'pointing north' is a true direction here" in capsys.readouterr().err


@pytest.mark.parametrize("path", sorted((demo_folder() / "lessons").glob("*.md")), ids=lambda path: path.stem)
def test_the_demos_lessons_do_not_mix_them(path: Path) -> None:
    assert mixed_references(read_lesson(path)) == ()
