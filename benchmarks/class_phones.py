"""Simulated phones and a separate server, for the load and the kill of a live class."""

import asyncio
import json
import os
import re
import secrets
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any, NamedTuple

import httpx
from websockets.asyncio.client import connect
from websockets.exceptions import WebSocketException

from lubberline.classroom.lessons import teaching
from lubberline.classroom.lessons.file import read_lesson
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.classroom.records import Sitting
from lubberline.store.school import School

LESSON = Path(__file__).parents[1] / "tests" / "web" / "class_lesson.md"
# The one prediction of the lesson on a dial, and the step at which it stands.
KEY, STEP = "step-2", 1
STARTED = re.compile(r"http://127\.0\.0\.1:(\d+)/")


class Sent(NamedTuple):
    """An answer that the server said it has.

    Attributes:
        student: who gave it.
        id: of the sending, however often it was sent.
        value: as it was acknowledged.
        took_s: until it was.
    """

    student: str
    id: str
    value: float
    took_s: float


def begun(school: School) -> Sitting:
    """A sitting of the short lesson, at which the class joins."""
    lesson = read_lesson(LESSON)
    group = school.people.add_group("Load")
    sitting = school.sittings.add(
        group.id, "lesson", lesson.title, taught_lesson(lesson).asked, source=lesson.text
    )
    return school.sittings.move(sitting.id, step=teaching.JOINING, phase=teaching.CLOSED)


class Process:
    """A server in a separate process on a database, always at the same port.

    Args:
        database: its address.
        first: Python to run before it is started.
    """

    def __init__(self, database: str, first: str = "") -> None:
        self.database = database
        self._first = first
        self.port = 0
        self.start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        call = "from lubberline.web.serve import Wanted, serve; "
        call += f"serve(Wanted(port={self.port}, open_browser=False))"
        words = f"{self._first}\n{call}"
        environment = {**os.environ, "LUBBERLINE_DATABASE": self.database, "PYTHONUNBUFFERED": "1"}
        for _ in range(50):
            self._process = subprocess.Popen(
                [sys.executable, "-c", words], env=environment, stdout=subprocess.PIPE, text=True
            )
            line = self._process.stdout.readline() if self._process.stdout else ""
            found = STARTED.search(line)
            if found and self.port in (0, int(found[1])):
                self.port = int(found[1])
                return
            # The port is still held by the one that was killed.
            self.kill()
            time.sleep(0.1)
        raise RuntimeError(f"no server came up at port {self.port}")

    def kill(self) -> None:
        """Kill it."""
        self._process.send_signal(signal.SIGKILL if os.name == "posix" else signal.SIGTERM)
        self._process.wait()
        if self._process.stdout:
            self._process.stdout.close()

    def peak_mb(self) -> float:
        """The most memory that it ever held, in MiB; 0 where the system does not tell."""
        status = Path(f"/proc/{self._process.pid}/status")
        if not status.exists():
            return 0.0
        found = re.search(r"VmHWM:\s+(\d+) kB", status.read_text())
        return int(found[1]) / 1024 if found else 0.0


class Phone:
    """A student's phone: joins, listens, answers, and sends again until it is acknowledged."""

    def __init__(self, address: str, name: str) -> None:
        self.address, self.name = address, name
        self.view: dict[str, Any] = {}
        self.changed = asyncio.Event()
        self.client = httpx.AsyncClient(
            base_url=address, headers={"origin": address}, timeout=10, trust_env=False
        )
        self.place = ""
        # The records, the place and the student that it sends for.
        self.whose: dict[str, str] = {}

    async def join(self, code: str) -> None:
        while True:
            try:
                answer = await self.client.post("/join", data={"code": code, "name": self.name})
                if answer.status_code == 303:
                    self.place = answer.headers["location"]
                    page = (await self.client.get(self.place)).text
            except httpx.HTTPError:
                await asyncio.sleep(0.1)
                continue
            if answer.status_code == 303:
                self.whose = dict(re.findall(r' data-(records|place|holder)="([^"]*)"', page))
                return
            raise RuntimeError(f"{self.name} could not join: {answer.status_code} {answer.text[-300:]}")

    async def listen(self) -> None:
        """Over a line, opened again when it breaks, until cancelled."""
        seat = self.client.cookies["seat"]
        where = self.address.replace("http", "ws", 1) + self.place + "/line"
        while True:
            try:
                async with connect(
                    where, origin=self.address, additional_headers={"cookie": f"seat={seat}"}, proxy=None
                ) as line:
                    async for text in line:
                        self.view = json.loads(text) or self.view
                        self.changed.set()
            except (OSError, EOFError, TimeoutError, WebSocketException):
                await asyncio.sleep(0.1)

    async def until(self, step: int, phase: str) -> float:
        """When this phone came to know of a step and phase."""
        while True:
            seen = self.view.get("seen", {})
            if (seen.get("step"), seen.get("phase")) == (step, phase):
                return time.perf_counter()
            self.changed.clear()
            await self.changed.wait()

    async def answer(self, value: float) -> Sent:
        """Sends an answer until the server has it; one id, however often it is sent."""
        body = {"key": KEY, "sent": secrets.token_hex(8), "value": value, "for": self.whose}
        started_s = time.perf_counter()
        while True:
            try:
                answer = await self.client.post(f"{self.place}/answer", json=body)
            except httpx.HTTPError:
                await asyncio.sleep(0.05)
                continue
            if answer.status_code == 200:
                kept = answer.json()["kept"]
                return Sent(self.name, kept["sent"], kept["value"], time.perf_counter() - started_s)
            if answer.status_code < 500:
                raise RuntimeError(f"{self.name}: {answer.status_code} {answer.text}")
            await asyncio.sleep(0.05)
