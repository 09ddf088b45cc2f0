"""The doors at the head of the instructor's pages: what each opens on, and the rooms behind it."""

import re
from typing import Any

import pytest

from lubberline.store.school import open_school
from lubberline.web.app import BEHIND_DOORS, DOORS, PAGES, create_app
from tests.web.caller import Caller

ROOMS = [room for one in BEHIND_DOORS for room in one.rooms]


@pytest.fixture(scope="module")
def ask(tmp_path_factory: Any) -> Any:
    school = open_school("memory")
    yield Caller(create_app(school=school))
    school.close()


def links(html: str, row: str) -> dict[str, tuple[str, str]]:
    """Name, address and state of each link of a row."""
    found = re.search(rf'<nav class="{row}".*?</nav>', html, re.DOTALL)
    marked = re.findall(r'<a href="([^"]*)"(?: aria-current="(\w+)")?>([^<]*)</a>', found[0] if found else "")
    return {name: (address, current) for address, current, name in marked}


def test_there_are_five_doors() -> None:
    assert list(DOORS) == ["Show", "Teach", "Test", "Class", "Aircraft"]
    names = [room.name for room in ROOMS]
    assert len(set(names)) == len(names) == len({room.address for room in ROOMS})
    assert all(one in PAGES for one in BEHIND_DOORS)


@pytest.mark.parametrize("door", DOORS)
def test_a_door_opens_on_its_first_room_and_shows_the_others(ask: Caller, door: str) -> None:
    rooms = [room for one in DOORS[door] for room in one.rooms]
    for room in rooms:
        answer = ask.get(room.address)
        assert answer.status_code == 200, room
        doors, behind = links(answer.text, "doors"), links(answer.text, "rooms")
        assert list(doors) == list(DOORS)
        assert [name for name, (_, current) in doors.items() if current] == [door]
        assert doors[door][0] == rooms[0].address
        assert re.search(r'<a class="start" href="/teach">Start a class</a>', answer.text)
        if len(rooms) == 1:
            assert behind == {}
        else:
            assert list(behind) == [one.name for one in rooms]
            assert {name: current for name, (_, current) in behind.items() if current} == {room.name: "page"}


def test_a_page_within_a_room_marks_the_room(ask: Caller) -> None:
    html = ask.get("/sittings/new").text
    assert links(html, "rooms")["Sittings"] == ("/sittings", "true")
    assert links(html, "doors")["Test"][1] == "true"
    # Whatever is behind no door opens none.
    html = ask.get("/notices").text
    assert not any(current for _, current in links(html, "doors").values())
    assert links(html, "rooms") == {}


def test_starting_a_class_says_where_it_is(ask: Caller) -> None:
    assert '<a class="start" href="/teach" aria-current="page">' in ask.get("/teach").text


def test_the_rooms_of_a_class_keep_the_class(ask: Caller) -> None:
    group = ask.app.state.shared.records().people.add_group("Spring").id
    behind = links(ask.get(f"/results?group={group}").text, "rooms")
    kept = {name for name, (address, _) in behind.items() if address.endswith(f"?group={group}")}
    assert kept == {"Results", "Items", "Readiness"}


def test_the_program_opens_on_show_and_old_addresses_lead_on(ask: Caller) -> None:
    assert ask.get("/").headers["location"] == DOORS["Show"][0].address
    old = "/?flight=eastbound_60n&fault=filter=0.8@20&believe=no-earth-wander&at_s=3000"
    assert ask.get(old).headers["location"] == f"/flights{old[1:]}"
