"""Two clubs set up from nothing by the pages: no page speaks of somewhere else unless it means to."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.flight.home import Home
from lubberline.questions.bank import models
from lubberline.questions.generate import make
from lubberline.store.fleet import demo_folder
from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from tests.poppler import poppler
from tests.web.caller import Caller
from tests.web.papers import words

# Aircraft, flights and places of the demo, unless they are called so.
DEMO = re.compile(r"Marrowfen|47\.2 N|ZZ-[A-Z]+(?!.{0,4}demo)")


class Club(NamedTuple):
    """A school of the test: its home, a suction as its gauges show 4.9 inHg, and a dip of its own."""

    home: Home
    suction: str
    # By the World Magnetic Model 2025; steeper than anything that is asked about elsewhere in the north.
    dips_deg: set[int]


CLUBS = (
    Club(Home("Kauri Flat", -43.4, 172.2, 300.0, "Pacific/Auckland", "ZK-KEA", "", "hPa"), "166", {65, 70}),
    Club(Home("Lichen Strand", 65.0, -18.0, 90.0, "Atlantic/Reykjavik", "TF-LOA"), "4.9", {75, 80}),
)
AIRCRAFT = 'name = "{}"\n\n[heading_indicator]\nbalance_latitude_deg = {}\n'
SCENE = """id = "our_valley"
title = "In our valley"
aim = "The suction at cruise."

[start]
latitude_deg = {}

[[event]]
at_s = 0
caption = "The gauge reads 4.9 inHg."

[[event]]
at_s = 20
do = {{ do = "pause", on = true }}
"""
LESSON = """# Drift here

minutes: 5
aim: See it.
aircraft: {}

## Show: At home
scene: fifteen_minutes_home
to: 300

## Show: In the valley
scene: our_valley
to: 10

The gauge reads {{{{ shown.gauge_inhg @ our_valley 10, 1 }}}} inHg.
"""
# These draw a dip by itself; others give it by the place.
WITH_A_DIP = ("turning-through-north-or-south", "turning-speeding-up", "turning-roll-out")
PAGES = (
    *(
        "/stage",
        "/bench",
        "/scenes",
        "/flights",
        "/lessons",
        "/lessons/drift",
        "/questions",
        "/questions/ideas",
    ),
    *("/aircraft", "/aircraft/{}", "/aircraft/{}/log", "/aircraft/{}/plan", "/sittings", "/sittings/new"),
    *("/results", "/school", "/school/people", "/school/records", "/school/bin", "/school/words"),
)


@pytest.fixture(params=CLUBS, ids=lambda club: club.home.place)
def club(request: pytest.FixtureRequest) -> Club:
    found: Club = request.param
    return found


@pytest.fixture
def school() -> Iterator[School]:
    opened = open_school("memory")
    yield opened
    opened.close()


def set_up(call: Caller, club: Club) -> None:
    """By the forms of the pages alone."""
    home = club.home
    file = AIRCRAFT.format(home.aircraft, home.latitude_deg)
    assert call.post("/aircraft", data={"file": file}).status_code == 303
    fields = {name: str(getattr(home, name)) for name in home.__struct_fields__}
    assert call.post("/school/home", data=fields).status_code == 303
    for name, text, kind in (
        ("our_valley", SCENE.format(home.latitude_deg), "scenes"),
        ("drift", LESSON.format(home.aircraft), "lessons"),
    ):
        form = {"name": (None, name), "file": (name, text)}
        assert call.post(f"/{kind}", files=form).status_code == 303, kind
    place = f"{home.latitude_deg}, {home.longitude_deg}"
    for sent, (card, compass) in enumerate(((100, 101), (220, 222), (310, 313), (45, 47))):
        check = {"indicated": str(card), "compass": str(compass), "suction": club.suction, "engine": "cruise"}
        when = {"time": f"2026-05-{20 + sent}T22:30:00Z", "set_ago_min": "20", "sent": f"s{sent}"}
        log = f"/aircraft/{home.aircraft.lower()}/log"
        assert call.post(log, data={**check, **when, "place": place}).status_code == 303
    assert call.post("/school/classes", data={"do": "add class", "title": "Evening"}).status_code == 303


def spoken_of_elsewhere(home: Home, text: str) -> list[str]:
    """What a text says of the demo's place, its aircraft, another clock or another unit."""
    found = [text[max(0, hit.start() - 60) : hit.end() + 40] for hit in DEMO.finditer(text)]
    if home.suction != "inHg":
        # The choice of a unit, and a key of a frame, are not readings.
        found += re.findall(r".{0,60}\d inHg.{0,20}", text)
    # An hour in UTC; a flight is in UTC, as its file is, and the form of a log says that it takes UTC.
    return found + re.findall(r".{0,60}\d UTC(?! · field).{0,20}", text)


def test_nothing_on_a_page_of_a_club_speaks_of_somewhere_else(
    club: Club, school: School, tmp_path: Path
) -> None:
    call = Caller(create_app(school=school, folder=tmp_path))
    set_up(call, club)
    home, key = club.home, club.home.aircraft.lower()
    for address in PAGES:
        page = call.get(address.format(key))
        assert page.status_code == 200, address
        text = words(page.text)
        assert "No home is set" not in text
        assert spoken_of_elsewhere(home, text) == [], address
    log = words(call.get(f"/aircraft/{key}").text)
    # 22:30 UTC on the 20th is 10:30 on the 21st in New Zealand in May, and 22:30 in Iceland.
    assert ("2026-05-21 10:30 NZST" if home.side < 0 else "2026-05-20 22:30 GMT") in log
    asked = {"flight": "home_short_circuit"}
    card = call.post(f"/aircraft/{key}/plan/kneeboard.pdf", data=asked)
    assert spoken_of_elsewhere(home, poppler("pdftotext", card.content, tmp_path)) == []
    report = call.get(f"/aircraft/{key}/report.pdf")
    if report.status_code == 200:
        assert spoken_of_elsewhere(home, poppler("pdftotext", report.content, tmp_path)) == []


@pytest.mark.parametrize("lesson", ["1_how_it_works", "2_wander_and_setting", "3_when_it_fails"])
def test_a_demo_lesson_that_is_taught_at_a_club_says_what_is_true_there(
    club: Club, school: School, lesson: str, tmp_path: Path
) -> None:
    """The other hemisphere and other places only where the text says that they are elsewhere."""
    school.settings.put_home(club.home)
    shelves = create_app(school=school, folder=tmp_path).state.shared.shelves
    taught = taught_lesson(
        shelves.lesson(lesson, (demo_folder() / f"lessons/{lesson}.md").read_text("utf-8")), home=club.home
    )
    own, other = ("south", "north") if club.home.side < 0 else ("north", "south")
    for step in taught.lesson.steps:
        text = step.text
        assert spoken_of_elsewhere(club.home, text) == [], step.title
        for sentence in re.split(r"(?<=[.?!])\s", text):
            one_sided = re.search(f"{other}ern hemisphere", sentence)
            assert not one_sided or f"{own}ern" in text, sentence


def test_the_dip_of_home_is_asked_about_at_home_and_sensible_ones_elsewhere(club: Club) -> None:
    at_home, elsewhere = set(), set()
    for model in models().values():
        if model.id not in WITH_A_DIP:
            continue
        for seed in range(6):
            at_home.add(make(model, seed, club.home).item.drawn["dip_deg"])
            elsewhere.add(abs(float(make(model, seed, club.home, far=True).item.drawn["dip_deg"])))
    assert {abs(int(dip)) for dip in at_home} <= club.dips_deg
    assert {dip > 0.0 for dip in at_home} == {club.home.side > 0}
    assert elsewhere
    assert min(elsewhere) >= 50.0
    assert max(elsewhere) <= 70.0
