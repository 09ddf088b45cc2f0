"""Calls the application in process, as a browser on this machine would."""

from collections.abc import AsyncIterator
from typing import Any

import httpx
from anyio.from_thread import start_blocking_portal
from starlette.applications import Starlette

BASE = "http://127.0.0.1:8765"


class Caller:
    """Plain calls of an application, without a socket."""

    def __init__(self, app: Starlette) -> None:
        self.app = app

    def __call__(self, method: str, address: str, **options: Any) -> httpx.Response:
        async def send() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.app, raise_app_exceptions=False)
            async with httpx.AsyncClient(transport=transport, base_url=BASE) as client:
                return await client.request(method, address, **options)

        # In a thread of its own: Playwright keeps a loop running in this one.
        with start_blocking_portal() as portal:
            return portal.call(send)

    def get(self, address: str, **options: Any) -> httpx.Response:
        return self("GET", address, **options)

    def post(self, address: str, **options: Any) -> httpx.Response:
        options["headers"] = {"origin": BASE, **options.get("headers", {})}
        return self("POST", address, **options)

    def fly(self, **asked: Any) -> httpx.Response:
        return self.post("/api/fly", json=asked)


async def pieces(count: int, size: int) -> AsyncIterator[bytes]:
    """A body of no declared length."""
    for _ in range(count):
        yield b"x" * size
