"""Notices of changes: within one process, or among all servers that share one PostgreSQL.

A topic is a short word such as 'sitting:ID'; it only says that something has changed; the receiver
reads the records. The topic '*' means that notices may have been missed: read everything again.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import secrets
import threading
import weakref
from typing import Any

from sqlalchemy import Connection, Engine, text

from lubberline.store.database.engines import file_of

LOG = logging.getLogger(__name__)
CHANNEL = "lubberline"
MOST_WAITING = 256
LOOK_AGAIN = "*"
RETRY_S = 1.0
PAUSE_S = 0.5


class Listener:
    """Topics as they come: `async for topic in changes.subscribe()`.

    It listens from its creation. A topic repeated before it was read is delivered once.
    """

    def __init__(self) -> None:
        self._loop = asyncio.get_running_loop()
        self._waiting: dict[str, None] = {}
        self._woken = asyncio.Event()
        self._ended = False

    def __aiter__(self) -> Listener:
        return self

    async def __anext__(self) -> str:
        while not self._waiting:
            if self._ended:
                raise StopAsyncIteration
            self._woken.clear()
            await self._woken.wait()
        topic = next(iter(self._waiting))
        del self._waiting[topic]
        return topic

    async def aclose(self) -> None:
        """Stops listening and ends the iteration."""
        self._end()

    def tell(self, topic: str) -> None:
        """Adds a topic, from any thread."""
        self._call(self._take, topic)

    def end(self) -> None:
        """Ends it, from any thread."""
        self._call(self._end)

    def _call(self, act: Any, *given: str) -> None:
        # With its loop gone, nobody is waiting.
        with contextlib.suppress(RuntimeError):
            self._loop.call_soon_threadsafe(act, *given)

    def _take(self, topic: str) -> None:
        if self._ended:
            return
        self._waiting[topic] = None
        if len(self._waiting) > MOST_WAITING:
            self._waiting = {LOOK_AGAIN: None}
        self._woken.set()

    def _end(self) -> None:
        self._ended = True
        self._waiting.clear()
        self._woken.set()


class Changes:
    """The listeners in this process: enough for records in memory.

    Attributes:
        shared: whether other servers are notified too.
    """

    shared = False

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._listeners: weakref.WeakSet[Listener] = weakref.WeakSet()

    def within(self, connection: Connection, topic: str) -> None:
        """Called within a transaction, to notify others once it is committed."""

    def after(self, topic: str) -> None:
        """Called after a transaction."""
        self.tell(topic)

    def look(self) -> None:
        """Checks for changes without a notice; a server does so twice a second."""

    def publish(self, topic: str) -> None:
        """Notifies everybody; the school's own actions do this by themselves."""
        self.tell(topic)

    def tell(self, topic: str) -> None:
        """Notifies the listeners in this process."""
        for listener in self._all():
            listener.tell(topic)

    def subscribe(self) -> Listener:
        """A new listener; needs a running event loop."""
        listener = Listener()
        with self._lock:
            self._listeners.add(listener)
        return listener

    def close(self) -> None:
        """Ends all listeners."""
        for listener in self._all():
            listener.end()

    def _all(self) -> list[Listener]:
        with self._lock:
            return list(self._listeners)


class FileChanges(Changes):
    """For a SQLite file: its server notifies its own listeners, and sees other programs' changes by a mark.

    The mark is the user version number in a SQLite file, which is set in the same
    transaction.
    """

    def __init__(self, engine: Engine) -> None:
        super().__init__()
        self._engine = engine
        self._seen: int | None = None

    def within(self, connection: Connection, topic: str) -> None:
        """See `Changes.within`; a server does not set the mark."""
        if self._seen is None:
            connection.exec_driver_sql(f"PRAGMA user_version={secrets.randbelow(2**31 - 1) + 1}")

    def look(self) -> None:
        """See `Changes.look`; only the server calls this."""
        with self._engine.connect() as connection:
            connection.execution_options(reads=True)
            found = int(connection.exec_driver_sql("PRAGMA user_version").scalar_one())
        before, self._seen = self._seen, found
        if before not in (None, found):
            self.tell(LOOK_AGAIN)


class SharedChanges(Changes):
    """PostgreSQL: LISTEN and NOTIFY among all servers, delivered when a transaction is committed.

    One thread listens for the whole process. Whenever its connection starts, also after it
    was lost, everybody is told to read again.
    """

    shared = True

    def __init__(self, engine: Engine) -> None:
        super().__init__()
        self._engine = engine
        self._thread: threading.Thread | None = None
        self._stop = threading.Event()

    def within(self, connection: Connection, topic: str) -> None:
        """See `Changes.within`."""
        connection.execute(text("select pg_notify(:channel, :topic)"), {"channel": CHANNEL, "topic": topic})

    def after(self, topic: str) -> None:
        """See `Changes.after`: the database notifies everybody, including this process."""

    def publish(self, topic: str) -> None:
        """See `Changes.publish`."""
        with self._engine.begin() as connection:
            self.within(connection, topic)

    def subscribe(self) -> Listener:
        """See `Changes.subscribe`; the first topic may be '*'."""
        listener = super().subscribe()
        with self._lock:
            if self._thread is None:
                self._thread = threading.Thread(target=self._listen, name="news", daemon=True)
                self._thread.start()
        return listener

    def close(self) -> None:
        """See `Changes.close`."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join(3.0)
        super().close()

    def _listen(self) -> None:
        while not self._stop.is_set():
            try:
                self._listen_once()
            except Exception as error:
                LOG.warning("notifications from the database stopped (%s); retrying", type(error).__name__)
                self._stop.wait(RETRY_S)

    def _listen_once(self) -> None:
        connection = self._engine.raw_connection()
        driver: Any = connection.driver_connection
        # It listens permanently and must never return to the pool.
        connection.detach()
        try:
            driver.autocommit = True
            driver.execute(f"LISTEN {CHANNEL}")
            self.tell(LOOK_AGAIN)
            while not self._stop.is_set():
                for note in driver.notifies(timeout=PAUSE_S):
                    self.tell(note.payload)
        finally:
            driver.close()


def changes_of(engine: Engine) -> Changes:
    """The right kind of notices for a database."""
    if engine.dialect.name == "postgresql":
        return SharedChanges(engine)
    return FileChanges(engine) if file_of(engine.url) else Changes()
