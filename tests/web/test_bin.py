"""Deleting on the pages: asked first with what goes, brought back with one press, for good if meant."""

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from starlette.applications import Starlette

from lubberline.classroom.records import Answer
from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from lubberline.web.shelf import Shelves
from tests.web.caller import Caller
from tests.web.papers import Phone, asked, told, words

OWN_FILE = 'name = "ZZ-TST"\n\n[heading_indicator]\nbalance_latitude_deg = 45.0\n'


@pytest.fixture
def school() -> Iterator[School]:
    found = open_school("memory")
    yield found
    found.close()


@pytest.fixture
def app(school: School, tmp_path: Path) -> Starlette:
    made = create_app(school=school)
    made.state.shared.shelves = Shelves(tmp_path)
    return made


@pytest.fixture
def call(app: Starlette) -> Caller:
    return Caller(app)


class Made:
    """One of everything that can be deleted."""

    def __init__(self, school: School, call: Caller) -> None:
        group = school.people.add_group("Spring")
        self.student = school.people.add_student(group.id, "Ada", "7")
        school.people.add_student(group.id, "Bo")
        self.sitting = school.sittings.add(group.id, "paper", "Drift", asked(("A",)), on_paper=True)
        school.sittings.add_place(self.sitting.id, self.student.id)
        school.answers.put_all([Answer(self.sitting.id, self.student.id, "A1", 1)])
        self.group = group
        assert call.post("/aircraft", data={"file": OWN_FILE}).status_code == 303
        assert call.post("/aircraft/zz-tst/maintenance", data={"maintenance": "filter"}).status_code == 303
        self.entry = school.log.entries("ZZ-TST")[0]
        name = {"name": (None, "mine"), "file": ("mine.md", b"# Mine\n\nmy own words\n")}
        assert call.post("/lessons", files=name).status_code == 303


def link_of(html: str, kind: str) -> str:
    """The link on a page that leads to the question before deleting."""
    found = re.search(rf'href="(/school/delete\?kind={kind}&amp;[^"]*)"', html)
    assert found, f"no link to delete a {kind}"
    return unescape(found[1])


def fields_of(html: str) -> dict[str, str]:
    return {
        name: unescape(value) for name, value in re.findall(r'name="(kind|key|back)" value="([^"]*)"', html)
    }


PAGES = [
    ("class", "/school/people", "Spring", "1 class, 2 students, 1 sitting, 1 answer"),
    ("student", "/results/student/{student}", "Ada", "1 student, 1 answer"),
    ("sitting", "/sittings/{sitting}", "Drift", "1 sitting, 1 answer"),
    ("aircraft", "/aircraft/zz-tst", "ZZ-TST", "1 log entry, 1 aircraft"),
    ("entry", "/aircraft/zz-tst/entries/{entry}", "ZZ-TST", "1 log entry"),
    ("lesson", "/lessons/mine", "mine", "1 lesson"),
]


@pytest.mark.parametrize(("kind", "page", "title", "goes"), PAGES, ids=[page[0] for page in PAGES])
def test_deleting_asks_with_what_goes_and_comes_back_with_one_press(
    call: Caller, school: School, tmp_path: Path, kind: str, page: str, title: str, goes: str
) -> None:
    made = Made(school, call)
    own = page.format(student=made.student.id, sitting=made.sitting.id, entry=made.entry.id)
    if kind == "lesson":
        saved = call.get(own).text
        based = re.search(r'name="based" value="([^"]*)"', saved)
        assert based
        sent = {"text": "# Mine\n\nmy own words\n", "based": based[1]}
        assert call.post("/lessons/mine/save", data=sent).status_code == 303
    before = kept(school, tmp_path)
    asks = call.get(link_of(call.get(own).text, kind))
    assert asks.status_code == 200
    assert f"This will be deleted: {goes}" in words(asks.text)
    assert title in words(asks.text)
    assert kept(school, tmp_path) == before, "asking deletes nothing"
    gone = call.post("/school/delete", data={**fields_of(asks.text), "do": "bin"})
    assert gone.status_code == 303, told(gone.text)
    assert kept(school, tmp_path) != before
    after = call.get(gone.headers["location"]).text
    assert f"({goes}). Kept in the bin for 30 days." in words(after)
    (id,) = re.findall(r'action="/school/bin/(\w+)"', after)
    assert title in words(call.get("/school/bin").text)
    back = call.post(f"/school/bin/{id}", data={"do": "bring back"})
    assert back.status_code == 303
    assert call.get(back.headers["location"]).status_code == 200
    assert kept(school, tmp_path) == before
    assert "The bin is empty" in words(call.get("/school/bin").text)


def kept(school: School, folder: Path) -> list[object]:
    """What the records and the shelf hold."""
    groups = school.people.groups()
    sittings = school.sittings.listing()
    return [
        groups,
        [school.people.students(group.id) for group in groups],
        [
            (sitting.id, school.sittings.places(sitting.id), school.answers.of_sitting(sitting.id))
            for sitting in sittings
        ],
        [school.bin.forgotten(sitting.id) for sitting in sittings],
        school.log.entries("ZZ-TST"),
        [school.settings.get(name) for name in ("aircraft", "aircraft_file:zz-tst")],
        sorted((str(path), path.read_bytes()) for path in folder.rglob("*.md")),
    ]


def test_for_good_is_a_choice_of_its_own(call: Caller, school: School) -> None:
    made = Made(school, call)
    sent = {"kind": "student", "key": made.student.id, "do": "for good"}
    unsure = call.post("/school/delete", data=sent)
    assert unsure.status_code == 422
    assert "not confirmed" in told(unsure.text)
    assert school.people.student(made.student.id)
    assert call.post("/school/delete", data={**sent, "sure": "1"}).status_code == 303
    assert school.bin.entries() == ()
    assert len(school.bin.forgotten(made.sitting.id)) == 2
    id = school.bin.delete("sitting", made.sitting.id).id
    asks = call.get(f"/school/bin/{id}")
    assert "Delete Drift for good?" in words(asks.text)
    assert call.post(f"/school/bin/{id}", data={"do": "for good"}).status_code == 422
    assert school.bin.entries()
    assert call.post(f"/school/bin/{id}", data={"do": "for good", "sure": "1"}).status_code == 303
    assert school.bin.entries() == ()
    assert call.get(f"/school/bin/{id}").status_code == 422


def test_a_part_of_what_is_in_the_bin_waits_for_it(call: Caller, school: School) -> None:
    made = Made(school, call)
    student = school.bin.delete("student", made.student.id)
    school.bin.delete("class", made.group.id)
    early = call.post(f"/school/bin/{student.id}", data={"do": "bring back"})
    assert early.status_code == 422
    assert "bring the class back first" in told(early.text)


def test_what_is_not_as_it_was_is_said(call: Caller, school: School) -> None:
    made = Made(school, call)
    gone = school.bin.delete("student", made.student.id)
    school.people.add_student(made.group.id, "Cy", "7")
    page = call.post(f"/school/bin/{gone.id}", data={"do": "bring back"})
    assert "The number 7 is now in use, so Ada has none." in words(page.text)


def test_unsaved_changes_go_into_the_bin_as_they_stand(call: Caller, school: School, app: Starlette) -> None:
    Made(school, call)
    typed = "# Mine\n\nan hour of typing\n"
    gone = call.post("/lessons/mine/drop", data={"text": typed, "based": ""})
    assert gone.headers["location"].startswith("/lessons?binned=")
    assert app.state.shared.shelves.by_kind["lesson"].text("mine") is None
    id = gone.headers["location"].partition("binned=")[2]
    assert "unsaved changes of mine" in words(call.get(gone.headers["location"]).text)
    # Another lesson has taken the name meanwhile.
    app.state.shared.shelves.by_kind["lesson"].keep_draft("mine", "# Another\n")
    page = call.post(f"/school/bin/{id}", data={"do": "bring back"})
    assert "this one was named mine-2" in words(page.text)
    assert app.state.shared.shelves.by_kind["lesson"].text("mine-2") == typed


def test_what_came_with_the_program_is_not_deleted(call: Caller, school: School) -> None:
    demo = call.get("/aircraft").text
    key = re.findall(r'href="/aircraft/([a-z0-9-]+)"', demo)[0]
    assert "/school/delete" not in call.get(f"/aircraft/{key}").text
    assert "came with the program" in told(call.get(f"/school/delete?kind=aircraft&key={key}").text)
    for sent in ({"kind": "lesson", "key": "wander"}, {"kind": "setting", "key": "x"}):
        assert call.post("/school/delete", data=sent).status_code == 422


def test_a_way_back_leads_nowhere_else(call: Caller, school: School) -> None:
    made = Made(school, call)
    sent = {"kind": "student", "key": made.student.id, "back": "//elsewhere.example"}
    assert "elsewhere" not in call.get("/school/delete", params=sent).text
    gone = call.post("/school/delete", data=sent)
    assert gone.headers["location"].startswith("/school/people?binned=")


def test_an_entry_that_was_taken_out_is_put_back(call: Caller, school: School) -> None:
    made = Made(school, call)
    own = f"/aircraft/zz-tst/entries/{made.entry.id}"
    out = {"do": "withdraw", "by": "N", "why": "twice"}
    assert call.post(own, data=out).status_code == 303
    page = call.get("/aircraft/zz-tst").text
    assert "1 entry withdrawn" in words(page)
    assert 'value="bring back"' in page
    assert call.post(own, data={"do": "bring back"}).status_code == 303
    assert "withdrawn" not in words(call.get("/aircraft/zz-tst").text).partition("Entries")[2][:200]
    assert [change.why for change in school.log.trail("ZZ-TST")] == ["twice", "brought back"]


def test_what_a_phone_sends_waits_while_its_paper_is_in_the_bin(school: School, call: Caller) -> None:
    paper = school.sittings.add(school.people.add_group("Spring").id, "paper", "Drift", asked(("A",)))
    phone = Phone(call)
    phone.enter(paper, "Ada")
    assert phone.answer(paper, "A1", "sending-1", chosen=0).status_code == 200
    id = school.bin.delete("sitting", paper.id).id
    refused = phone.answer(paper, "A1", "sending-2", chosen=1)
    assert (refused.status_code, refused.json()["error"]["code"]) == (403, "no-place")
    school.bin.bring_back(id)
    assert phone.answer(paper, "A1", "sending-2", chosen=1).json()["kept"]["sent"] == "sending-2"
    school.bin.delete_for_good("sitting", paper.id)
    assert phone.answer(paper, "A1", "sending-3", chosen=2).json()["error"]["code"] == "no-sitting"
