"""A server with a class in it, for tests, and the room where the class sits at its browsers."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lubberline.classroom.lessons import teaching
from lubberline.classroom.lessons.file import read_lesson
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.classroom.records import Sitting
from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from lubberline.web.callers import Door
from tests.chromium import PLAIN
from tests.web.app_server import AppServer
from tests.web.test_browser import until

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

PHONE = {"width": 390, "height": 844}
LESSON = Path(__file__).with_name("class_lesson.md")


def begun(school: School, title: str = "Spring") -> Sitting:
    """A sitting of the short lesson, at which the class joins."""
    lesson = read_lesson(LESSON)
    group = school.people.add_group(title)
    asked = taught_lesson(lesson).asked
    sitting = school.sittings.add(group.id, "lesson", lesson.title, asked, source=lesson.text)
    return school.sittings.move(sitting.id, step=teaching.JOINING, phase=teaching.CLOSED)


class ClassServer(AppServer):
    """A server with a school of its own: in this process, at a port of its own."""

    def __init__(self, address: str, door: Door | None = None) -> None:
        self.school = open_school(address)
        super().__init__(lambda: create_app(school=self.school, door=door))

    def end(self) -> None:
        self.stop()
        self.school.close()


class Room:
    """Opens pages, each in a browser of its own, and hears what their consoles complain of."""

    def __init__(self, browser: Browser, server: ClassServer, sitting: Sitting, stack: ExitStack) -> None:
        self.browser, self.server, self.sitting, self.stack = browser, server, sitting, stack
        self.complaints: list[str] = []

    def page(self, address: str, **options: Any) -> Page:
        context = self.browser.new_context(**{"viewport": PHONE, **options})
        self.stack.callback(context.close)
        context.add_init_script(PLAIN)
        page = context.new_page()
        page.set_default_timeout(60_000)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.goto(self.server.address + address)
        return page

    def phone(self, name: str, **options: Any) -> Page:
        page = self.page(f"/join?code={self.sitting.code}", has_touch=True, **options)
        page.fill("#name", name)
        page.click("button.act")
        page.wait_for_selector("#view-here h1")
        return page

    def lead(self) -> Page:
        page = self.page(f"/teach/{self.sitting.id}", viewport={"width": 1366, "height": 768})
        page.on("dialog", lambda dialog: dialog.accept())
        return page

    def projector(self) -> Page:
        return self.page(f"/teach/{self.sitting.id}/projector", viewport={"width": 1280, "height": 720})


@contextmanager
def class_room(browser: Browser, server: ClassServer) -> Iterator[Room]:
    """A room for a class of its own, at the beginning of the short lesson; no page may complain in it."""
    with ExitStack() as stack:
        room = Room(browser, server, begun(server.school), stack)
        yield room
    assert room.complaints == []


def says(page: Page, selector: str, words: str) -> None:
    until(page, f"(document.querySelector({selector!r})?.textContent ?? '').includes({words!r})")


def heads(page: Page, words: str) -> None:
    says(page, "#view-here h1", words)


def press(lead: Page, words: str) -> None:
    """The button that comes next, by its words."""
    says(lead, "#next", words)
    lead.keyboard.press("Space")


def turn(phone: Page, to_deg: int) -> None:
    phone.focus(".turn")
    phone.keyboard.press("Home")
    for _ in range(min(to_deg, 360 - to_deg)):
        phone.keyboard.press("ArrowRight" if to_deg < 180 else "ArrowLeft")
    phone.click("text=Send the answer")
    says(phone, ".cl-state", "Saved.")
