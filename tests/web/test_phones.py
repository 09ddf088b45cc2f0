"""Which phones are silent and how many answers wait on them, as the instructor is told."""

import asyncio
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from lubberline.classroom.records import Place
from lubberline.store.school import School, open_school
from lubberline.web import phones as module
from lubberline.web.app import create_app
from lubberline.web.catalogue import Catalogue
from lubberline.web.phones import KEY_LENGTH, MOST_WAITING, SILENT_S, Heard, Phones, waiting_in
from lubberline.web.records import Opening
from tests import away
from tests.own_loop import run_apart
from tests.web import papers
from tests.web.caller import Caller
from tests.web.class_server import begun
from tests.web.papers import Phone, words


class Clock:
    """Stands in for the time of the machine."""

    def __init__(self) -> None:
        self.now_s = 1000.0

    def monotonic(self) -> float:
        return self.now_s


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    made = Clock()
    monkeypatch.setattr(module, "time", made)
    return made


@pytest.fixture
def school() -> Iterator[School]:
    made = open_school("memory")
    yield made
    made.close()


def place(student: str, **more: Any) -> Place:
    return Place("lesson", student, secret_hash=f"{student}-{'x' * KEY_LENGTH}", **more)


def hear(found: Heard, student: str, **more: Any) -> None:
    async def act() -> None:
        found.hear("lesson", place(student).secret_hash, **more)

    run_apart(act())


def test_a_phone_is_silent_after_a_while_and_no_longer_when_it_is_heard(clock: Clock, school: School) -> None:
    found = Heard(Opening(school))
    hear(found, "ada")
    clock.now_s += SILENT_S - 1
    hear(found, "ben")
    assert found.of("lesson", [place("ada"), place("ben")]) == Phones()
    clock.now_s += 2
    assert found.of("lesson", [place("ada"), place("ben")]).silent == {"ada"}
    hear(found, "ada")
    assert not found.of("lesson", [place("ada"), place("ben")]).silent
    # In another sitting it was not heard.
    clock.now_s += SILENT_S + 1
    assert found.of("other", [place("ada")]).silent == {"ada"}


def test_an_open_line_is_heard_for_as_long_as_it_is_open(clock: Clock, school: School) -> None:
    found = Heard(Opening(school))
    hear(found, "ada", lines=1)
    hear(found, "ada", lines=1)
    hear(found, "ada", lines=-1)
    clock.now_s += 10 * SILENT_S
    assert not found.of("lesson", [place("ada")]).silent
    hear(found, "ada", lines=-1)
    clock.now_s += SILENT_S + 1
    assert found.of("lesson", [place("ada")]).silent == {"ada"}


def test_after_a_start_nobody_is_called_silent_too_soon(clock: Clock, school: School) -> None:
    found = Heard(Opening(school))
    assert not found.of("lesson", [place("ada")]).silent
    clock.now_s += SILENT_S + 1
    assert found.of("lesson", [place("ada")]).silent == {"ada"}


def test_who_has_no_phone_or_is_through_is_not_silent(clock: Clock, school: School) -> None:
    found = Heard(Opening(school))
    clock.now_s += SILENT_S + 1
    through = place("ben", ended_utc="2026-05-01T10:00:00Z")
    assert found.of("lesson", [Place("lesson", "paper"), through]) == Phones()


def test_what_waits_is_what_each_said_last(clock: Clock, school: School) -> None:
    found = Heard(Opening(school))
    hear(found, "ada", waiting=3)
    hear(found, "ben", waiting=2)
    hear(found, "ada", waiting=1)
    hear(found, "ben")
    everybody = [place("ada"), place("ben"), place("nobody-heard")]
    assert found.of("lesson", everybody).waiting == 3
    hear(found, "ada", waiting=10**9)
    assert found.of("lesson", [place("ada")]).waiting == MOST_WAITING
    # Somebody without a place in it counts for nothing.
    assert found.of("lesson", []).waiting == 0


@pytest.mark.parametrize(
    ("query", "waiting"),
    [("waiting=2", 2), ("", None), ("waiting=", None), ("waiting=-1", None), ("waiting=" + "9" * 50, None)],
)
def test_what_a_phone_says_in_an_address(query: str, waiting: int | None) -> None:
    assert waiting_in(query) == waiting


def test_servers_on_one_postgresql_tell_each_other(
    emptied: Callable[[], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "TELL_EVERY_S", 0.1)
    address = emptied()
    schools = [open_school(address), open_school(address)]

    async def both() -> Phones:
        here, there = (Heard(Opening(one)) for one in schools)
        here._began_s = -1e9
        # Whoever is heard by neither stays silent.
        for number in range(400):
            there.hear("lesson", place(f"s{number}").secret_hash, waiting=1)
        here.hear("lesson", place("ada").secret_hash)
        everybody = [place("ada"), place("silent"), *(place(f"s{number}") for number in range(400))]
        for _ in range(200):
            await asyncio.sleep(0.05)
            found = here.of("lesson", everybody)
            if len(found.silent) == 1:
                break
        return found

    found = run_apart(both())
    assert found.silent == {"silent"}
    assert found.waiting == 400
    for one in schools:
        one.close()


def test_the_roll_of_a_paper_says_who_is_silent(catalogue: Catalogue, clock: Clock, school: School) -> None:
    paper = papers.opened(school)
    call = Caller(create_app(catalogue, school))
    ada, ben = Phone(call), Phone(call)
    ada.enter(paper, "Ada")
    ben.enter(paper, "Ben")
    clock.now_s += SILENT_S + 1
    ada.get(f"/sit/{paper.id}/state?waiting=2")
    roll = words(call.get(f"/sittings/{paper.id}/now").text)
    assert "1 phone not responding. 2 answers not sent yet." in roll
    assert re.search("Ben [AB] 0 of 4 working not responding", roll)
    ben.get(f"/sit/{paper.id}")
    ada.get(f"/sit/{paper.id}/state?waiting=0")
    assert "not responding" not in call.get(f"/sittings/{paper.id}/now").text


@pytest.mark.parametrize("id", ["x" * 10_000, "{paper}:0123456789ab=9", "{paper},0123456789ab=9", "é"])
def test_what_cannot_be_an_id_is_not_remembered(catalogue: Catalogue, school: School, id: str) -> None:
    """Nor told to other servers, whose notices it would break or forge."""
    paper = papers.opened(school)
    app = create_app(catalogue, school)
    ada = Phone(Caller(app))
    ada.enter(paper, "Ada")
    ada.get(f"/sit/{paper.id}/state")
    for place in ("sit", "class"):
        ada.get(f"/{place}/{id.format(paper=paper.id)}/state?waiting=5")
    assert {sitting for sitting, _ in app.state.shared.heard._phones} == {paper.id}


def test_phones_are_heard_while_the_records_are_away(
    catalogue: Catalogue, clock: Clock, school: School
) -> None:
    lesson = begun(school)
    app = create_app(catalogue, school)
    call = Caller(app)
    ada = Phone(call)
    ada.enter(lesson, "Ada")
    assert ada.get(f"/class/{lesson.id}").status_code == 200
    clock.now_s += SILENT_S + 1
    places = school.sittings.places(lesson.id)
    assert app.state.shared.heard.of(lesson.id, places).silent
    with away.no_connections(school):
        assert ada.get(f"/class/{lesson.id}/state?waiting=4").status_code == 503
    assert app.state.shared.heard.of(lesson.id, places) == Phones(frozenset(), 4)
    told = call.get(f"/teach/{lesson.id}/state").json()["contact"]
    assert told == {"away": "", "words": "", "silent": [], "waiting": 4}
    # The class is not told who or how many.
    assert call.get(f"/teach/{lesson.id}/projector/state").json()["contact"]["waiting"] == 0
