"""What a lesson says in words against what its scenes show: directions, and numbers typed into its texts."""

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

import pytest

from lubberline.classroom.lessons.file import lesson_from_text, read_lesson
from lubberline.classroom.lessons.lesson import Lesson, Step
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.classroom.lessons.reference import mixed_references
from lubberline.classroom.lessons.scenes import scene_of
from lubberline.cli import main
from lubberline.flight.motion import STEP_S
from lubberline.simulation.fitted import Frame
from lubberline.simulation.scenes import begun
from lubberline.store.fleet import demo_folder
from tests.simulation.scene_numbers import UNITS, stated_in

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


DEMO = Path(__file__).parents[2] / "demo" / "lessons"
# What holds at any place and time: a turn of the Earth, and its rate (360 degrees in a sidereal day,
# IERS Conventions 2010: 7.292115e-5 rad/s, which is 15.04 degrees an hour).
EVERYWHERE = {"": {360.0}, "_deg": {360.0}, "_deg_h": {math.degrees(7.292115e-5) * 3600.0}}
HEADING = re.compile(r"(?<![\d.,{])[0-3]\d\d(?![\d.,]*\d)(?! (?:rpm|degrees|kt|knots|ft|nT))")
LOOKS = 9


def numbers_of(frame: Mapping[str, object]) -> Iterator[tuple[str, float]]:
    for name, value in frame.items():
        if isinstance(value, Mapping):
            yield from numbers_of(value)
        elif isinstance(value, (int, float)) and not isinstance(value, bool):
            yield name, float(value)


def frames_of(step: Step, lesson: Lesson) -> Iterator[Frame]:
    """What the scene of a step shows: at its start, when it is asked, and between."""
    show = step.show or (step.question.show if step.question else None)
    if show is None:
        return
    scene = scene_of(show.scene_ref, "here", lesson.scenes)
    bench, steps = begun(scene), round(scene.length_s / STEP_S)
    for _ in range(LOOKS):
        yield bench.frame()
        bench.advance(steps // LOOKS)


def mistyped(lesson: Lesson) -> list[str]:
    """Numbers typed into a lesson's texts that nothing shows in the step's scene or in the one before."""
    wrong, before = [], None
    for step in lesson.steps:
        now = step if step.show or (step.question and step.question.show) else before
        because = step.question.because if step.question else ""
        text = re.sub(
            r"\{\{.*?\}\}|@.*", "", "\n".join((step.title, step.text, step.short or "", because or ""))
        )
        asked = [
            (one.words, UNITS[one.unit], one.value, one.decimals)
            for one in stated_in(None, text)
            if one.unit in UNITS
        ]
        asked += [(one, "_deg", float(one) % 360.0, 0) for one in HEADING.findall(text)]
        left = [one for one in asked if not _is_one(one, EVERYWHERE.get(one[1], ()))]
        for frame in frames_of(now, lesson) if now and left else ():
            shown = [*numbers_of(frame)]
            left = [
                one
                for one in left
                if not _is_one(one, [value for name, value in shown if name.endswith(one[1])])
            ]
            if not left:
                break
        wrong += [f"{step.title}: {words}" for words, *_ in left]
        before = now
    return wrong


def _is_one(asked: tuple[str, str, float, int], values: Iterable[float]) -> bool:
    _, _, number, decimals = asked
    half = 0.5 * 10.0**-decimals
    return any(abs(abs(value) - number) <= half or abs(value % 360.0 - number) <= half for value in values)


@pytest.mark.parametrize("path", sorted(DEMO.glob("*.md")), ids=lambda path: path.stem)
def test_numbers_typed_into_a_lesson_are_shown_by_its_scene(path: Path) -> None:
    assert mistyped(read_lesson(path)) == []


def test_a_typed_number_that_no_scene_shows_is_found() -> None:
    (path,) = DEMO.glob("3_*.md")
    text = path.read_text(encoding="utf-8").replace("At 800 rpm the pump", "At 900 rpm the pump")
    assert mistyped(lesson_from_text("sample.md", text)) == ["At idle: 900 rpm"]
