"""The application on a real port, in a thread of the tests' own process."""

import socket
import threading
import time
from collections.abc import Callable
from typing import Any

import uvicorn

from lubberline.web.bench.pages import SERVER_OPTIONS
from lubberline.web.serve import free_socket


class AppServer:
    """A server that can be stopped and started again at the same address, with an application made anew.

    Attributes:
        port: where it listens.
    """

    def __init__(self, make: Callable[[], Any]) -> None:
        self.port = 0
        self._make = make
        self.start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        bound = self._bound()
        self.port = bound.getsockname()[1]
        config = uvicorn.Config(
            self._make(), log_level="error", timeout_graceful_shutdown=1, lifespan="off", **SERVER_OPTIONS
        )
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run, kwargs={"sockets": [bound]}, daemon=True)
        self._thread.start()

    def _bound(self) -> socket.socket:
        """A free port the first time, the same one ever after, though it may take a moment to come free."""
        for _ in range(100):
            bound = free_socket(self.port)
            if self.port in (0, bound.getsockname()[1]):
                return bound
            bound.close()
            time.sleep(0.1)
        raise AssertionError(f"port {self.port} did not come free")

    def stop(self) -> None:
        self._server.should_exit = True
        self._thread.join(15)
        assert not self._thread.is_alive()
