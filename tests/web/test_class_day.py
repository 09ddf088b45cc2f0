"""A day at the school, hour by hour, in real browsers against the program as it is started by its command.

Each hour is a function of the day, in the order of `HOURS`, and leaves what the next one needs in it. An hour
that is added later goes where it belongs in a day, before the backup. The day ends with the program, and what
it left is judged from its one file, by plain SQL.
"""

from __future__ import annotations

import asyncio
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from lubberline.classroom.lessons.order import orders_of
from lubberline.store.school import open_school
from tests.web import records_judge
from tests.web.answering_room import SENT, LoopThread
from tests.web.led_lesson import turn
from tests.web.outages import sqlite_locked
from tests.web.simulated_phones import Given, Phone, PhoneClass
from tests.web.test_browser import until

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

LESSON = Path(__file__).with_name("class_lesson.md")
STARTED = re.compile(r"http://127\.0\.0\.1:(\d+)/")
CLASS, PAPER, AIRCRAFT = "Evening class", "Mock paper", "zz-oak"
BROWSERS = ("Ada", "Bo")
SIMULATED = 10
ENTRY = {"indicated": "273", "compass": "269", "suction": "5.0"}
DATABASE_AWAY_S = 25.0
# What an aircraft's log says of its instrument takes a minute where the machine is busy.
PATIENCE_MS = 120_000
PHONE, DESK = {"width": 390, "height": 844}, {"width": 1366, "height": 768}


class Program:
    """`lubberline open` as a process on the records of its user's own folder."""

    def __init__(self, home: Path) -> None:
        self.database = home / "lubberline" / "school.sqlite3"
        self.port = 0
        self.environment = {
            **os.environ,
            "XDG_DATA_HOME": str(home),
            "LUBBERLINE_DATABASE": "",
            "PYTHONUNBUFFERED": "1",
        }
        self.start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def command(self, *words: str) -> list[str]:
        return [sys.executable, "-m", "lubberline", *words]

    def start(self) -> None:
        """At the same port ever after."""
        words = self.command("open", "--no-open", "--port", str(self.port or 8765))
        for _ in range(50):
            self._process = subprocess.Popen(words, env=self.environment, stdout=subprocess.PIPE, text=True)
            assert self._process.stdout is not None
            found = STARTED.search(self._process.stdout.readline())
            if found and self.port in (0, int(found[1])):
                self.port = int(found[1])
                return
            self.kill()
            time.sleep(0.1)
        raise AssertionError(f"port {self.port} did not come free")

    def kill(self) -> None:
        """Without a chance to end well; nothing where it has ended."""
        self._process.kill()
        self._process.wait()
        if self._process.stdout is not None:
            self._process.stdout.close()

    def end(self) -> str:
        """As the system ends a program when the machine is shut down; gives what it said."""
        self._process.send_signal(signal.SIGTERM)
        said, _ = self._process.communicate(timeout=30.0)
        assert self._process.returncode == 0, said
        return said


class Day:
    """What one hour leaves to the next.

    Attributes:
        program: that was started in the morning.
        desk: the instructor's page.
        phones: the pages of the students who have a browser here, by name.
        given: by a sitting's id, what simulated phones and what browsers gave, in order.
    """

    def __init__(self, browser: Browser, folder: Path, stack: ExitStack) -> None:
        self.browser, self.folder, self.stack = browser, folder, stack
        self.complaints: list[str] = []
        self.phones: dict[str, Page] = {}
        self.sittings: dict[str, str] = {}
        self.given: dict[str, list[Given]] = {}
        self.by_browsers: dict[str, list[Given]] = {}
        self.loop = LoopThread()
        stack.callback(self.loop.close)

    def page(self, path: str, viewport: dict[str, int]) -> Page:
        """A page in a browser of its own."""
        context = self.browser.new_context(viewport=viewport, has_touch=viewport is PHONE)
        self.stack.callback(context.close)
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("dialog", lambda dialog: dialog.accept())
        page.goto(self.program.address + path)
        return page

    def join(self, kind: str, code: str) -> PhoneClass:
        """Everybody comes into a sitting: in browsers, and simulated."""
        for name in BROWSERS:
            page = self.phones.get(name) or self.page("/join", PHONE)
            page.goto(f"{self.program.address}/join?code={code}")
            page.fill("#name", name)
            page.keyboard.press("Enter")
            page.wait_for_selector("#view-here h1, #paper")
            self.phones[name] = page
        self.sittings[kind] = next(iter(self.phones.values())).url.rpartition("/")[2]
        self.by_browsers[kind] = []
        phones = [Phone(self.program.address, code, f"Phone {k}", (), k) for k in range(SIMULATED)]
        class_ = PhoneClass(phones)
        self.loop.run(class_.join())
        return class_

    def left(self, kind: str, class_: PhoneClass) -> None:
        """What simulated phones gave in a sitting is for the judge."""
        self.given[kind] = class_.given
        self.loop.run(class_.close())
        assert class_.refusals == {}

    def all_sent(self) -> None:
        """Nothing waits on any student's page."""
        for page in self.phones.values():
            until(page, SENT, 60.0)


def start(day: Day) -> None:
    """The program is started by its command."""
    day.program = Program(day.folder / "home")
    day.stack.callback(day.program.kill)


def demo_class(day: Day) -> None:
    """The school has a class already: the demo's."""
    desk = day.desk = day.page("/school/people", DESK)
    desk.click("form[action='/school/demo'] button", no_wait_after=True)
    # Its term is worked out by the engine, which may have to be compiled first.
    until(desk, "location.pathname === '/results' && document.readyState === 'complete'", 400.0)


def class_begins(day: Day) -> None:
    """A class is made by typing its name on Teach, with a lesson of one's own."""
    day.desk.goto(f"{day.program.address}/teach")
    day.desk.set_input_files("#file", LESSON)
    day.desk.fill("#new_group", CLASS)
    day.desk.click("button.act")
    day.desk.wait_for_selector("#next")
    day.projector = day.page(day.desk.url.removeprefix(day.program.address) + "/projector", DESK)


def lesson(day: Day) -> None:
    """Led from its first step to its last; the server is killed while the first question is open."""
    code = day.desk.text_content("#code").strip()
    class_ = day.join("lesson", code)
    count = len(class_.phones) + len(BROWSERS)
    until(day.projector, f"document.body.textContent.includes('{count} in class')")
    kill = day.program.kill
    while (stood := _standing(day))["acts"]:
        seen = stood["projector"]["seen"]
        if seen["phase"] == "open" and seen["questions"]:
            _everybody_answers(day, class_, seen["questions"], kill)
            kill = _nothing
        words = stood["acts"][0]["words"]
        until(day.desk, f"document.querySelector('#next')?.textContent.includes({words!r})")
        day.desk.keyboard.press("Space")
        while _place(_standing(day)) == _place(stood):
            day.desk.wait_for_timeout(50)
    for page in (day.projector, *day.phones.values()):
        until(page, "document.querySelector('#view-here h1')?.textContent === 'The lesson is over'")
    day.left("lesson", class_)


def _standing(day: Day) -> dict[str, Any]:
    """Where the lesson stands, as the instructor's page is told."""
    told = day.desk.evaluate("fetch(`${location.pathname}/state`).then((one) => one.text())")
    return dict(json.loads(told))


def _place(stood: dict[str, Any]) -> tuple[Any, ...]:
    seen = stood["projector"]["seen"]
    return seen["step"], seen["phase"], seen["kind"]


def _nothing() -> None:
    """Nothing goes wrong."""


def _everybody_answers(
    day: Day, class_: PhoneClass, asked: list[dict[str, Any]], kill: Callable[[], None]
) -> None:
    for page in day.phones.values():
        until(page, f"document.querySelectorAll('.cl-question').length === {len(asked)}")
    kill()
    school = open_school(f"sqlite:///{day.program.database}")
    orders = orders_of(school.sittings.sitting(day.sittings["lesson"]))
    school.close()
    for number, (name, page) in enumerate(day.phones.items()):
        for place, one in enumerate(asked):
            question = page.locator(".cl-question").nth(place)
            chosen, value = -1, None
            if one["how"] == "options":
                shown = (number + place) % len(one["options"])
                question.locator(".cl-option").nth(shown).click()
                chosen = orders[one["key"]][shown]
            else:
                value = 10.0 * (number + 1)
                if one["how"] == "dial":
                    turn(page, question.locator(".turn"), round(value))
                else:
                    question.locator("input").fill(f"{value:g}")
                question.locator("button.act").click()
            day.by_browsers["lesson"].append(Given(name, one["key"], "", chosen, value))
    if kill is not _nothing:
        day.program.start()
    day.loop.run(class_.answer_once())
    day.all_sent()
    count = len(class_.phones) + len(day.phones)
    until(day.projector, f"document.querySelector('.cl-count')?.textContent.includes('{count} of {count}')")


def paper(day: Day) -> None:
    """A paper is opened for the class and sat; another program holds the database for a while meanwhile."""
    desk = day.desk
    desk.goto(f"{day.program.address}/sittings/new")
    desk.select_option("#group", label=CLASS)
    desk.fill("#title", PAPER)
    desk.fill("#minutes", "30")
    desk.fill("#forms", "A")
    desk.click("main button.act")
    desk.wait_for_selector(".code")
    class_ = day.join("paper", desk.text_content(".code").replace(" ", ""))
    away = threading.Thread(target=sqlite_locked(day.program.database, DATABASE_AWAY_S), daemon=True)
    away.start()
    answering = asyncio.run_coroutine_threadsafe(class_.answer_once(), day.loop.loop)
    for number, (name, page) in enumerate(day.phones.items()):
        for field in page.locator(".asked-one").all():
            key, chosen, value = field.get_attribute("data-key"), -1, None
            if field.locator(".choice").count():
                chosen = number % field.locator(".choice").count()
                field.locator(".choice").nth(chosen).click()
            else:
                value = 10.0 * (number + 1)
                field.locator("input").fill(f"{value:g}")
                page.wait_for_timeout(900)
            day.by_browsers["paper"].append(Given(name, key, "", chosen, value))
    away.join()
    answering.result(120.0)
    day.all_sent()
    until(desk, f"document.querySelectorAll('#roll tbody tr').length === {len(BROWSERS) + SIMULATED}")
    for page in day.phones.values():
        page.click("#hand-in")
        page.wait_for_selector(".answered")
    day.left("paper", class_)


def marks(day: Day) -> None:
    """The paper is closed and its marks are let out: every student sees their own."""
    day.desk.click("button[value=close]")
    day.desk.click("button[value='show marks']")
    day.desk.wait_for_selector("button[value='hide marks']")
    for page in day.phones.values():
        page.reload()
        page.wait_for_selector(".mending")


def results(day: Day) -> None:
    """What the class knows, and one student's page."""
    day.desk.goto(f"{day.program.address}/results")
    day.desk.click(f"main a:text-is('{BROWSERS[0]}') >> nth=0")
    until(day.desk, f"document.querySelector('main').textContent.includes('{PAPER}')")


def aircraft_log(day: Day) -> None:
    """A pilot reads three numbers and logs them on a phone."""
    phone = day.page(f"/aircraft/{AIRCRAFT}/log", PHONE)
    for name, value in ENTRY.items():
        phone.fill(f"#{name}", value)
    phone.click("label[for=set-2]")
    phone.click("#keep")
    shown = f"{ENTRY['indicated']} / {ENTRY['compass']}"
    until(phone, f"document.querySelector('#recent')?.textContent.includes('{shown}')", 60.0)


def mistake(day: Day) -> None:
    """The demo class is deleted, and the real one by mistake with it; one press brings that back."""
    desk, school = day.desk, f"{day.program.address}/school"
    for label in ("Delete the demo class …", f"Delete the class {CLASS}"):
        desk.goto(f"{school}/people")
        desk.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
        desk.get_by_role("link", name=label).click()
        assert re.search(r"1 class, \d+ students.*\d+ answers", desk.inner_text(".lead")), label
        desk.click("button[value=bin]")
        until(desk, "location.pathname === '/school/people'")
    assert desk.locator(".class-of").count() == 0
    desk.goto(f"{school}/bin")
    desk.get_by_role("button", name=f"Bring back {CLASS}").click()
    desk.wait_for_load_state()
    desk.goto(f"{school}/people")
    assert desk.locator(".class-of summary").all_inner_texts() == [
        f"{CLASS} {len(BROWSERS) + SIMULATED} students"
    ]


def backup(day: Day) -> None:
    """The records are taken out in one file, which another school can be made of."""
    day.desk.goto(f"{day.program.address}/school/records")
    with day.desk.expect_download() as taken:
        day.desk.click("a[href='/school/backup']")
    kept = day.folder / "kept.backup"
    taken.value.save_as(kept)
    other = f"sqlite:///{day.folder / 'other.sqlite3'}"
    environment = {**day.program.environment, "LUBBERLINE_DATABASE": other}
    words = day.program.command("records", "restore", str(kept), "--yes")
    subprocess.run(words, env=environment, check=True, capture_output=True)
    judge(day, other)


def end(day: Day) -> None:
    """The program is ended, and its one file holds the whole day."""
    day.program.end()
    alone = day.folder / "alone.sqlite3"
    shutil.copy(day.program.database, alone)
    judge(day, f"sqlite:///{alone}")


def judge(day: Day, database: str) -> None:
    """Everything that was given stands in a database: the class, every answer once, the log's entry."""
    of_class = f"from students join groups on groups.id = group_id where title = '{CLASS}'"
    names = {row[0] for row in records_judge.rows(database, f"select name {of_class}")}
    assert names == {*BROWSERS, *(f"Phone {k}" for k in range(SIMULATED))}
    for kind, sitting in day.sittings.items():
        stands = records_judge.stand(database, sitting)
        simulated = records_judge.judged(records_judge.without(stands, BROWSERS), day.given[kind])
        seen = records_judge.judged_by_order(records_judge.of(stands, BROWSERS), day.by_browsers[kind])
        assert simulated.is_whole, (kind, simulated)
        assert seen.is_whole, (kind, seen)
        assert simulated.given > 0
        assert seen.given > 0
    ((typed,),) = records_judge.rows(database, "select typed from log_entries")
    assert set(ENTRY.values()) <= set(json.loads(typed).values())


HOURS = (start, demo_class, class_begins, lesson, paper, marks, results, aircraft_log, mistake, backup, end)


@pytest.mark.browser
@pytest.mark.acceptance
def test_a_class_day(browser: Any, tmp_path: Path) -> None:
    with ExitStack() as stack:
        day = Day(browser, tmp_path, stack)
        for hour in HOURS:
            hour(day)
        assert day.complaints == []
