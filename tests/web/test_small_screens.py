"""Small screens: no letters under 11 pixels, nothing wider, no dial over another; and what measures it."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from lubberline.classroom.records import Answer, Asked
from lubberline.questions.bank import models
from lubberline.questions.generate import generate
from lubberline.simulation.scenes import library
from lubberline.store.school import open_school
from lubberline.web.app import BEHIND_DOORS, create_app
from lubberline.web.school.pages import demo_term
from lubberline.web.sittings import join
from tests.web.access import broken_rules
from tests.web.app_server import AppServer
from tests.web.class_server import ClassServer, begun
from tests.web.letters import ALL_LEGIBLE, crowded, too_small, too_wide_px
from tests.web.test_browser import until

pytestmark = pytest.mark.browser
LAPTOP, PHONE = {"width": 1366, "height": 768}, {"width": 390, "height": 844}
ROOMS = [room.address for one in BEHIND_DOORS for room in one.rooms]
DRIVEN = ("/stage", "/bench")
# Drawn by their script.
DRAWN = ("/flights", "/teach/", "/class/")
MORE = (
    "/teach",
    "/stage?scene=how_it_works&step=6",
    "/flights?aircraft=zz_ash&believe=same-wander-everywhere&fault=filter@20",
    "/sittings/new",
    "/aircraft/zz-ash",
    "/aircraft/zz-ash/plan",
    "/notices",
    "/join",
    "/nowhere",
)
TWO = [id for id, scene in library().items() if scene.entry.second]
FACES = 'circle[r="103"], circle[r="56"], rect, text, figcaption:not(:empty)'
OVERLAPS = """(faces) => {
    const parts = [...document.querySelectorAll('#shown-dials *')]
        .filter((one) => one.checkVisibility() && one.matches(faces))
        .map((one) => [one, one.closest('figure'), one.getBoundingClientRect()]);
    const isClear = (box, [face, , of]) => {
        if (box.right <= of.left + 1 || of.right <= box.left + 1) return true;
        if (box.bottom <= of.top + 1 || of.bottom <= box.top + 1) return true;
        if (face.tagName !== 'circle') return false;
        // Round: how near the box comes to its centre.
        const r = of.width / 2, x = of.left + r, y = of.top + r;
        const across = Math.max(box.left - x, 0, x - box.right);
        const down = Math.max(box.top - y, 0, y - box.bottom);
        return Math.hypot(across, down) >= r - 1;
    };
    const over = [];
    for (const [one, figure, box] of parts)
        for (const other of parts) {
            const isCaption = one.tagName === 'FIGCAPTION' && ['circle', 'rect'].includes(other[0].tagName);
            if (figure === other[1] && !isCaption) continue;
            if (isClear(box, other) || isClear(other[2], [one, figure, box])) continue;
            over.push(`${one.textContent || one.tagName} over ${other[0].textContent || other[0].tagName}`);
        }
    return over;
}"""


def test_letters_are_measured_as_they_are_drawn(watched: Any) -> None:
    page = watched.page
    page.set_content(
        "<main><p>Nothing</p><p>is</p><p>wrong</p><p style='font-size:10px'>ten</p>"
        "<svg width='50' height='50' viewBox='0 0 100 100'><text y='50' font-size='20'>half</text></svg>"
    )
    assert too_small(page) == ["ten: 10.0 px", "half: 10.0 px"]


def test_texts_on_one_another_and_cut_off_are_found(watched: Any) -> None:
    page = watched.page
    page.set_content(
        "<main><p>Nothing</p><p>is</p><p>wrong</p><p style='margin-top:-2em'>over</p>"
        "<p style='width:3em;overflow:hidden;white-space:nowrap'>longer than its row</p></main>"
    )
    assert crowded(page) == ["cut off: longer than its row", "wrong | over"]


PAGE = """<!doctype html><html lang="en"><title>A page</title><main><h1>Suction</h1>
<p style="color:{ink};background:#fff">4.9 inHg</p><a href="#here">A link</a><h2 id="here">Here</h2>
<button>Set it</button><label>Heading <input name="heading"></label></main>"""


def test_broken_access_rules_are_found(watched: Any) -> None:
    watched.page.set_content(PAGE.format(ink="#333"))
    assert broken_rules(watched.page) == []
    watched.page.set_content(PAGE.format(ink="#ccc").replace("<label>Heading", "<label></label>"))
    assert {name for name, _ in broken_rules(watched.page)} == {"color-contrast", "label"}


def test_an_empty_page_is_no_good_page(watched: Any) -> None:
    watched.page.set_content("<p>nothing</p>")
    with pytest.raises(AssertionError):
        broken_rules(watched.page)


def look(page: Any, address: str, path: str) -> None:
    page.goto(f"{address}{path}")
    if path.startswith(DRIVEN):
        page.wait_for_selector("#clock:has-text(':')")
        until(page, "globalThis.lubberline?.frame() != null")
        # The drawings follow their size with the next frame, and their size the styles.
        page.wait_for_load_state()
        page.wait_for_timeout(150)
        until(page, ALL_LEGIBLE)
    elif path.startswith(DRAWN):
        until(page, "document.querySelector('#view-here > *, #chart-ledger canvas, .choosing main') !== null")
    assert too_small(page) == [], path
    assert crowded(page) == [], path
    assert too_wide_px(page) <= 0, path


@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_letters_can_be_read_and_nothing_is_wider_than_the_screen(
    watched: Any, served: str, size: Any
) -> None:
    watched.page.set_viewport_size(size)
    for path in ("scenes", "lessons", "school/people"):
        look(watched.page, served, path)


def test_the_head_takes_little_of_a_phone(watched: Any, served: str) -> None:
    page = watched.page
    page.set_viewport_size(PHONE)
    page.goto(f"{served}results")
    assert page.evaluate("document.querySelector('body > header').offsetHeight") <= 0.18 * PHONE["height"]
    links = "[...document.querySelectorAll('.doors a, .rooms a, .start')].map((one) => one.offsetHeight)"
    assert min(page.evaluate(links)) >= 24


SECRET = "a phone of the walk"


@pytest.fixture(scope="module")
def full_school() -> Iterator[str]:
    """The address of a school with the demo class in it, and a lesson that twelve have joined."""
    school = open_school("memory")
    school.demo.add(demo_term())
    sitting = begun(school)
    for number in range(12):
        school.sittings.enter(sitting.id, f"Student {number}", "", join.digest(f"{SECRET} {number}"))
    school.bin.delete("class", school.people.add_group("Old").id)
    server = AppServer(lambda: create_app(school=school))
    yield server.address
    server.stop()
    school.close()


@pytest.mark.acceptance
@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_letters_of_every_page_can_be_read(plainly_watched: Any, full_school: str, size: Any) -> None:
    page = plainly_watched.page
    page.set_viewport_size(size)
    paths = [*ROOMS, *MORE]
    shapes: dict[str, str] = {}
    for start in ("results", "sittings", "lessons", "aircraft", "questions", "school/people", "school/bin"):
        page.goto(f"{full_school}/{start}")
        for link in page.eval_on_selector_all("main a[href^='/']", "all => all.map((one) => one.pathname)"):
            # One of each kind: ids and names of aircraft and lessons differ.
            shape = re.sub(r"[a-z0-9]{14}|zz-[a-z]+|\d_[a-z_]+", "ID", link)
            if not re.search(r"\.[a-z]+$", shape) and link not in paths:
                shapes.setdefault(shape, link)
    page.goto(f"{full_school}/teach")
    (lesson,) = page.eval_on_selector_all(".cl-going a", "all => all.map((one) => one.pathname)")
    id = lesson.rpartition("/")[2]
    page.context.add_cookies([{"name": join.COOKIE, "value": f"{SECRET} 5", "url": full_school}])
    paths += [*shapes.values(), lesson, f"{lesson}/projector", f"/class/{id}"]
    assert len(shapes) >= 8, shapes
    for path in paths:
        look(page, full_school, path)


@pytest.mark.parametrize(
    "ids",
    [("trace-rate", "compass-read-the-window"), pytest.param(tuple(models()), marks=pytest.mark.acceptance)],
    ids=["figures", "all"],
)
def test_a_paper_and_its_marks_can_be_read_on_a_phone(
    browser: Any, tmp_path: Path, ids: tuple[str, ...]
) -> None:
    server = ClassServer(f"sqlite:///{tmp_path / 'school.sqlite3'}")
    school = server.school
    asked = tuple(Asked(f"Q{k}", generate(models()[id], 3)) for k, id in enumerate(ids, start=1))
    sitting = school.sittings.add(school.people.add_group("Spring").id, "paper", "Drift", asked)
    page = browser.new_page(viewport=PHONE)
    page.goto(f"{server.address}/join?code={sitting.code}")
    page.fill("#name", "Ada")
    page.click("button.act")
    page.wait_for_selector(".drawing img")
    assert too_small(page) == []
    assert too_wide_px(page) <= 0
    (place,) = school.sittings.places(sitting.id)
    school.answers.put_all([Answer(sitting.id, place.student, one.key) for one in asked])
    school.sittings.move(sitting.id, closed=True, phase="shown")
    page.reload()
    page.wait_for_selector("#marks .drawing img")
    assert too_small(page) == []
    assert too_wide_px(page) <= 0
    page.close()
    server.end()


@pytest.mark.acceptance
@pytest.mark.parametrize("id", TWO)
def test_no_dial_of_two_aircraft_lies_over_another(plainly_watched: Any, served: str, id: str) -> None:
    page = plainly_watched.page
    page.set_viewport_size(LAPTOP)
    page.goto(f"{served}bench?bench=small-{id.replace('_', '-')}&scene={id}")
    until(page, "globalThis.lubberline?.frame()?.second != null")
    # A caption, or the legend of a ghost, may still come in.
    page.wait_for_timeout(500)
    until(page, ALL_LEGIBLE)
    assert page.evaluate(OVERLAPS, FACES) == []
    page.evaluate("document.querySelector('.dial-compass').style.translate = '0 -5rem'")
    assert page.evaluate(OVERLAPS, FACES)
