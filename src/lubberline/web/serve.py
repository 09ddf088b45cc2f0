"""Serves the page to this machine alone until Ctrl-C."""

from __future__ import annotations

import socket
import sys
import threading
import time
import webbrowser

import uvicorn

from lubberline.errors import InputError
from lubberline.web.app import create_app

ADDRESS = "127.0.0.1"
PORTS_TRIED = 50


def free_socket(port: int) -> socket.socket:
    """A bound socket on that port of this machine, or on the next one that is free (0: any).

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
        except OSError:
            bound.close()
        else:
            return bound
    raise InputError(
        "port", f"{port} and the {PORTS_TRIED - 1} after it are taken", "name another with --port"
    )


def _open_when_ready(server: uvicorn.Server, address: str) -> None:
    while not server.started:
        if server.should_exit:
            return
        time.sleep(0.05)
    webbrowser.open(address)


def serve(port: int = 8765, open_browser: bool = True) -> None:
    """Serves until Ctrl-C, after printing the address.

    Args:
        port: the port wanted; the next free one is taken when it is not free.
        open_browser: whether to open the page in the browser, too.
    """
    bound = free_socket(port)
    address = f"http://{ADDRESS}:{bound.getsockname()[1]}/"
    config = uvicorn.Config(create_app(), log_level="warning", timeout_graceful_shutdown=1, lifespan="off")
    server = uvicorn.Server(config)
    print(f"Lubberline is at {address} (Ctrl-C ends it)", flush=True)
    if open_browser:
        threading.Thread(target=_open_when_ready, args=(server, address), daemon=True).start()
    try:
        server.run(sockets=[bound])
    except KeyboardInterrupt:
        pass
    finally:
        bound.close()
    print("Ended.", flush=True)
