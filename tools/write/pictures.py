"""Takes the README's pictures of the program, with the demo class in it: `python -m tools.write.pictures`.

It needs a Chromium (`tools.start.browsers`) and the test environment's playwright.
"""

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, ViewportSize, sync_playwright

from tools.start import browsers, paths

FOLDER = paths.ROOT / "docs" / "pictures"
SIZE: ViewportSize = {"width": 1366, "height": 768}
QUALITY = 82


def bench(page: Page, address: str) -> None:
    """The open instrument and its dials, a quarter of an hour after it was set."""
    page.goto(f"{address}bench?scene=fifteen_minutes_45n")
    page.wait_for_selector("canvas")
    page.wait_for_timeout(12_000)


def questions(page: Page, address: str) -> None:
    """An item whose wrong options come from wrong ideas."""
    page.goto(f"{address}questions?topic=wander")
    page.wait_for_load_state("networkidle")


def results(page: Page, address: str) -> None:
    """Which wrong idea each student of the demo class still holds."""
    page.goto(f"{address}results")
    page.wait_for_load_state("networkidle")


PICTURES = {"bench": bench, "questions": questions, "results": results}


def take(folder: Path) -> None:
    """Starts the program on separate records and takes each picture."""
    browser = browsers.find()
    if browser is None:
        sys.exit(browsers.NONE_FOUND)
    folder.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        environment = {**os.environ, "LUBBERLINE_DATABASE": f"sqlite:///{scratch}/school.sqlite3"}
        command = [sys.executable, "-m", "lubberline"]
        subprocess.run([*command, "demo-class"], env=environment, check=True, stdout=subprocess.DEVNULL)
        opened = [*command, "open", "--no-open"]
        with subprocess.Popen(opened, env=environment, stdout=subprocess.PIPE, text=True) as program:
            try:
                line = program.stdout.readline() if program.stdout else ""
                found = re.search(r"http://\S+/", line)
                if found is None:
                    sys.exit(f"the program did not start: {line}")
                with sync_playwright() as playwright:
                    chromium = playwright.chromium.launch(executable_path=str(browser))
                    page = chromium.new_page(viewport=SIZE, color_scheme="light")
                    for name, show in PICTURES.items():
                        show(page, found[0])
                        page.screenshot(path=folder / f"{name}.jpg", type="jpeg", quality=QUALITY)
            finally:
                program.terminate()


if __name__ == "__main__":
    take(FOLDER)
