"""A server with a class in it, for tests: in this process, at a port of its own, on records in a file."""

from pathlib import Path

from lubberline.classroom.lessons import teaching
from lubberline.classroom.lessons.file import read_lesson
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.classroom.records import Sitting
from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from lubberline.web.callers import Door
from tests.web.app_server import AppServer

LESSON = Path(__file__).with_name("class_lesson.md")


def begun(school: School, title: str = "Spring") -> Sitting:
    """A sitting of the short lesson, at which the class joins."""
    lesson = read_lesson(LESSON)
    group = school.people.add_group(title)
    asked = taught_lesson(lesson).asked
    sitting = school.sittings.add(group.id, "lesson", lesson.title, asked, source=lesson.text)
    return school.sittings.move(sitting.id, step=teaching.JOINING, phase=teaching.CLOSED)


class ClassServer(AppServer):
    """A server with a school of its own."""

    def __init__(self, address: str, door: Door | None = None) -> None:
        self.school = open_school(address)
        super().__init__(lambda: create_app(school=self.school, door=door))

    def end(self) -> None:
        self.stop()
        self.school.close()
