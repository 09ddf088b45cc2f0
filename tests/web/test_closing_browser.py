"""Closing a question or a paper asks first while phones are silent or hold unsent answers."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.web.class_server import ClassServer, begun
from tests.web.papers import opened
from tests.web.test_browser import until

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Dialog

pytestmark = pytest.mark.browser


@pytest.fixture
def server(tmp_path: Path) -> Iterator[ClassServer]:
    started = ClassServer(f"sqlite:///{tmp_path / 'school.sqlite3'}")
    yield started
    started.end()


class Answers:
    """What the person answers to each question of a page, and what was asked."""

    def __init__(self) -> None:
        self.asked: list[str] = []
        self.accepts = False

    def __call__(self, dialog: Dialog) -> None:
        self.asked.append(dialog.message)
        if self.accepts:
            dialog.accept()
        else:
            dialog.dismiss()


def test_a_question_is_not_closed_over_silent_phones_unasked(browser: Browser, server: ClassServer) -> None:
    sitting = begun(server.school)
    server.school.sittings.move(sitting.id, step=1, phase="open")
    lead, answers = browser.new_page(), Answers()
    lead.add_init_script("delete window.WebSocket")
    lead.on("dialog", answers)

    def with_a_silent_phone(route: Any) -> None:
        contact = {"away": "", "words": "", "silent": ["Ada"], "waiting": 2}
        route.fulfill(json={**route.fetch().json(), "contact": contact})

    lead.route("**/state*", with_a_silent_phone)
    lead.goto(f"{server.address}/teach/{sitting.id}")
    until(lead, "document.querySelector('.unheard')?.textContent.includes('1 phone not responding')")
    lead.keyboard.press("ArrowRight")
    assert answers.asked[0].startswith("1 phone not responding; 2 answers not sent yet. ")
    assert server.school.sittings.sitting(sitting.id).phase == "open"
    answers.accepts = True
    # Whatever was looked at below, what comes next is then on the screen.
    lead.set_viewport_size({"width": 1366, "height": 300})
    lead.evaluate("scrollTo(0, document.body.scrollHeight)")
    lead.keyboard.press("ArrowRight")
    until(lead, "document.querySelector('#next')?.textContent.includes('Next step') && scrollY === 0")
    assert server.school.sittings.sitting(sitting.id).phase == "closed"
    lead.close()


def test_a_paper_is_not_closed_over_silent_phones_unasked(browser: Browser, server: ClassServer) -> None:
    school = server.school
    made = opened(school)
    page, answers = browser.new_page(), Answers()
    page.on("dialog", answers)
    page.goto(f"{server.address}/sittings/{made.id}")
    silent = "document.getElementById('roll').insertAdjacentHTML('beforeend', '<b class=unheard>1 phone</b>')"
    page.evaluate(silent)
    page.click("button[value=close]")
    assert answers.asked[0].startswith("1 phone ")
    assert not school.sittings.sitting(made.id).closed_utc
    answers.accepts = True
    page.click("button[value=close]")
    page.wait_for_selector("button[value='open again']")
    assert school.sittings.sitting(made.id).closed_utc
    page.close()
