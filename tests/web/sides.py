"""A school that a network reaches: who calls, and a sitting to join."""

from collections.abc import Iterator
from typing import Any

import httpx
import pytest
from anyio.from_thread import start_blocking_portal
from starlette.applications import Starlette

from lubberline.classroom.records import Sitting
from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from lubberline.web.callers import Door
from tests.web.class_server import begun
from tests.web.pretend import pretend_catalogue

LAN = "192.168.7.20"


PHONE = ("192.168.7.31", 50000)


HERE = ("127.0.0.1", 50000)


PROXY = "https://school.example"
WORDS = "correct horse of Troy"


class From:
    """Calls the application as somebody at an address would, by a name, keeping cookies."""

    def __init__(self, app: Starlette, client: tuple[str, int], base: str) -> None:
        self.app, self.client, self.base = app, client, base
        self.cookies = httpx.Cookies()

    def __call__(self, method: str, path: str, **options: Any) -> httpx.Response:
        async def send() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.app, raise_app_exceptions=False, client=self.client)

            async def placed(scope: Any, receive: Any, send: Any) -> None:
                scope["server"] = (LAN if self.client == PHONE else "127.0.0.1", 8765)
                await self.app(scope, receive, send)

            transport.app = placed
            async with httpx.AsyncClient(
                transport=transport, base_url=self.base, cookies=self.cookies
            ) as client:
                response = await client.request(method, path, **options)
                self.cookies = client.cookies
                return response

        with start_blocking_portal() as portal:
            return portal.call(send)

    def get(self, path: str, **options: Any) -> httpx.Response:
        return self("GET", path, **options)

    def post(self, path: str, **options: Any) -> httpx.Response:
        options["headers"] = {"origin": self.base, **options.get("headers", {})}
        return self("POST", path, **options)


@pytest.fixture
def school() -> Iterator[School]:
    opened = open_school("memory")
    yield opened
    opened.close()


@pytest.fixture
def app(school: School, tmp_path: Any) -> Starlette:
    return create_app(pretend_catalogue(tmp_path), school, Door(lan=True, names=frozenset({"hangar.local"})))


@pytest.fixture
def phone(app: Starlette) -> From:
    return From(app, PHONE, f"http://{LAN}:8765")


@pytest.fixture
def sitting(school: School) -> Sitting:
    return school.sittings.move(begun(school).id, step=1, phase="open")


def join(phone: From, code: str, name: str = "Ada", **more: str) -> httpx.Response:
    return phone.post("/join", data={"code": code, "name": name, **more})


def log_in(caller: From, words: str = WORDS, after: str = "/teach") -> httpx.Response:
    return caller.post("/login", data={"passphrase": words, "next": after})
