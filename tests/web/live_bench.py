"""A server with its benches, and a page on one of them, without a browser."""

import contextlib
import json
import socket
import threading
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import uvicorn
from websockets.sync.client import ClientConnection, connect

from lubberline.web.app import create_app
from lubberline.web.bench.pages import SERVER_OPTIONS
from lubberline.web.serve import free_socket

Message = dict[str, Any]
PATIENCE_S = 90.0


class Server:
    """The real server on a port of this machine."""

    def __init__(self) -> None:
        self.bound = free_socket(0)
        # Small, so that a viewer who does not read is felt soon.
        self.bound.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, 16_384)
        self.port = self.bound.getsockname()[1]
        self.app = create_app()
        config = uvicorn.Config(
            self.app, log_level="error", timeout_graceful_shutdown=1, lifespan="off", **SERVER_OPTIONS
        )
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, kwargs={"sockets": [self.bound]}, daemon=True)
        self.thread.start()
        until = time.monotonic() + 10.0
        while not self.server.started and time.monotonic() < until:
            time.sleep(0.02)

    def stop(self) -> None:
        """It ends, whoever still has a line."""
        self.server.should_exit = True
        self.thread.join(10.0)
        assert not self.thread.is_alive()
        self.bound.close()


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    served = Server()
    yield served
    served.stop()


class Page:
    """A page at the bench."""

    def __init__(self, server: Server, bench: str) -> None:
        address = f"127.0.0.1:{server.port}"
        url = f"ws://{address}/bench/socket?bench={bench}"
        self._stack = contextlib.ExitStack()
        self.line: ClientConnection = self._stack.enter_context(
            connect(url, origin=f"http://{address}", compression=None)  # type: ignore[arg-type]
        )
        self.said: list[Message] = []
        self.hello = self.until(lambda message: message["kind"] == "hello")

    def close(self) -> None:
        self._stack.close()

    def read_to_its_end(self) -> None:
        """Until the line is cut; fails where it is not."""
        for _ in range(5000):
            self.next()

    def do(self, order: str, **fields: Any) -> None:
        self.line.send(json.dumps({"do": order, **fields}))

    def next(self) -> Message:
        message: Message = json.loads(self.line.recv(timeout=PATIENCE_S))
        if message["kind"] != "frame":
            self.said.append(message)
        return message

    def until(self, found: Callable[[Message], bool], frames: int = 900) -> Message:
        for _ in range(frames):
            message = self.next()
            if found(message):
                return message
        raise AssertionError(f"not seen in {frames} messages; said: {self.said[-3:]}")

    def frame(self, found: Callable[[Message], bool] = lambda frame: True) -> Message:
        return self.until(lambda message: message["kind"] == "frame" and found(message))

    def refused(self) -> Message:
        return self.until(lambda message: message["kind"] == "refused")


NAMES = (f"t{number}" for number in range(1000))


@pytest.fixture
def bench(server: Server) -> str:
    return next(NAMES)


@pytest.fixture
def page(server: Server, bench: str) -> Iterator[Page]:
    opened = Page(server, bench)
    yield opened
    opened.close()
