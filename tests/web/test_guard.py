"""The guard: hosts, origins, methods, paths, sizes, headers."""

import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from lubberline.web.guard import Guard
from lubberline.web.refusal_pages import answer
from lubberline.web.refusals import Refused
from tests.web.caller import BASE, Caller, pieces


def shape(response):
    assert set(response.json()) == {"error"}
    assert set(response.json()["error"]) == {"code", "where", "wrong", "right"}
    return response.status_code


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8765", "192.168.1.7:8765", "127.0.0.1.evil.example", ""]
)
def test_a_foreign_host_name_is_refused(call, host):
    assert shape(call.get("/", headers={"host": host})) == 403


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost:9000", "[::1]:8765", "LOCALHOST"])
def test_names_of_this_machine_are_served(call, host):
    assert call.get("/flights", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "http://127.0.0.1:9999", "https://127.0.0.1:8765", "null"]
)
@pytest.mark.parametrize("path", ["/api/fly", "/api/flights?name=a.gpx"])
def test_a_post_from_another_page_is_refused(call, catalogue, origin, path):
    assert shape(call.post(path, headers={"origin": origin}, content=b"{}")) == 403
    assert catalogue.fly.asked == []


def test_a_post_without_origin_is_refused(call):
    assert shape(call("POST", "/api/fly", json={})) == 403


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "PATCH", "TRACE"])
def test_other_methods_are_refused(call, method):
    assert shape(call(method, "/")) == 405


@pytest.mark.parametrize(
    "path", ["/static/%2e%2e/app.py", "/static/..%2f..%2fguard.py", "/static/..%5cguard.py", "/%00"]
)
def test_path_tricks_are_refused_before_any_page_sees_them(call, path):
    assert shape(call.get(path)) in (400, 404)
    assert small().post("/plain").status_code == 200
    assert shape(small().post(path)) == 400


def test_every_answer_carries_the_safety_headers(call):
    for response in (call.get("/"), call.get("/nowhere"), call.get("/", headers={"host": "x"}), call.fly()):
        policy = response.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert response.headers["x-content-type-options"] == "nosniff"


def small() -> Caller:
    async def taken(request: Request) -> PlainTextResponse:
        return PlainTextResponse(str(len(await request.body())))

    app = Starlette(
        routes=[Route("/{path:path}", taken, methods=["POST"])], exception_handlers={Refused: answer}
    )
    app.add_middleware(Guard, body_limit_bytes=1000)
    return Caller(app)


def test_a_body_too_large_by_its_declared_length_is_refused_unread():
    assert shape(small().post("/", content=b"x" * 1001)) == 413
    assert small().post("/", content=b"x" * 1000).text == "1000"


def test_a_body_too_large_without_declared_length_is_refused_while_it_streams():
    assert shape(small().post("/", content=pieces(20, 100))) == 413
    assert small().post("/", content=pieces(10, 100)).text == "1000"


def test_the_limit_is_one_hundred_megabytes(call):
    headers = {"origin": BASE, "content-length": "100000001"}
    assert shape(call.post("/api/flights?name=a.gpx", headers=headers, content=pieces(1, 1))) == 413
