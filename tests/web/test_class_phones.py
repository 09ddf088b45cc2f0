"""Phones of a lesson in real browsers: lost networks, two tabs, no sockets, late views, a finger."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from lubberline.classroom.lessons.order import orders_of
from lubberline.classroom.records import Sitting
from tests.web.class_server import ClassServer, Room, class_room, heads, press, says, turn
from tests.web.test_browser import until

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser

# A line that never opens by itself, and keeps what is said over it.
UNOPENED = """window.said = [];
window.WebSocket = class {
    readyState = 0;
    constructor() { window.line = this; }
    send(words) { said.push(words); }
};"""


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ClassServer]:
    started = ClassServer(f"sqlite:///{tmp_path_factory.mktemp('class') / 'school.sqlite3'}")
    yield started
    started.end()


@pytest.fixture
def room(browser: Browser, server: ClassServer) -> Iterator[Room]:
    with class_room(browser, server) as made:
        yield made


@pytest.fixture
def sitting(room: Room) -> Sitting:
    return room.sitting


def test_lost_networks_sleeping_phones_two_tabs_and_a_new_server(room, server, sitting):
    school = server.school
    phone, other = room.phone("Ada"), room.phone("Ben")
    school.sittings.move(sitting.id, step=1, phase="open")
    heads(phone, "Fifteen minutes")
    # Without a network an answer waits in the page, and even its closing does not lose it.
    phone.context.set_offline(True)
    phone.focus(".turn")
    phone.keyboard.press("PageUp")
    phone.click("text=Send the answer")
    says(phone, ".cl-state", "Not sent yet")
    says(phone, "#line", "Not sent yet (1)")
    assert school.answers.of_sitting(sitting.id) == ()
    phone.context.set_offline(False)
    says(phone, ".cl-state", "Saved.")
    (first,) = school.answers.of_sitting(sitting.id)
    assert first.value == 10.0

    # A second tab of the same browser is the same student, and both tabs agree.
    tab = phone.context.new_page()
    tab.goto(phone.url)
    says(tab, ".read", "010")
    turn(tab, 2)
    phone.wait_for_timeout(3200)
    tab.reload()
    says(phone, ".read", "002")
    assert [one.value for one in school.answers.of_sitting(sitting.id)] == [2.0]
    assert len(school.sittings.places(sitting.id)) == 2

    # Away and back again, by the browser's button.
    phone.goto(f"{server.address}/join")
    phone.go_back()
    says(phone, ".read", "002")

    # The server goes away with an answer on its way, and comes back.
    server.stop()
    other.focus(".turn")
    other.keyboard.press("PageDown")
    other.click("text=Send the answer")
    says(other, ".cl-state", "Not sent yet")
    server.start()
    says(other, ".cl-state", "Saved.")
    assert sorted(one.value for one in school.answers.of_sitting(sitting.id)) == [2.0, 350.0]

    # A sleeping phone that wakes after the closing is told; somebody who comes late is in at once.
    school.sittings.move(sitting.id, phase="closed")
    late = room.phone("Cleo")
    heads(late, "Fifteen minutes")
    says(late, ".cl-state", "Answers are closed")
    says(other, ".cl-state", "Saved. Answers are closed")

    # An answer that comes after the closing is not taken, and the student is told so.
    school.sittings.move(sitting.id, phase="open")
    says(late, "body", "Send the answer")
    late.context.set_offline(True)
    school.sittings.move(sitting.id, phase="closed")
    # By its own clock too it was given after the closing.
    late.wait_for_timeout(300)
    late.focus(".turn")
    late.keyboard.press("PageUp")
    late.click("text=Send the answer")
    late.context.set_offline(False)
    says(late, ".cl-state", "Not accepted: ")
    assert len(school.answers.of_sitting(sitting.id)) == 2


def test_what_waits_moves_nothing_on_a_phone(room, sitting, server):
    lead, phone = room.lead(), room.phone("Ada")
    press(lead, "Start the lesson")
    press(lead, "Next step")
    phone.wait_for_selector("svg.turn[tabindex='0']")
    top = "document.querySelector('svg.turn').getBoundingClientRect().top"
    was = phone.evaluate(top)
    phone.context.route("**/answer*", lambda route: route.abort())
    phone.locator("svg.turn").press("PageUp")
    phone.locator("button.act").click()
    phone.wait_for_selector("#line:not(:empty)")
    assert "Not sent yet (1)" in phone.text_content("#line")
    assert phone.evaluate(top) == was


def test_a_browser_without_sockets_asks_by_itself(room, server, sitting):
    phone = room.page("/join")
    phone.context.add_init_script("delete window.WebSocket")
    phone.fill("#code", sitting.code)
    phone.fill("#name", "Ada")
    phone.click("button.act")
    heads(phone, "You are in")
    server.school.sittings.move(sitting.id, step=1, phase="open")
    heads(phone, "Fifteen minutes")
    turn(phone, 4)
    assert [one.value for one in server.school.answers.of_sitting(sitting.id)] == [4.0]


def test_an_answer_sent_before_the_line_is_open_is_not_called_unsent_over_it(room, server, sitting):
    phone = room.page("/join")
    phone.context.add_init_script(UNOPENED)
    phone.fill("#code", sitting.code)
    phone.fill("#name", "Ada")
    phone.click("button.act")
    server.school.sittings.move(sitting.id, step=4, phase="open")
    phone.locator(".cl-option").nth(0).click()
    says(phone, ".cl-state", "Saved.")
    # With the answer itself the phone had said that one waits.
    phone.evaluate("line.readyState = 1; line.onopen()")
    assert phone.evaluate("said") == ['{"waiting":0}']


def test_a_view_that_is_older_than_an_answer_takes_nothing_back(room, server, sitting):
    phone = room.page("/join")
    phone.context.add_init_script("delete window.WebSocket")
    server.school.sittings.move(sitting.id, step=4, phase="open")
    phone.fill("#code", sitting.code)
    phone.fill("#name", "Ada")
    phone.click("button.act")
    phone.locator(".cl-option").nth(0).click()
    says(phone, ".cl-state", "Saved.")
    # From here on the page hears nothing new of the class.
    phone.route("**/state*", lambda route: route.abort())
    phone.locator(".cl-option").nth(1).click()
    until(phone, "document.querySelector('.cl-state').dataset.state === 'kept'")
    phone.wait_for_timeout(3500)
    assert phone.locator(".cl-option input").nth(1).is_checked()
    # The first one can be chosen anew: were it shown as chosen, a press on it would do nothing.
    phone.locator(".cl-option").nth(0).click()
    until(phone, "document.querySelector('.cl-state').dataset.state === 'kept'")
    first, second, _ = orders_of(sitting)["step-5"]
    assert [one.chosen for one in server.school.answers.trail(sitting.id)] == [first, second, first]


def test_a_finger_turns_the_card_about_its_middle(room, server, sitting):
    phone = room.phone("Ada")
    server.school.sittings.move(sitting.id, step=1, phase="open")
    phone.wait_for_selector(".turn")
    box = phone.locator(".turn").bounding_box()
    across, middle = box["x"] + box["width"] / 2, box["y"] + box["height"] * 118 / 232
    reach = box["width"] * 0.4
    phone.mouse.move(across, middle - reach)
    phone.mouse.down()
    phone.mouse.move(across - reach * 0.7071, middle - reach * 0.7071, steps=4)
    phone.mouse.move(across - reach, middle, steps=4)
    phone.mouse.up()
    # A quarter turn to the left brings east under the lubber line.
    assert phone.text_content(".read") == "090"
    assert phone.get_attribute(".turn", "aria-valuetext") == "090 degrees"
