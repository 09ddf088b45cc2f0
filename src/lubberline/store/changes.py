"""News of what changed: within one process, or among all that share one PostgreSQL.

A topic is a short word such as 'sitting:ID'; it says that something is new there, never what: whoever is
told asks the store.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import threading
from collections.abc import AsyncIterator
from typing import Any

from sqlalchemy import Connection, Engine, text

LOG = logging.getLogger(__name__)
CHANNEL = "lubberline"
GREATEST_WAITING = 256
# A server that was away may have missed news: everybody is told to look.
LOOK_AGAIN = "*"
RETRY_S = 1.0


class Changes:
    """Those who listen in this process: enough for SQLite, whose records one process has."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._ears: dict[asyncio.Queue[str], asyncio.AbstractEventLoop] = {}

    def within(self, connection: Connection, topic: str) -> None:
        """What a transaction has to do so that others learn of it when it is through."""

    def publish(self, topic: str) -> None:
        """Tells everybody, after what it is about is kept."""
        self.tell(topic)

    def tell(self, topic: str) -> None:
        """Puts a topic into every listener's queue; of a full one all but 'look again' is dropped."""
        with self._lock:
            ears = list(self._ears.items())
        for queue, loop in ears:
            with contextlib.suppress(RuntimeError):
                loop.call_soon_threadsafe(_put, queue, topic)

    async def subscribe(self) -> AsyncIterator[str]:
        """Topics as they come, until the listener stops."""
        queue: asyncio.Queue[str] = asyncio.Queue(GREATEST_WAITING)
        with self._lock:
            self._ears[queue] = asyncio.get_running_loop()
        await asyncio.to_thread(self._begin)
        try:
            while True:
                yield await queue.get()
        finally:
            with self._lock:
                del self._ears[queue]

    def _begin(self) -> None:
        """Starts what brings news from elsewhere."""

    def close(self) -> None:
        """Stops it."""


def _put(queue: asyncio.Queue[str], topic: str) -> None:
    if queue.full():
        while not queue.empty():
            queue.get_nowait()
        topic = LOOK_AGAIN
    queue.put_nowait(topic)


class SharedChanges(Changes):
    """PostgreSQL: LISTEN and NOTIFY among all servers, delivered when a transaction is through."""

    def __init__(self, engine: Engine) -> None:
        super().__init__()
        self._engine = engine
        self._thread: threading.Thread | None = None
        self._stop = threading.Event()

    def within(self, connection: Connection, topic: str) -> None:
        """See `Changes.within`."""
        connection.execute(text("select pg_notify(:channel, :topic)"), {"channel": CHANNEL, "topic": topic})

    def publish(self, topic: str) -> None:
        """See `Changes.publish`."""
        with self._engine.begin() as connection:
            self.within(connection, topic)

    def _begin(self) -> None:
        with self._lock:
            if self._thread is not None:
                return
            ready = threading.Event()
            self._thread = threading.Thread(target=self._listen, args=(ready,), daemon=True)
            self._thread.start()
        # Nothing that is published after `subscribe` begins may be missed.
        ready.wait(10.0)

    def _listen(self, ready: threading.Event) -> None:
        missed = False
        while not self._stop.is_set():
            try:
                connection = self._engine.raw_connection()
                try:
                    driver: Any = connection.driver_connection
                    driver.autocommit = True
                    driver.execute(f"LISTEN {CHANNEL}")
                    ready.set()
                    if missed:
                        self.tell(LOOK_AGAIN)
                    while not self._stop.is_set():
                        for note in driver.notifies(timeout=0.5):
                            self.tell(note.payload)
                finally:
                    connection.detach()
                    connection.close()
            except Exception as error:
                LOG.warning("news from the database stopped (%s); trying again", type(error).__name__)
                missed = True
                self._stop.wait(RETRY_S)

    def close(self) -> None:
        """See `Changes.close`."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join(3.0)
