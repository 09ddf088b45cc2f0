"""A whole sitting in browsers: an instructor, three phones, a lost network; every page checked for access."""

import re
from collections.abc import Iterator
from typing import Any, NamedTuple

import pytest

from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from tests.web.access import broken_rules
from tests.web.app_server import AppServer
from tests.web.caller import Caller
from tests.web.papers import opened
from tests.web.test_browser import SIZES, until

pytestmark = pytest.mark.browser


class Running(NamedTuple):
    """A served school."""

    school: School
    base: str


@pytest.fixture(scope="module")
def running() -> Iterator[Running]:
    school = open_school("memory")
    app = create_app(school=school)
    Caller(app).post("/school/demo", data={"do": "add"})
    server = AppServer(lambda: app)
    yield Running(school, server.address)
    server.stop()
    school.close()


def phone(browser: Any, complaints: list[str], **options: Any) -> Any:
    width, height = SIZES["phone"]
    page = browser.new_context(viewport={"width": width, "height": height}, **options).new_page()
    page.set_default_timeout(30_000)
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    return page


def join(page: Any, base: str, code: str, name: str) -> None:
    page.goto(f"{base}/join?code={code}")
    page.fill("input[name=name]", name)
    page.keyboard.press("Enter")
    page.wait_for_selector("#paper")


def answers(running: Running, sitting: str, name: str) -> dict[str, tuple[int, float | None]]:
    names = {
        one.id: one.name
        for group in running.school.people.groups()
        for one in running.school.people.students(group.id)
    }
    given = running.school.answers.of_sitting(sitting)
    return {one.key: (one.chosen, one.value) for one in given if names[one.student] == name}


def begun(page: Any, base: str) -> tuple[str, str]:
    """A sitting made by hand on the page: its id and its code."""
    page.goto(f"{base}/sittings/new")
    page.select_option("#group", "")
    page.fill("#new_group", "Evening class")
    page.fill("#title", "Mock paper")
    page.fill("#minutes", "30")
    page.fill("#forms", "A, B")
    page.click("text=Open the sitting")
    page.wait_for_selector(".code")
    return page.url.rpartition("/")[2], page.text_content(".code").replace(" ", "")


def test_a_whole_sitting_with_three_phones(browser: Any, running: Running) -> None:
    complaints: list[str] = []
    desk = browser.new_context(viewport={"width": 1366, "height": 768}).new_page()
    desk.set_default_timeout(30_000)
    sitting, code = begun(desk, running.base)
    phones = [phone(browser, complaints) for _ in range(3)]
    for page, name in zip(phones, ("Ada", "Bo", "Cy"), strict=True):
        join(page, running.base, code, name)
    ada, bo, cy = phones
    forms = [page.text_content("h1").rpartition(" ")[2] for page in phones]
    assert forms == ["A", "B", "A"], "neighbours are dealt other forms"

    first = ada.locator(".asked-one").nth(0)
    first.locator(".choice").nth(1).click()
    until(ada, "document.querySelector('.asked-one .state').textContent === 'saved'")
    assert answers(running, sitting, "Ada") == {"A1": (1, None)}
    # The network goes: an answer waits, is said to wait, outlives the page, and is kept once it is back.
    bo.context.set_offline(True)
    bo.locator(".asked-one").nth(0).locator(".choice").nth(0).click()
    until(bo, "document.getElementById('kept').textContent.includes('Not sent yet (1)')")
    assert bo.locator(".asked-one .state").nth(0).text_content() != "saved"
    assert answers(running, sitting, "Bo") == {}
    bo.context.set_offline(False)
    bo.reload()
    until(bo, "document.querySelector('.asked-one .state').textContent === 'saved'")
    assert answers(running, sitting, "Bo") == {"B1": (0, None)}
    # By keyboard alone, and number by number, one question at a time.
    cy.locator("#single").focus()
    cy.keyboard.press("Space")
    assert cy.locator(".asked-one:visible").count() == 1
    number = int(
        re.search(r"\d+", cy.locator(".asked-one:has(input[type=text]) legend").first.text_content())[0]
    )  # type: ignore[index]
    for _ in range(number - 1):
        cy.locator("#after").click()
    field = cy.locator(".asked-one:visible input[type=text]")
    field.press_sequentially("12,5")
    until(cy, f"document.getElementById('s-A{number}').textContent === 'saved'")
    field.press("Enter")
    assert cy.locator("#paper").count() == 1, "Enter does not hand in"
    assert answers(running, sitting, "Cy") == {f"A{number}": (-1, 12.5)}
    # Two tabs of one browser are one student.
    second = ada.context.new_page()
    second.goto(ada.url)
    assert second.locator("#q-A1 input:checked").get_attribute("value") == "1"
    assert len(running.school.sittings.places(sitting)) == 3

    until(desk, "document.querySelectorAll('#roll tbody tr').length === 3")
    ada.click("#hand-in")
    ada.wait_for_selector("#ending")
    ada.click("text=Hand in anyway")
    ada.wait_for_selector(".answered")
    until(desk, "document.querySelector('#roll').textContent.includes('handed in')")
    # Two have not handed in: closing asks first.
    desk.once("dialog", lambda asked: asked.accept())
    desk.click("text=Close")
    desk.wait_for_selector("text=Show students their marks")
    desk.click("text=Show students their marks")
    desk.wait_for_selector("text=Hide the marks from students")
    ada.reload()
    assert "Question 1:" in ada.text_content("main")
    assert ada.locator(".mending").count() == len(
        re.findall(
            "^A", "\n".join(one.key for one in running.school.sittings.sitting(sitting).asked), re.MULTILINE
        )
    )
    assert all("ERR_INTERNET_DISCONNECTED" in said for said in complaints), complaints
    for page in (*phones, desk):
        page.context.close()


def test_a_paper_is_typed_in_by_keyboard_alone(browser: Any, running: Running) -> None:
    sitting = opened(running.school, on_paper=True)
    ada = running.school.people.add_student(sitting.group, "Ada").id
    running.school.sittings.add_place(sitting.id, ada, "A")
    page = browser.new_context(viewport={"width": 1366, "height": 768}).new_page()
    page.goto(f"{running.base}/sittings/{sitting.id}/type/{ada}")
    until(page, "document.documentElement.dataset.script === 'on'")
    # A letter goes on by itself, a number by Enter; the last field leads to the button.
    page.keyboard.type("bc")
    page.keyboard.type("12")
    page.keyboard.press("Enter")
    page.keyboard.type("274")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(rf"/sittings/{sitting.id}\?done=typed"))
    assert answers(running, sitting.id, "Ada") == {
        "A1": (1, None),
        "A2": (2, None),
        "A3": (-1, 12.0),
        "A4": (-1, 274.0),
    }
    page.context.close()


def addresses(running: Running) -> list[str]:
    """Every page of these rooms, alive."""
    group = running.school.demo.find()
    assert group
    student = running.school.people.students(group.id)[2].id
    sat = next(one for one in running.school.sittings.listing(group.id) if one.on_paper)
    given = opened(running.school, minutes=20.0)
    typed = opened(running.school, on_paper=True)
    ada = running.school.people.add_student(typed.group, "Ada").id
    running.school.sittings.add_place(typed.id, ada, "A")
    return [
        "/sittings",
        "/sittings/new",
        f"/sittings/{given.id}",
        f"/sittings/{sat.id}",
        f"/sittings/{typed.id}",
        f"/sittings/{typed.id}/type/{ada}",
        f"/sittings/{sat.id}/students/{student}",
        f"/results?group={group.id}",
        f"/results/student/{student}",
        f"/results/items?group={group.id}&sitting={sat.id}",
        f"/results/readiness?group={group.id}",
        "/school",
        "/school/people",
        "/school/records",
        "/sittings/none-such",
    ]


# The dark one is among the long runs.
@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.acceptance)])
def test_axe_finds_nothing(browser: Any, running: Running, scheme: str) -> None:
    size = {"width": 1366, "height": 768} if scheme == "light" else {"width": 390, "height": 844}
    context = browser.new_context(viewport=size, color_scheme=scheme)
    page = context.new_page()

    def check(what: str) -> None:
        page.evaluate("document.querySelectorAll('details').forEach(one => (one.open = true))")
        assert broken_rules(page) == [], what
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), what

    for address in addresses(running):
        page.goto(running.base + address)
        check(address)
    sitting = opened(running.school, minutes=20.0)
    join(page, running.base, sitting.code, "Ada")
    check("paper")
    page.click("#hand-in")
    page.wait_for_selector("#ending")
    check("ending")
    page.click("text=Hand in anyway")
    page.wait_for_selector(".answered")
    check("over")
    running.school.sittings.move(sitting.id, closed=True, phase="shown")
    page.reload()
    check("marks")
    context.close()


def test_a_page_older_than_its_last_answer_shows_the_answer_all_the_same(
    browser: Any, running: Running
) -> None:
    sitting = opened(running.school)
    page = phone(browser, [])
    join(page, running.base, sitting.code, "Ada")
    older = page.content()
    page.locator(".asked-one").nth(0).locator(".choice").nth(0).click()
    until(page, "document.querySelector('.asked-one .state').textContent === 'saved'")
    # The page as it was before the answer: what a reload may get that was asked for a moment too soon.
    whole = f"**/sit/{sitting.id}"
    page.route(whole, lambda route: route.fulfill(body=older, content_type="text/html; charset=utf-8"))
    page.reload()
    until(page, "document.querySelector('.asked-one .state').textContent === 'saved'")
    assert page.locator(".asked-one").nth(0).locator("input").nth(0).is_checked()
    assert answers(running, sitting.id, "Ada") == {"A1": (0, None)}
    assert len(running.school.answers.trail(sitting.id)) == 1
    # Another student on the same device is not given them.
    page.unroute(whole)
    page.context.clear_cookies()
    join(page, running.base, sitting.code, "Ben")
    page.wait_for_selector(".asked-one")
    page.wait_for_timeout(500)
    assert page.locator("input:checked").count() == 0
    assert answers(running, sitting.id, "Ben") == {}
    page.context.close()


def test_a_paper_whose_time_ran_out_comes_back_with_extra_time(browser: Any, running: Running) -> None:
    sitting = opened(running.school, minutes=0.02)
    complaints: list[str] = []
    page = phone(browser, complaints)
    join(page, running.base, sitting.code, "Ada")
    page.wait_for_selector(".answered")
    assert "Time is up" in page.text_content("main")
    student = running.school.sittings.places(sitting.id)[0].student
    desk = browser.new_context(viewport={"width": 1366, "height": 768}).new_page()
    desk.goto(f"{running.base}/sittings/{sitting.id}/students/{student}")
    desk.fill("#extra-min", "30")
    desk.click("text=Save the extra time")
    desk.wait_for_selector("text=Extra time saved")
    # Coming back to the page looks at once; left alone it looks every ten seconds.
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    page.wait_for_selector("#q-A1")
    assert re.match(r"Time left (29:5\d|30:0\d)", page.text_content("#left"))
    assert complaints == []
    page.context.close()
    desk.context.close()


def test_a_paper_works_without_script(browser: Any, running: Running) -> None:
    sitting = opened(running.school)
    page = phone(browser, [], java_script_enabled=False)
    join(page, running.base, sitting.code, "Ada")
    page.locator("#q-A1 input").nth(1).check()
    page.locator("#a-A3").fill("7")
    page.click("text=Save my answers")
    page.wait_for_selector(".done")
    assert answers(running, sitting.id, "Ada") == {"A1": (1, None), "A3": (-1, 7.0)}
    page.click("#hand-in")
    page.click("text=Hand in anyway")
    assert "You have handed in" in page.text_content("main")
    page.context.close()
