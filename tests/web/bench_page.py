"""A page on a bench of the real server, and the frames that it drew."""

import itertools
import time
from typing import Any

from tests.web.app_server import AppServer
from tests.web.test_browser import holds, until

_names = (f"test-{number}" for number in itertools.count())
# What is there once a page has drawn its first frame.
FIRST_DIAL = {"/bench": ".dial-heading svg", "/stage": "#dial svg"}


def next_name() -> str:
    """The name of a bench that no other test uses."""
    return next(_names)


def arrived(page: Any, path: str) -> None:
    """Waits for the first frame of a page that is on its way, and its drawing."""
    # The first bench of a fresh cache may have to compile the engine.
    end = time.monotonic() + 240
    while not holds(page, f"location.pathname === '{path}' && !!globalThis.lubberline?.frame()"):
        assert time.monotonic() < end
        page.wait_for_timeout(50)
    until(page, f"document.querySelector('{FIRST_DIAL[path]}').childElementCount > 3")


def opened(page: Any, server: AppServer, query: str = "", name: str = "", path: str = "/bench") -> str:
    """Opens a page on a bench, by default its own, which it then drives; gives the bench's name."""
    own = name or next_name()
    page.goto(f"{server.address}{path}?bench={own}{query}")
    arrived(page, path)
    if not name:
        until(page, "!document.querySelector('#turn').disabled")
    return own


def frame(page: Any) -> dict[str, Any]:
    """The last frame."""
    found: dict[str, Any] = page.evaluate("lubberline.frame()")
    return found


def when(page: Any, condition: str) -> dict[str, Any]:
    """Waits until the frame `f` fulfils a condition; gives it."""
    until(page, f"(() => {{ const f = globalThis.lubberline?.frame(); return f && ({condition}); }})()")
    return frame(page)


def choose(page: Any, tab: str) -> None:
    """Opens a tab of the bench's controls."""
    page.click(f"#tab-{tab}")
