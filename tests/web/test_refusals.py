"""Whatever is refused is a page in the frame of whoever asked, with a way back, or JSON for a script."""

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import httpx
import pytest
from anyio.from_thread import start_blocking_portal
from starlette.routing import Route

from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from lubberline.web.callers import Door, is_students
from tests.web.pretend import pretend_catalogue

BROWSER = {"accept": "text/html,application/xhtml+xml", "sec-fetch-mode": "navigate"}
SCRIPT = {"accept": "application/json"}
# Who asks: from where, and by which name of the server.
ASKERS = {
    "instructor": (("127.0.0.1", 50000), "http://127.0.0.1:8765"),
    "student": (("192.168.7.31", 50000), "http://hangar.local:8765"),
}
PLAIN = {"content-type": "application/x-www-form-urlencoded"}
# What a form may be that no page sends: of another kind, with nothing in it that counts, not in UTF-8.
FORMS: tuple[dict[str, Any], ...] = (
    {"content": b"{}", "headers": {"content-type": "text/plain"}},
    {"data": {"do": "nonsense", "at": "x", "key": "x", "group": "x", "text": "# no lesson", "seed": "x"}},
    {"files": {"file": ("no such thing.txt", b"\xff\xfe")}},
    {"content": b"text=%ff", "headers": PLAIN},
)
# These do what they do whatever the form holds, and the demo class takes its time.
NEVER_WRONG = {"/school/demo", "/logout", "/class/leave"}
# The page of a flight or of models flies and makes what stands on it, beside what is wrong.
QUERY = "?flight=nope&seed=x&topic=nope&level=nope&kind=nope&group=nope&file=nope&theme=nope&bench=%20"


class Asker:
    """Somebody with a browser, and with a script, in one event loop for all that is asked."""

    def __init__(self, app: Any, who: str) -> None:
        client, self.base = ASKERS[who]
        self._portal_context = start_blocking_portal()
        self._portal = self._portal_context.__enter__()
        transport = httpx.ASGITransport(app=app, raise_app_exceptions=False, client=client)
        self._client = httpx.AsyncClient(transport=transport, base_url=self.base)

    def __call__(self, method: str, address: str, asks: dict[str, str], **more: Any) -> httpx.Response:
        given = {**asks, **({"origin": self.base} if method == "POST" else {}), **more.pop("headers", {})}

        async def ask() -> httpx.Response:
            return await self._client.request(method, address, headers=given, **more)

        return self._portal.call(ask)

    def end(self) -> None:
        self._portal_context.__exit__(None, None, None)


@pytest.fixture(scope="module")
def school() -> Iterator[School]:
    opened = open_school("memory")
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def app(school: School, tmp_path_factory: pytest.TempPathFactory) -> Any:
    made = create_app(
        pretend_catalogue(tmp_path_factory.mktemp("catalogue")),
        school,
        Door(lan=True, names=frozenset({"hangar.local"})),
        Path(tmp_path_factory.mktemp("folder")),
    )
    made.router.routes.insert(0, Route("/broken", _broken))
    made.router.routes.insert(0, Route("/sit/x/broken", _broken))
    return made


def _broken(_: Any) -> Any:
    raise RuntimeError("inside")


@pytest.fixture(params=list(ASKERS))
def asker(request: pytest.FixtureRequest, app: Any) -> Iterator[tuple[str, Asker]]:
    made = Asker(app, request.param)
    yield request.param, made
    made.end()


def bad_requests(app: Any) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Every address with arguments that name nothing, by every method it takes."""
    for route in app.routes:
        if not isinstance(route, Route) or "broken" in route.path:
            continue
        address = re.sub(r"\{[^}]*\}", "none", route.path)
        if "GET" in (route.methods or ()):
            yield "GET", address, {}
            yield "GET", address + QUERY, {}
        elif route.path not in NEVER_WRONG:
            for form in FORMS:
                yield "POST", address, form


def words(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", html)).split())


def check_page(who: str, path: str, html: str, wrong: str) -> str:
    """What is wrong with a refusal's page; '' for nothing."""
    if '<p class="wordmark">' not in html and 'class="logtop"' not in html:
        return "outside the frame"
    # Before somebody has logged in, and on the form of a log, nobody is shown the rooms.
    apart = path == "/login" or 'class="logtop"' in html
    is_students_page = who == "student" or is_students(path)
    if not apart and ('<nav class="doors"' in html) == is_students_page:
        return "in the other's frame"
    if wrong.lower().rstrip(".") not in words(html).lower():
        return f"does not say that {wrong}"
    rest = re.sub(
        r'<nav class="(doors|rooms)".*?</nav>|<a class="(skip|start)"[^>]*>', "", html, flags=re.DOTALL
    )
    return "" if re.search(r'<a [^>]*href="/|<form ', rest) else "no way back"


def test_every_route_refuses_bad_arguments_in_the_frame_of_whoever_asks(
    app: Any, asker: tuple[str, Asker]
) -> None:
    who, ask = asker
    refused, faults = 0, []
    for method, address, form in bad_requests(app):
        path = address.partition("?")[0]
        told = ask(method, address, SCRIPT, **form)
        shown = ask(method, address, BROWSER, **form)
        if told.status_code < 400:
            continue
        refused += 1
        place = f"{method} {address} {form.get('headers', sorted(form))} {told.status_code}"
        if told.status_code >= 500:
            faults.append(f"{place}: {told.text[:300]}")
            continue
        try:
            error = told.json()["error"]
        except ValueError:
            faults.append(f"{place}: a script is told {told.text[:60]!r}")
            continue
        if not {"code", "where", "wrong", "right"} <= set(error) or not (error["wrong"] and error["right"]):
            faults.append(f"{place}: {error}")
        elif shown.status_code != told.status_code:
            faults.append(f"{place}: the browser gets {shown.status_code}")
        elif "text/html" not in shown.headers["content-type"]:
            # A device's sending is answered in its own shape, whoever asks.
            faults += [] if "sent" in error else [f"{place}: no page"]
        elif fault := check_page(who, path, shown.text, error["wrong"]):
            faults.append(f"{place}: {fault}")
    assert not faults, "\n".join(faults)
    assert refused > 100


@pytest.mark.parametrize(
    ("address", "status", "back"),
    [
        ("/nowhere", 404, "/"),
        ("/aircraft/NOPE", 404, "/aircraft"),
        ("/lessons/absent", 404, "/lessons"),
        ("/teach/none", 404, "/teach"),
        ("/sittings/none/now", 404, "/sittings"),
        ("/results/student/none", 404, "/results"),
        ("/sit/none", 404, "/join"),
        ("/log/ABC", 404, "/join"),
        ("/broken", 500, "/"),
        ("/sit/x/broken", 500, "/sit/x"),
    ],
)
def test_the_way_back_leads_to_the_page_above(app: Any, address: str, status: int, back: str) -> None:
    ask = Asker(app, "instructor")
    page = ask("GET", address, BROWSER)
    told = ask("GET", address, SCRIPT)
    ask.end()
    assert (page.status_code, told.status_code) == (status, status)
    main = page.text[page.text.index("<main") : page.text.index("</main>")]
    assert f'href="{back}"' in main
    assert "another flight" not in page.text
    assert told.json()["error"]["right"]


def test_an_internal_error_says_nothing_of_the_inside(app: Any) -> None:
    ask = Asker(app, "instructor")
    page = ask("GET", "/broken", BROWSER)
    ask.end()
    assert "<h1>Internal error</h1>" in page.text
    assert "inside" not in page.text
