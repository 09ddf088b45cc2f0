"""Serves the page to this machine alone until Ctrl-C."""

from __future__ import annotations

import http.client
import logging
import os
import socket
import sys
import threading
import time
import webbrowser

import uvicorn

from lubberline.errors import InputError
from lubberline.web.app import create_app
from lubberline.web.live.line import SERVER_OPTIONS

ADDRESS = "127.0.0.1"
PORTS_TRIED = 50
# Longer than any flight of the list takes once the engine is compiled.
SLOW_S = 4.0


def free_socket(port: int) -> socket.socket:
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
            bound.bind((ADDRESS, tried))
            # Calls that come before the server runs wait here.
            bound.listen(64)
        except OSError:
            bound.close()
        else:
            return bound
    raise InputError(
        "port", f"{port} and the {PORTS_TRIED - 1} after it are taken", "name another with --port"
    )


def _make_ready(server: uvicorn.Server, port: int, open_browser: bool) -> None:
    """Flies the first flight, which may compile the engine, then opens the page."""
    while not server.started:
        if server.should_exit:
            return
        time.sleep(0.05)
    asked_s = time.monotonic()
    slow = threading.Timer(SLOW_S, print, ["The engine is being compiled, once; this can take a minute."])
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


def serve(port: int = 8765, open_browser: bool = True) -> None:
    """Serves until Ctrl-C, after printing the address.

    Args:
        port: the port wanted; the next free one is taken when it is not free.
        open_browser: whether to open the page in the browser, too.
    """
    bound = free_socket(port)
    own_port = bound.getsockname()[1]
    config = uvicorn.Config(
        create_app(), log_level="warning", timeout_graceful_shutdown=1, lifespan="off", **SERVER_OPTIONS
    )
    server = uvicorn.Server(config)
    # A flight cut short by Ctrl-C is no fault to report.
    logging.getLogger("uvicorn.error").addFilter(lambda _: not server.should_exit)
    print(f"Lubberline is at http://{ADDRESS}:{own_port}/ (Ctrl-C ends it)", flush=True)
    ready = threading.Thread(target=_make_ready, args=(server, own_port, open_browser), daemon=True)
    ready.start()
    try:
        server.run(sockets=[bound])
    except KeyboardInterrupt:
        pass
    finally:
        bound.close()
    print("Ended.", flush=True)
    if any(not thread.daemon for thread in threading.enumerate() if thread is not threading.main_thread()):
        # A flight is still being flown or compiled, and Python would wait for it to the end.
        os._exit(0)
