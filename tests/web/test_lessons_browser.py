"""A lesson written in a real browser: previewed, kept, saved by keyboard; checked for access."""

from collections.abc import Iterator
from typing import Any

import pytest

from lubberline.web.app import create_app
from lubberline.web.shelf import Shelf
from tests.classroom.test_lessons import LESSON
from tests.web.access import broken_rules
from tests.web.app_server import AppServer
from tests.web.test_browser import SIZES, until

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Shelf:
    return Shelf(tmp_path_factory.mktemp("home") / "lessons")


@pytest.fixture(scope="module")
def base(shelf: Shelf) -> Iterator[str]:
    app = create_app()
    app.state.shared.shelves.by_kind["lesson"] = shelf
    server = AppServer(lambda: app)
    yield server.address
    server.stop()


def test_a_lesson_is_written_kept_and_saved_by_keyboard(watched: Any, base: str, shelf: Shelf) -> None:
    page = watched.page
    page.goto(f"{base}/lessons")
    page.focus("#name")
    page.keyboard.type("by_hand")
    page.keyboard.press("Enter")
    page.wait_for_url(f"{base}/lessons/by_hand")
    assert page.locator("h1").text_content() == "A new lesson"
    # What is written is previewed while its writer pauses, and what is wrong names its line.
    page.focus("#text")
    page.keyboard.press("Control+A")
    page.keyboard.insert_text(LESSON.replace("## Say: Welcome", "## Sing: Welcome"))
    until(page, "document.getElementById('refused').textContent.includes('by_hand.md, line 6')")
    assert page.evaluate("document.activeElement.id") == "text"
    # The page is closed and opened again: nothing is lost.
    page.goto(f"{base}/lessons/by_hand")
    assert "## Sing: Welcome" in page.input_value("#text")
    page.fill("#text", LESSON)
    until(page, "document.querySelector('h1').textContent === 'A small lesson'")
    assert page.locator("article.card").count() == 5
    page.focus("#preview")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url(f"{base}/lessons/by_hand?done=saved")
    assert shelf.saved("by_hand") == LESSON
    assert shelf.draft("by_hand") is None
    # The browser itself says so of an answer that is refused.
    said = [words for words in watched.complaints if "422" not in words]
    assert said == []


def test_the_pages_can_be_used_by_everybody(watched: Any, base: str, shelf: Shelf) -> None:
    shelf.save("shown", LESSON, "")
    shelf.keep_draft("wrong", LESSON.replace("## Say:", "## Sing:"))
    page = watched.page
    for address in ("/lessons", "/lessons/shown", "/lessons/wrong", "/lessons/shown/print"):
        page.goto(base + address)
        for size, scheme in (("projector", "light"), ("laptop", "dark"), ("phone", "dark")):
            page.set_viewport_size(dict(zip(("width", "height"), SIZES[size], strict=True)))
            page.emulate_media(color_scheme=scheme)
            assert broken_rules(page) == [], (address, size, scheme)
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), (address, size)


def test_without_script_a_lesson_is_written_too(browser: Any, base: str, shelf: Shelf) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{base}/lessons")
    page.fill("#name", "plain")
    page.click("text=Create")
    page.fill("#text", LESSON)
    page.click("#preview")
    assert page.locator("h1").text_content() == "A small lesson"
    page.click("button[formaction$='/save']")
    page.wait_for_url(f"{base}/lessons/plain?done=saved")
    assert shelf.saved("plain") is not None
    context.close()
