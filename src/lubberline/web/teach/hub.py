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

from lubberline.store.changes import LOOK_AGAIN
from lubberline.store.school import School
from lubberline.web.refusals import Refused
from lubberline.web.teach.snapshot import Snapshot

LOG = logging.getLogger(__name__)
AT_MOST_EVERY_S = 0.2
TRY_AGAIN_S = 1.0
GREATEST_WATCHERS = 1000

View = Callable[[Snapshot], bytes | None]


class Watcher:
    """One page that watches a lesson; of views that wait only the latest is sent.

    Attributes:
        gone: whether there is nothing more to see for this one.
    """

    def __init__(self, view: View) -> None:
        self.gone = False
        self._view = view
        self._last = b""
        self._next: bytes | None = None
        self._wake = asyncio.Event()

    def show(self, snapshot: Snapshot | None) -> None:
        """What is there now; None when the lesson is no more."""
        text = self._view(snapshot) if snapshot is not None else None
        if text is None:
            self.gone = True
        elif text != self._last:
            self._last = self._next = text
        else:
            return
        self._wake.set()

    async def next_view(self, patience_s: float) -> bytes | None:
        """The next view; None when nothing came for so long, or nothing more will come."""
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(self._wake.wait(), patience_s)
        self._wake.clear()
        text, self._next = self._next, None
        return text


class _Watch:
    """All who watch one sitting."""

    def __init__(self, school: School, id: str) -> None:
        self.watchers: list[Watcher] = []
        self.changed = asyncio.Event()
        self._school = school
        self._id = id
        self._task = asyncio.create_task(self._run())

    async def _run(self) -> None:
        self.changed.set()
        while True:
            await self.changed.wait()
            self.changed.clear()
            try:
                snapshot = await to_thread.run_sync(Snapshot, self._school, self._id)
            except Refused:
                snapshot = None
            except Exception:
                LOG.exception("a lesson could not be read")
                await asyncio.sleep(TRY_AGAIN_S)
                self.changed.set()
                continue
            for watcher in list(self.watchers):
                watcher.show(snapshot)
            await asyncio.sleep(AT_MOST_EVERY_S)

    def end(self) -> None:
        self._task.cancel()


class Hub:
    """The lessons that are watched in this process."""

    def __init__(self, school: School) -> None:
        self._school = school
        self._watches: dict[str, _Watch] = {}
        self._news: asyncio.Task[None] | None = None

    def enter(self, id: str, watcher: Watcher) -> None:
        """Somebody watches from now on.

        Raises:
            Refused: too many do.
        """
        if self._news is None or self._news.done():
            self._news = asyncio.create_task(self._listen())
        watch = self._watches.get(id)
        if watch is None:
            watch = self._watches[id] = _Watch(self._school, id)
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
                async for topic in self._school.changes.subscribe():
                    self._tell(topic)
            except Exception:
                LOG.exception("news of the records stopped")
            await asyncio.sleep(TRY_AGAIN_S)
            self._tell(LOOK_AGAIN)

    def _tell(self, topic: str) -> None:
        kind, _, id = topic.partition(":")
        for watched, watch in self._watches.items():
            if topic in (LOOK_AGAIN, "people") or (kind == "sitting" and id == watched):
                watch.changed.set()
