"""Serves the pages until Ctrl-C: to this machine only, or the students' side also to the local network."""

from __future__ import annotations

import getpass
import http.client
import logging
import os
import signal
import socket
import sys
import threading
import time
import webbrowser
from collections.abc import Callable
from typing import NamedTuple

import uvicorn
from starlette.applications import Starlette

from lubberline.classroom.own_files import check_files, waiting
from lubberline.compiled import HOW_LONG
from lubberline.errors import InputError
from lubberline.store.school import School, open_school
from lubberline.store.server import RunningServer, ServerLock, take_lock
from lubberline.store.settings import PASSPHRASE
from lubberline.store.times import now_utc
from lubberline.web import passphrase
from lubberline.web.app import create_app
from lubberline.web.bench.pages import SERVER_OPTIONS
from lubberline.web.callers import Door, door, lan_addresses
from lubberline.web.records import Opening
from lubberline.web.shelf import Shelves

ADDRESS = "127.0.0.1"
EVERYWHERE = "0.0.0.0"
DEFAULT_PORT = 8765
PASSPHRASE_VARIABLE = "LUBBERLINE_PASSPHRASE"
PORTS_TRIED = 50
# Longer than any flight of the list needs once the engine is compiled.
SLOW_S = 4.0
# The exit code by convention. A service stopped by SIGTERM ends normally: 0.
CTRL_C = 130


def free_socket(port: int, address: str = ADDRESS) -> socket.socket:
    """A listening socket on that port of this machine, or on the next free one (0: any).

    Raises:
        InputError: no port among the next fifty is free.
    """
    for tried in range(port, min(port + PORTS_TRIED, 65536)):
        bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if sys.platform != "win32":
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        else:
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        try:
            bound.bind((address, tried))
            # Calls wait here until the server runs.
            bound.listen(64)
        except OSError:
            bound.close()
        else:
            return bound
    raise InputError(
        "port", f"{port} and the next {PORTS_TRIED - 1} ports are in use", "choose another with --port"
    )


def _make_ready(server: uvicorn.Server, port: int, open_browser: bool, app: Starlette) -> None:
    """Flies the first flight, which may compile the engine, then opens the page."""
    while not server.started:
        if server.should_exit:
            return
        time.sleep(0.05)
    asked_s = time.monotonic()
    slow = threading.Timer(SLOW_S, print, [f"Compiling the engine (once only; {HOW_LONG})."])
    slow.daemon = True
    slow.start()
    # Without a proxy, even if the environment names one.
    first = http.client.HTTPConnection(ADDRESS, port, timeout=300)
    try:
        first.request("GET", "/flights")
        first.getresponse().read()
    except OSError:
        return
    finally:
        slow.cancel()
        first.close()
    if time.monotonic() - asked_s > SLOW_S:
        print("Ready.", flush=True)
    if open_browser:
        webbrowser.open(f"http://{ADDRESS}:{port}/")
    _check_own_files(app.state.shared.shelves)


def _check_own_files(shelves: Shelves) -> None:
    """Checks the school's own files if they or the program have changed, and says what does not hold."""
    folder = shelves.folder
    if not waiting(folder):
        return
    try:
        broken = {one.file for one in check_files(folder, library=shelves.scenes_now()).findings}
    except (InputError, OSError):
        return
    if broken:
        print(f"Own files that do not hold with this program: {', '.join(sorted(broken))}.", flush=True)
        print("Why: the page Scenes, or 'lubberline own'.", flush=True)


def typed(prompt: str) -> str:
    """Text typed at the terminal without echo; without a terminal, a line of standard input.

    Raises:
        InputError: there is none.
    """
    try:
        if sys.stdin is not None and sys.stdin.isatty():
            return getpass.getpass(prompt)
        line = sys.stdin.readline() if sys.stdin is not None else ""
    except EOFError:
        line = ""
    if not line:
        right = f"type it at a terminal, or set {PASSPHRASE_VARIABLE}"
        raise InputError("passphrase", "nothing was typed", right)
    return line.rstrip("\r\n")


def keep_passphrase(school: School, ask: Callable[[str], str], forgotten: bool = False) -> None:
    """Sets the passphrase for the instructor's pages: from the environment, or typed.

    Args:
        school: where its digest is kept.
        ask: asks for it without echo.
        forgotten: whether nobody knows the current one, which is then not asked for.

    Raises:
        InputError: it is too short, the two are different, or the current one is wrong.
    """
    given = os.environ.get(PASSPHRASE_VARIABLE, "")
    if given and passphrase.fits(given, school.settings.get(PASSPHRASE)):
        return
    _ask_old(school, ask, forgotten)
    if not given:
        given = ask("New passphrase for the instructor's pages: ")
        if given != ask("Repeat it: "):
            raise InputError("passphrase", "the two are different", "type it again")
    passphrase.set_passphrase(school, given)


def _ask_old(school: School, ask: Callable[[str], str], forgotten: bool) -> None:
    """Asks for the current passphrase, so that nobody changes it by mistake."""
    if forgotten or not passphrase.is_set(school):
        return
    if not passphrase.fits(ask("Current passphrase: "), school.settings.get(PASSPHRASE)):
        right = "type the current one, or add --forgotten if nobody knows it"
        raise InputError("passphrase", "wrong", right)


def _told(opened: Door, port: int) -> None:
    print(f"Lubberline is at http://{ADDRESS}:{port}/ (Ctrl-C to stop)", flush=True)
    if opened.lan:
        found = [f"http://{address}:{port}/join" for address in lan_addresses()]
        print(f"Students: {', '.join(found) or 'at the address of this machine'}", flush=True)
    if opened.behind:
        print(f"Behind {opened.behind}/, with the passphrase.", flush=True)


def _records(opened: Door, wanted: Wanted) -> Opening:
    """The records, with the passphrase set or removed if asked for.

    Raises:
        InputError: a proxy without a passphrase, or one that is too short.
    """
    if not (wanted.asks_passphrase or wanted.forgets_passphrase or opened.behind):
        return Opening()
    school = open_school()
    try:
        if wanted.forgets_passphrase:
            _ask_old(school, typed, wanted.forgotten)
            passphrase.set_passphrase(school, "")
        if wanted.asks_passphrase:
            keep_passphrase(school, typed, wanted.forgotten)
    except BaseException:
        school.close()
        raise
    if opened.behind and not passphrase.is_set(school):
        school.close()
        raise InputError("--behind", "no passphrase is set", "add --passphrase")
    school.watch()
    return Opening(school)


def _end_as_ctrl_c_does() -> list[int]:
    """Makes SIGTERM, and SIGHUP when the terminal is closed, end the process in good order, once.

    Returns:
        A list that will hold the signal received.
    """
    endings = [one for one in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, one)]
    heard: list[int] = []

    def end(number: int, _: object) -> None:
        heard.append(number)
        for name in endings:
            signal.signal(getattr(signal, name), signal.SIG_IGN)
        raise KeyboardInterrupt

    def terminate(*_: object) -> None:
        # To the present handler: the server's while it runs.
        signal.raise_signal(signal.SIGTERM)

    for name in endings:
        # With nohup, SIGHUP stays ignored.
        if signal.getsignal(getattr(signal, name)) is not signal.SIG_IGN:
            signal.signal(getattr(signal, name), terminate if name == "SIGHUP" else end)
    return heard


def _show_running(running: RunningServer, wanted: Wanted) -> None:
    """Opens the server that is already running on the records.

    Raises:
        InputError: it was started with different options.
    """
    options = f"{' --lan' if running.lan else ''}{f' --behind {running.behind}' if running.behind else ''}"
    told = f"{running.address} (process {running.pid}, since {running.since_utc},{options or ' no options'})"
    other = (
        (wanted.lan and not running.lan)
        or wanted.behind not in ("", running.behind)
        or wanted.port not in (None, running.port)
        or wanted.asks_passphrase
        or wanted.forgets_passphrase
    )
    if other:
        wrong = f"Lubberline is already running on these records: {told}"
        raise InputError(
            "open", wrong, "stop that one with Ctrl-C or SIGTERM, then start it with your options"
        )
    print(f"Lubberline is already running: {told}", flush=True)
    if wanted.open_browser:
        webbrowser.open(running.address)


class Wanted(NamedTuple):
    """Options for starting a server.

    Attributes:
        port: the port, or the next free one; None for any.
        open_browser: whether to open the page in the browser.
        lan: whether the students' side is open to the local network.
        behind: address of an HTTPS proxy before this server.
        asks_passphrase: whether to ask for a passphrase and set it first.
        forgets_passphrase: whether to remove the passphrase first.
        forgotten: whether to do either without the current passphrase.
    """

    port: int | None = None
    open_browser: bool = True
    lan: bool = False
    behind: str = ""
    asks_passphrase: bool = False
    forgets_passphrase: bool = False
    forgotten: bool = False


def serve(wanted: Wanted) -> None:
    """Serves until Ctrl-C, after printing the address; or opens the server already running on the records.

    Raises:
        InputError: no free port, an invalid address, a passphrase that is too short, or a server
            with different options on the same records.
        KeyboardInterrupt: Ctrl-C, after an orderly shutdown.
    """
    opened = door(wanted.lan, wanted.behind)
    if wanted.forgotten and not (wanted.asks_passphrase or wanted.forgets_passphrase):
        raise InputError(
            "--forgotten", "it only works with another option", "add --passphrase or --no-passphrase"
        )
    held = take_lock()
    if isinstance(held, RunningServer):
        _show_running(held, wanted)
        return
    heard = _end_as_ctrl_c_does()
    try:
        _serve(wanted, opened, held)
    finally:
        if held is not None:
            held.release()
    print("Ended.", flush=True)
    is_ctrl_c = heard[:1] == [signal.SIGINT]
    if any(not thread.daemon for thread in threading.enumerate() if thread is not threading.main_thread()):
        # Python would wait for a flight still being flown or compiled.
        os._exit(CTRL_C if is_ctrl_c else 0)
    if is_ctrl_c:
        raise KeyboardInterrupt


def _serve(wanted: Wanted, opened: Door, held: ServerLock | None) -> None:
    records = _records(opened, wanted)
    bound = free_socket(
        DEFAULT_PORT if wanted.port is None else wanted.port, EVERYWHERE if opened.lan else ADDRESS
    )
    own_port = bound.getsockname()[1]
    if held is not None:
        address = f"http://{ADDRESS}:{own_port}/"
        held.tell(RunningServer(address, os.getpid(), now_utc(), own_port, opened.lan, opened.behind))
    app = create_app(school=records, door=opened)
    config = uvicorn.Config(
        app,
        log_level="warning",
        timeout_graceful_shutdown=1,
        lifespan="off",
        # The guard finds the caller; it knows whether there is a proxy.
        proxy_headers=False,
        **SERVER_OPTIONS,
    )
    server = uvicorn.Server(config)
    # A flight interrupted by Ctrl-C is not an error.
    logging.getLogger("uvicorn.error").addFilter(lambda _: not server.should_exit)
    _told(opened, own_port)
    ready = threading.Thread(
        target=_make_ready, args=(server, own_port, wanted.open_browser, app), daemon=True
    )
    ready.start()
    try:
        server.run(sockets=[bound])
    except KeyboardInterrupt:
        pass
    finally:
        bound.close()
        records.close()
