"""Sittings: a paper dealt, taken on phones, marked, corrected and let out; keys stay with the instructor."""

import base64
import csv
import io
import re
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest

from lubberline.classroom.records import Answer, Sitting
from lubberline.errors import InputError
from lubberline.store import answers as answers_room
from lubberline.store.school import School
from lubberline.web.app import create_app
from lubberline.web.sendings import typed_number
from lubberline.web.sittings.join import next_form, spelled
from tests.web.caller import Caller, pieces
from tests.web.papers import Phone, asked, opened, told, words
from tests.web.school_of_papers import call as call
from tests.web.school_of_papers import school as school
from tests.web.school_of_papers import sitting as sitting
from tests.web.test_new_sitting import new

HOSTILE = "<img src=x onerror=alert(1)>"


def own(sitting: Sitting, form: str) -> list[Any]:
    return [one for one in sitting.asked if one.form == form]


def secrets_of(sitting: Sitting) -> set[str]:
    """Everything about a paper that no student may have before release."""
    found: set[str] = set()
    for one in sitting.asked:
        item = one.item
        found |= {item.reason, item.model, item.source}
        for option in (*item.options, *item.slips):
            found |= {option.feedback, option.misconception}
    return {secret for secret in found if len(secret) > 8}


def plain(answer: Any) -> str:
    """All of an answer: its head, its text, and what stands in its pictures."""
    pictures = re.findall(r"data:image/svg\+xml;base64,([A-Za-z0-9+/=]+)", answer.text)
    inside = [base64.b64decode(one).decode() for one in pictures]
    return " ".join([words(answer.text), answer.text, str(answer.headers), *inside])


def test_what_to_do_with_late_answers_must_be_said(school: School) -> None:
    call, paper = Caller(create_app(school=school)), opened(school)
    for wrong in ({"do": "take", "at": "9" * 5000}, {"do": "take", "at": "-1"}, {"do": "eat", "at": ""}):
        assert call.post(f"/sittings/{paper.id}/late", data=wrong).status_code == 422


def test_neighbours_are_dealt_other_forms_and_each_form_as_often() -> None:
    dealt: list[str] = []
    for _ in range(31):
        dealt.append(next_form("ABC", dealt, dealt[-1] if dealt else ""))
    assert all(one != other for one, other in pairwise(dealt))
    assert max(map(dealt.count, "ABC")) - min(map(dealt.count, "ABC")) <= 1
    # The rarest, but never that of the neighbour.
    assert next_form("AB", ["A", "A", "B"], "B") == "A"
    assert next_form("ABC", ["A", "A", "B"], "A") == "C"
    assert next_form((), dealt) == ""
    assert next_form("A", ["A"], "A") == "A"


def test_a_code_is_spelled_as_it_is_read_out():
    # ICAO Annex 10, volume II, figure 5-1: the radiotelephony spelling alphabet.
    assert spelled("ZRH4J2") == "Zulu Romeo Hotel four Juliett two"
    assert spelled("AX<Q") == "Alfa X-ray Quebec"


def test_students_come_in_by_name_and_get_their_own_paper(
    call: Caller, school: School, sitting: Sitting
) -> None:
    phones = [Phone(call) for _ in range(3)]
    for phone, name in zip(phones, ("Ada", "Bo", "Cy"), strict=True):
        assert phone.get(f"/sit/{sitting.id}").headers["location"] == "/join"
        assert phone.enter(sitting, name).headers["location"] == f"/sit/{sitting.id}"
    assert {place.form for place in school.sittings.places(sitting.id)} == {"A", "B"}
    for phone, form in zip(phones, "ABA", strict=True):
        page = phone.get(f"/sit/{sitting.id}").text
        assert set(re.findall(r'data-key="(\w+)"', page)) == {one.key for one in own(sitting, form)}
    # The same browser again is the same student, whatever it says.
    phones[0].enter(sitting, "Somebody else")
    assert len(school.sittings.places(sitting.id)) == 3


def test_an_answer_is_told_to_be_kept_only_when_it_is(call: Caller, school: School, sitting: Sitting) -> None:
    phone = Phone(call)
    phone.enter(sitting, "Ada")
    kept = phone.answer(sitting, "A1", "sending-1", chosen=1, seconds=4.5)
    assert kept.json()["kept"]["sent"] == "sending-1"
    # Sent twice, it counts once; a later one takes its place.
    phone.answer(sitting, "A1", "sending-1", chosen=1)
    phone.answer(sitting, "A1", "sending-2", chosen=2)
    assert [(one.key, one.chosen) for one in school.answers.of_sitting(sitting.id)] == [("A1", 2)]
    for key, given in (("B1", {"chosen": 1}), ("A1", {"chosen": 99}), ("A9", {}), ("A3", {"value": "north"})):
        answer = phone.answer(sitting, key, "sending-3", **given)
        assert answer.status_code == 422, key
        assert "error" in answer.json()
    assert len(school.answers.of_sitting(sitting.id)) == 1
    assert 'value="2" checked' in phone.get(f"/sit/{sitting.id}").text


def test_it_works_as_a_plain_form_too(call: Caller, school: School, sitting: Sitting) -> None:
    phone = Phone(call)
    phone.enter(sitting, "Ada")
    address = f"/sit/{sitting.id}/keep"
    wrong = phone.post(address, data={"A1": "0", "A3": "12,x", "do": "hand in"})
    assert wrong.status_code == 422
    assert "question A3: '12,x' is not a number" in told(wrong.text)
    assert 'value="12,x"' in wrong.text
    assert not school.sittings.places(sitting.id)[0].ended_utc
    asked_once = phone.post(address, data={"A1": "0", "A3": "12,5", "do": "hand in"})
    assert asked_once.headers["location"].endswith("?ending=1")
    assert "2 questions have no answer: 2 , 4" in words(phone.get(asked_once.headers["location"]).text)
    assert not school.sittings.places(sitting.id)[0].ended_utc
    assert phone.post(address, data={"do": "hand in now"}).status_code == 303
    found = {one.key: (one.chosen, one.value) for one in school.answers.of_sitting(sitting.id)}
    assert found == {"A1": (0, None), "A3": (-1, 12.5)}
    page = words(phone.get(f"/sit/{sitting.id}").text)
    assert "You have handed in" in page
    assert "12.5" in page
    late = phone.answer(sitting, "A1", "sending-9", chosen=1)
    assert late.status_code == 409
    assert late.json()["error"]["code"] == "handed-in"


def test_no_key_reaches_a_student_before_the_marks_are_let_out(
    call: Caller, school: School, sitting: Sitting
) -> None:
    phone, other = Phone(call), Phone(call)
    for one, name in ((phone, "Ada"), (other, "Bo")):
        one.enter(sitting, name)
    secrets = secrets_of(sitting)
    assert len(secrets) > 20

    def looks() -> list[Any]:
        wrong = phone.post(f"/sit/{sitting.id}/keep", data={"A3": "x"})
        return [phone.get(f"/sit/{sitting.id}"), phone.get(f"/sit/{sitting.id}/state"), wrong]

    seen = [Phone(call).get(f"/sit/{sitting.id}"), *looks()]
    seen += [
        phone.answer(sitting, one.key, f"sending-{one.key}", chosen=0, value="3") for one in own(sitting, "A")
    ]
    phone.post(f"/sit/{sitting.id}/keep", data={"do": "hand in now"})
    seen += looks()
    school.sittings.move(sitting.id, closed=True)
    seen += looks()
    for answer in seen:
        everything = plain(answer)
        assert not [secret for secret in secrets if secret in everything]
    # Let out, each sees what mends their own wrong answers, and the other form stays unseen.
    assert call.post(f"/sittings/{sitting.id}/move", data={"do": "show marks"}).status_code == 303
    page = words(phone.get(f"/sit/{sitting.id}").text)
    for one in own(sitting, "A"):
        wrong = one.item.kind == "choice" and one.item.key != 0
        if wrong:
            assert " ".join(one.item.options[0].feedback.replace("-", "−").split())[:30].split("−")[0] in page
    assert "Correct answer:" in page
    call.post(f"/sittings/{sitting.id}/move", data={"do": "open again"})
    assert "Correct answer:" not in words(phone.get(f"/sit/{sitting.id}").text)


def test_marks_are_not_let_out_while_it_is_open(call: Caller, sitting: Sitting) -> None:
    answer = call.post(f"/sittings/{sitting.id}/move", data={"do": "show marks"})
    assert answer.status_code == 422
    assert "close it first" in told(answer.text)


def test_the_server_keeps_the_time(call: Caller, school: School, monkeypatch: pytest.MonkeyPatch) -> None:
    sitting = opened(school, minutes=10.0)
    phone = Phone(call)
    phone.enter(sitting, "Ada")
    began = school.sittings.places(sitting.id)[0].began_utc
    state = phone.get(f"/sit/{sitting.id}/state").json()
    assert 590 < state["left_s"] <= 600

    def later(seconds: float) -> str:
        moment = datetime.fromisoformat(began) + timedelta(seconds=seconds)
        return moment.strftime("%Y-%m-%dT%H:%M:%SZ")

    for room in ("lubberline.store.answers", "lubberline.web.sittings.roll"):
        monkeypatch.setattr(f"{room}.now_utc", lambda: later(600 + answers_room.GRACE_S - 1))
    # On its way when the time ended: kept; and the page says that it is over.
    assert phone.answer(sitting, "A1", "sending-1", chosen=1).status_code == 200
    told_of = {"left_s": 0.0, "over": True, "released": False}
    own = {"given": [{"key": "A1", "chosen": 1, "value": ""}]}
    stands = phone.get(f"/sit/{sitting.id}/state").json()
    assert stands == {**told_of, **own, "now_ms": stands["now_ms"]}
    assert "Time is up" in phone.get(f"/sit/{sitting.id}").text
    for room in ("lubberline.store.answers", "lubberline.web.sittings.roll"):
        monkeypatch.setattr(f"{room}.now_utc", lambda: later(600 + answers_room.GRACE_S + 1))
    late = phone.answer(sitting, "A2", "sending-2", chosen=1)
    assert late.status_code == 409
    assert late.json()["error"]["wrong"] == "time is up"


def test_time_is_given_to_one_student_alone(
    call: Caller, school: School, monkeypatch: pytest.MonkeyPatch
) -> None:
    sitting = opened(school, minutes=10.0)
    phone, other = Phone(call), Phone(call)
    phone.enter(sitting, "Ada")
    other.enter(sitting, "Ben")
    ada = next(
        one for one in school.sittings.places(sitting.id) if school.people.student(one.student).name == "Ada"
    )
    address = f"/sittings/{sitting.id}/students/{ada.student}"
    assert "Extra time" in call.get(address).text
    for wrong in ("-1", "601", "much", "nan"):
        refused = call.post(f"{address}/time", data={"extra_min": wrong})
        assert refused.status_code == 422
        assert "extra time" in told(refused.text)
    moment = datetime.fromisoformat(ada.began_utc) + timedelta(minutes=11)
    for room in ("lubberline.store.answers", "lubberline.web.sittings.roll"):
        monkeypatch.setattr(f"{room}.now_utc", lambda: moment.strftime("%Y-%m-%dT%H:%M:%SZ"))
    assert phone.get(f"/sit/{sitting.id}/state").json()["over"]
    assert phone.answer(sitting, "A1", "sending-1", chosen=1).status_code == 409
    # Time that has run out begins again, for her alone.
    assert call.post(f"{address}/time", data={"extra_min": "4,5"}).status_code == 303
    stands = phone.get(f"/sit/{sitting.id}/state").json()
    assert (stands["left_s"], stands["over"], stands["given"]) == (210.0, False, [])
    assert "14.5 minutes from when you joined" in phone.get(f"/sit/{sitting.id}").text
    assert phone.answer(sitting, "A1", "sending-1", chosen=1).status_code == 200
    assert other.get(f"/sit/{sitting.id}/state").json()["over"]
    assert other.answer(sitting, "A1", "sending-2", chosen=1).status_code == 422
    assert "+4.5 min" in call.get(f"/sittings/{sitting.id}").text
    assert {one.extra_min for one in school.sittings.places(sitting.id)} == {0.0, 4.5}
    assert 'value="4.5"' in call.get(address).text


def test_a_browser_without_a_place_gets_nothing(call: Caller, school: School, sitting: Sitting) -> None:
    Phone(call).enter(sitting, "Ada")
    stranger = Phone(call, {"seat": "guessed"})
    assert stranger.answer(sitting, "A1", "sending-1", chosen=1).status_code == 409
    assert stranger.post(f"/sit/{sitting.id}/keep", data={"A1": "1"}).status_code == 403
    assert stranger.get(f"/sit/{sitting.id}/state").status_code == 403
    assert stranger.get("/sit/nothing").status_code == 404
    lesson = school.sittings.add(sitting.group, "lesson", "A lesson", asked())
    assert stranger.get(f"/sit/{lesson.id}").status_code == 404
    assert not school.answers.of_sitting(sitting.id)


def test_a_paper_in_the_bin_is_told_of_on_a_page_and_comes_back(
    call: Caller, school: School, sitting: Sitting
) -> None:
    phone = Phone(call)
    phone.enter(sitting, "Ada")
    entry = school.bin.delete("sitting", sitting.id)
    asked_for = {"accept": "text/html"}
    page = phone.get(f"/sit/{sitting.id}", headers=asked_for)
    assert page.status_code == 404
    assert page.headers["content-type"].startswith("text/html")
    assert "There is no paper here. To do: ask for the code" in page.text
    assert f'href="/sit/{sitting.id}"' in page.text
    assert 'href="/aircraft"' not in page.text
    assert 'href="/aircraft"' in call.get("/teach/nothing", headers=asked_for).text
    school.bin.bring_back(entry.id)
    assert "Ada" in phone.get(f"/sit/{sitting.id}", headers=asked_for).text


def test_a_student_goes_on_with_another_phone(call: Caller, school: School, sitting: Sitting) -> None:
    old, new_phone = Phone(call), Phone(call)
    old.enter(sitting, "Ada")
    old.answer(sitting, "A1", "sending-1", chosen=1)
    place = school.sittings.places(sitting.id)[0]
    address = f"/sittings/{sitting.id}/students/{place.student}/release"
    assert call.post(address, data={"do": "release"}).status_code == 303
    assert new_phone.enter(sitting, "Ada").status_code == 303
    assert [one.student for one in school.sittings.places(sitting.id)] == [place.student]
    assert 'value="1" checked' in new_phone.get(f"/sit/{sitting.id}").text
    assert old.answer(sitting, "A1", "sending-2", chosen=0).status_code == 403


def test_marks_stay_off_the_page_with_the_code(call: Caller, school: School, sitting: Sitting) -> None:
    phone = Phone(call)
    phone.enter(sitting, "Ada")
    phone.answer(sitting, "A1", "sending-1", chosen=own(sitting, "A")[0].item.key)
    assert "1 of 4" in words(call.get(f"/sittings/{sitting.id}").text)
    assert ">Marks</th>" not in call.get(f"/sittings/{sitting.id}").text
    school.sittings.move(sitting.id, closed=True)
    assert ">Marks</th>" in call.get(f"/sittings/{sitting.id}").text


def test_corrections_are_signed_and_leave_a_trail(call: Caller, school: School, sitting: Sitting) -> None:
    phone = Phone(call)
    phone.enter(sitting, "Ada")
    item = own(sitting, "A")[0].item
    wrong = next(place for place in range(len(item.options)) if place != item.key)
    phone.answer(sitting, "A1", "sending-1", chosen=wrong)
    student = school.sittings.places(sitting.id)[0].student
    address = f"/sittings/{sitting.id}/students/{student}"
    page = call.get(address).text
    assert "ABCDEFGH"[item.key] in words(page)
    unsigned = call.post(address, data={"key": "A1", "after": "B", "field": "answer"})
    assert "by: no signature" in told(unsigned.text)
    signed = {"by": "I. Structor", "why": "The ring was round B"}
    bad = call.post(address, data={"key": "A1", "field": "answer", "after": "Q", **signed})
    assert bad.status_code == 422
    assert not school.answers.corrections_of(sitting.id)
    right = "ABCDEFGH"[item.key]
    assert (
        call.post(address, data={"key": "A1", "field": "answer", "after": right, **signed}).status_code == 303
    )
    page = words(call.get(address).text)
    assert f"{'ABCDEFGH'[wrong]} → {right}" in page
    assert "The ring was round B" in page
    assert "I. Structor" in page
    assert rows_of(call.get(f"/sittings/{sitting.id}/marks.csv"))[0]["points"] == "1"
    for points in ("2", "nan", "x"):
        assert (
            call.post(address, data={"key": "A1", "field": "points", "after": points, **signed}).status_code
            == 422
        )
    call.post(address, data={"key": "A2", "field": "points", "after": "0.5", **signed})
    assert rows_of(call.get(f"/sittings/{sitting.id}/marks.csv"))[0]["points"] == "1.5"
    call.post(f"/sittings/{sitting.id}/strike", data={"key": "A2", **signed})
    row = rows_of(call.get(f"/sittings/{sitting.id}/marks.csv"))[0]
    assert (row["points"], row["questions"]) == ("1", "3")
    call.post(f"/sittings/{sitting.id}/strike", data={"key": "A2", **signed})
    assert rows_of(call.get(f"/sittings/{sitting.id}/marks.csv"))[0]["questions"] == "4"


def rows_of(answer: Any) -> list[dict[str, str]]:
    assert answer.status_code == 200
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def test_a_paper_on_paper_is_typed_in_student_by_student(call: Caller, school: School) -> None:
    sitting = opened(school, on_paper=True)
    ada, bo = (school.people.add_student(sitting.group, name).id for name in ("Ada", "Bo"))
    assert call.post(f"/sittings/{sitting.id}/people", data={"do": "all"}).status_code == 303
    forms = {place.student: place.form for place in school.sittings.places(sitting.id)}
    assert forms == {ada: "A", bo: "B"}
    first = ada
    address = f"/sittings/{sitting.id}/type/{first}"
    bad = call.post(address, data={"A1": "b", "A2": "Q", "A3": "274", "A4": "-"})
    assert bad.status_code == 422
    assert "question A2" in words(bad.text)
    assert {one.key for one in school.answers.of_sitting(sitting.id)} == {"A1", "A3", "A4"}
    good = call.post(address, data={"A1": "b", "A2": "A", "A3": "274", "A4": ""})
    assert good.status_code == 303
    assert good.headers["location"] == f"/sittings/{sitting.id}/type/{bo}?done=typed"
    found = {one.key: (one.chosen, one.value) for one in school.answers.of_sitting(sitting.id)}
    assert found["A1"] == (1, None)
    assert found["A3"] == (-1, 274.0)
    assert Phone(call).get(f"/sit/{sitting.id}").status_code == 404
    call.post(f"/sittings/{sitting.id}/move", data={"do": "close"})
    assert call.post(address, data={"A1": "C"}).status_code == 422


def test_answers_are_read_from_csv_good_lines_kept(call: Caller, school: School) -> None:
    sitting = opened(school, on_paper=True)
    for name in ("Ada", "Bo"):
        school.people.add_student(sitting.group, name)
    text = "student,question,answer\nAda,A1,B\nBo,B3,274\nCy,A1,A\nAda,A2,Q\n"
    files = {"file": ("../../etc/answers.csv", text, "text/csv")}
    answer = call.post(f"/sittings/{sitting.id}/read", files=files)
    page = words(answer.text)
    assert "2 answers saved. 2 lines were not read:" in page
    assert "answers.csv line 4 : 'Cy' is not in this class" in page
    assert "etc" not in page
    assert len(school.answers.of_sitting(sitting.id)) == 2
    assert {place.form for place in school.sittings.places(sitting.id)} == {"A", "B"}
    binary = call.post(f"/sittings/{sitting.id}/read", files={"file": ("x.csv", b"\xff\xfe\x00", "text/csv")})
    assert "not text in UTF-8" in told(binary.text)


def test_hostile_names_are_text(call: Caller, school: School, sitting: Sitting) -> None:
    phone = Phone(call)
    phone.enter(sitting, HOSTILE)
    student = school.sittings.places(sitting.id)[0].student
    for address in (
        f"/sittings/{sitting.id}",
        f"/sittings/{sitting.id}/now",
        f"/sittings/{sitting.id}/students/{student}",
    ):
        html = call.get(address).text
        assert "<img src=x" not in html
        assert "&lt;img src=x" in html
    assert "<img src=x" not in phone.get(f"/sit/{sitting.id}").text
    formula = Phone(call)
    formula.enter(sitting, "=HYPERLINK(1)")
    names = [row["name"] for row in rows_of(call.get(f"/sittings/{sitting.id}/marks.csv"))]
    assert "'=HYPERLINK(1)" in names


def test_other_sites_and_huge_bodies_are_refused(call: Caller, school: School, sitting: Sitting) -> None:
    foreign = {"origin": "http://elsewhere.example"}
    for address in (
        f"/sit/{sitting.id}/answer",
        f"/sit/{sitting.id}/keep",
        f"/sittings/{sitting.id}/move",
        f"/sittings/{sitting.id}/strike",
        "/sittings",
    ):
        assert call("POST", address, data={"do": "close"}, headers=foreign).status_code == 403
    assert not school.sittings.sitting(sitting.id).closed_utc
    phone = Phone(call)
    phone.enter(sitting, "Ada")
    kind = {"content-type": "application/json"}
    huge = phone.post(f"/sit/{sitting.id}/answer", content=pieces(3, 4000), headers=kind)
    assert huge.status_code == 413
    form = {"content-type": "application/x-www-form-urlencoded"}
    assert phone.post(f"/sit/{sitting.id}/keep", content=pieces(3, 900_000), headers=form).status_code == 413
    big = ("x.json", b"x" * 21_000_000, "application/json")
    assert new(call, big, blueprint="locked file").status_code == 413
    assert call.post("/sittings", data={"blueprint": "own"}).status_code == 415
    many = call.post("/sittings", data={f"f{k}": "1" for k in range(99)}, files={"file": ("", b"")})
    assert many.status_code == 413


@pytest.mark.parametrize(("text", "value"), [("274", 274.0), ("3,5", 3.5), ("−4°", -4.0), (" ", None)])
def test_numbers_are_read_as_people_type_them(text: str, value: float | None) -> None:
    assert typed_number(text) == value


@pytest.mark.parametrize("text", ["nan", "inf", "1e999", "north", "1,2,3", "٣", "9" * 30])
def test_what_is_no_number_is_told(text: str) -> None:
    with pytest.raises(InputError):
        typed_number(text)


def test_a_student_who_was_deleted_leaves_the_page_whole(
    call: Caller, school: School, sitting: Sitting
) -> None:
    Phone(call).enter(sitting, "Ada")
    school.answers.put_all([Answer(sitting.id, school.sittings.places(sitting.id)[0].student, "A1", 1)])
    school.bin.delete_for_good("student", school.sittings.places(sitting.id)[0].student)
    assert call.get(f"/sittings/{sitting.id}").status_code == 200
    assert call.get("/sittings/none-such").status_code == 404
