"""A class of phones that answer over HTTP and keep what was not acknowledged: no code of the program in them.

What a phone has to do is written here a second time, in plain Python, from the agreement alone: every answer
has an id of its own; it waits until the server says that it has this very one; it is sent again with growing
pauses, the oldest first; and only a code that says that the sitting has ended takes it out of the queue.
"""

import asyncio
import contextlib
import random
import re
import secrets
from collections import Counter, deque
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import httpx

# The codes on which a phone gives an answer up, and says so to its student.
ENDED = frozenset({"sitting-closed", "handed-in", "time-over", "question-closed", "no-sitting"})
PATIENCE_S, PAGE_PATIENCE_S = 4.0, 60.0
# Whom a page sends for: the records, the place, the student.
WHOSE = re.compile(r'data-(records|place|holder)="([^"]*)"')
PAPER_KEY = re.compile(r'class="asked-one"[^>]* data-key="([^"]+)"')
FIRST_PAUSE_S, LONGEST_PAUSE_S = 0.1, 2.0


class Question(NamedTuple):
    """A question as a phone knows it.

    Attributes:
        key: of the question.
        options: how many there are; 0 where a number is asked for.
    """

    key: str
    options: int


class Given(NamedTuple):
    """An answer that a student gave on a phone, whatever became of it."""

    student: str
    key: str
    sent: str
    chosen: int
    value: float | None


@dataclass
class Phone:
    """One student's phone in a lesson ('class') or at a paper ('sit').

    Attributes:
        given: every answer, in the order in which they were given.
        acknowledged: ids that the server said it has.
        given_up: answers that the server would not have, by its code.
        refusals: how often a reply with a status of 4xx came, by status and code.
    """

    address: str
    code: str
    name: str
    questions: tuple[Question, ...]
    seed: int = 0
    place: str = ""
    given: list[Given] = field(default_factory=list)
    acknowledged: list[str] = field(default_factory=list)
    given_up: list[tuple[Given, str]] = field(default_factory=list)
    refusals: Counter[tuple[int, str]] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        self._random = random.Random(self.seed)
        self._for: dict[str, str] = {}
        self._waiting: deque[Given] = deque()
        self._woken = asyncio.Event()
        self._client = httpx.AsyncClient(
            base_url=self.address, headers={"origin": self.address}, timeout=PATIENCE_S, trust_env=False
        )

    async def join(self) -> None:
        """Takes a place with the code and the name, as the form does."""
        answer = await self._client.post(
            "/join", data={"code": self.code, "name": self.name}, timeout=PAGE_PATIENCE_S
        )
        assert answer.status_code == 303, (answer.status_code, answer.text[-300:])
        self.place = answer.headers["location"]
        await self._whose()

    async def _whose(self) -> str:
        """Learns whom it sends for, as its page says; gives the page."""
        page = (await self._page(self.place)).text
        self._for = dict(WHOSE.findall(page.partition("<main")[2].partition(">")[0]))
        return page

    async def look(self) -> None:
        """Learns the questions that are shown: a lesson's from its state, a paper's from its page."""
        page = await self._whose()
        if self.place.startswith("/class/"):
            view = (await self._page(f"{self.place}/state")).json()
            asked = [(one["key"], len(one["options"])) for one in view["seen"]["questions"]]
        else:
            asked = [(key, page.count(f'type="radio" name="{key}"')) for key in PAPER_KEY.findall(page)]
        self.questions = tuple(Question(*one) for one in asked)

    async def _page(self, path: str) -> httpx.Response:
        """Asks until there is a page: the server may be on its way back."""
        found = ""
        for _ in range(int(PAGE_PATIENCE_S)):
            try:
                answer = await self._client.get(path, timeout=PAGE_PATIENCE_S)
                if answer.status_code == 200:
                    return answer
                found = f"{answer.status_code} {answer.text[-200:]}"
            except httpx.HTTPError as error:
                found = repr(error)
            await asyncio.sleep(1.0)
        raise AssertionError(f"{self.name}: no page at {path}: {found}")

    async def answer_once(self) -> None:
        """Answers every question that is shown, and sends until all is acknowledged."""
        await self.look()
        for question in self.questions:
            self._give(question)
        await self._until_sent(asyncio.create_task(self._send_on()))

    async def answer_on(self, ended: asyncio.Event, between_s: tuple[float, float]) -> None:
        """Answers one question after the other, and changes its mind, until the end; then sends the rest."""
        sending = asyncio.create_task(self._send_on())
        while not ended.is_set():
            self._give(self._random.choice(self.questions))
            try:
                await asyncio.wait_for(ended.wait(), self._random.uniform(*between_s))
            except TimeoutError:
                continue
        await self._until_sent(sending)

    async def _until_sent(self, sending: asyncio.Task[None]) -> None:
        while self._waiting and not sending.done():
            await asyncio.sleep(0.02)
        sending.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await sending

    async def close(self) -> None:
        """Gives up its connections."""
        await self._client.aclose()

    def _give(self, question: Question) -> None:
        chosen, value = -1, None
        if question.options:
            chosen = self._random.randrange(question.options)
        else:
            value = self._random.randrange(3600) / 10.0
        given = Given(self.name, question.key, secrets.token_hex(8), chosen, value)
        self.given.append(given)
        self._waiting.append(given)
        self._woken.set()

    async def _send_on(self) -> None:
        pause_s = FIRST_PAUSE_S
        while True:
            while not self._waiting:
                self._woken.clear()
                await self._woken.wait()
            if await self._is_over(self._waiting[0]):
                self._waiting.popleft()
                pause_s = FIRST_PAUSE_S
                continue
            await asyncio.sleep(pause_s * self._random.uniform(0.7, 1.3))
            pause_s = min(2.0 * pause_s, LONGEST_PAUSE_S)

    async def _is_over(self, given: Given) -> bool:
        """Whether the server has this one, or has said that it will never take it."""
        try:
            answer = await self._client.post(f"{self.place}/answer", json=self._body(given))
            said: dict[str, Any] = answer.json()
        except (httpx.HTTPError, ValueError):
            return False
        if answer.status_code == 200 and ("kept" in said or "late" in said):
            self.acknowledged.append(given.sent)
            return True
        code = str(said.get("error", {}).get("code", ""))
        if 400 <= answer.status_code < 500:
            self.refusals[answer.status_code, code] += 1
        if code in ENDED:
            self.given_up.append((given, code))
        return code in ENDED

    def _body(self, given: Given) -> dict[str, Any]:
        body: dict[str, Any] = {"key": given.key, "sent": given.sent, "seconds": 1.0, "for": self._for}
        if given.value is None:
            return {**body, "chosen": given.chosen}
        is_paper = self.place.startswith("/sit/")
        return {**body, "value": f"{given.value:g}" if is_paper else given.value}


@dataclass
class PhoneClass:
    """All phones of a room, in one loop.

    Attributes:
        phones: of the lesson and of the paper.
    """

    phones: list[Phone]

    async def join(self) -> None:
        """All of them, twenty at a time."""
        for start in range(0, len(self.phones), 20):
            await asyncio.gather(*(phone.join() for phone in self.phones[start : start + 20]))

    async def answer_once(self) -> None:
        """See `Phone.answer_once`."""
        await asyncio.gather(*(phone.answer_once() for phone in self.phones))

    async def answer_on(self, ended: asyncio.Event, between_s: tuple[float, float]) -> None:
        """See `Phone.answer_on`."""
        await asyncio.gather(*(phone.answer_on(ended, between_s) for phone in self.phones))

    async def close(self) -> None:
        """See `Phone.close`."""
        for phone in self.phones:
            await phone.close()

    @property
    def given(self) -> list[Given]:
        """What all gave."""
        return [given for phone in self.phones for given in phone.given]

    def forget_refusals(self) -> None:
        """What was refused before is judged already."""
        for phone in self.phones:
            phone.refusals.clear()

    @property
    def refusals(self) -> Counter[tuple[int, str]]:
        """What all were refused."""
        return sum((phone.refusals for phone in self.phones), Counter())
