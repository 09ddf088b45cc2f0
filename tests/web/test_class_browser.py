"""A whole lesson in real browsers: a projector, an instructor and twelve phones."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from lubberline.classroom.lessons.order import orders_of
from lubberline.classroom.records import Sitting
from lubberline.web import passphrase
from tests.web.access import broken_rules
from tests.web.class_server import ClassServer, Room, class_room, heads, press, says, turn
from tests.web.letters import too_small
from tests.web.test_browser import until

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

NAMES = ("Ada", "Ben", "Cleo", "Dov", "Eva", "Finn", "Gita", "Hal", "Ines", "Jon", "Kim", "Lou")
# Two are right; two think that nothing drifts, one that it is the same everywhere, one that it rises.
TURNS = (357, 0, 0, 356, 3, 357)
CHOSEN = (0, 0, 1, 1, 2, 0)
NO_DRIFT = "A good heading indicator doesn't drift"


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


# Six phones here, twelve among the long runs: every belief is held by as many more.
@pytest.mark.parametrize("many", [1, pytest.param(2, marks=pytest.mark.acceptance)])
def test_a_whole_lesson(room, server, sitting, many):
    lead, projector = room.lead(), room.projector()
    says(projector, ".cl-code", sitting.code)
    count = many * len(TURNS)
    phones = [room.phone(name) for name in NAMES[:count]]
    says(projector, ".cl-joined", f"{count} in class")
    bugs = projector.locator(".waiting .bug")
    taken = {bugs.nth(at).get_attribute("transform") for at in range(count)}
    places = {int(phone.locator(".cl-place strong").text_content()) for phone in phones}
    assert {f"rotate({deg})" for deg in places} == taken
    assert len(taken) == count
    press(lead, "Start the lesson")
    for page in (projector, phones[0], lead):
        heads(page, "One rule for this hour")

    press(lead, "Next step")
    heads(projector, "Fifteen minutes at 45 north")
    for phone, deg in zip(phones, TURNS * many, strict=True):
        turn(phone, deg)
    says(projector, ".cl-count", f"{count} of {count}")
    says(lead, ".in-class", f"{count} of {count} have answered")
    # While the question is open the class sees how many, not what.
    assert projector.locator(".cl-spreads").count() == 0
    for words in ("NOTES-FOR-ONE", "WHY-IT-IS-SO", "Correct"):
        assert words not in projector.content()
    # A change before closing counts, and counts once.
    turn(phones[0], 356)
    turn(phones[0], 357)

    press(lead, "Close answers")
    says(phones[3], ".cl-state", "Answers are closed")
    until(projector, "document.querySelector('.cl-asked .rose') !== null")
    label = projector.get_attribute(".cl-asked .rose", "aria-label")
    assert label == f"Answers by direction: 000: {2 * many}, 005: {many}, 355: {3 * many}"
    assert projector.locator(".truth-pointer").count() == 0
    assert len(server.school.answers.of_sitting(sitting.id)) == count

    press(lead, "Next step")
    says(projector, ".cl-ghosts", NO_DRIFT)
    assert [row.inner_text().split("\n")[-1] for row in projector.locator(".cl-ghosts .meta").all()] == [
        f"{2 * many} of you", f"{many} of you", f"{many} of you",
    ]  # fmt: skip
    press(lead, "Play")
    until(projector, "(f => f && f.paused && Math.abs(f.time_s - 900) < 0.06)(lubberline.frame())", 60.0)
    frame = projector.evaluate("lubberline.frame()")
    ghosts = {ghost["id"]: ghost["indicated_deg"] for ghost in frame["ghosts"]}
    # What the bench shows is what the item holds as right and as each idea's answer.
    names = projector.locator(".proj-heading text").all_text_contents()
    assert {"no drift", "same everywhere", "high in the north"} <= set(names)
    assert projector.locator("#dials [stroke='']").count() == 0, "a colour that the page does not have"
    item = sitting.asked[0].item
    assert frame["shown"]["indicated_deg"] == pytest.approx(item.answer, abs=0.05)
    assert ghosts == {slip.misconception: pytest.approx(slip.value, abs=0.05) for slip in item.slips}
    assert phones[1].locator(".cl-told").count() == 0

    press(lead, "Show the result")
    says(phones[0], ".cl-verdict", "Right.")
    for k in (1, 2):
        says(phones[k], ".cl-told", NO_DRIFT)
        says(phones[k], ".cl-told", "the right answer is 357.3")
    says(phones[4], ".cl-told", "higher and higher")
    assert "higher and higher" not in phones[1].content()
    assert phones[1].get_attribute(".turn.still", "aria-label") == "Correct: 357 degrees; yours: 000 degrees"
    says(projector, ".cl-played", "357")

    press(lead, "Next step")
    heads(phones[0], "The ground turns")
    # Beside the explanation stands the instrument, as the reveal left it, and a name in the text is pressed.
    assert projector.locator("#bench-here").is_visible()
    # No cutaway can be drawn in this browser: the dials have its room.
    room, dials = (f"document.querySelector('#{id}').clientWidth" for id in ("bench-here", "dials"))
    until(projector, f"{dials} > 0.9 * {room}")
    assert projector.evaluate("lubberline.frame().time_s") == pytest.approx(900.0, abs=0.06)
    projector.click(".cl-part")
    assert projector.get_attribute(".cl-part", "aria-pressed") == "true"
    assert phones[0].locator(".cl-part").count() == 0
    press(lead, "Next step")
    order = orders_of(sitting)["step-5"]
    for phone, own in zip(phones, CHOSEN * many, strict=True):
        phone.locator(".cl-option").nth(order.index(own)).click()
        says(phone, ".cl-state", "Saved.")
    press(lead, "Close answers")
    until(projector, "document.querySelectorAll('.cl-tally li').length === 3")
    counts = [
        count.removesuffix(f" of {len(phones)}")
        for count in projector.locator(".cl-tally .cl-count").all_inner_texts()
    ]
    assert [int(counts[place]) for place in (order.index(own) for own in range(3))] == [
        3 * many,
        2 * many,
        many,
    ]
    press(lead, "Next step")
    says(projector, ".cl-ghosts", "finds north by itself")
    press(lead, "Play")
    until(projector, "(f => f && f.paused && Math.abs(f.time_s - 60) < 0.06)(lubberline.frame())", 60.0)
    press(lead, "Show the result")
    says(phones[4], ".cl-told", "finds north by itself")

    press(lead, "Next step")
    until(phones[0], "document.querySelectorAll('.cl-question').length === 3")
    for phone in phones[:3]:
        choices, number, more = phone.locator(".cl-question").all()
        for question in (choices, more):
            question.locator(".cl-option").first.click()
        number.locator("input").fill("4,5")
        number.locator("button.act").click()
        until(phone, "document.querySelectorAll('.cl-state[data-state=kept]').length === 3")
    says(projector, ".cl-count", f"3 of {count}")
    assert [one.value for one in server.school.answers.of_sitting(sitting.id) if one.key == "step-7-2"] == [
        4.5
    ] * 3
    press(lead, "Close answers")
    says(projector, ".cl-numbers", "3 of 3")
    press(lead, "Show the right answers")
    until(phones[0], "document.querySelectorAll('.cl-told').length === 3")
    says(phones[5], ".cl-verdict", "You gave no answer")
    says(lead, "#to-come", "Next steps")
    press(lead, "Next step")
    says(lead, "#next", "End the lesson")
    assert lead.locator("#to-come").count() == 0, "a heading over nothing"
    press(lead, "End the lesson")
    for page in (projector, phones[0], phones[-1]):
        heads(page, "The lesson is over")
    kept = server.school.answers.of_sitting(sitting.id)
    assert len(kept) == len({(one.student, one.key) for one in kept}) == count + count + 9
    assert server.school.sittings.sitting(sitting.id).closed_utc


def test_the_space_bar_does_what_comes_next_whatever_was_clicked_before(room, server, sitting):
    lead = room.lead()
    press(lead, "Start the lesson")
    press(lead, "Next step")
    press(lead, "Close answers")
    says(lead, "#next", "Next step")
    lead.click("[data-act=open]")
    press(lead, "Close answers")
    says(lead, "#next", "Next step")
    assert server.school.sittings.sitting(sitting.id).step == 1
    # A presenter's key does, too, and the button that was clicked is not pressed once more.
    lead.click("[data-act=back]")
    says(lead, ".cl-now .meta", "1 of")
    lead.keyboard.press("PageDown")
    says(lead, ".cl-now .meta", "2 of")
    says(lead, "#next", "Close answers")
    lead.click("#theme")
    lead.keyboard.press("Space")
    says(lead, "#next", "Next step")


# The dark one is among the long runs.
@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.acceptance)])
def test_every_page_can_be_used_by_everybody(room, server, sitting, scheme):
    school = server.school
    for number in range(11):
        school.sittings.enter(sitting.id, f"Student {number}")
    passphrase.set_passphrase(school, "words for a test")
    looked: list[str] = []

    def look(page: Page, name: str) -> None:
        assert broken_rules(page) == [], name
        assert too_small(page) == [], name
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0, f"{name} is wider than its screen"
        if page.locator(".projfoot").count():
            high = page.evaluate("document.documentElement.scrollHeight - innerHeight")
            assert high <= 0, f"nobody scrolls a projector, and {name} is higher than its screen"
        looked.append(name)

    options = {"color_scheme": scheme}
    page = room.page("/login", **options)
    look(page, "login")
    passphrase.set_passphrase(school, "")
    page.goto(f"{server.address}/teach")
    look(page, "teach")
    page.goto(f"{server.address}/join")
    look(page, "join")
    phone = room.phone("Ada", **options)
    lead = room.page(f"/teach/{sitting.id}", **{**options, "viewport": {"width": 1366, "height": 768}})
    screen = room.page(
        f"/teach/{sitting.id}/projector", **{**options, "viewport": {"width": 1366, "height": 768}}
    )
    # The rose of the waiting room has everybody on it.
    until(screen, "document.querySelectorAll('.waiting .bug').length === 12")
    for page in (phone, lead, screen):
        look(page, "joining")
    for step, phase in ((1, "open"), (1, "closed"), (2, "shown"), (6, "shown")):
        school.sittings.move(sitting.id, step=step, phase=phase)
        for page in (phone, lead, screen):
            place = page.locator("#view-here h1")
            place.filter(has_text=re.compile(".")).wait_for()
            page.wait_for_timeout(350)
            look(page, f"step {step} {phase}")
        if (step, phase) == (1, "open"):
            turn(phone, 0)
    assert len(looked) == 18


def test_a_countdown_shows_the_time_and_closes_only_when_it_was_asked_to(room, server, sitting):
    lead, projector, phone = room.lead(), room.projector(), room.phone("Ada")
    school = server.school
    school.sittings.move(sitting.id, step=1, phase="open")
    says(lead, ".cl-silent", "Ada")
    lead.click("[data-count='90']")
    for page, place in ((projector, ".cl-clock"), (phone, ".cl-left"), (lead, ".cl-left")):
        says(page, place, "1:2")
    school.sittings.count_down(sitting.id, 1.0)
    for page, words in ((phone, "Time is up"), (lead, "Time is up"), (projector, "0:00")):
        until(page, f"document.querySelector('.cl-left, .cl-clock')?.textContent.includes({words!r})")
    assert school.sittings.sitting(sitting.id).phase == "open"
    turn(phone, 4)
    lead.click("[data-count='0']")
    lead.check("#closes")
    lead.click("[data-count='30']")
    until(lead, "document.querySelector('#closes')?.disabled === true")
    assert school.sittings.sitting(sitting.id).closes_utc
    # It closes by itself, whoever has the lesson open.
    lead.close()
    school.sittings.count_down(sitting.id, 1.0, closes=True)
    says(phone, ".cl-state", "Saved. Answers are closed")
    assert projector.locator(".cl-clock").count() == 0


def test_the_projectors_words_are_as_large_as_fits(room, server, sitting):
    screen = room.projector()
    server.school.sittings.move(sitting.id, step=4, phase="open")
    heads(screen, "The aircraft turns")
    size = "document.getElementById('view-here').style.fontSize"
    until(screen, f"parseFloat({size}) === 1")
    screen.set_viewport_size({"width": 1280, "height": 620})
    until(screen, f"document.documentElement.scrollHeight <= innerHeight && parseFloat({size}) <= 1")
