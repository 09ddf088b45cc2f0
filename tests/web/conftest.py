"""The application in process, the served page, and an installed browser."""

from __future__ import annotations

import http.client
import os
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import uvicorn

from lubberline.web.app import create_app
from lubberline.web.house import House
from lubberline.web.serve import free_socket
from tests.web.caller import Caller
from tests.web.pretend import pretend_house

# No test may touch the records of whoever runs it.
os.environ["LUBBERLINE_DATABASE"] = "memory"

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


@pytest.fixture
def house(tmp_path: Path) -> House:
    return pretend_house(tmp_path)


@pytest.fixture
def call(house: House) -> Caller:
    return Caller(create_app(house))


@pytest.fixture(scope="session")
def served() -> Iterator[str]:
    """The address of the real page with the demo and the engine."""
    bound = free_socket(0)
    config = uvicorn.Config(create_app(), log_level="error", timeout_graceful_shutdown=1, lifespan="off")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [bound]}, daemon=True)
    thread.start()
    port = bound.getsockname()[1]
    # The first flight may compile the engine; no test's own patience should be spent on that.
    first = http.client.HTTPConnection("127.0.0.1", port, timeout=300)
    first.request("GET", "/")
    assert first.getresponse().status == 200
    first.close()
    yield f"http://127.0.0.1:{port}/"
    server.should_exit = True
    thread.join(10)
    bound.close()


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
