"""A lesson led from its first step to its last in real browsers, whatever its file holds.

The instructor presses what comes next; the students answer from known beliefs; at every step the pages
are held to what the records and the engine say.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import TYPE_CHECKING, Any, NamedTuple

from lubberline.classroom.demo_term import Mind, Said, answer
from lubberline.classroom.diagnosis.likelihood import table_of
from lubberline.classroom.lessons import teaching
from lubberline.classroom.lessons.order import Order
from lubberline.classroom.lessons.questions import TaughtLesson
from lubberline.classroom.marking import is_right
from lubberline.classroom.records import Answer, Asked, Sitting
from tests.web.access import broken_rules
from tests.web.letters import too_small
from tests.web.test_browser import until

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from tests.web.class_server import Room

# Of the bench's time: how near the end of what is shown it has to stand.
NEAR_S = 0.06
# No show of the lessons takes longer by the clock.
LONGEST_SHOW_S = 240.0
Look = Callable[[str, "Led"], None]


class Student(NamedTuple):
    """A phone and who holds it."""

    name: str
    mind: Mind
    page: Page


class Led:
    """A lesson in a room: its pages, and where it stands.

    A show that takes longer than `watched_s` by the clock is not waited for: the instructor tells the class.

    Attributes:
        answered: questions that were answered by everybody so far.
    """

    def __init__(
        self, room: Room, lesson: TaughtLesson, sitting: Sitting, minds: dict[str, Mind], watched_s: float
    ) -> None:
        self.room, self.lesson, self.sitting, self.watched_s = room, lesson, sitting, watched_s
        self.lead, self.projector = room.lead(), room.projector()
        self.projector.set_viewport_size({"width": 1920, "height": 1080})
        self.students = [Student(name, mind, room.phone(name)) for name, mind in minds.items()]
        self.answered: list[Asked] = []
        self._random = Random(1)

    @property
    def stands(self) -> teaching.Standing:
        return teaching.standing(self.room.server.school.sittings.sitting(self.sitting.id), self.lesson)

    def lead_through(self, look: Look) -> None:
        """Every step of the lesson, with a look after everything that changed."""
        look("joining", self)
        while not self.stands.over:
            stands = self.stands
            act = teaching.acts(self.lesson, stands)[0]
            until(self.lead, f"(document.querySelector('#next')?.textContent ?? '').includes({act.words!r})")
            if act.do == "close":
                self._answer(stands)
                look(f"{stands.index + 1:02d}-answered", self)
            self.lead.keyboard.press("Space")
            {"next": self._moved_on, "close": self._closed, "play": self._watched, "tell": self._told}.get(
                act.do, self._ended
            )(stands)
            now = self.stands
            look(f"{now.index + 1:02d}-{now.step.kind if now.step else 'over'}-{act.do}", self)

    def _heads(self, title: str) -> None:
        for page in (self.lead, self.projector, *(one.page for one in self.students)):
            until(page, f"document.querySelector('#view-here h1')?.textContent === {title!r}")

    def _moved_on(self, before: teaching.Standing) -> None:
        self._heads(self.lesson.lesson.steps[before.index + 1].title)

    def _ended(self, before: teaching.Standing) -> None:
        for page in (self.projector, *(one.page for one in self.students)):
            until(page, "document.querySelector('#view-here h1')?.textContent === 'The lesson is over'")

    def _closed(self, before: teaching.Standing) -> None:
        count = len(before.asked)
        until(self.projector, f"document.querySelectorAll('.cl-spreads figure').length === {count}")
        for student in self.students:
            closed = "one => one.textContent.includes('nswers are closed')"
            states = "[...document.querySelectorAll('.cl-state')]"
            until(student.page, f"{states}.length === {count} && {states}.every({closed})")

    def _answer(self, stands: teaching.Standing) -> None:
        for student in self.students:
            for place, asked in enumerate(stands.asked):
                given = answer(student.mind, table_of(asked.item), self._random)
                give(student.page, place, asked, given, stands.order_of(asked))
        everybody = f"{len(self.students)} of {len(self.students)}"
        until(self.projector, f"document.querySelector('.cl-count')?.textContent.includes('{everybody}')")
        # While it is open the class sees how many, not what.
        assert self.projector.locator(".cl-spreads").count() == 0
        self.answered += stands.asked

    def _watched(self, before: teaching.Standing) -> None:
        show = teaching.shown_in(self.lesson, before)
        assert show is not None
        ended = f"(f => f && f.paused && Math.abs(f.time_s - {show.to_s}) < {NEAR_S})(lubberline.frame())"
        try:
            until(self.projector, ended, self.watched_s)
        except AssertionError:
            assert self.watched_s < LONGEST_SHOW_S, ended
            assert show.from_s < self.projector.evaluate("lubberline.frame().time_s") < show.to_s
        ghosts = self.projector.evaluate("lubberline.frame().ghosts.map(one => one.id)")
        kept = self.room.server.school.answers.of_sitting(self.sitting.id)
        assert {idea for idea, _ in teaching.ghosts_of(before, kept)} <= set(ghosts)

    def _told(self, before: teaching.Standing) -> None:
        stands = self.stands
        kept = self.room.server.school.answers.of_sitting(self.sitting.id)
        school = self.room.server.school
        ids = {one.name: one.id for one in school.people.students(self.sitting.group)}
        by: dict[tuple[str, str], Answer] = {(one.student, one.key): one for one in kept}
        for student in self.students:
            until(student.page, f"document.querySelectorAll('.cl-told').length === {len(stands.revealed)}")
            said = student.page.locator(".cl-verdict").all_inner_texts()
            right = [is_right(by[ids[student.name], asked.key], asked.item) for asked in stands.revealed]
            assert said == ["Right." if one else "Wrong." for one in right]


def give(page: Page, place: int, asked: Asked, given: Said, order: Order) -> None:
    """An answer on the phone, as a finger or a key gives it, until it is kept."""
    question = page.locator(".cl-question").nth(place)
    question.wait_for()
    if given.value is None:
        question.locator(".cl-option").nth(order.index(given.chosen)).click()
    elif asked.item.circle:
        turn(page, question.locator(".turn"), round(given.value) % 360)
        question.locator("button.act").click()
    else:
        question.locator("input").fill(f"{given.value:g}")
        question.locator("button.act").click()
    until(page, f"document.querySelectorAll('.cl-state')[{place}]?.dataset.state === 'kept'")


def turn(page: Page, dial: Any, to_deg: int) -> None:
    """The dial by keys: tens first, then degrees, the shorter way."""
    dial.focus()
    page.keyboard.press("Home")
    tens, ones = divmod(min(to_deg, 360 - to_deg), 10)
    for key, times in (
        ("PageUp" if to_deg < 180 else "PageDown", tens),
        ("ArrowRight" if to_deg < 180 else "ArrowLeft", ones),
    ):
        for _ in range(times):
            page.keyboard.press(key)


# Words on a drawing that reach beyond it.
CUT_OFF = """() => [...document.querySelectorAll('svg:not(.cl-strokes) text')].filter((one) => {
    const [box, area] = [one.getBoundingClientRect(), one.ownerSVGElement.getBoundingClientRect()];
    return box.width > 0 && (box.left < area.left - 2 || box.right > area.right + 2);
}).map((one) => `cut off: ${one.textContent}`)"""


def fits(page: Page) -> list[str]:
    """What is wrong with a page as it is seen: access rules, letters, width, a projector's height."""
    wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
    # Nobody scrolls a projector, and its foot has the caution.
    high = page.evaluate("document.documentElement.scrollHeight - innerHeight")
    tall = [f"{high} px too high"] if high > 0 and page.locator(".projfoot").count() else []
    broken = [str(one) for one in broken_rules(page)] + page.evaluate(CUT_OFF)
    return broken + too_small(page) + ([f"{wide} px too wide"] if wide > 0 else []) + tall
