"""The two sides: what the students' side can reach, who gets to the instructor's, codes, bodies, logs."""

from datetime import UTC, datetime
from typing import Any

import pytest
from anyio.from_thread import start_blocking_portal
from starlette.applications import Starlette
from starlette.routing import Mount, Route, WebSocketRoute

from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.web import passphrase
from lubberline.web.app import create_app
from lubberline.web.callers import door, is_students
from tests.web.pretend import pretend_catalogue
from tests.web.sides import HERE, LAN, PHONE, PROXY, WORDS, From, log_in
from tests.web.sides import app as app
from tests.web.sides import phone as phone
from tests.web.sides import school as school
from tests.web.sides import sitting as sitting

# The list to hold the route table to. A new route is the instructor's, or is written down here.
STUDENTS_ROUTES = {
    ("/join", "GET"),
    ("/join", "POST"),
    ("/class/leave", "POST"),
    ("/class/{sitting}", "GET"),
    ("/class/{sitting}/state", "GET"),
    ("/class/{sitting}/answer", "POST"),
    ("/class/{sitting}/line", "WS"),
    ("/sit/{sitting}", "GET"),
    ("/sit/{sitting}/answer", "POST"),
    ("/sit/{sitting}/hand-in", "POST"),
    ("/sit/{sitting}/keep", "POST"),
    ("/sit/{sitting}/state", "GET"),
    ("/log/{code}", "GET"),  # a pilot's form, by a code of its own
    ("/log/{code}", "POST"),
    ("/log/{code}/undo", "POST"),
    ("/static", "GET"),
}


def routes(app: Starlette) -> list[tuple[str, str]]:
    found = []
    for route in app.routes:
        if isinstance(route, WebSocketRoute):
            found.append((route.path, "WS"))
        elif isinstance(route, Mount):
            found.append((route.path, "GET"))
        else:
            assert isinstance(route, Route)
            found += [(route.path, method) for method in sorted(route.methods or ()) if method != "HEAD"]
    return found


def filled(path: str) -> str:
    return "/".join("x" if part.startswith("{") else part for part in path.split("/"))


def test_the_students_side_is_these_routes_and_no_others(app):
    assert {(path, method) for path, method in routes(app) if is_students(path)} == STUDENTS_ROUTES


def test_no_other_route_answers_the_network(app, phone):
    tried = [(path, method) for path, method in routes(app) if not is_students(path)]
    assert len(tried) > 30
    for path, method in tried:
        if method == "WS":
            continue
        response = phone(method, filled(path), headers={"origin": phone.base})
        if path == "/":
            assert response.headers["location"] == "/join"
        else:
            assert response.status_code == 403, path
            assert response.json()["error"]["where"] == "page"


@pytest.mark.parametrize("path", ["/bench/socket", "/teach/x/line", "/teach/x/projector/line"])
def test_no_socket_but_their_own_opens_to_the_network(app, path):
    sent: list[dict[str, Any]] = []
    scope = {
        "type": "websocket", "path": path, "raw_path": path.encode(), "query_string": b"", "scheme": "ws",
        "client": PHONE, "server": (LAN, 8765), "subprotocols": [], "root_path": "", "state": {},
        "headers": [(b"host", f"{LAN}:8765".encode()), (b"origin", f"http://{LAN}:8765".encode())],
    }  # fmt: skip

    async def receive() -> dict[str, Any]:
        return {"type": "websocket.connect"}

    async def send(message: Any) -> None:
        sent.append(message)

    with start_blocking_portal() as portal:
        portal.call(lambda: app(scope, receive, send))
    assert sent[0]["type"] == "websocket.close"


@pytest.mark.parametrize("path", ["/join/../teach", "/class/%2e%2e/teach", "/static/..%2fteach", "/class\\x"])
def test_no_path_trick_leads_to_the_instructors_side(phone, path):
    assert phone.get(path).status_code in (400, 403, 404)


@pytest.mark.parametrize(
    ("client", "host", "status"),
    [
        (HERE, "127.0.0.1:8765", 200),
        (HERE, "localhost:8765", 200),
        (HERE, "evil.example", 403),
        (PHONE, "127.0.0.1:8765", 403),  # a name that lies about where it comes from
        (PHONE, "localhost", 403),
        (PHONE, "evil.example:8765", 403),  # a rebound DNS answer
        (PHONE, "192.168.7.99:8765", 403),  # not this machine's address
    ],
)
def test_the_instructors_side_opens_on_this_machine_alone(app, client, host, status):
    assert From(app, client, f"http://{host}").get("/questions/write").status_code == status


@pytest.mark.parametrize("host", [f"{LAN}:8765", "hangar.local:8765", "HANGAR.local"])
def test_the_network_reaches_the_students_side_by_this_machines_names(app, host):
    assert From(app, PHONE, f"http://{host}").get("/join").status_code == 200


def test_without_lan_the_network_reaches_nothing(school, tmp_path):
    shut = create_app(pretend_catalogue(tmp_path), school)
    assert From(shut, PHONE, f"http://{LAN}:8765").get("/join").status_code == 403
    assert From(shut, HERE, "http://127.0.0.1:8765").get("/join").status_code == 200


@pytest.mark.parametrize("name", ["x-forwarded-for", "forwarded", "x-real-ip", "x-forwarded-host", "via"])
@pytest.mark.parametrize("path", ["/", "/join"])
def test_a_proxy_that_nobody_named_is_refused(app, name, path):
    here = From(app, HERE, "http://127.0.0.1:8765")
    assert here.get(path, headers={name: "127.0.0.1"}).status_code == 403


# Passphrase and proxy


@pytest.fixture
def locked(school: School) -> School:
    passphrase.set_passphrase(school, WORDS)
    return school


def test_a_passphrase_is_asked_for_on_this_machine_too(app, locked):
    here = From(app, HERE, "http://127.0.0.1:8765")
    asked = here.get("/teach")
    assert (asked.status_code, asked.headers["location"]) == (303, "/login?next=%2Fteach")
    assert here.post("/api/fly", json={}).status_code == 401
    wrong = log_in(here, "something else altogether")
    assert (wrong.status_code, "Wrong passphrase" in wrong.text) == (403, True)
    right = log_in(here)
    assert (right.status_code, right.headers["location"]) == (303, "/teach")
    cookie = right.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert here.get("/teach").status_code == 200
    stolen = dict(here.cookies)
    here.post("/logout")
    thief = From(app, HERE, "http://127.0.0.1:8765")
    thief.cookies.update(stolen)
    assert thief.get("/teach").status_code == 303


@pytest.mark.parametrize("cookie", ["", "9999999999.x", "9999999999.x.00", "x", "1.2.3", "²²²²²²²²²².x.y"])
def test_a_cookie_that_was_made_up_opens_nothing(locked, cookie):
    assert not passphrase.is_session(locked.settings.get(passphrase.KEY), cookie)


def test_a_session_ends_by_its_time_and_with_a_new_passphrase(locked, monkeypatch):
    cookie = passphrase.new_session(locked)
    assert passphrase.is_session(locked.settings.get(passphrase.KEY), cookie)
    monkeypatch.setattr(passphrase, "now", lambda: datetime(2096, 1, 1, tzinfo=UTC))
    assert not passphrase.is_session(locked.settings.get(passphrase.KEY), cookie)
    monkeypatch.undo()
    passphrase.set_passphrase(locked, "another one entirely")
    assert not passphrase.is_session(locked.settings.get(passphrase.KEY), cookie)


def test_of_the_passphrase_only_a_digest_is_kept(locked):
    kept = locked.settings.get(passphrase.PASSPHRASE)
    assert kept.startswith("scrypt$")
    assert WORDS not in kept
    assert passphrase.fits(WORDS, kept)
    assert not passphrase.fits(WORDS + " ", kept)
    assert kept != passphrase.digest_of(WORDS)
    with pytest.raises(InputError, match="5 characters"):
        passphrase.set_passphrase(locked, "short")


def test_passphrases_cannot_be_guessed_in_bulk(app, locked):
    here = From(app, HERE, "http://127.0.0.1:8765")
    answers = [log_in(here, f"guess number {number}").status_code for number in range(8)]
    assert answers == [403] * 5 + [429] * 3
    assert log_in(here).status_code == 429


@pytest.mark.parametrize("after", ["//evil.example", "https://evil.example", "/\\evil.example", "x"])
def test_logging_in_leads_to_this_server_alone(app, locked, after):
    assert log_in(From(app, HERE, "http://127.0.0.1:8765"), after=after).headers["location"] == "/"


def behind(school: School, folder: Any) -> Starlette:
    return create_app(pretend_catalogue(folder), school, door(behind=PROXY))


FORWARDED = {"x-forwarded-for": "10.9.9.9, 203.0.113.5", "x-forwarded-proto": "https"}


def test_behind_a_proxy_the_instructors_side_needs_the_passphrase_and_a_secure_cookie(locked, tmp_path):
    out = From(behind(locked, tmp_path), HERE, PROXY)
    assert out.get("/join", headers=FORWARDED).status_code == 200
    assert out.get("/teach", headers=FORWARDED).status_code == 303
    sent = out.post("/login", data={"passphrase": WORDS, "next": "/teach"}, headers=FORWARDED)
    assert "secure" in sent.headers["set-cookie"].lower()
    assert out.get("/teach", headers=FORWARDED).status_code == 200


def test_behind_a_proxy_without_a_passphrase_nobody_is_the_instructor(school, tmp_path):
    out = From(behind(school, tmp_path), HERE, PROXY)
    assert out.get("/teach", headers=FORWARDED).status_code == 403
    assert out.get("/login", headers=FORWARDED).status_code == 403


@pytest.mark.parametrize(
    ("host", "more", "status"),
    [
        (PROXY, {}, 200),
        ("http://127.0.0.1:8765", {"x-forwarded-host": "school.example"}, 200),
        ("http://127.0.0.1:8765", {"x-forwarded-host": "evil.example"}, 403),
        ("https://evil.example", {}, 403),
        (PROXY, {"x-forwarded-proto": "http"}, 403),
    ],
)
def test_a_proxy_is_known_by_its_address(locked, tmp_path, host, more, status):
    out = From(behind(locked, tmp_path), HERE, host)
    assert out.get("/join", headers={**FORWARDED, **more}).status_code == status


def test_behind_a_proxy_only_its_own_pages_may_send(locked, tmp_path):
    out = From(behind(locked, tmp_path), HERE, PROXY)
    for origin, status in (("http://127.0.0.1:8765", 403), ("https://evil.example", 403), (PROXY, 404)):
        sent = out.post("/join", data={"code": "AAAAAA"}, headers={**FORWARDED, "origin": origin})
        assert sent.status_code == status


@pytest.mark.parametrize(
    "given",
    ["http://school.example", "school.example", "https://u:p@x.example", "https://x.example/a", "https://"],
)
def test_a_proxy_needs_a_plain_https_address(given):
    with pytest.raises(InputError, match="--behind"):
        door(behind=given)
