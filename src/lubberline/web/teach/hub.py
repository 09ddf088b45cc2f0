"""Who watches which lesson in this process, and what each is sent when something changes there.

The records are the only state: a change is news from the store (from this process or another one), on
which the sitting is read once for all who watch it, at most a few times a second.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import Callable

from anyio import to_thread

from lubberline.errors import Unavailable, UnavailableCode
from lubberline.store.changes import LOOK_AGAIN
from lubberline.web.heard import Heard
from lubberline.web.records import Opening
from lubberline.web.refusals import Refused
from lubberline.web.teach.contact import Contact, away, contact_of
from lubberline.web.teach.snapshot import Snapshot

LOG = logging.getLogger(__name__)
AT_MOST_EVERY_S = 0.2
TRY_AGAIN_S = 1.0
GREATEST_WATCHERS = 1000

LOOK_AFTER_EVERY_S = 2.0

View = Callable[[Snapshot], bytes | None]
Told = Callable[[Contact], bytes]


class Watcher:
    """One page that watches a lesson; of views that wait only the latest is sent.

    Args:
        view: what it shows of the lesson; None for somebody who is not in it any more.
        told: what it is told when records or phones cannot be reached; nothing without it.

    Attributes:
        gone: whether there is nothing more to see for this one.
    """

    def __init__(self, view: View, told: Told | None = None) -> None:
        self.gone = False
        self._view = view
        self._told = told
        # The last view and the last word on what can be reached, and those that wait.
        self._last: dict[str, bytes] = {}
        self._next: dict[str, bytes] = {}
        self._wake = asyncio.Event()

    def show(self, snapshot: Snapshot | None) -> None:
        """What is there now; None when the lesson is no more."""
        text = self._view(snapshot) if snapshot is not None else None
        if text is None:
            self.gone = True
            self._wake.set()
        else:
            self._put("view", text)

    def tell(self, contact: Contact) -> None:
        """What can be reached now."""
        if self._told is not None:
            self._put("contact", self._told(contact))

    def _put(self, kind: str, text: bytes) -> None:
        if text != self._last.get(kind):
            self._last[kind] = self._next[kind] = text
            self._wake.set()

    async def next_texts(self, patience_s: float) -> list[bytes]:
        """What is to be sent next; nothing when nothing came for so long, or nothing more will come."""
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(self._wake.wait(), patience_s)
        self._wake.clear()
        texts, self._next = list(self._next.values()), {}
        return texts


class _Watch:
    """All who watch one sitting."""

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
            await self.changed.wait()
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

    def end(self) -> None:
        self._task.cancel()


class Hub:
    """The lessons that are watched in this process."""

    def __init__(self, records: Opening, heard: Heard) -> None:
        self._records = records
        self._heard = heard
        self._watches: dict[str, _Watch] = {}
        self._tasks: list[asyncio.Task[None]] = []

    def enter(self, id: str, watcher: Watcher) -> None:
        """Somebody watches from now on.

        Raises:
            Refused: too many do.
        """
        if not self._tasks or any(task.done() for task in self._tasks):
            for task in self._tasks:
                task.cancel()
            self._tasks = [asyncio.create_task(self._listen()), asyncio.create_task(self._look_after())]
        watch = self._watches.get(id)
        if watch is None:
            watch = self._watches[id] = _Watch(self._records, id)
        if len(watch.watchers) >= GREATEST_WATCHERS:
            raise Refused(503, "lesson", "too many pages watch it", "close some")
        watch.watchers.append(watcher)
        watch.changed.set()

    def leave(self, id: str, watcher: Watcher) -> None:
        """Somebody watches no more; a lesson that nobody watches is not read."""
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
        """While anybody watches: whether the records answer, and which phones are heard."""
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
