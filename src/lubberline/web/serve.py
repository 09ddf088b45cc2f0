"""Serves the pages until Ctrl-C: to this machine alone, or the students' side to the local network, too."""

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

ADDRESS = "127.0.0.1"
EVERYWHERE = "0.0.0.0"
DEFAULT_PORT = 8765
PASSPHRASE_VARIABLE = "LUBBERLINE_PASSPHRASE"
PORTS_TRIED = 50
# Longer than any flight of the list takes once the engine is compiled.
SLOW_S = 4.0
# The exit code by convention. A service that is asked to end (SIGTERM) has done what it should: 0.
CTRL_C = 130


def free_socket(port: int, address: str = ADDRESS) -> socket.socket:
    """A listening socket on that port of this machine, or on the next one that is free (0: any).

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
            # Calls that come before the server runs wait here.
            bound.listen(64)
        except OSError:
            bound.close()
        else:
            return bound
    raise InputError(
        "port", f"{port} and the next {PORTS_TRIED - 1} ports are in use", "choose another with --port"
    )


def _make_ready(server: uvicorn.Server, port: int, open_browser: bool) -> None:
    """Flies the first flight, which may compile the engine, then opens the page."""
    while not server.started:
        if server.should_exit:
            return
        time.sleep(0.05)
    asked_s = time.monotonic()
    slow = threading.Timer(SLOW_S, print, ["Compiling the engine (once only); this can take a minute."])
    slow.daemon = True
    slow.start()
    # Asked for directly: a proxy named in the environment must not stand between.
    first = http.client.HTTPConnection(ADDRESS, port, timeout=300)
    try:
        first.request("GET", "/")
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


def typed(prompt: str) -> str:
    """What is typed at the terminal, unseen; without a terminal a line of standard input.

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
    """Sets the passphrase of the instructor's side: the one of the environment, or the one that is typed.

    Args:
        school: where its digest is kept.
        ask: asks for it without showing what is typed.
        forgotten: whether nobody knows the one that is set: it is not asked for.

    Raises:
        InputError: it is too short, was typed differently the second time, or the old one is another.
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
    """Whoever has the file can do anything with it; nobody should change the passphrase by mistake."""
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
    """The records; with the passphrase set or taken away where that was asked for.

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
    """SIGTERM, and SIGHUP when its terminal is closed, end the process in good order, once.

    Returns:
        Where the signal that was heard will stand.
    """
    endings = [one for one in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, one)]
    heard: list[int] = []

    def end(number: int, _: object) -> None:
        heard.append(number)
        for name in endings:
            signal.signal(getattr(signal, name), signal.SIG_IGN)
        raise KeyboardInterrupt

    def terminate(*_: object) -> None:
        # To whoever hears it just now: the server while it runs.
        signal.raise_signal(signal.SIGTERM)

    for name in endings:
        # Of a process that is to outlive its terminal (nohup), SIGHUP stays ignored.
        if signal.getsignal(getattr(signal, name)) is not signal.SIG_IGN:
            signal.signal(getattr(signal, name), terminate if name == "SIGHUP" else end)
    return heard


def _show_running(running: RunningServer, wanted: Wanted) -> None:
    """Opens the server that has the records already.

    Raises:
        InputError: it was started with other options than are wanted now.
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
    """How a server is to be started.

    Attributes:
        port: the port wanted, or the next free one; None: whichever.
        open_browser: whether to open the page in the browser, too.
        lan: whether the students' side is open to the local network.
        behind: address of an HTTPS proxy before this server.
        asks_passphrase: whether a passphrase is asked for and set first.
        forgets_passphrase: whether the passphrase is taken away first.
        forgotten: whether either is done without the passphrase that is set.
    """

    port: int | None = None
    open_browser: bool = True
    lan: bool = False
    behind: str = ""
    asks_passphrase: bool = False
    forgets_passphrase: bool = False
    forgotten: bool = False


def serve(wanted: Wanted) -> None:
    """Serves until Ctrl-C, after printing the address; or opens the server that has the records already.

    Raises:
        InputError: no free port, an address that is none, a passphrase that is too short, or a server
            that was started otherwise has the records.
        KeyboardInterrupt: Ctrl-C, after everything was ended in good order.
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
        # A flight is still being flown or compiled, and Python would wait for it to the end.
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
    config = uvicorn.Config(
        create_app(school=records, door=opened),
        log_level="warning",
        timeout_graceful_shutdown=1,
        lifespan="off",
        # Who called is told by the guard, which knows whether there is a proxy.
        proxy_headers=False,
        **SERVER_OPTIONS,
    )
    server = uvicorn.Server(config)
    # A flight cut short by Ctrl-C is no fault to report.
    logging.getLogger("uvicorn.error").addFilter(lambda _: not server.should_exit)
    _told(opened, own_port)
    ready = threading.Thread(target=_make_ready, args=(server, own_port, wanted.open_browser), daemon=True)
    ready.start()
    try:
        server.run(sockets=[bound])
    except KeyboardInterrupt:
        pass
    finally:
        bound.close()
        records.close()
