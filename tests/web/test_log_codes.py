"""The code of an aircraft's log: what it opens, from where, and how often it may be tried."""

import re
from collections.abc import Iterator

import pytest
from starlette.requests import Request

from lubberline.store.school import School, open_school
from lubberline.web.aircraft.fleet import ALPHABET, CODE_LENGTH, log_addresses
from lubberline.web.app import create_app
from lubberline.web.callers import door, is_students
from tests.web.caller import Caller
from tests.web.sides import LAN, PHONE, From
from tests.web.test_aircraft import JSON, OWN, check, owned, sent


@pytest.fixture
def school() -> Iterator[School]:
    opened = open_school("memory")
    yield opened
    opened.close()


@pytest.fixture
def ask(school: School) -> Caller:
    return Caller(create_app(school=school))


def test_the_code_opens_one_log_and_nothing_else(ask: Caller, school: School) -> None:
    address = owned(ask)
    assert ask.get("/log/ABCDEFGH").status_code == 404
    ask.post(f"{address}/code", data={"do": "new"})
    code = re.search(r'class="log-code">(\w+)<', ask.get(address).text)[1]  # type: ignore[index]
    assert len(code) == CODE_LENGTH
    assert set(code) <= set(ALPHABET)
    assert "D-Own 1" in ask.get(f"/log/{code.lower()}").text
    kept = sent(ask, f"/log/{code}", check())
    assert kept.status_code == 200
    assert len(school.log.entries("D-Own 1")) == 1
    # No way from there to the instructor's side.
    assert 'href="/aircraft' not in ask.get(f"/log/{code}").text
    ask.post(f"{address}/code", data={"do": "new"})
    assert ask.get(f"/log/{code}").status_code == 404
    ask.post(f"{address}/code", data={"do": "none"})
    assert "opens on this machine only" in ask.get(address).text


def test_wrong_codes_are_few_and_a_right_one_waits_too(ask: Caller) -> None:
    address = owned(ask)
    ask.post(f"{address}/code", data={"do": "new"})
    code = re.search(r'class="log-code">(\w+)<', ask.get(address).text)[1]  # type: ignore[index]
    answers = [ask.get(f"/log/WRONG{number}").status_code for number in range(12)]
    assert answers[0] == 404
    assert answers[-1] == 429
    assert ask.get(f"/log/{code}").status_code == 429


def test_the_network_sees_the_log_of_the_code_alone(school: School) -> None:
    app = create_app(school=school, door=door(lan=True))
    here, phone = Caller(app), From(app, PHONE, f"http://{LAN}:8765")
    here.post("/aircraft", data={"file": OWN})
    here.post("/aircraft/d-own-1/code", data={"do": "new"})
    code = re.search(r'class="log-code">(\w+)<', here.get("/aircraft/d-own-1").text)[1]  # type: ignore[index]
    assert phone("GET", f"/log/{code}").status_code == 200
    own = {"origin": f"http://{LAN}:8765"}
    kept = sent(phone, f"/log/{code}", check(), headers=own)
    assert kept.status_code == 200
    entry = kept.json()["kept"]["id"]
    assert (
        phone("POST", f"/log/{code}/undo", data={"entry": entry}, headers={**JSON, **own}).status_code == 200
    )
    # From another site's page nothing is taken.
    foreign = {**JSON, "origin": "http://evil.example"}
    assert phone("POST", f"/log/{code}", data=check(sent="sending-z"), headers=foreign).status_code == 403
    for path in ("/aircraft", "/aircraft/d-own-1", "/aircraft/d-own-1/log", "/aircraft/d-own-1/log.csv"):
        assert phone("GET", path).status_code == 403, path
    assert not is_students("/logs")


def test_addresses_for_telephones_are_shown_only_where_the_door_is_open(school: School) -> None:
    for opened, shown in ((door(), False), (door(behind="https://school.example"), True)):
        ask = Caller(create_app(school=school, door=opened))
        found = Request({"type": "http", "app": ask.app, "headers": [], "path": "/", "server": ("x", 80)})
        assert log_addresses(found, "CODE") == (["https://school.example/log/CODE"] if shown else [])
