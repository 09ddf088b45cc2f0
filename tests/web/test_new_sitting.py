"""A new sitting: from a blueprint, from locked papers, from the questions page."""

from typing import Any

import pytest

from lubberline.questions.blueprint import blueprint_from_text
from lubberline.questions.locked_papers import locked_text
from lubberline.questions.papers import assemble
from lubberline.store.fleet import demo_home
from lubberline.store.school import School
from tests.web.caller import Caller
from tests.web.papers import told
from tests.web.school_of_papers import call as call
from tests.web.school_of_papers import school as school
from tests.web.school_of_papers import sitting as sitting

SMALL = """title = "A short test"
forms = ["A", "B"]

[[topic]]
name = "wander"
apply = 2
"""


def new(call: Caller, file: Any = None, **fields: str) -> Any:
    sent = {"blueprint": "own", "text": SMALL, "new_group": "Spring", **fields}
    return call.post("/sittings", data=sent, files={"file": file or ("", b"")})


def test_a_sitting_is_made_from_a_blueprint(call: Caller, school: School) -> None:
    answer = new(call, minutes="45", seed="3")
    assert answer.status_code == 303
    made = school.sittings.listing()[0]
    papers = assemble(blueprint_from_text("blueprint", SMALL), 3, home=demo_home())
    assert [one.item for one in made.asked] == [item for paper in papers for item in paper.items]
    assert [one.key for one in made.asked] == ["A1", "A2", "B1", "B2"]
    assert (made.title, made.minutes, made.on_paper) == ("A short test", 45.0, False)
    page = call.get(f"/sittings/{made.id}")
    assert f"{made.code[:3]} {made.code[3:]}" in page.text
    assert "A short test" in call.get("/sittings").text


def test_a_sitting_is_made_from_locked_papers(call: Caller, school: School) -> None:
    text = locked_text(assemble(blueprint_from_text("blueprint", SMALL), 3))
    file = ("papers.json", text, "application/json")
    assert new(call, file, blueprint="locked file", forms="B").status_code == 303
    made = school.sittings.listing()[0]
    assert [(one.key, one.form) for one in made.asked] == [("B1", ""), ("B2", "")]
    changed = ("papers.json", text.replace("A short test", "A changed test"), "application/json")
    assert "the digest does not match" in told(new(call, changed, blueprint="locked file").text)
    assert "none was chosen" in told(new(call, blueprint="locked file").text)
    assert len(school.sittings.listing()) == 1


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"minutes": "soon"}, "minutes"),
        ({"minutes": "-5"}, "minutes"),
        ({"minutes": "nan"}, "minutes"),
        ({"new_group": " "}, "class"),
        ({"group": "nobody's", "new_group": ""}, "class"),
        ({"text": "title = "}, "blueprint"),
        ({"seed": "x"}, "seed"),
    ],
)
def test_what_is_wrong_with_a_new_sitting_is_told(
    call: Caller, school: School, change: dict[str, str], what: str
) -> None:
    answer = new(call, **change)
    assert answer.status_code == 422
    assert told(answer.text).startswith(what)
    assert not school.sittings.listing()
    assert not school.people.groups()


def test_papers_come_over_from_the_questions_page(call: Caller) -> None:
    plain_page = call.get("/sittings/new").text
    assert 'name="items"' not in plain_page
    assert 'name="text"' not in plain_page
    page = call.post("/sittings/new", data={"blueprint": "own", "text": SMALL, "seed": "9"}).text
    assert 'name="text" value="title = &#34;A short test' in page
    assert 'value="9"' in page
    assert 'formaction="/sittings/new"' in call.get("/questions/paper?blueprint=heading_instruments").text
