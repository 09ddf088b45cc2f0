"""Pictures of the cutaway a second without graphics hardware, and what one takes of the processor.

python -m benchmarks.cutaway [--seconds N] [--times N]

Opens the stage in an installed browser at 1920 by 1080 points, device scale 1, running, and counts the
cutaway's own pictures, not the page's frames. On a machine with other work the pictures a second say
little; the processor time of a picture, in each of the browser's processes, is what to compare. Bounded: half
a minute.
"""

import argparse
import os
import threading
import time
from pathlib import Path
from typing import Any

import uvicorn
from playwright.sync_api import Page, sync_playwright

from lubberline.web.app import create_app
from lubberline.web.bench.pages import SERVER_OPTIONS
from lubberline.web.serve import free_socket
from tests.chromium import FLAGS
from tools.start import browsers

SIZE = {"width": 1920, "height": 1080}
TICKS_S = os.sysconf("SC_CLK_TCK")


def browser_s() -> dict[str, float]:
    """Processor seconds of each kind of browser process so far."""
    spent: dict[str, float] = {}
    for process in Path("/proc").iterdir():
        try:
            words = (process / "cmdline").read_bytes().replace(b"\0", b" ").split()
            fields = (process / "stat").read_text(encoding="utf-8").rpartition(")")[2].split()
            ours = descends(int(process.name))
        except (OSError, ValueError):
            continue
        if not ours or b"chrom" not in b"".join(words[:1]):
            continue
        kind = next((word.decode()[7:] for word in words if word.startswith(b"--type=")), "browser")
        spent[kind] = spent.get(kind, 0.0) + (int(fields[11]) + int(fields[12])) / TICKS_S
    return spent


def descends(process: int) -> bool:
    """Whether a process was started by this one."""
    while process > 1:
        if process == os.getpid():
            return True
        stat = Path(f"/proc/{process}/stat").read_text(encoding="utf-8")
        process = int(stat.rpartition(")")[2].split()[1])
    return False


def moving(page: Page, address: str, seconds: float) -> None:
    """Opens the stage and prints the time to its first moving picture and the rate of what follows."""
    before, start_s = browser_s(), time.monotonic()
    page.goto(address)
    # The page's policy forbids what wait_for_function does.
    # The word stands there until the engine's first frame is drawn over the instrument at rest.
    moves = "globalThis.lubberline?.cutaway?.drawing && !document.querySelector('#cutaway-says')"
    while not page.evaluate(moves):
        page.wait_for_timeout(20)
    opened_s = time.monotonic() - start_s
    # The occlusion, the fonts and the compiled shaders of the first pictures.
    page.wait_for_timeout(4000)
    ready = browser_s()
    state = "(({ pictures, took_ms, quality }) => [pictures, took_ms, quality])(lubberline.cutaway.drawing)"
    first: list[Any] = page.evaluate(state)
    start_s = time.monotonic()
    page.wait_for_timeout(1000 * seconds)
    last: list[Any] = page.evaluate(state)
    passed_s, after = time.monotonic() - start_s, browser_s()
    drawn = last[0] - first[0]
    canvas = page.evaluate("(c => [c.width, c.height])(document.querySelector('#cutaway canvas'))")
    spent = {kind: after[kind] - ready.get(kind, 0.0) for kind in after}
    opening_s = sum(ready.values()) - sum(before.values())
    print(f"first moving picture after {opened_s:.2f} s; opening takes {opening_s:.1f} s of the processor")
    size = f"{canvas[0]} x {canvas[1]} points"
    print(f"{drawn / passed_s:.1f} pictures a second of {size}, {last[2]};", end=" ")
    print(f"the last timed one took {last[1]:.0f} ms; load {os.getloadavg()[0]:.1f}")
    for kind, value in sorted(spent.items(), key=lambda one: -one[1]):
        if value > 0.02 * passed_s:
            each_ms = 1000 * value / max(drawn, 1)
            print(f"    {kind}: {value / passed_s:.2f} of a core, {each_ms:.0f} ms for a picture")


def main() -> None:
    """Measure both pages."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seconds", type=float, default=8.0)
    asked.add_argument("--times", type=int, default=2)
    given = asked.parse_args()
    os.environ["LUBBERLINE_DATABASE"] = "memory"
    bound = free_socket(0)
    config = uvicorn.Config(create_app(), log_level="error", lifespan="off", **SERVER_OPTIONS)
    server = uvicorn.Server(config)
    threading.Thread(target=server.run, kwargs={"sockets": [bound]}, daemon=True).start()
    address = f"http://127.0.0.1:{bound.getsockname()[1]}"
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=browsers.find(), args=[*FLAGS, "--no-sandbox"])
        for number in range(given.times):
            page = browser.new_context(viewport=SIZE).new_page()
            moving(page, f"{address}/stage?bench=rate{number}", given.seconds)
            page.context.close()
        browser.close()
    server.should_exit = True


if __name__ == "__main__":
    main()
