"""The installed browser, started once for all tests that look at a page."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from lubberline.web.kit import STATIC
from tools.start import browsers

if TYPE_CHECKING:
    from playwright.sync_api import Browser

FLAGS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
# A cutaway of a quarter of the points: most of what it takes of the processor.
COARSE = """Object.defineProperty(globalThis, 'devicePixelRatio', { value: 0.5 });"""
# Without a cutaway, and drawn ten times a second: what takes most of a browser's work on a bench.
PLAIN = """const given = HTMLCanvasElement.prototype.getContext;
HTMLCanvasElement.prototype.getContext = function (kind, ...options) {
    return kind.startsWith('webgl') ? null : given.call(this, kind, ...options);
};
globalThis.requestAnimationFrame = (draw) => setTimeout(() => draw(performance.now()), 100);"""


def missing(what: str) -> None:
    """Skips plainly; in CI a missing browser is a failure."""
    if os.environ.get("CI"):
        pytest.fail(what)
    pytest.skip(what)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    found = browsers.find()
    if found is None:
        missing(browsers.NONE_FOUND)
    if not (STATIC / "base.css").is_file():
        missing("the pages are not built: python -m tools.start.pages")
    from playwright.sync_api import sync_playwright

    # A sandbox needs rights that containers and root don't have.
    flags = [*FLAGS, "--no-sandbox"] if sys.platform == "linux" else FLAGS
    with sync_playwright() as driver:
        # One without a window takes its language from there, and 'C' is none.
        environment = {**os.environ, "LC_ALL": "en_US.UTF-8"}
        started = driver.chromium.launch(executable_path=found, args=flags, env=environment)
        yield started
        started.close()
