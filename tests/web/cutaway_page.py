"""The cutaway's own page for tests: built apart from the package, served under the application's policy."""

import functools
import http.server
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from lubberline.web.guard import HEADERS
from tools.start import pages

ROOT = Path(__file__).parents[2]


class Handler(http.server.SimpleHTTPRequestHandler):
    """Files, with the headers that the application sends."""

    def end_headers(self) -> None:
        for name, value in HEADERS.items():
            self.send_header(name, value)
        super().end_headers()

    def log_message(self, *words: object) -> None:
        pass


def build(folder: Path) -> None:
    """Build the page into a folder.

    Raises:
        tools.start.pages.PagesError: without a Node.
    """
    node = pages.find_node()
    pages.install_packages(ROOT, node)
    subprocess.run(
        [
            str(node.node),
            "node_modules/vite/bin/vite.js",
            "build",
            "--config",
            "demo/vite.config.ts",
            "--outDir",
            str(folder),
        ],
        cwd=ROOT / "frontend",
        check=True,
        capture_output=True,
    )


def opened(watched: Any, address: str, query: str = "quality=plain") -> Any:
    """The page, once it has drawn."""
    page = watched.page
    page.goto(f"{address}?{query}")
    page.wait_for_selector("html[data-ready]")
    return page


def drawn(page: Any, frame: str, view: str = "{}", camera: str = "{}") -> dict[str, Any]:
    """Draw a frame (a JavaScript expression on the probe) and measure the picture."""
    script = f"() => {{ probe.draw({frame}, {view}, {camera}); return probe.cutaway.measure(); }}"
    measured: dict[str, Any] = page.evaluate(script)
    return measured


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The address of the page while the block runs."""
    handler = functools.partial(Handler, directory=str(folder))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{server.server_address[1]}/cutaway.html"
        server.shutdown()
        thread.join(10)
