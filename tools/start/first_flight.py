"""Flies the demo flight, starts the page, and opens it in the browser."""

from __future__ import annotations

import contextlib
import os
import re
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
import webbrowser

from tools.start import paths
from tools.start.console import Stop, say
from tools.start.environment import run_in_venv

FLIGHT = "demo/flights/eastbound_60n.toml"
AIRCRAFT = "demo/aircraft/zz_oak.toml"
PORT = 8765
ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+/")
START_LIMIT_S = 60.0
STOP_LIMIT_S = 5.0


def fly_demo() -> None:
    """Fly the demo flight; its result is printed by the command line itself.

    Raises:
        Stop: when the flight fails.
    """
    say(f"Flying {FLIGHT} with {AIRCRAFT}.")
    given = ("fly", FLIGHT, "--aircraft", AIRCRAFT, "--out", str(paths.DEMO_OUT))
    if run_in_venv("-m", "lubberline.cli", *given):
        raise Stop("The demo flight failed; the lines above say why.")
    say(f"Trace, ledger and report are in {paths.DEMO_OUT.relative_to(paths.ROOT)}.")


def fly_and_show(port: int, *, open_browser: bool) -> None:
    """Fly the demo, print the page's address, and stay until Ctrl-C.

    The page starts while the flight is flown, so that both are there at once.

    Raises:
        Stop: when the flight fails, and when the page does not start or fails.
    """
    server = _start_page(port)
    try:
        fly_demo()
        address = _address_of(server)
        _wait_for(address, server)
        if f":{port}/" not in address:
            say(f"Port {port} is taken; the next free one is used.")
        say(f"The page is at {address}    (Ctrl-C ends it)")
        if open_browser and not _open(address):
            say("No browser was found; open this address yourself.")
        server.communicate()
        if not server.returncode:
            # Another server has the records and its page is shown, or somebody ended this one.
            return
        raise Stop(f"The page ended unexpectedly with exit code {server.returncode}.")
    finally:
        _end(server)


def _start_page(port: int) -> subprocess.Popen[str]:
    # Without a given port it shows the server that is already running.
    named = [] if port == PORT else ["--port", str(port)]
    return subprocess.Popen(
        [str(paths.venv_python()), "-m", "lubberline.cli", "open", *named, "--no-open"],
        cwd=paths.ROOT,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        encoding="utf-8",
    )


def _address_of(server: subprocess.Popen[str]) -> str:
    """The address that the page prints when it has its port; after the time limit the page is ended."""
    limit = threading.Timer(START_LIMIT_S, server.kill)
    limit.start()
    try:
        for line in server.stdout or ():
            found = ADDRESS.search(line)
            if found:
                return found[0]
    finally:
        limit.cancel()
    raise Stop("The page did not start; the lines above say why.")


def _wait_for(address: str, server: subprocess.Popen[str]) -> None:
    # Loopback needs no proxy, even if the environment names one.
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    limit = time.monotonic() + START_LIMIT_S
    while time.monotonic() < limit:
        if server.poll():
            raise Stop("The page did not start; the lines above say why.")
        with contextlib.suppress(urllib.error.URLError, OSError), opener.open(address, timeout=5):
            return
        time.sleep(0.05)
    raise Stop(f"The page did not answer within {START_LIMIT_S:.0f} s.")


def _open(address: str) -> bool:
    """Open the address in a browser with a window; a text browser would take over the terminal."""
    windows = os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    headless = sys.platform.startswith("linux") and not windows
    return not headless and webbrowser.open(address)


def _end(server: subprocess.Popen[str]) -> None:
    """End the page's process: first with a request, then by force."""
    if server.poll() is None:
        server.terminate()
        try:
            server.wait(STOP_LIMIT_S)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()
