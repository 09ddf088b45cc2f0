"""The red line in real browsers: comes while records or server are away, moves nothing, goes by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from lubberline.classroom.records import Sitting
from lubberline.store.database import engines
from tests import away
from tests.web import papers
from tests.web.access import broken_rules
from tests.web.class_server import ClassServer, begun
from tests.web.test_browser import until

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

SHOWN = "!document.getElementById('away').hidden"
# The caution is to be seen on the projector, whatever else stands there.
CAUTION = """[...document.querySelectorAll('p, footer')].some((one) => {
    const { left, top, width, height } = one.getBoundingClientRect();
    const on_top = document.elementFromPoint(left + width / 2, top + height - 1);
    return one.textContent.trim() === 'For teaching only' && height > 0 && on_top === one;
})"""
# Where what somebody presses or reads stands.
TOPS = "[...document.querySelectorAll('main button, main h1')].map((one) => one.getBoundingClientRect().top)"
KEPT = "The phones keep their answers and send them again."


@contextmanager
def stopped(server: ClassServer) -> Iterator[None]:
    server.stop()
    yield
    server.start()


def locked(server: ClassServer) -> AbstractContextManager[None]:
    return away.locked(server.school)


class Opened:
    """The instructor's three pages that show an outage, beside a phone that has gone."""

    def __init__(self, browser: Browser, server: ClassServer) -> None:
        self.server = server
        self.lesson: Sitting = begun(server.school)
        self.paper: Sitting = papers.opened(server.school)
        self.pages: dict[str, Page] = {}
        addresses = {
            "lead": f"/teach/{self.lesson.id}",
            "projector": f"/teach/{self.lesson.id}/projector",
            "sitting": f"/sittings/{self.paper.id}",
        }
        schemes: dict[str, Any] = {"lead": "light", "projector": "dark", "sitting": "dark"}
        for name, address in addresses.items():
            context = browser.new_context(viewport={"width": 1366, "height": 768}, color_scheme=schemes[name])
            page = context.new_page()
            page.set_default_timeout(30_000)
            page.goto(server.address + address)
            self.pages[name] = page

    def line(self, name: str) -> str:
        return str(self.pages[name].text_content("#away"))


@pytest.fixture
def opened(browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Opened]:
    monkeypatch.setattr(engines, "PATIENCE_S", 0.2)
    server = ClassServer(f"sqlite:///{tmp_path / 'school.sqlite3'}")
    made = Opened(browser, server)
    yield made
    for page in made.pages.values():
        page.context.close()
    server.end()


AWAY: dict[str, Callable[[ClassServer], AbstractContextManager[None]]] = {
    "another program has locked the records": locked,
    "the server": stopped,
}


def test_the_red_line_comes_and_goes(opened: Opened) -> None:
    for page in opened.pages.values():
        page.wait_for_selector("main h1")
        assert not page.evaluate(SHOWN)
    for words, goes in AWAY.items():
        # The line is the same for every outage: its access is looked at in the first.
        comes_and_goes(opened, goes, words, rules=goes is locked)


def comes_and_goes(
    opened: Opened, goes: Callable[[ClassServer], AbstractContextManager[None]], words: str, rules: bool
) -> None:
    before = {name: page.evaluate(TOPS) for name, page in opened.pages.items()}
    with goes(opened.server):
        for name, page in opened.pages.items():
            until(page, SHOWN)
            # Nothing that stands on the page was moved or covered.
            assert page.evaluate(TOPS) == before[name], name
            assert (
                page.evaluate("innerHeight - document.getElementById('away').getBoundingClientRect().bottom")
                == 0
            )
            assert not rules or broken_rules(page) == []
        # A step that fills the projector leaves the line no row of its own.
        opened.pages["projector"].set_viewport_size({"width": 1366, "height": 480})
        assert opened.pages["projector"].evaluate(CAUTION)
        for name in ("lead", "sitting"):
            assert words in opened.line(name)
            assert KEPT in opened.line(name)
        # A class is told what it needs, and no more.
        assert "Your phones keep your answers." in opened.line("projector")
        assert "another program" not in opened.line("projector")
        assert str(opened.server.school.where) not in "".join(opened.line(name) for name in opened.pages)
    opened.pages["projector"].set_viewport_size({"width": 1366, "height": 768})
    for page in opened.pages.values():
        until(page, f"!({SHOWN})")
