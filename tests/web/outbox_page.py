"""Pages on a device that keep what is sent until the server has it: opened, joined, and looked into."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import Error

from lubberline.classroom.records import Sitting
from lubberline.store.school import School
from tests.web.class_server import ClassServer, begun
from tests.web.papers import opened
from tests.web.test_browser import SIZES, until

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, Route


HTML = "text/html; charset=utf-8"


JSON = "application/json"


AWAY = {"error": {"code": "unreachable", "where": "records", "wrong": "no answer", "right": "wait"}}


FOREIGN = {"error": {"code": "sitting-closed", "where": "x", "wrong": "y", "right": "z", "sent": "another's"}}


def lost(route: Route) -> None:
    """The server takes it, and its reply is lost."""
    route.fetch()
    # A test may be through with it by now.
    with contextlib.suppress(Error):
        route.abort()


def answering(**given: Any) -> Callable[[Route], None]:
    return lambda route: route.fulfill(**given)


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ClassServer]:
    folder: Path = tmp_path_factory.mktemp("outbox")
    started = ClassServer(f"sqlite:///{folder / 'school.sqlite3'}")
    yield started
    started.end()


@pytest.fixture
def paper(server: ClassServer) -> Sitting:
    return opened(server.school)


@pytest.fixture
def open_page(browser: Browser, server: ClassServer) -> Iterator[Callable[..., Page]]:
    with ExitStack() as stack:

        def opening(path: str, **options: Any) -> Page:
            width, height = SIZES["phone"]
            context = browser.new_context(viewport={"width": width, "height": height}, **options)
            stack.callback(context.close)
            page = context.new_page()
            page.set_default_timeout(20_000)
            page.goto(server.address + path)
            return page

        yield opening


def join(page: Page, name: str) -> None:
    page.fill("#name", name)
    page.click("button.act")
    page.wait_for_selector("#paper, #view-here h1")
    until(page, "document.documentElement.dataset.script === 'on'")


def seated(open_page: Callable[..., Page], sitting: Sitting, name: str = "Ada", **options: Any) -> Page:
    page = open_page(f"/join?code={sitting.code}", **options)
    join(page, name)
    return page


def choose(page: Page, key: str, place: int) -> None:
    page.locator(f"#q-{key} .choice").nth(place).click()


def says(page: Page, selector: str, words: str) -> None:
    until(page, f"(document.querySelector({selector!r})?.textContent ?? '').includes({words!r})")


def hurry(page: Page) -> None:
    """The network says that it is back."""
    page.evaluate("dispatchEvent(new Event('online'))")


def given(school: School, sitting: Sitting) -> list[tuple[str, int]]:
    return [(one.key, one.chosen) for one in school.answers.of_sitting(sitting.id)]


def kept(page: Page) -> list[dict[str, Any]]:
    """What the device keeps, in the order in which it was given."""
    script = (
        "Object.keys(localStorage).filter((one) => one.startsWith('outbox/')).map((one) => localStorage[one])"
    )
    found = [json.loads(one) for one in page.evaluate(script)]
    return sorted(found, key=lambda one: int(one["order"]))


def asked_lesson(server: ClassServer, title: str, number: bool = False) -> tuple[Sitting, str]:
    """A lesson that stands open at its first question with options, or with a number."""
    lesson = begun(server.school, title)
    asked = next(one for one in lesson.asked if bool(one.item.options) != number)
    step = int(asked.key.split("-")[1]) - 1
    return server.school.sittings.move(lesson.id, step=step, phase="open"), asked.key
