"""What was typed wins over what a list happens to show; the demo class is not to be had for real people."""

import re
from collections.abc import Iterator

import pytest

from lubberline.store.fleet import demo_home
from lubberline.store.school import School, open_school
from lubberline.store.settings import DEMO_CLASS
from lubberline.web.aircraft.plan import sample
from lubberline.web.app import create_app
from lubberline.web.forms import digest
from lubberline.web.sittings import new_sitting
from lubberline.web.teach import pages as teach
from tests.web.caller import Caller
from tests.web.papers import asked, told, words

LESSON = """# A small lesson

minutes: 2
aim: Try the page.

## Say: Hello
minutes: 1

Hello.
"""


@pytest.fixture
def school(monkeypatch: pytest.MonkeyPatch) -> Iterator[School]:
    monkeypatch.setattr(new_sitting, "papers_for", lambda *_: ())
    monkeypatch.setattr(new_sitting, "asked_of_papers", lambda _: asked(("A",)))
    found = open_school("memory")
    yield found
    found.close()


@pytest.fixture
def call(school: School) -> Caller:
    return Caller(create_app(school=school))


def begun(call: Caller, room: str, group: str, title: str) -> str:
    """Where a new lesson or paper is after it was begun; '' when it was refused."""
    sent = {"group": (None, group), "new_group": (None, title), "title": (None, "Drift")}
    if room == "/teach":
        sent["file"] = ("small.md", LESSON)  # type: ignore[assignment]
    answer = call.post(room, files=sent)
    return answer.headers["location"] if answer.status_code == 303 else ""


@pytest.mark.parametrize("room", ["/teach", "/sittings"])
def test_the_name_that_was_typed_is_the_class(call: Caller, school: School, room: str) -> None:
    """The list shows the first class by itself: real students landed in it."""
    shown = school.people.add_group("Shown first")
    where = begun(call, room, shown.id, "  My  evening class ")
    (sitting,) = school.sittings.listing()
    mine = next(one for one in school.people.groups() if one.id == sitting.group)
    assert mine.title == "My evening class"
    assert "New class My evening class, from the name you typed." in words(call.get(where).text)
    # Its title again, in whatever letters, is the same class, and the page says that it is not the list's.
    where = begun(call, room, shown.id, "my evening CLASS")
    assert {one.group for one in school.sittings.listing()} == {mine.id}
    assert "Class My evening class, from the name you typed." in words(call.get(where).text)
    where = begun(call, room, shown.id, "")
    assert len(school.sittings.listing(shown.id)) == 1
    assert "typed" not in words(call.get(where).text)
    assert len(school.people.groups()) == 2
    assert begun(call, room, "", " ") == ""


@pytest.mark.parametrize("room", ["/teach", "/sittings"])
def test_the_demo_class_is_not_for_real_people(call: Caller, school: School, room: str) -> None:
    demo = school.people.add_group("Demo")
    school.settings.put(DEMO_CLASS, demo.id)
    form = call.get("/teach" if room == "/teach" else "/sittings/new").text
    assert demo.id not in form
    for group, title in ((demo.id, ""), ("", "demo"), (demo.id, "DEMO")):
        assert begun(call, room, group, title) == ""
    assert begun(call, room, demo.id, "Real")
    assert [one.title for one in school.people.groups()] == ["Demo", "Real"]
    assert not school.sittings.listing(demo.id)
    sent = {"do": "add student", "group": demo.id, "name": "Ada"}
    refused = call.post("/school/classes", data=sent)
    assert refused.status_code == 422
    assert "demo class" in told(refused.text)


def test_a_refused_paper_makes_no_class(call: Caller, school: School) -> None:
    sent = {"new_group": (None, "New"), "title": (None, "Drift"), "minutes": (None, "soon")}
    assert call.post("/sittings", files=sent).status_code == 422
    assert not school.people.groups()


def test_a_file_that_was_chosen_is_the_paper(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    file = new_sitting.SentFile("mine.json", b"none of the kind")
    with pytest.raises(new_sitting.InputError, match=r"mine\.json"):
        new_sitting.papers_for({"blueprint": "first of the list"}, file, demo_home())


def test_a_blueprint_that_was_changed_is_the_one_that_is_meant(call: Caller) -> None:
    page = call.get("/questions/paper").text
    shown = re.search(r'name="text_shown" id="text-shown" value="(\w+)"', page)
    listed = re.search(r'<option value="([^"]+)" selected', page)
    assert shown
    assert listed
    sent = {"blueprint": listed[1], "text": "not a blueprint", "text_shown": shown[1]}
    changed = call.post("/questions/paper", data=sent)
    assert changed.status_code == 422
    assert "made from the text you changed" in words(changed.text)
    assert "not a blueprint" in changed.text, "what was typed is still there"
    # Sent as it was shown, it is the list's.
    again = re.search(r'id="text-shown" value="(\w+)"', changed.text)
    assert again
    assert again[1] == digest("not a blueprint\r\n")
    sent["text_shown"] = again[1]
    assert "text you changed" not in words(call.post("/questions/paper", data=sent).text)


def test_a_route_that_was_changed_is_the_one_that_is_planned(call: Caller) -> None:
    address = re.findall(r'href="(/aircraft/[a-z0-9-]+)"', call.get("/aircraft").text)[0] + "/plan"
    form = call.get(address).text
    assert f'value="{digest(sample(demo_home()))}"' in form
    flight = re.findall(r'<option value="([^"]+)"', form)[0]
    sent = {
        "flight": flight,
        "text": sample(demo_home()) + "nowhere,x,y\n",
        "text_shown": digest(sample(demo_home())),
    }
    refused = call.post(address, data=sent)
    assert refused.status_code == 422
    assert '<option value="own" selected>' in refused.text
    assert call.post(address, data={**sent, "text": sample(demo_home())}).status_code == 200


def test_the_lesson_is_not_worked_out_for_a_class_that_cannot_be(school: School) -> None:
    assert teach.class_meant(school, "", "New").made(school) == school.people.groups()[0].id
