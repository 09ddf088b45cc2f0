"""The two sides: what the students' side can reach, who gets to the instructor's, codes, bodies, logs."""

import json
import logging
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest
from anyio.from_thread import start_blocking_portal
from starlette.applications import Starlette
from starlette.routing import Mount, Route, WebSocketRoute

from lubberline.classroom.records import Answer, Sitting
from lubberline.errors import InputError
from lubberline.store.school import School, open_school
from lubberline.web import passphrase
from lubberline.web.app import create_app
from lubberline.web.callers import Door, door, is_students
from lubberline.web.rate_limit import Tries
from lubberline.web.refusals import Refused
from tests.web.class_server import begun
from tests.web.papers import whose_of
from tests.web.pretend import HOSTILE, pretend_catalogue

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


def log_in(caller: From, words: str = WORDS, after: str = "/teach") -> httpx.Response:
    return caller.post("/login", data={"passphrase": words, "next": after})


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


# Joining


def test_a_class_is_joined_and_a_browser_gets_its_own_place_again(phone, school, sitting):
    joined = join(phone, f" {sitting.code[:3].lower()}-{sitting.code[3:]} ")
    assert (joined.status_code, joined.headers["location"]) == (303, f"/class/{sitting.id}")
    assert "httponly" in joined.headers["set-cookie"].lower()
    join(phone, sitting.code, "Somebody else")
    assert [school.people.student(place.student).name for place in school.sittings.places(sitting.id)] == [
        "Ada"
    ]
    assert phone.get(f"/class/{sitting.id}/state").json()["own"]["name"] == "Ada"


def test_codes_cannot_be_guessed_in_bulk(app, phone, sitting):
    codes = [f"{k:06d}" for k in range(40)]
    answers = [join(phone, code).status_code for code in codes]
    assert answers[:20] == [404] * 20
    assert set(answers[20:]) == {429}
    # Not even the right one, or whoever guesses would learn which it is.
    assert join(phone, sitting.code).status_code == 429
    other = From(app, ("192.168.7.32", 50000), "http://hangar.local:8765")
    assert join(other, sitting.code, "Ben").status_code == 303


def test_many_devices_together_cannot_guess_either():
    now = [0.0]
    tries = Tries(each=20, each_per_min=20, together=300, together_per_min=120, clock=lambda: now[0])
    passed = 0
    for second in range(600):
        now[0] = float(second)
        for device in range(100):
            try:
                tries.check(f"device-{second}-{device}")
            except Refused:
                continue
            tries.failed(f"device-{second}-{device}")
            passed += 1
    # Ten minutes: 300 at once and two a second, of 30 ** 6 codes.
    assert passed <= 300 + 120 * 10 + 1


@pytest.mark.parametrize("name", [HOSTILE, "<img src=x onerror=alert(1)>", "'\";--", "Ada\u202eadA"])
def test_html_in_a_name_is_shown_as_text(app, phone, school, sitting, name):
    assert join(phone, sitting.code, name[:60]).status_code == 303
    here = From(app, HERE, "http://127.0.0.1:8765")
    for page in (phone.get(f"/class/{sitting.id}"), here.get(f"/teach/{sitting.id}")):
        assert page.status_code == 200
        assert "<script>alert" not in page.text
        assert "<img src=x" not in page.text


@pytest.mark.parametrize("name", ["", " \t", "\u200b", "x" * 61])
def test_a_name_that_is_none_is_refused_with_the_form(phone, sitting, name):
    refused = join(phone, sitting.code, name)
    assert refused.status_code == 422
    assert 'role="alert"' in refused.text


# Answers and what is told to whom


def answer(phone: From, sitting: Sitting, key: str, sent: str, **given: Any) -> httpx.Response:
    whose = whose_of(phone.get(f"/class/{sitting.id}").text)
    return phone.post(f"/class/{sitting.id}/answer", json={"key": key, "sent": sent, "for": whose, **given})


def test_an_answer_is_acknowledged_once_it_is_kept_and_counts_once(phone, school, sitting):
    join(phone, sitting.code)
    for _ in range(3):
        kept = answer(phone, sitting, "step-2", "sending-1", value=357.0)
        assert kept.json()["kept"] == {"key": "step-2", "sent": "sending-1", "value": 357.0}
    answer(phone, sitting, "step-2", "sending-2", value=-3.0)
    answer(phone, sitting, "step-2", "sending-1", value=357.0)
    (only,) = school.answers.of_sitting(sitting.id)
    assert (only.value, only.sent) == (357.0, "sending-2")


@pytest.mark.parametrize(
    ("given", "status"),
    [
        ({"key": "step-2", "sent": "sending-1"}, 422),
        ({"key": "step-2", "sent": "short", "value": 1.0}, 422),
        ({"key": "step-2", "sent": "sending-1", "value": 1e300}, 422),
        ({"key": "step-2", "sent": "sending-1", "value": "one"}, 422),
        ({"key": "step-2", "sent": "sending-1", "value": 1.0, "student": "x"}, 422),
        ({"key": "step-99", "sent": "sending-1", "value": 1.0}, 422),
        ({"key": "step-5", "sent": "sending-1", "chosen": 0}, 409),  # not open
        ({"key": "step-5", "sent": "sending-1", "chosen": 7}, 422),
        ({"key": "step-5", "sent": "sending-1", "place": 3}, 422),
        ({"key": "step-2", "sent": "sending-1", "place": 0}, 422),
        ("not an object", 422),
    ],
)
def test_an_answer_that_is_none_is_refused(phone, school, sitting, given, status):
    join(phone, sitting.code)
    whose = whose_of(phone.get(f"/class/{sitting.id}").text)
    body = {"for": whose, **given} if isinstance(given, dict) else given
    assert phone.post(f"/class/{sitting.id}/answer", json=body).status_code == status
    assert school.answers.of_sitting(sitting.id) == ()


def test_nobody_answers_for_another_or_without_a_place(app, phone, school, sitting):
    assert answer(phone, sitting, "step-2", "sending-1", value=1.0).status_code in (403, 409)
    assert phone.get(f"/class/{sitting.id}/state").json()["error"]["code"] == "no-place"
    assert phone.get(f"/class/{sitting.id}").headers["location"] == "/join"
    other = school.people.add_student(sitting.group, "Ben")
    school.sittings.add_place(sitting.id, other.id)
    phone.cookies.set("seat", "")
    assert answer(phone, sitting, "step-2", "sending-1", value=1.0).status_code in (403, 409)


@pytest.mark.parametrize(
    ("what", "code"), [("records", "other-records"), ("place", "no-place"), ("holder", "no-place")]
)
def test_a_sending_that_is_for_others_is_not_taken(phone, school, sitting, what, code):
    """As from the page of another school at this address, or of who had this device before."""
    join(phone, sitting.code)
    sent = {"key": "step-2", "sent": "sending-1", "value": 1.0}
    sent["for"] = {**whose_of(phone.get(f"/class/{sitting.id}").text), what: "another"}
    refused = phone.post(f"/class/{sitting.id}/answer", json=sent).json()["error"]
    assert (refused["code"], refused["sent"]) == (code, "sending-1")
    assert school.answers.of_sitting(sitting.id) == ()


def test_large_bodies_are_refused_on_the_students_side(phone, sitting):
    join(phone, sitting.code)
    large = phone.post(f"/class/{sitting.id}/answer", content=b"x" * 1_000_001)
    assert large.status_code == 413
    assert phone.post(f"/class/{sitting.id}/answer", content=b"[" * 4_001).status_code == 413


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://127.0.0.1:8765"])
def test_another_sites_page_cannot_answer(phone, school, sitting, origin):
    join(phone, sitting.code)
    sent = answer
    refused = phone.post(
        f"/class/{sitting.id}/answer",
        json={"key": "step-2", "sent": "sending-1", "value": 1.0},
        headers={"origin": origin},
    )
    assert refused.status_code == 403
    assert school.answers.of_sitting(sitting.id) == ()
    assert sent(phone, sitting, "step-2", "sending-1", value=1.0).status_code == 200


@pytest.mark.parametrize(("site", "mode", "status"), [
    ("cross-site", "navigate", 200), ("cross-site", "no-cors", 403), ("same-site", "cors", 403),
    ("same-origin", "cors", 200), ("none", "navigate", 200),
])  # fmt: skip
def test_other_sites_may_link_here_and_no_more(phone, site, mode, status):
    headers = {"sec-fetch-site": site, "sec-fetch-mode": mode}
    assert phone.get("/join", headers=headers).status_code == status


def test_no_secret_gets_into_a_log(app, phone, school, sitting, caplog, monkeypatch):
    caplog.set_level(logging.DEBUG)
    passphrase.set_passphrase(school, WORDS)
    here = From(app, HERE, "http://127.0.0.1:8765")
    log_in(here, "a guess that is wrong")
    log_in(here)
    join(phone, sitting.code, "Ada Secretname")
    answer(phone, sitting, "step-2", "sending-1", value=357.25)

    def broken(*_: Any) -> None:
        raise RuntimeError("the disk is full")

    monkeypatch.setattr(school.answers, "receive_all", broken)
    assert answer(phone, sitting, "step-2", "sending-2", value=1.0).status_code == 500
    secrets = [WORDS, "a guess that is wrong", sitting.code, "Secretname", "357.25"]
    secrets += [value for jar in (phone.cookies, here.cookies) for value in jar.values()]
    written = "\n".join(
        record.getMessage() for record in caplog.records if not record.name.startswith("http")
    )
    for secret in secrets:
        assert secret
        assert secret not in written


def test_what_is_sent_to_students_holds_no_key_and_no_one_elses_answer(app, phone, school, sitting):
    join(phone, sitting.code)
    other = school.people.add_student(sitting.group, "Zebedee")
    school.sittings.add_place(sitting.id, other.id)
    school.answers.record(Answer(sitting.id, other.id, "step-2", value=123.25, sent="of another"))
    for page in ("", "/state"):
        told = phone.get(f"/class/{sitting.id}{page}").text
        for hidden in (
            "WHY-IT-IS-SO",
            "NOTES-FOR-ONE",
            "357.3",
            "Zebedee",
            "123.25",
            "no-earth-wander",
            "slips",
        ):
            assert hidden not in told
    assert json.loads(phone.get(f"/class/{sitting.id}/state").text)["own"]["told"] == []
