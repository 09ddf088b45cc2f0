"""The School page: the records taken out, put back and deleted, and nothing lost by accident."""

import csv
import io
import re
import zipfile
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from lubberline.classroom.records import Answer
from lubberline.publish.words import many
from lubberline.store import inventory
from lubberline.store.bin import belongings
from lubberline.store.school import School, open_school
from lubberline.web import passphrase
from lubberline.web.app import create_app
from lubberline.web.rate_limit import Tries
from tests.web.caller import Caller
from tests.web.papers import asked, told, words

HOSTILE = "<img src=x onerror=alert(1)>"


@pytest.fixture
def school() -> Iterator[School]:
    found = open_school("memory")
    yield found
    found.close()


@pytest.fixture
def call(school: School) -> Caller:
    return Caller(create_app(school=school))


def filled(school: School) -> tuple[str, str]:
    """A class, a student, an answer."""
    group = school.people.add_group("Spring")
    student = school.people.add_student(group.id, "Ada", "7")
    sitting = school.sittings.add(group.id, "paper", "Drift", asked(("A",)), on_paper=True)
    school.sittings.add_place(sitting.id, student.id)
    school.answers.put_all([Answer(sitting.id, student.id, "A1", 1)])
    return group.id, student.id


def test_classes_and_students_are_added_and_deleted(call: Caller, school: School) -> None:
    assert call.post("/school/classes", data={"do": "add class", "title": "Autumn"}).status_code == 303
    group = school.people.groups()[0]
    sent = {"do": "add student", "group": group.id, "name": "Bo"}
    assert call.post("/school/classes", data=sent).status_code == 303
    student = school.people.students(group.id)[0]
    page = words(call.get("/school/people").text)
    assert "Autumn 1 student" in page
    assert "Bo" in page
    for gone in ({"kind": "student", "key": student.id}, {"kind": "class", "key": group.id}):
        assert call.get("/school/delete", params=gone).status_code == 200
        assert call.post("/school/delete", data=gone).status_code == 303
        assert call.get("/school/delete", params=gone).status_code == 404
    assert not school.people.groups()
    for wrong in ({"do": "add class", "title": " "}, {"do": "drop"}, {"do": "add student", "name": "Cy"}):
        assert call.post("/school/classes", data=wrong).status_code == 422


def test_a_backup_comes_back_only_when_it_is_meant(call: Caller, school: School) -> None:
    group, student = filled(school)
    taken = call.get("/school/backup")
    assert taken.headers["content-disposition"].startswith('attachment; filename="lubberline-records-')
    school.bin.delete_for_good("student", student)
    file = {"file": ("../../records.backup", taken.content)}
    shown = call.post("/school/restore", files=file)
    assert shown.status_code == 200
    page = words(shown.text)
    for kind, goes, comes in (("Classes", 1, 1), ("Students", 0, 1), ("Papers", 1, 1), ("Answers", 0, 1)):
        assert f"{kind} {goes} {comes}" in page
    assert not school.people.students(group), "nothing has changed yet"
    key = re.search(r'name="key" value="([^"]+)"', shown.text)
    assert key
    # With a wrong key, or that of a page shown before, it is asked again; what was sent is still held.
    for wrong in ("another", "schl\u00fcssel", key[1]):
        again = call.post("/school/restore/now", data={"key": wrong})
        assert again.status_code == 422
        assert "Students 0 1" in words(again.text)
    assert not school.people.students(group)
    third = re.search(r'name="key" value="([^"]+)"', again.text)
    assert third
    assert call.post("/school/restore/now", data={"key": third[1]}).status_code == 303
    assert [one.name for one in school.people.students(group)] == ["Ada"]
    assert len(school.answers.of_sitting(school.sittings.listing()[0].id)) == 1
    assert call.post("/school/restore/now", data={"key": third[1]}).status_code == 422, "once"


def test_the_backup_that_a_restore_makes_first_is_offered(tmp_path: Path) -> None:
    school = open_school(f"sqlite:///{tmp_path / 'Σχολή.sqlite3'}")
    call = Caller(create_app(school=school))
    empty = call.get("/school/backup").content
    group, _ = filled(school)
    shown = call.post("/school/restore", files={"file": ("empty.backup", empty)})
    assert "A backup of the present records is made first" in words(shown.text)
    key = re.search(r'name="key" value="([^"]+)"', shown.text)
    assert key
    assert call.post("/school/restore/now", data={"key": key[1]}).status_code == 303
    assert school.people.groups() == ()
    (kept,) = school.copies.kept()
    assert f'href="/school/copies/{kept.name}"' in call.get("/school/records").text
    taken = call.get(f"/school/copies/{kept.name}")
    assert f"filename*=UTF-8''{quote(kept.name)}" in taken.headers["content-disposition"]
    assert taken.content == kept.read_bytes()
    for name in ("school.sqlite3", "..%2Fschool.sqlite3", "none.backup"):
        assert call.get(f"/school/copies/{name}").status_code in (400, 404)
    school.restore(kept)
    assert [one.id for one in school.people.groups()] == [group]
    school.close()


def test_what_is_no_backup_changes_nothing(call: Caller, school: School) -> None:
    group, _ = filled(school)
    whole = call.get("/school/backup").content
    for data in (b"", b"nothing of the kind", whole[: len(whole) // 2], whole[:-9] + b"x" * 9):
        answer = call.post("/school/restore", files={"file": ("../b/old.backup", data)})
        assert answer.status_code == 422
        assert told(answer.text).startswith("old.backup"), "its own name, no path of this machine"
        assert "/tmp" not in answer.text
        assert school.people.students(group)
    missing = call.post("/school/restore", data={"sure": "1"}, files={"file": ("", b"")})
    assert "none was chosen" in told(missing.text)


def test_everything_is_taken_as_csv(call: Caller, school: School) -> None:
    _, student = filled(school)
    school.people.rename(student, "=1+1", "7")
    answer = call.get("/school/csv")
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert {"students.csv", "answers.csv", "sittings.csv"} <= set(archive.namelist())
        assert all("/" not in name for name in archive.namelist())
        text = archive.read("students.csv").decode("utf-8-sig")
    assert [row["name"] for row in csv.DictReader(io.StringIO(text))] == ["'=1+1"]


def test_the_demo_class_comes_with_one_button_and_goes_when_that_is_meant(
    call: Caller, school: School
) -> None:
    group, _ = filled(school)
    added = call.post("/school/demo", data={"do": "add"})
    assert added.status_code == 303
    assert added.headers["location"].startswith("/results?group=")
    assert len(school.people.groups()) == 2
    assert call.post("/school/demo", data={"do": "add"}).status_code == 422
    demo = next(one for one in school.people.groups() if one.id != group)
    link = f"/school/delete?kind=class&amp;key={demo.id}"
    assert call.get("/school/people").text.count(link) == 2
    asks = words(call.get(unescape(link)).text)
    assert re.search(r"This will be deleted: 1 class, 14 students, \d+ sittings, [\d,]+ answers", asks)
    assert "Nothing else is touched" in asks
    assert len(school.people.groups()) == 2
    gone = call.post("/school/delete", data={"kind": "class", "key": demo.id})
    assert gone.status_code == 303
    assert [one.id for one in school.people.groups()] == [group]
    # Deleted by mistake, with marks typed into it: back it comes, and there is one at a time.
    id = gone.headers["location"].partition("binned=")[2]
    for path in ("/school/people", "/sittings", "/results"):
        html = call.get(path).text
        assert "Load the demo class" not in html
        assert html.count("Bring back the demo class") == ("No papers yet" in html or "people" in path)
    assert call.post("/school/demo", data={"do": "add"}).status_code == 422
    assert call.post(f"/school/bin/{id}", data={"do": "bring back"}).status_code == 303
    assert school.demo.find() == demo


def test_names_are_text(call: Caller, school: School) -> None:
    call.post("/school", data={"name": HOSTILE})
    call.post("/school/classes", data={"do": "add class", "title": HOSTILE})
    html = call.get("/school").text + call.get("/school/people").text
    assert HOSTILE not in html
    assert html.count("&lt;img src=x") >= 2
    assert call.post("/school", data={"name": "x" * 81}).status_code == 422


def test_a_passphrase_is_typed_twice(call: Caller, school: School) -> None:
    differs = call.post("/school/passphrase", data={"passphrase": "a long one", "again": "a long two"})
    assert differs.status_code == 422
    assert "a long" not in differs.text
    assert "No passphrase is set" in call.get("/school").text
    sent = {"passphrase": "a long one here", "again": "a long one here"}
    answer = call.post("/school/passphrase", data=sent)
    assert answer.status_code == 303
    assert "Passphrase set; log in with it." in call.get(answer.headers["location"]).text
    assert call.get("/school").headers["location"].startswith("/login")


def test_whoever_changes_the_passphrase_knows_the_old_one(call: Caller, school: School) -> None:
    sent = {"passphrase": "a long one here", "again": "a long one here"}
    assert call.post("/school/passphrase", data=sent).status_code == 303
    logged_in = call.post("/login", data={"passphrase": "a long one here"})
    cookie = {"cookie": logged_in.headers["set-cookie"].partition(";")[0]}
    kept = school.settings.get(passphrase.PASSPHRASE)
    assert 'name="old"' in call.get("/school", headers=cookie).text
    for new in ("", "another one here"):
        for old in ("", "a guess"):
            wrong = {"passphrase": new, "again": new, "old": old}
            answer = call.post("/school/passphrase", data=wrong, headers=cookie)
            assert answer.status_code == 422
            assert "current passphrase: wrong" in told(answer.text)
    assert call.post("/school/passphrase", data=wrong, headers=cookie).status_code == 422
    right = {"passphrase": "", "again": "", "old": "a long one here"}
    tried_out = call.post("/school/passphrase", data=right, headers=cookie)
    assert "too many wrong tries" in told(tried_out.text)
    assert school.settings.get(passphrase.PASSPHRASE) == kept
    call.app.state.shared.login_tries = Tries(5, 2, 20, 6)
    assert call.post("/school/passphrase", data=right, headers=cookie).status_code == 303
    assert not passphrase.is_set(school)


def test_other_sites_huge_bodies_and_other_forms_are_refused(call: Caller, school: School) -> None:
    group, _ = filled(school)
    foreign = {"origin": "http://elsewhere.example"}
    for address in (
        *(
            "/school",
            "/school/classes",
            "/school/demo",
            "/school/restore",
            "/school/restore/now",
            "/school/passphrase",
        ),
        *("/school/delete", "/school/bin/x", "/school/restore/now"),
    ):
        sent: Any = {"kind": "class", "key": group, "sure": "1"}
        assert call("POST", address, data=sent, headers=foreign).status_code == 403
    assert school.people.groups()
    big = call.post("/school/restore", data={"sure": "1"}, files={"file": ("x", b"x" * 91_000_000)})
    assert big.status_code == 413
    assert call.post("/school/restore", data={"sure": "1"}).status_code == 415
    assert call.get("/school/restore").status_code == 405
    assert school.people.groups()


def test_counts_are_written_in_one_way() -> None:
    """On the page that deletes, in a restore's preview and in every other sentence."""
    counts = {"answers": 1784}
    assert {inventory.words(counts), belongings.in_words(counts), many(1784, "answer")} == {"1,784 answers"}
