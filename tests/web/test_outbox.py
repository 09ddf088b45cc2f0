"""The outbox of the pages that send, in a browser, with what may happen between it and the server."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pytest

from lubberline.classroom.lessons.order import orders_of
from lubberline.classroom.records import Sitting
from tests.web.access import broken_rules
from tests.web.class_server import ClassServer, begun
from tests.web.outbox_page import (
    AWAY,
    FOREIGN,
    HTML,
    JSON,
    answering,
    asked_lesson,
    choose,
    given,
    hurry,
    join,
    kept,
    lost,
    says,
    seated,
)
from tests.web.outbox_page import open_page as open_page
from tests.web.outbox_page import paper as paper
from tests.web.outbox_page import server as server
from tests.web.test_browser import until

if TYPE_CHECKING:
    from playwright.sync_api import Page, Route

pytestmark = pytest.mark.browser


# With the least of their chance, doubled up to half a minute; none is a patience of the page's own.
PAUSES_MS = [350, 700, 1400, 2800, 5600, 11_200, 21_000, 21_000]
SHORT_PAUSES = f"""
const later = setTimeout;
window.pauses = [];
Math.random = () => 0;
window.setTimeout = (act, ms) => {{
  const isPause = {PAUSES_MS}.includes(Math.round(ms));
  if (isPause) pauses.push(Math.round(ms));
  return later(act, isPause ? 10 : ms);
}};
"""


# What stands between a device and its server, none of which is the server's word on what was sent.
BETWEEN: dict[str, Callable[[Route], None]] = {
    "no network": lambda route: route.abort(),
    "a reply that is lost": lost,
    "records away": answering(status=503, content_type=JSON, body=json.dumps(AWAY)),
    "a proxy's 404": answering(status=404, content_type=HTML, body="<h1>Not found</h1>"),
    "a captive portal's 200": answering(status=200, content_type=HTML, body="<h1>Welcome</h1>"),
    "a 403": answering(status=403, content_type=HTML, body="no"),
    "JSON of something else": answering(status=200, content_type=JSON, body='{"kept": {"sent": "x"}}'),
    "a word on something else": answering(status=409, content_type=JSON, body=json.dumps(FOREIGN)),
    "a broken program": answering(status=500, content_type=JSON, body="{}"),
}


def test_what_is_chosen_before_the_script_is_there_is_sent_all_the_same(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    page = open_page(f"/join?code={paper.code}")
    held: list[Route] = []
    page.route("**/sit.js", lambda route: held.append(route))
    page.fill("#name", "Ada")
    page.click("button.act", no_wait_after=True)
    page.wait_for_selector("#q-A1")
    choose(page, "A1", 1)
    page.fill("#a-A3", "7")
    for route in held:
        route.continue_()
    says(page, "#given", "2 saved.")
    assert sorted(given(server.school, paper)) == [("A1", 1), ("A3", -1)]


def test_nothing_but_the_servers_own_word_ends_a_sending(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    page = seated(open_page, paper)
    place = page.url
    tries: list[str] = []
    now = BETWEEN["no network"]

    def between(route: Route) -> None:
        tries.append(json.loads(route.request.post_data or "{}")["sent"])
        now(route)

    page.route("**/answer?*", between)
    choose(page, "A1", 1)
    for what, now in BETWEEN.items():  # noqa: B007 - the route reads it
        tries.clear()
        hurry(page)
        for _ in range(100):
            if len(tries) > 1:
                break
            page.wait_for_timeout(30)
            hurry(page)
        assert len(tries) > 1, what
        assert len(set(tries)) == 1, what
        says(page, "#s-A1", "not sent yet")
        says(page, "#kept", "Not sent yet (1)")
        says(page, "#given", "0 saved, 1 not sent yet")
        assert page.url == place, what
        assert [one["what"]["chosen"] for one in kept(page)] == [1], what
    page.unroute("**/answer?*")
    hurry(page)
    says(page, "#s-A1", "saved")
    says(page, "#given", "1 saved.")
    assert page.text_content("#kept") == ""
    assert given(server.school, paper) == [("A1", 1)]
    assert len(server.school.answers.trail(paper.id)) == 1
    assert kept(page) == []


def test_the_pauses_grow_to_half_a_minute_and_begin_anew(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    page = seated(open_page, paper)
    page.add_init_script(SHORT_PAUSES)
    page.reload()
    for key in ("A1", "A2"):
        page.evaluate("pauses.length = 0")
        page.route("**/answer?*", lambda route: route.abort())
        choose(page, key, 1)
        until(page, f"pauses.length >= {len(PAUSES_MS)}")
        assert page.evaluate("pauses")[: len(PAUSES_MS)] == PAUSES_MS
        page.unroute("**/answer?*")
        says(page, f"#s-{key}", "saved")


def test_a_network_that_is_back_during_a_try_is_not_forgotten(
    open_page: Callable[..., Page], paper: Sitting
) -> None:
    page = seated(open_page, paper)
    page.add_init_script(SHORT_PAUSES)
    page.reload()
    tries: list[Route] = []

    def between(route: Route) -> None:
        tries.append(route)
        if len(tries) < len(PAUSES_MS):
            route.abort()

    page.route("**/answer?*", between)
    choose(page, "A1", 1)
    while len(tries) < len(PAUSES_MS):
        page.wait_for_timeout(30)
    hurry(page)
    page.evaluate("pauses.length = 0")
    tries[-1].abort()
    until(page, "pauses.length > 0")
    assert page.evaluate("pauses[0]") == PAUSES_MS[0]


def test_what_waits_outlives_the_page_and_the_last_answer_counts(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    page = seated(open_page, paper)
    page.route("**/answer?*", lost)
    choose(page, "A1", 0)
    says(page, "#kept", "Not sent yet (1)")
    # The first is on its way and was taken: it must not come again after those that follow, each in its turn.
    choose(page, "A1", 1)
    choose(page, "A1", 2)
    choose(page, "A2", 1)
    says(page, "#kept", "Not sent yet (4)")
    assert [one["what"]["chosen"] for one in kept(page)] == [0, 1, 2, 1]
    page.unroute("**/answer?*")
    page.reload()
    says(page, "#given", "2 saved.")
    assert sorted(given(server.school, paper)) == [("A1", 2), ("A2", 1)]
    assert [one.chosen for one in server.school.answers.trail(paper.id)] == [0, 1, 2, 1]


def test_two_tabs_lose_and_double_nothing(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    first = seated(open_page, paper)
    second = first.context.new_page()
    second.goto(first.url)
    first.context.route("**/answer?*", lost)
    choose(first, "A1", 0)
    choose(second, "A2", 1)
    for page in (first, second):
        says(page, "#kept", "Not sent yet (2)")
    # A tab that is closed leaves what it had to the other.
    first.close()
    second.context.unroute("**/answer?*")
    until(second, "document.getElementById('kept').textContent === ''")
    assert sorted(given(server.school, paper)) == [("A1", 0), ("A2", 1)]
    assert len(server.school.answers.trail(paper.id)) == 2
    assert kept(second) == []


def test_typing_is_kept_at_every_stroke_and_sent_once(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    page = seated(open_page, paper)
    page.locator("#a-A3").press_sequentially("27")
    assert [one["what"]["value"] for one in kept(page)] == ["27"]
    page.locator("#a-A3").press_sequentially("4,5")
    says(page, "#s-A3", "saved")
    assert [one.value for one in server.school.answers.trail(paper.id)] == [274.5]
    # What cannot be taken as it is stays, and is said; corrected, it is taken.
    page.locator("#a-A3").fill("north")
    says(page, "#s-A3", "Not saved: 'north' is not a number")
    page.click("#hand-in")
    says(page, "#kept", "Question 3: north is not saved")
    page.locator("#a-A3").fill("12")
    says(page, "#s-A3", "saved")
    assert kept(page) == []


def test_what_is_over_is_said_and_stays_to_be_shown(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    page = seated(open_page, paper)
    page.route("**/state?*", lambda route: route.abort())
    # What was already asked for has been answered before anything closes.
    page.wait_for_timeout(500)
    server.school.sittings.move(paper.id, closed=True)
    page.wait_for_timeout(1100)
    choose(page, "A1", 1)
    says(page, "#told", "Question 1: B was not accepted: it is closed")
    page.unroute("**/state?*")
    page.reload()
    says(page, "#told", "Question 1: B was not accepted: it is closed")
    assert given(server.school, paper) == []
    assert broken_rules(page) == []
    page.click("#told button")
    until(page, "document.getElementById('told').hidden")
    assert kept(page) == []


def test_one_given_in_time_comes_late_and_the_instructor_decides(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    page = seated(open_page, paper)
    page.route("**/answer?*", lambda route: route.abort())
    choose(page, "A1", 1)
    choose(page, "A2", 2)
    says(page, "#kept", "Not sent yet (2)")
    page.wait_for_timeout(1100)
    server.school.sittings.move(paper.id, closed=True)
    page.unroute("**/answer?*")
    hurry(page)
    says(page, "#told", "Question 1: B came late; the instructor will decide.")
    desk = open_page(f"/sittings/{paper.id}")
    says(desk, ".late", "2 answers came late")
    assert broken_rules(desk) == []
    desk.locator(".late li", has_text="A1").locator("text=Accept").first.click()
    desk.wait_for_selector("text=Accepted. They count now")
    says(desk, ".late", "1 answer came late")
    assert given(server.school, paper) == [("A1", 1)]
    desk.locator(".late").locator("text=Reject").click()
    desk.wait_for_selector("text=Not accepted. The answers stay in the history.")
    assert desk.locator(".late").count() == 0
    assert given(server.school, paper) == [("A1", 1)]
    page.reload()
    says(page, "main", "Question 1: B: ")
    says(page, "main", "it was not accepted")


def test_marks_that_are_out_do_not_hide_what_came_late(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    page = seated(open_page, paper)
    page.route("**/answer?*", lambda route: route.abort())
    choose(page, "A1", 1)
    says(page, "#kept", "Not sent yet (1)")
    page.wait_for_timeout(1100)
    server.school.sittings.move(paper.id, closed=True, phase="shown")
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    page.wait_for_selector("#marks")
    # The page with the marks is older than the answer.
    page.unroute("**/answer?*")
    hurry(page)
    says(page, "main", "Question 1: B: ")
    says(page, ".late-own", "came late; the instructor will decide")


def test_handing_in_waits_until_everything_is_sent(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    page = seated(open_page, paper)
    page.route("**/answer?*", lambda route: route.abort())
    page.route("**/hand-in?*", lost)
    choose(page, "A1", 1)
    page.click("#hand-in")
    says(page, "#ending", "have no answer")
    page.click("text=Hand in anyway")
    says(page, "#kept", "The paper is handed in once it is sent")
    assert not server.school.sittings.places(paper.id)[0].ended_utc
    page.unroute("**/answer?*")
    hurry(page)
    says(page, "#kept", "Not handed in yet: no connection")
    page.unroute("**/hand-in?*")
    page.wait_for_selector(".answered")
    assert server.school.sittings.places(paper.id)[0].ended_utc
    assert given(server.school, paper) == [("A1", 1)]


def test_another_student_on_the_device_never_sends_it_as_theirs(
    open_page: Callable[..., Page], server: ClassServer
) -> None:
    lesson = server.school.sittings.move(begun(server.school, "Two on one").id, step=3, phase="open")
    asked = next(one for one in lesson.asked if one.item.options)
    step = int(asked.key.split("-")[1]) - 1
    lesson = server.school.sittings.move(lesson.id, step=step, phase="open")
    page = seated(open_page, lesson, "Ada")
    page.route("**/answer?*", lambda route: route.abort())
    page.locator(".cl-option").first.click()
    says(page, "#line", "Not sent yet (1)")
    page.click("#leave button")
    says(page, "#line", "If you press again")
    page.click("#leave button")
    page.unroute("**/answer?*")
    page.goto(f"{server.address}/join?code={lesson.code}")
    join(page, "Ben")
    says(page, "#who", "Ben")
    page.wait_for_timeout(1500)
    assert server.school.answers.of_sitting(lesson.id) == ()
    (waits,) = kept(page)
    assert waits["fate"] == "waiting"
    # Once the instructor has let the place go, Ada comes back to it, and it is sent.
    ada = next(one.id for one in server.school.people.students(lesson.group) if one.name == "Ada")
    server.school.sittings.release(lesson.id, ada)
    page.context.clear_cookies()
    page.goto(f"{server.address}/join?code={lesson.code}")
    join(page, "Ada")
    says(page, ".cl-state", "Saved")
    assert [(one.student, one.chosen) for one in server.school.answers.of_sitting(lesson.id)] == [
        (ada, orders_of(lesson)[asked.key][0])
    ]


def test_other_records_at_the_same_address_get_nothing(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    page = seated(open_page, paper)
    own = server.school.settings.get("records-id")
    server.school.settings.put("records-id", "another-school")
    choose(page, "A1", 1)
    says(page, "#kept", "This server has other records")
    assert given(server.school, paper) == []
    server.school.settings.put("records-id", own)
    hurry(page)
    says(page, "#s-A1", "saved")
    assert given(server.school, paper) == [("A1", 1)]


def without_sitting(route: Route) -> None:
    sent = json.loads(route.request.post_data or "{}")["sent"]
    gone = {"code": "no-sitting", "where": "sitting", "wrong": "none", "right": "ask", "sent": sent}
    route.fulfill(status=404, content_type=JSON, body=json.dumps({"error": gone}))


def test_a_paper_in_the_bin_ends_nothing(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    page = seated(open_page, paper)
    place = page.url
    binned = server.school.bin.delete("sitting", paper.id)
    choose(page, "A1", 1)
    then = "It stays on this device; ask the instructor."
    says(page, "#kept", f"This device is not in this paper at the moment. {then}")
    # Other records may stand in for it, too, as after a restore.
    page.route("**/answer?*", without_sitting)
    hurry(page)
    says(page, "#kept", f"The server no longer has this paper. {then}")
    page.unroute("**/answer?*")
    says(page, "#s-A1", "not sent yet")
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    page.wait_for_timeout(300)
    assert page.url == place
    assert page.locator("#paper").count() == 1
    assert [one["fate"] for one in kept(page)] == ["waiting"]
    server.school.bin.bring_back(binned.id)
    hurry(page)
    says(page, "#s-A1", "saved")
    # What is saved has a place: at once, not only at the next look.
    assert page.text_content("#kept") == ""
    assert [one.chosen for one in server.school.answers.trail(paper.id)] == [1]
    assert kept(page) == []


@pytest.mark.parametrize("kind", ["sitting", "student"])
def test_a_lesson_or_a_student_in_the_bin_ends_nothing(
    open_page: Callable[..., Page], server: ClassServer, kind: Any
) -> None:
    lesson, key = asked_lesson(server, f"A {kind} in the bin")
    page = seated(open_page, lesson)
    place = page.url
    (student,) = server.school.people.students(lesson.group)
    binned = server.school.bin.delete(kind, lesson.id if kind == "sitting" else student.id)
    # Over its line the page hears of it, and stays.
    words = "This device is not in this lesson at the moment"
    says(page, "#line", f"{words}; ask the instructor.")
    page.locator(".cl-option").first.click()
    says(page, "#line", f"{words}. It stays on this device; ask the instructor.")
    assert page.url == place
    server.school.bin.bring_back(binned.id)
    hurry(page)
    says(page, ".cl-state", "Saved")
    until(page, "document.getElementById('line').textContent === ''")
    assert [(one.student, one.chosen) for one in server.school.answers.of_sitting(lesson.id)] == [
        (student.id, orders_of(lesson)[key][0])
    ]
    assert len(server.school.answers.trail(lesson.id)) == 1
    # The lesson goes on for it.
    server.school.sittings.move(lesson.id, phase="closed")
    says(page, ".cl-state", "Answers are closed")
    assert page.url == place


def test_without_storage_the_page_says_that_closing_it_loses_them(
    open_page: Callable[..., Page], server: ClassServer, paper: Sitting
) -> None:
    page = seated(open_page, paper)
    page.add_init_script("Storage.prototype.setItem = () => { throw new Error('full'); };")
    page.reload()
    page.route("**/answer?*", lambda route: route.abort())
    choose(page, "A1", 1)
    says(page, "#kept", "closing this page loses it")
    page.unroute("**/answer?*")
    hurry(page)
    says(page, "#s-A1", "saved")
    assert given(server.school, paper) == [("A1", 1)]
