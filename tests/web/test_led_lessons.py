"""The three lessons led from end to end: a projector, an instructor and the phones of twelve students."""

import os
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest

from lubberline.classroom.demo_class import read_class
from lubberline.classroom.demo_term import Mind, mind_on
from lubberline.classroom.lessons import teaching
from lubberline.classroom.lessons.file import read_lesson
from lubberline.classroom.lessons.questions import taught_lesson
from tests.web.class_server import ClassServer, Room
from tests.web.led_lesson import LONGEST_SHOW_S, Led, fits

pytestmark = [pytest.mark.browser, pytest.mark.acceptance]

DEMO = Path(__file__).parents[2] / "demo"
LESSONS = sorted((DEMO / "lessons").glob("*.md"))
PHONES = 12
WATCHED_S = 12.0
# Where to leave pictures of every step, for somebody to look at; every show is played to its end then.
PICTURES = os.environ.get("LUBBERLINE_PICTURES", "")


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_from_its_first_step_to_its_last(browser: Any, tmp_path: Path, path: Path) -> None:
    lesson = taught_lesson(read_lesson(path))
    server = ClassServer(f"sqlite:///{tmp_path / 'school.sqlite3'}")
    group = server.school.people.add_group("Spring")
    title = lesson.lesson.title
    sitting = server.school.sittings.add(group.id, "lesson", title, lesson.asked, source=lesson.lesson.text)
    sitting = server.school.sittings.move(sitting.id, step=teaching.JOINING, phase=teaching.CLOSED)
    with ExitStack() as stack:
        stack.callback(server.end)
        room = Room(browser, server, sitting, stack)
        led = Led(room, lesson, sitting, minds(), LONGEST_SHOW_S if PICTURES else WATCHED_S)
        led.lead_through(lambda name, now: look(path.stem, name, now))
        assert room.complaints == []
        kept = server.school.answers.of_sitting(sitting.id)
        assert [asked.key for asked in led.answered] == [asked.key for asked in lesson.asked]
        assert len(kept) == len({(one.student, one.key) for one in kept}) == PHONES * len(lesson.asked)


def look(lesson: str, name: str, led: Led) -> None:
    """Every page fits and keeps the rules; pictures where they are asked for."""
    pages = {"projector": led.projector, "lead": led.lead, "phone": led.students[0].page}
    for page_name, page in pages.items():
        if PICTURES:
            folder = Path(PICTURES) / lesson
            folder.mkdir(parents=True, exist_ok=True)
            page.screenshot(path=folder / f"{name}-{page_name}.png")
        assert fits(page) == [], (name, page_name)
    led.projector.set_viewport_size({"width": 1366, "height": 768})
    led.projector.wait_for_timeout(100)
    assert fits(led.projector) == [], (name, "a small projector")
    led.projector.set_viewport_size({"width": 1920, "height": 1080})


def minds() -> dict[str, Mind]:
    """The demo class's first twelve, as they were before the course."""
    made_up = read_class(DEMO / "class")
    students = made_up.student[:PHONES]
    return {one.name: mind_on(one, made_up.sitting[0].at, number) for number, one in enumerate(students)}
