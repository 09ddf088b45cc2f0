"""Choosing a lesson, leading it, and what starting the server asks for."""

import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from html import unescape
from typing import Any

import msgspec
import pytest

from lubberline.classroom.records import Answer, ClaimedTime
from lubberline.cli import main
from lubberline.errors import InputError
from lubberline.store.school import School, open_school
from lubberline.store.times import now_utc, seconds_between, stamped
from lubberline.web import passphrase, serve
from lubberline.web.app import create_app
from lubberline.web.callers import Door
from lubberline.web.sittings import join
from lubberline.web.teach import pages as teach
from lubberline.web.teach.views import Snapshot
from tests.web.caller import Caller
from tests.web.class_server import LESSON, begun
from tests.web.papers import Phone
from tests.web.pretend import HOSTILE, pretend_catalogue


@pytest.fixture
def school() -> Iterator[School]:
    opened = open_school("memory")
    yield opened
    opened.close()


@pytest.fixture
def call(school: School, tmp_path: Any) -> Caller:
    return Caller(create_app(pretend_catalogue(tmp_path), school))


def begin(call: Caller, name: str, text: str | bytes, **fields: str) -> Any:
    files = {"file": (name, text, "text/markdown")}
    return call.post("/teach", data={"new_group": "Spring", **fields}, files=files)


def test_a_lesson_of_ones_own_is_begun_with_a_new_class(call, school):
    sent = begin(call, "short_lesson.md", LESSON.read_bytes())
    assert sent.status_code == 303
    (sitting,) = school.sittings.listing()
    assert sent.headers["location"] == f"/teach/{sitting.id}"
    assert (sitting.step, sitting.title, len(sitting.asked)) == (-1, "A short lesson on drift", 5)
    assert [group.title for group in school.people.groups()] == ["Spring"]
    for page in ("", "/projector", "/state", "/projector/state"):
        assert call.get(f"/teach/{sitting.id}{page}").status_code == 200
    assert sitting.title in call.get("/teach").text


def test_a_lesson_taught_again_to_a_class_asks_its_quiz_with_other_numbers(call, school):
    begin(call, "short_lesson.md", LESSON.read_bytes())
    group = school.people.groups()[0].id
    begin(call, "short_lesson.md", LESSON.read_bytes(), group=group)
    second, first = (sitting.asked for sitting in school.sittings.listing(group))
    assert [one.item.stem for one in first[:2]] == [one.item.stem for one in second[:2]]
    assert [one.item.stem for one in first[2:]] != [one.item.stem for one in second[2:]]


def test_html_in_a_lesson_is_shown_as_text(call, school):
    text = LESSON.read_text(encoding="utf-8").replace(
        "Before I show you", f"{HOSTILE} <img src=x> Before I show"
    )
    text = text.replace("A short lesson on drift", "A <b>short</b> lesson")
    begin(call, "short_lesson.md", text)
    (sitting,) = school.sittings.listing()
    school.sittings.move(sitting.id, step=0)
    for page in ("", "/projector"):
        html = call.get(f"/teach/{sitting.id}{page}").text
        for raw in ("<script>alert", "<img src=x>", "<b>short"):
            assert raw not in html
    said = call.get(f"/teach/{sitting.id}/state").json()
    assert "&lt;script&gt;" in said["text"]
    assert "<script" not in said["text"]


@pytest.mark.parametrize(
    ("name", "text", "wrong"),
    [
        ("x.md", b"\xff\xfe", "not text in UTF-8"),
        ("x.md", b"# A\n\nid: a\n", "x.md"),
        ("../../../etc/passwd.md", b"\xff", "passwd.md"),
        ("..\\..\\boot.md", b"\xff", "boot.md"),
        ("x.md", b"#" * 200_001, "larger than 0.2 MB"),
    ],
)
def test_a_file_that_is_no_lesson_is_refused_by_name_and_nothing_is_begun(call, school, name, text, wrong):
    refused = begin(call, name, text)
    assert refused.status_code == (413 if "larger" in wrong else 422)
    assert wrong in refused.text
    assert "etc/" not in refused.text
    assert school.sittings.listing() == ()
    assert school.people.groups() == ()


def test_a_class_is_needed(call, school):
    refused = begin(call, "short_lesson.md", LESSON.read_bytes(), new_group=" ")
    assert refused.status_code == 422
    assert "choose a class" in refused.text


def move(call: Caller, id: str, do: str, step: int, phase: str) -> Any:
    return call.post(f"/teach/{id}/move", json={"do": do, "step": step, "phase": phase})


def test_a_page_that_is_behind_moves_nothing(call, school):
    id = begun(school).id
    assert move(call, id, "next", -1, "closed").json() == {"step": 0, "phase": "open", "over": False}
    assert move(call, id, "next", -1, "closed").status_code == 409
    assert move(call, id, "close", 0, "open").status_code == 422
    assert school.sittings.sitting(id).step == 0
    assert move(call, id, "end", 0, "open").json()["over"]
    assert school.sittings.sitting(id).code == ""
    assert move(call, id, "next", 0, "open").status_code == 422


@pytest.mark.parametrize("body", [b"", b"[]", b'{"do":"dance","step":0,"phase":"open"}', b"x" * 5000])
def test_a_move_that_is_none_is_refused(call, school, body):
    assert call.post(f"/teach/{begun(school).id}/move", content=body).status_code == 422


@pytest.mark.parametrize("path", ["", "/state", "/projector", "/code.svg"])
def test_a_lesson_that_is_not_there(call, path):
    assert call.get(f"/teach/nothing{path}").status_code == 404


@pytest.mark.parametrize(
    ("door", "base"),
    [
        (Door(), "http://127.0.0.1:8765"),
        (Door(lan=True), "http://192.168.7.20:8765"),
        (Door(behind="https://school.example"), "https://school.example"),
    ],
)
def test_the_picture_holds_the_address_to_join_at(school, tmp_path, monkeypatch, door, base):
    made: list[str] = []
    real = teach.segno.make
    monkeypatch.setattr(teach.segno, "make", lambda text, **more: made.append(text) or real(text, **more))
    monkeypatch.setattr(join, "lan_addresses", lambda: ("192.168.7.20",))
    sitting = begun(school)
    picture = Caller(create_app(pretend_catalogue(tmp_path), school, door)).get(
        f"/teach/{sitting.id}/code.svg"
    )
    assert picture.headers["content-type"].startswith("image/svg+xml")
    assert picture.text.startswith("<svg")
    assert made == [f"{base}/join?code={sitting.code}"]


# Starting the server


def test_a_passphrase_is_typed_twice_or_taken_from_the_environment(school, monkeypatch):
    monkeypatch.delenv(serve.PASSPHRASE_VARIABLE, raising=False)
    typed = iter(["one of ten signs", "another of ten signs", "one of ten signs", "one of ten signs"])
    with pytest.raises(InputError, match="the two are different"):
        serve.keep_passphrase(school, lambda _: next(typed))
    assert not passphrase.is_set(school)
    serve.keep_passphrase(school, lambda _: next(typed))
    assert passphrase.fits("one of ten signs", school.settings.get(passphrase.PASSPHRASE))
    monkeypatch.setenv(serve.PASSPHRASE_VARIABLE, "from the environment")
    with pytest.raises(InputError, match="--forgotten"):
        serve.keep_passphrase(school, lambda _: "a guess at the old one")
    assert passphrase.fits("one of ten signs", school.settings.get(passphrase.PASSPHRASE))
    serve.keep_passphrase(school, lambda _: "one of ten signs")
    kept = school.settings.get(passphrase.PASSPHRASE)
    assert passphrase.fits("from the environment", kept)
    # A server that starts again with the same one asks nothing and ends no session.
    serve.keep_passphrase(school, None)
    assert school.settings.get(passphrase.PASSPHRASE) == kept
    monkeypatch.setenv(serve.PASSPHRASE_VARIABLE, "when nobody knows it")
    serve.keep_passphrase(school, None, forgotten=True)
    assert passphrase.fits("when nobody knows it", school.settings.get(passphrase.PASSPHRASE))


def test_a_passphrase_is_taken_away_only_by_who_knows_it_or_says_that_nobody_does(
    tmp_path, monkeypatch, capsys
):
    monkeypatch.setenv("LUBBERLINE_DATABASE", f"sqlite:///{tmp_path / 'own.sqlite3'}")
    school = open_school()
    passphrase.set_passphrase(school, "one of ten signs")
    school.close()
    monkeypatch.setattr(serve, "typed", lambda _: "a guess at the old one")
    assert main(["open", "--no-open", "--no-passphrase"]) == 2
    assert "wrong" in capsys.readouterr().err
    assert main(["open", "--no-open", "--forgotten"]) == 2
    wanted = serve.Wanted(forgets_passphrase=True, forgotten=True)
    school = serve._records(serve.door(False, ""), wanted)()
    assert not passphrase.is_set(school)
    school.close()


def test_a_proxy_without_a_passphrase_does_not_start():
    with pytest.raises(InputError, match="no passphrase is set"):
        serve.serve(serve.Wanted(0, False, behind="https://school.example"))


def test_each_arrival_has_its_own_place_on_the_rose(call, school):
    begin(call, "short_lesson.md", LESSON.read_bytes())
    (sitting,) = school.sittings.listing()
    for number in range(3):
        school.sittings.enter(sitting.id, f"Student {number}", "", join.digest(f"secret {number}"))
    cookies = [{"cookie": f"{join.COOKIE}=secret {number}"} for number in range(3)]
    told = [call.get(f"/class/{sitting.id}/state", headers=one).json()["own"] for one in cookies]
    assert sorted(one["before"] for one in told) == [0, 1, 2]
    snapshot = Snapshot(school, sitting.id)
    shown = [msgspec.json.decode(snapshot.for_student(place.student)) for place in snapshot.places]
    assert [one["own"]["before"] for one in shown] == [0, 1, 2]
    assert call.get(f"/join?code={sitting.code}").text.count(join.spelled(sitting.code)) == 1


def test_a_countdown_is_seen_by_everybody_closes_nothing_and_ends_with_the_question(call, school):
    id = begun(school).id
    school.sittings.move(id, step=1, phase="open")
    asked = {"do": "count", "step": 1, "phase": "open", "to": 30}

    def ends() -> list[str]:
        lead = call.get(f"/teach/{id}/state").json()
        screen = call.get(f"/teach/{id}/projector/state").json()
        return [
            lead["projector"]["seen"]["countdown_utc"],
            screen["seen"]["countdown_utc"],
            lead["closes_utc"],
        ]

    assert call.post(f"/teach/{id}/move", json=asked).status_code == 200
    shown, screen, closes = ends()
    assert 28.0 <= seconds_between(now_utc(), shown) <= 30.0
    assert (screen, closes) == (shown, "")
    assert school.sittings.sitting(id).phase == "open"
    assert call.post(f"/teach/{id}/move", json={**asked, "closes": True}).status_code == 200
    assert ends()[2] == ends()[0] != ""
    assert call.post(f"/teach/{id}/move", json={**asked, "to": 0}).status_code == 200
    assert ends() == ["", "", ""]
    assert call.post(f"/teach/{id}/move", json=asked).status_code == 200
    school.sittings.move(id, phase="closed")
    assert ends() == ["", "", ""]


@pytest.mark.parametrize(
    ("phase", "to", "step"), [("closed", 30, 1), ("open", 30, 0), ("open", 9999, 1), ("open", -1, 1)]
)
def test_a_countdown_needs_an_open_question_and_a_time(call, school, phase, to, step):
    id = begun(school).id
    school.sittings.move(id, step=step, phase=phase)
    sent = {"do": "count", "step": step, "phase": phase, "to": to}
    assert call.post(f"/teach/{id}/move", json=sent).status_code == 422


def answered(school: School, chosen: int) -> tuple[str, str, Any]:
    """A lesson in which Ada has chosen an option: the sitting, the student, the question."""
    sitting = begun(school)
    ada = school.people.add_student(sitting.group, "Ada", "")
    school.sittings.add_place(sitting.id, ada.id)
    school.sittings.move(sitting.id, step=4, phase="open")
    school.answers.record(Answer(sitting.id, ada.id, "step-5", chosen=chosen))
    asked = next(one for one in sitting.asked if one.key == "step-5")
    return sitting.id, ada.id, asked.item


LETTER = re.compile(r"(?<![\w’'])[A-D](?![\w’'])")


def text_of(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", page.partition("<main")[2])).split())


def test_after_a_lesson_options_go_by_their_words_and_never_by_a_letter(call, school):
    id, ada, item = answered(school, 1)
    told = [option.text for option in item.options]
    address = f"/sittings/{id}/students/{ada}"
    row = text_of(call.get(address).text).partition("step-5")[2].partition("step-7")[0]
    assert told[1] in row
    assert told[item.key] in row
    assert not LETTER.search(row), row
    signed = {"by": "I. Structor", "why": "Pressed the wrong one", "key": "step-5", "field": "answer"}
    for bad in ("B", "c", "It", "nothing like it"):
        assert call.post(address, data={**signed, "after": bad}).status_code == 422
    assert call.post(address, data={**signed, "after": told[2].upper()[:14]}).status_code == 303
    trail = text_of(call.get(address).text).partition("Corrections")[2]
    assert f"{told[1]} → {told[2]}" in trail
    assert f"{told[1]} → {told[2]}" in text_of(call.get(f"/sittings/{id}").text)
    csv = call.get(f"/sittings/{id}/answers.csv").content.decode("utf-8-sig")
    assert told[2] in csv
    items = text_of(call.get(f"/results/items?sitting={id}").text).partition("Who answered what")[2]
    assert f"• {told[2]}"[:20] in items
    assert not LETTER.search(items.partition("step-7")[0]), items
    answered_csv = call.get(f"/results/items/{id}/answered.csv").content.decode("utf-8-sig")
    assert f"step-5,•,{told[2]}"[:24] in answered_csv


@pytest.mark.parametrize(("take", "state"), [(True, "taken"), (False, "not taken")])
def test_a_student_of_a_lesson_is_told_what_became_of_a_late_answer(call, school, monkeypatch, take, state):
    sitting, phone = begun(school), Phone(call)
    phone.enter(sitting, "Ada")
    (place,) = school.sittings.places(sitting.id)
    opened, given, closed, now = (
        stamped(datetime.fromisoformat(place.began_utc) + timedelta(seconds=s)) for s in (1, 5, 9, 20)
    )
    for at_utc, phase in ((opened, "open"), (closed, "closed")):
        monkeypatch.setattr("lubberline.store.sittings.now_utc", lambda at_utc=at_utc: at_utc)
        school.sittings.move(sitting.id, step=4, phase=phase)
    monkeypatch.setattr("lubberline.store.answers.now_utc", lambda: now)
    late = Answer(sitting.id, place.student, "step-5", chosen=1, sent="s1")
    school.answers.receive(late, ClaimedTime(given, place.began_utc, 0.0))
    # Whatever step the lesson is at by then.
    school.sittings.move(sitting.id, step=5, phase="open")
    item = next(one.item for one in sitting.asked if one.key == "step-5")
    for expected in ("waiting", state):
        assert phone.get(f"/class/{sitting.id}/state").json()["own"]["late"] == [
            {"key": "step-5", "where": "step 5", "words": item.options[1].text, "state": expected}
        ]
        school.answers.decide(sitting.id, None, take=take)
    # The instructor keeps the way back from a rejection.
    lead = call.get(f"/teach/{sitting.id}/state").json()["late"]
    assert [row["state"] for row in lead] == ([] if take else ["not taken"])
