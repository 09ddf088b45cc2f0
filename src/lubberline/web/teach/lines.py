"""The WebSockets of a live lesson's pages, and the pages watching each lesson.

The records are the only state: after a notice of change from the store (from this or another process),
the sitting is read once for all its pages, at most a few times a second. Phones report their unsent
answers.
"""

import asyncio
import contextlib
import logging
from collections.abc import Callable
from datetime import datetime
from typing import Any

import msgspec
from anyio import to_thread
from starlette.routing import WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect, WebSocketState

from lubberline.errors import Unavailable, UnavailableCode
from lubberline.store.database.changes import LOOK_AGAIN
from lubberline.store.times import now
from lubberline.web.kit import Refused, records, shared
from lubberline.web.phones import Heard
from lubberline.web.records import Opening, away
from lubberline.web.sittings.join import digest_of
from lubberline.web.teach.views import Contact, Snapshot, contact_of, lesson_sitting, stamped

LOG = logging.getLogger(__name__)
AT_MOST_EVERY_S = 0.2
TRY_AGAIN_S = 1.0
LOOK_AFTER_EVERY_S = 2.0
GREATEST_WATCHERS = 1000
# After a longer silence a phone gives its socket up.
SIGN_OF_LIFE_S = 15.0
SIGN_OF_LIFE = b"{}"
LONGEST_SAID = 200
NOT_YOURS = 4403
TRY_AGAIN = 1013

Hears = Callable[[int | None], None]
View = Callable[[Snapshot], bytes | None]
Told = Callable[[Contact], dict[str, Any]]


class Watcher:
    """One page that watches a lesson; only the latest waiting view is sent.

    Args:
        view: makes its view of the lesson; None for somebody no longer in it.
        told: makes its message when records or phones cannot be reached; None for no message.

    Attributes:
        gone: whether there is nothing more for this page.
    """

    def __init__(self, view: View, told: Told | None = None) -> None:
        self.gone = False
        self._view = view
        self._told = told
        # The last view and contact sent, and those waiting.
        self._last: dict[str, bytes] = {}
        self._next: dict[str, bytes] = {}
        self._wake = asyncio.Event()

    def show(self, snapshot: Snapshot | None) -> None:
        """Sets the present view; None when the lesson is gone."""
        text = self._view(snapshot) if snapshot is not None else None
        if text is None:
            self.gone = True
            self._wake.set()
        else:
            self._put("view", text)

    def tell(self, contact: Contact) -> None:
        """Sets the present contact."""
        if self._told is not None:
            self._put("contact", msgspec.json.encode({"contact": self._told(contact)}))

    def _put(self, kind: str, text: bytes) -> None:
        if text != self._last.get(kind):
            self._last[kind] = self._next[kind] = text
            self._wake.set()

    async def next_texts(self, patience_s: float) -> list[bytes]:
        """The next message to send; empty after a timeout, or when there will be no more."""
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(self._wake.wait(), patience_s)
        self._wake.clear()
        texts, self._next = list(self._next.values()), {}
        return texts


class _Watch:
    """All pages watching one sitting."""

    def __init__(self, records: Opening, id: str) -> None:
        self.watchers: list[Watcher] = []
        self.changed = asyncio.Event()
        self.snapshot: Snapshot | None = None
        self._records = records
        self._id = id
        self._task = asyncio.create_task(self._run())

    async def _run(self) -> None:
        self.changed.set()
        while True:
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self.changed.wait(), self._closes_in_s())
            self.changed.clear()
            try:
                self.snapshot = await to_thread.run_sync(lambda: Snapshot(self._records(), self._id))
            except Refused:
                self.snapshot = None
            except Exception as error:
                if not isinstance(error, Unavailable):
                    LOG.exception("a lesson could not be read")
                await asyncio.sleep(TRY_AGAIN_S)
                self.changed.set()
                continue
            for watcher in list(self.watchers):
                watcher.show(self.snapshot)
            await asyncio.sleep(AT_MOST_EVERY_S)

    def _closes_in_s(self) -> float | None:
        """How long until the question closes by itself, which no notice tells; None if it does not."""
        end_utc = self.snapshot.sitting.closes_utc if self.snapshot else ""
        return (datetime.fromisoformat(end_utc) - now()).total_seconds() if end_utc else None

    def end(self) -> None:
        self._task.cancel()


class Hub:
    """The lessons watched in this process."""

    def __init__(self, records: Opening, heard: Heard) -> None:
        self._records = records
        self._heard = heard
        self._watches: dict[str, _Watch] = {}
        self._tasks: list[asyncio.Task[None]] = []

    def enter(self, id: str, watcher: Watcher) -> None:
        """Adds a watching page.

        Raises:
            Refused: there are too many.
        """
        if not self._tasks or any(task.done() for task in self._tasks):
            for task in self._tasks:
                task.cancel()
            self._tasks = [asyncio.create_task(self._listen()), asyncio.create_task(self._look_after())]
        watch = self._watches.get(id)
        if watch is None:
            watch = self._watches[id] = _Watch(self._records, id)
        if len(watch.watchers) >= GREATEST_WATCHERS:
            raise Refused(503, "lesson", "too many pages are open on it", "close some")
        watch.watchers.append(watcher)
        watch.changed.set()

    def leave(self, id: str, watcher: Watcher) -> None:
        """Removes a watching page; a lesson that nobody watches is not read."""
        watch = self._watches.get(id)
        if watch is None or watcher not in watch.watchers:
            return
        watch.watchers.remove(watcher)
        if not watch.watchers:
            watch.end()
            del self._watches[id]

    async def _listen(self) -> None:
        while True:
            try:
                async for topic in self._records().changes.subscribe():
                    self._tell(topic)
            except Exception:
                LOG.exception("news of the records stopped")
            await asyncio.sleep(TRY_AGAIN_S)
            self._tell(LOOK_AGAIN)

    async def _look_after(self) -> None:
        """While anybody watches, checks whether the records can be reached and which phones respond."""
        before: UnavailableCode | None = None
        while True:
            if self._watches:
                try:
                    now = await to_thread.run_sync(lambda: away(self._records()))
                except Exception:
                    LOG.exception("the records could not be looked after")
                    now = "unreachable"
                for watch in self._watches.values():
                    if before and not now:
                        watch.changed.set()
                    contact = contact_of(now, self._heard, watch.snapshot)
                    for watcher in list(watch.watchers):
                        watcher.tell(contact)
                before = now
            await asyncio.sleep(LOOK_AFTER_EVERY_S)

    def _tell(self, topic: str) -> None:
        kind, _, id = topic.partition(":")
        for watched, watch in self._watches.items():
            if topic in (LOOK_AGAIN, "people") or (kind == "sitting" and id == watched):
                watch.changed.set()


# The sockets


class _Said(msgspec.Struct):
    """A message from a phone."""

    waiting: int | None = None


async def _keep_sending(websocket: WebSocket, watcher: Watcher) -> None:
    while not watcher.gone:
        texts = await watcher.next_texts(SIGN_OF_LIFE_S)
        for text in texts or [SIGN_OF_LIFE]:
            await websocket.send_text(stamped(text).decode())


async def _keep_reading(websocket: WebSocket, hears: Hears | None) -> None:
    """Reads a phone's reports of unsent answers; from other pages, only the disconnection matters."""
    with contextlib.suppress(WebSocketDisconnect):
        while (message := await websocket.receive())["type"] != "websocket.disconnect":
            if hears is not None:
                hears(_waiting(message.get("text") or ""))


def _waiting(text: str) -> int | None:
    try:
        return msgspec.json.decode(text[:LONGEST_SAID], type=_Said).waiting
    except (msgspec.DecodeError, UnicodeEncodeError):
        return None


async def _watch(websocket: WebSocket, id: str, watcher: Watcher, hears: Hears | None = None) -> None:
    hub = shared(websocket).hub
    try:
        hub.enter(id, watcher)
    except Refused:
        await websocket.close(TRY_AGAIN)
        return
    # Sending alone never notices that the page has left: whichever task ends first ends the other.
    tasks = [
        asyncio.create_task(_keep_reading(websocket, hears)),
        asyncio.create_task(_keep_sending(websocket, watcher)),
    ]
    try:
        await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    finally:
        hub.leave(id, watcher)
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
    if websocket.client_state is WebSocketState.CONNECTED:
        with contextlib.suppress(RuntimeError):
            await websocket.close(NOT_YOURS if watcher.gone else 1000)


async def student_line(websocket: WebSocket) -> None:
    """/class/SITTING/line: a student's view whenever it changes."""
    id = websocket.path_params["sitting"]
    await websocket.accept()
    digest, place = digest_of(websocket), None
    try:
        if digest:
            place = await to_thread.run_sync(lambda: records(websocket).sittings.place_by_secret(id, digest))
    except Unavailable:
        await websocket.close(TRY_AGAIN)
        return
    if place is None:
        await websocket.close(NOT_YOURS)
        return
    heard = shared(websocket).heard
    heard.hear(id, digest, lines=1)
    try:
        watcher = Watcher(lambda snapshot: snapshot.for_student(place.student))
        await _watch(websocket, id, watcher, lambda waiting: heard.hear(id, digest, waiting))
    finally:
        heard.hear(id, digest, lines=-1)


async def _instructors(websocket: WebSocket, watcher: Watcher) -> None:
    id = websocket.path_params["sitting"]
    await websocket.accept()
    try:
        await to_thread.run_sync(lambda: lesson_sitting(records(websocket), id))
    except Unavailable:
        await websocket.close(TRY_AGAIN)
        return
    except Refused:
        await websocket.close(NOT_YOURS)
        return
    await _watch(websocket, id, watcher)


async def projector_line(websocket: WebSocket) -> None:
    """/teach/SITTING/projector/line: what the whole class sees."""
    await _instructors(websocket, Watcher(lambda snapshot: snapshot.for_projector, Contact.for_projector))


async def instructor_line(websocket: WebSocket) -> None:
    """/teach/SITTING/line: what the instructor sees."""
    await _instructors(websocket, Watcher(lambda snapshot: snapshot.for_instructor, Contact.for_instructor))


ROUTES = [
    WebSocketRoute("/class/{sitting}/line", student_line),
    WebSocketRoute("/teach/{sitting}/line", instructor_line),
    WebSocketRoute("/teach/{sitting}/projector/line", projector_line),
]
