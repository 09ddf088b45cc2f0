"""The application in process, the served page, and an installed browser."""

from __future__ import annotations

import http.client
import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from lubberline.web.app import create_app
from lubberline.web.catalogue import Catalogue
from tests.web.app_server import AppServer
from tests.web.caller import Caller
from tests.web.pretend import pretend_catalogue

# No test may touch the records of whoever runs it.
os.environ["LUBBERLINE_DATABASE"] = "memory"

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
    first.request("GET", "/")
    assert first.getresponse().status == 200
    first.close()
    yield f"{server.address}/"
    server.stop()


class Watched:
    """A page, with every request it made and everything its console complained of."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.requests: list[str] = []
        self.complaints: list[str] = []
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("console", lambda said: self.complaints.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))


@pytest.fixture
def watched(browser: Browser) -> Iterator[Watched]:
    context = browser.new_context(viewport={"width": 1366, "height": 768})
    page = context.new_page()
    page.set_default_timeout(30_000)
    yield Watched(page)
    context.close()
