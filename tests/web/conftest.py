"""The application in process, the served page, and an installed browser."""

from __future__ import annotations

import http.client
import os
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Error as PlaywrightError

from lubberline.web.app import create_app
from lubberline.web.bench.real_time import Playing
from lubberline.web.catalogue import Catalogue
from tests.chromium import COARSE, PLAIN, missing
from tests.web import cutaway_page
from tests.web.app_server import AppServer
from tests.web.caller import Caller
from tests.web.pretend import pretend_catalogue
from tools.start.pages import PagesError

# No test may touch the records of whoever runs it.
os.environ["LUBBERLINE_DATABASE"] = "memory"
os.environ["LUBBERLINE_FOLDER"] = tempfile.mkdtemp(prefix="lubberline-")

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


@pytest.fixture
def catalogue(tmp_path: Path) -> Catalogue:
    return pretend_catalogue(tmp_path)


@pytest.fixture
def call(catalogue: Catalogue) -> Caller:
    return Caller(create_app(catalogue))


@pytest.fixture(scope="session")
def served() -> Iterator[str]:
    """The address of the real page with the demo and the engine."""
    server = AppServer(create_app)
    # The first flight may compile the engine; no test's own patience should be spent on that.
    first = http.client.HTTPConnection("127.0.0.1", server.port, timeout=300)
    first.request("GET", "/flights")
    assert first.getresponse().status == 200
    first.close()
    yield f"{server.address}/"
    server.stop()


class Watched:
    """A page, with every request it made and everything its console complained of since it was cleared."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.requests: list[str] = []
        self.complaints: list[str] = []
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("console", lambda said: self.complaints.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def clear(self) -> None:
        """As a browser that has been nowhere: no test meets what the one before left."""
        page, context = self.page, self.page.context
        for other in context.pages:
            if other is not page:
                other.close()
        page.unroute_all()
        context.set_offline(False)
        for _ in range(9):
            # A reload that is on its way can take the page from under what is evaluated.
            with suppress(PlaywrightError):
                page.evaluate("location.origin === 'null' || (localStorage.clear(), sessionStorage.clear())")
                break
        context.clear_cookies()
        page.goto("about:blank")
        page.set_viewport_size({"width": 1366, "height": 768})
        page.emulate_media(color_scheme="light", reduced_motion="no-preference")
        self.requests.clear()
        self.complaints.clear()


def _watched(browser: Browser, *scripts: str) -> Iterator[Watched]:
    context = browser.new_context(viewport={"width": 1366, "height": 768})
    for script in scripts:
        context.add_init_script(script)
    page = context.new_page()
    page.set_default_timeout(30_000)
    yield Watched(page)
    context.close()


@pytest.fixture(scope="module")
def module_page(browser: Browser) -> Iterator[Watched]:
    """One page for a module's tests: a new one costs more than what most of them do with it."""
    yield from _watched(browser, COARSE)


@pytest.fixture(scope="module")
def module_plain_page(browser: Browser) -> Iterator[Watched]:
    """One that draws a bench with little work."""
    yield from _watched(browser, PLAIN)


@pytest.fixture
def watched(module_page: Watched) -> Iterator[Watched]:
    yield module_page
    module_page.clear()


@pytest.fixture(scope="session")
def cutaway_address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The cutaway's own page."""
    folder = tmp_path_factory.mktemp("cutaway")
    try:
        cutaway_page.build(folder)
    except PagesError as error:
        missing(str(error))
    with cutaway_page.served(folder) as address:
        yield address


@pytest.fixture
def drawing(module_page: Watched, cutaway_address: str) -> Page:
    """The cutaway's page as it was opened; one that is open already is set back, which takes far less."""
    if module_page.page.url.startswith(cutaway_address):
        module_page.page.evaluate("probe.reset()")
    else:
        cutaway_page.opened(module_page, cutaway_address)
    return module_page.page


@pytest.fixture
def wholly_watched(browser: Browser) -> Iterator[Watched]:
    """A page of its own that leaves nothing out."""
    yield from _watched(browser)


@pytest.fixture
def plainly_watched(module_plain_page: Watched) -> Iterator[Watched]:
    yield module_plain_page
    module_plain_page.clear()


@pytest.fixture(scope="module")
def server() -> Iterator[AppServer]:
    """A server of the module's own."""
    started = AppServer(create_app)
    yield started
    started.stop()


@pytest.fixture
def hastily(
    plainly_watched: Watched, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> Watched:
    """A page on a bench whose clock runs as many times as fast as the module says with `HASTE`."""
    due, haste = Playing.steps_due, request.module.HASTE
    monkeypatch.setattr(Playing, "steps_due", lambda playing, passed_s: due(playing, haste * passed_s))
    return plainly_watched
