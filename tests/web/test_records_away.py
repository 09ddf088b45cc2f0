"""While the records are away no page takes a place for gone, shows a path, or forgets what was typed."""

import re
from collections.abc import Callable, Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from anyio.from_thread import start_blocking_portal

from lubberline.classroom.records import Sitting
from lubberline.store.database import engines
from lubberline.store.school import School, open_school
from lubberline.web import passphrase
from lubberline.web.app import create_app
from lubberline.web.catalogue import Catalogue
from lubberline.web.records import Opening
from lubberline.web.teach.lines import NOT_YOURS, TRY_AGAIN
from tests import away
from tests.web import papers
from tests.web.caller import BASE, Caller
from tests.web.class_server import begun
from tests.web.papers import Phone, whose_of

PAGE = {"accept": "text/html,application/xhtml+xml"}
SCRIPT = {"accept": "application/json"}
# Those in which nothing can be read, either.
DARK = ("connections",)
STUDENTS = ("/sit/{paper}", "/class/{lesson}", "/sit/{paper}/state", "/class/{lesson}/state")
INSTRUCTORS = ("/teach", "/sittings", "/results", "/school/people", "/teach/{lesson}", "/sittings/{paper}")


class Running:
    """A school with a lesson and a paper, and a phone that has a place in both."""

    def __init__(self, school: School, catalogue: Catalogue) -> None:
        self.school = school
        self.paper: Sitting = papers.opened(school)
        self.lesson = begun(school, "Summer")
        self.app = create_app(catalogue, school)
        self.call = Caller(self.app)
        self.phone = Phone(self.call)
        self.phone.enter(self.paper, "Ada")
        self.phone.enter(self.lesson, "Ada")
        # Whether a passphrase is asked for is known from before.
        assert self.call.get("/school").status_code == 200


@pytest.fixture(autouse=True)
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engines, "PATIENCE_S", 0.05)


@pytest.fixture
def running(tmp_path: Path, catalogue: Catalogue) -> Iterator[Running]:
    school = open_school(f"sqlite:///{tmp_path / 'secret-folder.sqlite3'}")
    yield Running(school, catalogue)
    school.close()


def check(response: Any, code: str) -> None:
    """One 503 for scripts and for people, without the file's name."""
    assert response.status_code == 503
    assert int(response.headers["retry-after"]) > 0
    assert "secret-folder" not in response.text
    if response.headers["content-type"].startswith("application/json"):
        error = response.json()["error"]
        assert error["code"] == code
        assert set(error) == {"code", "where", "wrong", "right"}
    else:
        assert "<h1>No connection to the records</h1>" in response.text


@pytest.mark.parametrize("code", DARK)
@pytest.mark.parametrize("path", STUDENTS)
def test_a_students_place_is_not_taken_for_gone(running: Running, code: str, path: str) -> None:
    address = path.format(paper=running.paper.id, lesson=running.lesson.id)
    assert running.phone.get(address).status_code == 200
    with away.OF_SQLITE[code](running.school):
        page = running.phone.get(address, headers=PAGE)
        check(page, code)
        assert page.headers["refresh"].isdigit()
        # The students' own frame: no way to the instructor's rooms.
        assert "/sittings" not in page.text
        check(running.phone.get(address, headers=SCRIPT), code)
    assert running.phone.get(address).status_code == 200


@pytest.mark.parametrize("code", list(away.OF_SQLITE))
@pytest.mark.parametrize("kind", ["lesson", "paper"])
def test_an_answer_is_refused_for_now_and_taken_later(running: Running, code: str, kind: str) -> None:
    sitting, side = (running.lesson, "class") if kind == "lesson" else (running.paper, "sit")
    asked = sitting.asked[0]
    if kind == "lesson":
        step = int(asked.key.split("-")[1]) - 1
        sitting = running.school.sittings.move(sitting.id, step=step, phase="open")

    whose = whose_of(running.phone.get(f"/{side}/{sitting.id}").text)

    def answer(number: int) -> Any:
        given = {"chosen": 0} if asked.item.options else {"value": 1.0 if kind == "lesson" else "1"}
        sent = {"key": asked.key, "sent": f"{number:060}", "for": whose, **given}
        return running.phone.post(f"/{side}/{sitting.id}/answer", json=sent)

    assert answer(0).status_code == 200
    with away.OF_SQLITE[code](running.school):
        # A file that cannot grow may have room for some.
        answers = (answer(number) for number in range(1, 200))
        check(next(one for one in answers if one.status_code != 200), code)
    assert running.school.look_after() is None
    assert answer(200).status_code == 200


@pytest.mark.parametrize("page", INSTRUCTORS)
def test_the_instructors_pages_say_so(running: Running, page: str) -> None:
    address = page.format(paper=running.paper.id, lesson=running.lesson.id)
    with away.no_connections(running.school):
        found = running.call.get(address, headers=PAGE)
        check(found, "connections")
        assert 'href="/aircraft"' in found.text
        check(running.call.get(address, headers=SCRIPT), "connections")


@pytest.mark.parametrize("page", ["/flights", "/bench"])
def test_pages_that_need_no_records_work_on(running: Running, page: str) -> None:
    with away.no_connections(running.school):
        assert running.call.get(page).status_code == 200


def test_nobody_is_let_in_while_it_is_not_known_whether_a_passphrase_is_set(catalogue: Catalogue) -> None:
    school = open_school("memory")
    call = Caller(create_app(catalogue, school))
    with away.no_connections(school):
        check(call.get("/", headers=PAGE), "connections")
    school.close()


@pytest.mark.parametrize("code", ["locked", "read-only"])
def test_what_was_typed_into_a_form_can_be_sent_again(running: Running, code: str) -> None:
    typed = {"code": running.paper.code, "name": 'Bo "the <b>', "number": ""}
    with away.OF_SQLITE[code](running.school):
        page = Phone(running.call).post("/join", data=typed, headers=PAGE)
        check(page, code)
        assert "refresh" not in page.headers
    fields = re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', page.text)
    again = {name: unescape(value) for name, value in fields}
    assert again == typed
    entered = Phone(running.call).post("/join", data=again, headers=PAGE)
    assert entered.headers["location"] == f"/sit/{running.paper.id}"


def test_a_passphrase_is_not_put_into_a_page(running: Running) -> None:
    with away.no_connections(running.school):
        page = running.call.post("/login", data={"passphrase": "correct horse"}, headers=PAGE)
    check(page, "connections")
    assert "correct horse" not in page.text


@pytest.mark.parametrize("code", ["locked", "read-only"])
def test_nor_is_one_that_was_being_changed(running: Running, code: str) -> None:
    with away.OF_SQLITE[code](running.school):
        sent = {"passphrase": "correct horse", "again": "correct horse"}
        page = running.call.post("/school/passphrase", data=sent, headers=PAGE)
    check(page, code)
    assert "correct horse" not in page.text


@pytest.mark.parametrize("how", ["log out", "another passphrase", "on the command line"])
def test_a_session_that_was_ended_is_not_let_in_by_an_outage(
    running: Running, catalogue: Catalogue, how: str
) -> None:
    passphrase.set_passphrase(running.school, "correct horse")
    held, own = ({"cookie": f"instructor={passphrase.new_session(running.school)}"} for _ in range(2))
    assert running.call.get("/lessons", headers=held).status_code == 200
    if how == "log out":
        assert running.call.post("/logout", headers=own).headers["location"] == "/login"
    elif how == "another passphrase":
        sent = {"old": "correct horse", "passphrase": "battery staple", "again": "battery staple"}
        assert running.call.post("/school/passphrase", data=sent, headers=own).status_code == 303
    else:
        passphrase.set_passphrase(running.school, "battery staple")
    assert running.call.get("/login").status_code == 200
    with away.no_connections(running.school):
        assert running.call.get("/lessons", headers=held).status_code == 503


def closed_with(app: Any, path: str, cookies: dict[str, str]) -> int:
    """The code with which a line that somebody opens is closed at once."""
    sent: list[Any] = []
    cookie = "; ".join(f"{name}={value}" for name, value in cookies.items())
    headers = {"host": BASE.partition("//")[2], "origin": BASE, "cookie": cookie}
    scope = {
        "type": "websocket", "path": path, "raw_path": path.encode(), "query_string": b"", "scheme": "ws",
        "client": ("127.0.0.1", 50000), "server": ("127.0.0.1", 8765), "subprotocols": [], "root_path": "",
        "headers": [(name.encode(), value.encode()) for name, value in headers.items()], "state": {},
    }  # fmt: skip

    async def receive() -> dict[str, Any]:
        return {"type": "websocket.connect"}

    async def send(message: Any) -> None:
        sent.append(message)

    with start_blocking_portal() as portal:
        portal.call(lambda: app(scope, receive, send))
    assert [one["type"] for one in sent] == ["websocket.accept", "websocket.close"]
    code: int = sent[-1]["code"]
    return code


@pytest.mark.parametrize("side", ["/class/{id}/line", "/teach/{id}/line", "/teach/{id}/projector/line"])
def test_a_line_is_not_closed_as_not_yours(running: Running, side: str) -> None:
    path = side.format(id=running.lesson.id)
    with away.no_connections(running.school):
        assert closed_with(running.app, path, running.phone.cookies) == TRY_AGAIN
    assert closed_with(running.app, side.format(id="nothing"), running.phone.cookies) == NOT_YOURS


def test_a_school_that_cannot_be_opened_shows_students_no_path(catalogue: Catalogue, tmp_path: Path) -> None:
    path = tmp_path / "secret-folder.sqlite3"
    path.write_bytes(b"no database at all" * 100)
    school = Opening(address=f"sqlite:///{path}")
    call = Caller(create_app(catalogue, school))
    check(call.get("/sit/any", headers=PAGE), "unreachable")
    check(call.get("/class/any/state", headers=SCRIPT), "unreachable")


def test_a_postgresql_that_went_away(catalogue: Catalogue, emptied: Callable[[], str]) -> None:
    school = open_school(emptied())
    running = Running(school, catalogue)
    addresses = [path.format(paper=running.paper.id, lesson=running.lesson.id) for path in STUDENTS]
    with away.no_server(school):
        for address in addresses:
            check(running.phone.get(address, headers=PAGE), "unreachable")
            answer = running.phone.get(address, headers=SCRIPT)
            check(answer, "unreachable")
            assert "127.0.0.1" not in answer.text
        check(running.phone.answer(running.paper, "A1", "sent-during"), "unreachable")
        assert running.call.get("/flights").status_code == 200
    assert [running.phone.get(address).status_code for address in addresses] == [200] * 4
    school.close()
