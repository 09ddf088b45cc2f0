"""A room in which everybody answers while something goes away.

Simulated phones, two students' browsers (a lesson, a paper), the instructor's page and the projector on one
server. `AnsweringRoom.through` takes what goes wrong as a function that returns when it is over. What came of
it is judged from the database's own rows, and from where the pages are and what they said.
"""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Callable, Coroutine
from contextlib import ExitStack
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from benchmarks.class_phones import Process
from lubberline.classroom.lessons.order import Order, orders_of
from lubberline.classroom.records import Sitting
from lubberline.store.school import School, open_school
from tests.web import records_judge
from tests.web.class_server import begun
from tests.web.cutting_proxy import cutting_proxy
from tests.web.papers import asked
from tests.web.records_judge import Stand, Verdict, judged, judged_by_order
from tests.web.simulated_phones import Given, Phone, PhoneClass, Question
from tests.web.test_browser import holds

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

T = TypeVar("T")

# The quiz of the short lesson: questions of options and of a number.
QUIZ_STEP = 6
STUDENTS = {"lesson": "Lesson Lou", "paper": "Paper Pat"}
SIZES = {"instructor": (1366, 768), "projector": (1280, 720), "lesson": (390, 844), "paper": (390, 844)}
# Every text of the red line that a page ever showed, and the most answers that it ever called unsent.
LISTEN = """
(() => {
    window.wasAway = [];
    window.wasUnsent = 0;
    const look = () => {
        const words = document.querySelector('#away:not([hidden]) [role=alert]')?.textContent.trim();
        if (words && window.wasAway.at(-1) !== words) window.wasAway.push(words);
        for (const place of document.querySelectorAll('#line, #kept')) {
            const unsent = /Not sent yet \\((\\d+)\\)/.exec(place.textContent);
            window.wasUnsent = Math.max(window.wasUnsent, Number(unsent?.[1] ?? 0));
        }
    };
    const parts = { subtree: true, childList: true, characterData: true, attributes: true };
    new MutationObserver(look).observe(document, parts);
})();
"""
# With less patience, and a look more often, a short outage is one.
IMPATIENT = """
from lubberline.store.database import engines
from lubberline.web.teach import lines
engines.PATIENCE_S, lines.LOOK_AFTER_EVERY_S = 0.3, 0.3
"""
SENT = "!/not sent yet/i.test(document.getElementById('main').textContent)"
QUIET = "document.getElementById('away')?.hidden !== false"


class Outcome(NamedTuple):
    """What came of an outage.

    Attributes:
        answers: verdicts on the answers of 'phones', 'lesson' and 'paper'.
        refusals: replies of 4xx that phones were given, by status and code.
        left: pages that left their place, by name, with where they went.
        away: what the red line said on each page, by name.
        unsent: how many answers a student's page called unsent at most, by name.
        lasting: pages on which the red line, or an answer called unsent, never went again.
    """

    answers: dict[str, Verdict]
    refusals: dict[tuple[int, str], int]
    left: dict[str, str]
    away: dict[str, list[str]]
    unsent: dict[str, int]
    lasting: list[str]


# A press on a machine with too much to do takes effect before it is told to have: it must not time out.
PRESS_MS = 15_000.0


class LoopThread:
    """An event loop in a thread of its own: the browser's driver has one running in the main thread."""

    def __init__(self) -> None:
        self.loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self.loop.run_forever, daemon=True)
        self._thread.start()

    def run(self, work: Coroutine[Any, Any, T], patience_s: float = 300.0) -> T:
        """What the work gives, waited for."""
        return asyncio.run_coroutine_threadsafe(work, self.loop).result(patience_s)

    def close(self) -> None:
        """Ends it."""
        self.loop.call_soon_threadsafe(self.loop.stop)
        self._thread.join(10.0)
        self.loop.close()


class StudentsPage:
    """A student's page in a real browser: answers as a finger does, and remembers what it gave."""

    def __init__(
        self, name: str, page: Page, questions: tuple[Question, ...], orders: dict[str, Order]
    ) -> None:
        self.name, self.page, self.questions, self.orders = name, page, questions, orders
        self.given: list[Given] = []
        self._turn = -1

    def answer(self) -> None:
        """The next question in turn, with another option or number than before."""
        from playwright.sync_api import TimeoutError as Gone

        self._turn += 1
        place = self._turn % len(self.questions)
        question = self.questions[place]
        times = sum(one.key == question.key for one in self.given)
        field = self.page.locator(".cl-question, .asked-one").nth(place)
        if not field.count():
            # Nobody answers on a page that shows no question; where it went is found out afterwards.
            return
        try:
            if question.options:
                shown, value = times % question.options, None
                field.locator(".cl-option, .choice").nth(shown).click(timeout=PRESS_MS)
                chosen = self.orders[question.key][shown] if question.key in self.orders else shown
            else:
                chosen, value = -1, float(times + 10)
                field.locator("input").fill(f"{value:g}", timeout=PRESS_MS)
                self._rest(field)
        except Gone:
            return
        self.given.append(Given(self.name, question.key, "", chosen, value))

    def _rest(self, field: Any) -> None:
        """A number of the lesson is sent with its button; of a paper, once the student has stopped typing."""
        if field.locator("button.act").count():
            field.locator("button.act").click(timeout=PRESS_MS)
        else:
            self.page.wait_for_timeout(900)


def questions_of(sitting: Sitting, step: int | None = None) -> tuple[Question, ...]:
    """What a phone has to know of a sitting's questions, or of those of one step of a lesson."""
    ones = [one for one in sitting.asked if step is None or one.key.startswith(f"step-{step + 1}-")]
    return tuple(Question(one.key, len(one.item.options)) for one in ones)


def _begun(school: School) -> tuple[Sitting, Sitting]:
    """A lesson whose quiz is open, and a paper."""
    lesson = school.sittings.move(begun(school).id, step=QUIZ_STEP, phase="open")
    paper = school.sittings.add(lesson.group, "paper", "Drift", asked(forms=("A",)))
    return lesson, paper


class AnsweringRoom:
    """See the module.

    Attributes:
        database: its address.
        process: the server, which can be killed and started again.
        proxy: on everybody's way to it.
        pages: in browsers, by name: 'instructor', 'projector', 'lesson', 'paper'.
    """

    def __init__(self, database: str, stack: ExitStack, impatient: bool = False) -> None:
        self.database = database
        school = open_school(database)
        self.lesson, self.paper = _begun(school)
        school.close()
        self.process = Process(database, IMPATIENT if impatient else "")
        stack.callback(self.process.kill)
        self.proxy = stack.enter_context(cutting_proxy(self.process.port))
        self.address = self.proxy.address
        self.pages: dict[str, Page] = {}
        self.students: dict[str, StudentsPage] = {}
        self.class_ = PhoneClass([])
        self._moves: dict[str, list[str]] = {}
        self._told = threading.Event()
        self._stack = stack
        self._loop = LoopThread()
        stack.callback(self._loop.close)

    def fill(self, browser: Browser, phones: int) -> None:
        """Everybody comes in, and every page stands where it has to stay."""
        lead = f"/teach/{self.lesson.id}"
        self._open(browser, "instructor", lead)
        self._open(browser, "projector", f"{lead}/projector")
        kinds = (
            ("lesson", self.lesson, QUIZ_STEP, ".cl-question"),
            ("paper", self.paper, None, ".asked-one"),
        )
        for name, sitting, step, shows in kinds:
            page = self._open(browser, name, f"/join?code={sitting.code}")
            page.fill("#name", STUDENTS[name])
            page.keyboard.press("Enter")
            page.wait_for_selector(shows)
            questions = questions_of(sitting, step)
            orders = orders_of(sitting) if sitting is self.lesson else {}
            self.students[name] = StudentsPage(STUDENTS[name], page, questions, orders)
            self.class_.phones += [
                Phone(self.address, sitting.code, f"{name} {number}", questions, number)
                for number in range(phones // 2)
            ]
        self._loop.run(self.class_.join())
        self._stack.callback(lambda: self._loop.run(self.class_.close()))
        for name, page in self.pages.items():
            moves = self._moves[name] = []
            page.on("framenavigated", lambda frame, moves=moves: moves.append(frame.url))

    def _open(self, browser: Browser, name: str, path: str) -> Page:
        width, height = SIZES[name]
        context = browser.new_context(viewport={"width": width, "height": height})
        self._stack.callback(context.close)
        context.add_init_script(LISTEN)
        page = self.pages[name] = context.new_page()
        page.set_default_timeout(30_000)
        page.goto(self.address + path)
        return page

    def through(
        self, outage: Callable[[], None], between_s: tuple[float, float], calm_s: float = 0.5
    ) -> Outcome:
        """Everybody answers while something goes away and comes back, and then until all is sent.

        Args:
            outage: what goes wrong, in a thread of its own.
            between_s: how long each phone takes from one answer to the next, at least and at most.
            calm_s: how long all is well before and after.
        """
        for moves in self._moves.values():
            moves.clear()
        for page in self.pages.values():
            page.evaluate("window.wasAway = []; window.wasUnsent = 0")
        self._told.clear()
        self.class_.forget_refusals()
        ended = asyncio.Event()
        work = self.class_.answer_on(ended, between_s)
        answering = asyncio.run_coroutine_threadsafe(work, self._loop.loop)
        faults: list[BaseException] = []
        breaking = threading.Thread(target=_calmly, args=(outage, calm_s, faults), daemon=True)
        breaking.start()
        while breaking.is_alive():
            for student in self.students.values():
                student.answer()
            if not self._told.is_set() and self._all_told():
                self._told.set()
            self.pages["lesson"].wait_for_timeout(1000.0 * between_s[0])
        self._loop.loop.call_soon_threadsafe(ended.set)
        if faults:
            raise faults[0]
        answering.result(300.0)
        lasting = [name for name, page in self.pages.items() if not _comes(page, f"{SENT} && ({QUIET})")]
        return self._outcome(lasting)

    def is_told(self) -> bool:
        """Whether instructor and projector showed the red line, and students their unsent answers."""
        return self._told.is_set()

    def _all_told(self) -> bool:
        away = (holds(self.pages[name], "window.wasAway?.length > 0") for name in ("instructor", "projector"))
        return all(away) and all(holds(self.pages[name], "window.wasUnsent > 0") for name in self.students)

    def _outcome(self, lasting: list[str]) -> Outcome:
        tables = [records_judge.stand(self.database, one.id) for one in (self.lesson, self.paper)]
        stands = Stand(*([*lesson, *paper] for lesson, paper in zip(*tables, strict=True)))
        names = [phone.name for phone in self.class_.phones]
        answers = {"phones": judged(records_judge.of(stands, names), self.class_.given)}
        for name, student in self.students.items():
            answers[name] = judged_by_order(records_judge.of(stands, [student.name]), student.given)
        left = {name: moves[-1] for name, moves in self._moves.items() if moves}
        away = {name: page.evaluate("window.wasAway ?? []") for name, page in self.pages.items()}
        unsent = {name: self.pages[name].evaluate("window.wasUnsent ?? 0") for name in self.students}
        return Outcome(answers, dict(self.class_.refusals), left, away, unsent, lasting)


def _calmly(outage: Callable[[], None], calm_s: float, faults: list[BaseException]) -> None:
    time.sleep(calm_s)
    try:
        outage()
    except BaseException as error:
        faults.append(error)
    time.sleep(calm_s)


def _comes(page: Page, condition: str, patience_s: float = 60.0) -> bool:
    """Whether something comes that ought to."""
    ends_s = time.monotonic() + patience_s
    while not holds(page, condition):
        if time.monotonic() > ends_s:
            return False
        page.wait_for_timeout(50)
    return True
