"""What is typed and not sent, in a browser: it outlives a reload, a lost tab and a dead server."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from tests.web.access import broken_rules
from tests.web.class_server import ClassServer
from tests.web.outbox_page import asked_lesson, hurry, join, says, seated
from tests.web.outbox_page import open_page as open_page
from tests.web.outbox_page import server as server
from tests.web.papers import opened
from tests.web.test_browser import until

if TYPE_CHECKING:
    from playwright.sync_api import Page, Route

pytestmark = pytest.mark.browser

HEAD = "time_utc,place,indicated,compass,set_at\n"
NOT_SENT = "Not sent yet: press Send the answer."


def killed(page: Page) -> Page:
    """The same page in a tab of its own, after the first was killed."""
    again = page.context.new_page()
    address = page.url
    page.close()
    again.goto(address)
    until(again, "document.documentElement.dataset.script === 'on'")
    return again


def drafts(page: Page) -> int:
    return int(page.evaluate("Object.keys(localStorage).filter((one) => one.startsWith('draft/')).length"))


def test_a_dial_and_a_number_in_a_lesson_outlive_the_page(
    open_page: Callable[..., Page], server: ClassServer
) -> None:
    lesson, key = asked_lesson(server, "Typed", number=True)
    page = seated(open_page, lesson)
    for stroke in ("PageUp", "ArrowUp"):
        page.locator("[role=slider]").press(stroke)
    says(page, ".cl-state", NOT_SENT)
    page = killed(page)
    says(page, ".cl-state", NOT_SENT)
    assert page.text_content(".read") == "011"
    # The class goes on and comes back: it is still there, and is not taken for an answer.
    server.school.sittings.move(lesson.id, phase="closed")
    says(page, ".cl-state", "This was not sent. Answers are closed.")
    assert server.school.answers.of_sitting(lesson.id) == ()
    server.school.sittings.move(lesson.id, phase="open")
    says(page, ".cl-state", NOT_SENT)
    assert broken_rules(page) == []
    page.click("text=Send the answer")
    says(page, ".cl-state", "Saved")
    assert [(one.key, one.value) for one in server.school.answers.of_sitting(lesson.id)] == [(key, 11.0)]
    assert drafts(page) == 0


def test_a_draft_is_its_own_students(open_page: Callable[..., Page], server: ClassServer) -> None:
    lesson, _ = asked_lesson(server, "Two typing", number=True)
    page = seated(open_page, lesson, "Ada")
    page.locator("[role=slider]").press("PageUp")
    says(page, ".cl-state", NOT_SENT)
    page.click("#leave button")
    page.wait_for_url("**/join")
    page.goto(f"{server.address}/join?code={lesson.code}")
    join(page, "Ben")
    says(page, "#who", "Ben")
    assert page.inner_text(".cl-state") == ""
    assert drafts(page) == 1


def test_a_number_in_a_paper_outlives_the_page_before_its_pause(
    open_page: Callable[..., Page], server: ClassServer
) -> None:
    paper = opened(server.school)
    page = seated(open_page, paper)
    page.context.route("**/answer?*", lambda route: route.abort())
    page.locator("#a-A3").press_sequentially("27")
    page = killed(page)
    assert page.input_value("#a-A3") == "27"
    says(page, "#s-A3", "not sent yet")
    page.context.unroute("**/answer?*")
    hurry(page)
    says(page, "#s-A3", "saved")
    assert [one.value for one in server.school.answers.trail(paper.id)] == [27.0]


def away(route: Route) -> None:
    if route.request.method == "POST":
        route.abort()
    else:
        route.continue_()


@pytest.mark.parametrize(
    ("path", "field", "button"),
    [
        ("/questions/write", "#text", "#preview"),
        pytest.param("/questions/paper", "#text", "#make", marks=pytest.mark.acceptance),
        ("/lessons/2_wander_and_setting", "#text", "text=Save"),
        pytest.param("/aircraft", "#file-text", "text='Add'", marks=pytest.mark.acceptance),
        pytest.param("/aircraft/zz-ash", "#csv-text", "text='Import'", marks=pytest.mark.acceptance),
        pytest.param("/aircraft/zz-ash", "[name=pairs]", "text=Save the swing", marks=pytest.mark.acceptance),
        pytest.param("/aircraft/zz-ash/plan", "#route-text", "#make-plan", marks=pytest.mark.acceptance),
    ],
)
def test_a_long_text_outlives_a_dead_server_and_the_tab(
    open_page: Callable[..., Page], server: ClassServer, path: str, field: str, button: str
) -> None:
    page = open_page(path)
    until(page, "document.documentElement.dataset.script === 'on'")
    page.context.route("**/*", away)
    text = page.input_value(field) + "\n# typed here\n"
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    page.fill(field, text)
    page.locator(button).first.click(no_wait_after=True)
    page.wait_for_timeout(200)
    again = page.context.new_page()
    page.close()
    again.goto(server.address + path)
    assert again.input_value(field) == text
    says(again, "form .warning", "Not saved yet: your text of")
    assert broken_rules(again) == []
    again.click("text=Discard it")
    assert again.input_value(field) != text
    again.reload()
    assert again.locator("form .warning").count() == 0


def test_answers_typed_in_from_paper_outlive_a_dead_server(
    open_page: Callable[..., Page], server: ClassServer
) -> None:
    paper = opened(server.school, on_paper=True)
    student = server.school.people.add_student(paper.group, "Ada")
    server.school.sittings.add_place(paper.id, student.id, "A")
    path = f"/sittings/{paper.id}/type/{student.id}"
    page = open_page(path)
    page.context.route("**/*", away)
    for key, typed in (("A1", "b"), ("A2", "c"), ("A3", "3.50")):
        page.fill(f"#t-{key}", typed)
    page.click("#next", no_wait_after=True)
    page.wait_for_timeout(200)
    again = page.context.new_page()
    page.close()
    again.goto(server.address + path)
    assert [again.input_value(f"#t-{key}") for key in ("A1", "A2", "A3")] == ["B", "C", "3.50"]
    says(again, "form .warning", "Not saved yet: your text of")
    assert broken_rules(again) == []
    again.context.unroute("**/*")
    again.click("#next")
    until(again, f"!location.pathname.endsWith('{student.id}')")
    # What was taken is shown as the server writes it, and is no draft any more.
    again.goto(server.address + path)
    assert again.input_value("#t-A3") == "3.5"
    assert again.locator("form .warning").count() == 0
    assert drafts(again) == 0


def test_a_log_taken_in_is_no_draft_and_a_refused_one_still_is(
    open_page: Callable[..., Page], server: ClassServer
) -> None:
    """The first is in the log, and its box is empty again; the second stands on that one page alone."""
    path, box = "/aircraft/zz-oak", "#csv-text"
    page = open_page(path)
    for text, words in (
        (HEAD + "2026-05-02T10:00Z,N4712.3 E00854.0,273,269,09:50Z\n", "Saved."),
        ("not a log", "the log"),
    ):
        until(page, "document.documentElement.dataset.script === 'on'")
        page.evaluate("document.querySelector('#take-csv').open = true")
        page.fill(box, text)
        page.click("text='Import'")
        says(page, "main", words)
        assert page.input_value(box) == ("" if words == "Saved." else text)
    # The page of the first, which a browser may show again, ends no later draft.
    page = page.context.new_page()
    page.goto(f"{server.address}{path}?done=kept")
    assert page.input_value(box) == "not a log"
