"""One viewer of a bench: its queue of messages, the sending, and its message limit."""

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable

import msgspec

from lubberline.simulation.bench import Happened
from lubberline.web.rate_limit import Bucket

Send = Callable[[str], Awaitable[None]]
# Frames waiting for a viewer; if it does not keep up, the oldest are dropped.
DEPTH = 4
GREATEST_WORDS = 50
RATE_HZ = 60.0
BURST = 120.0
# After this many messages beyond the limit, the socket is closed.
PATIENCE = 3000


class Picture:
    """A frame of the bench as text, encoded once for all viewers.

    Attributes:
        happened: number of the last event in the frame.
    """

    def __init__(self, body: bytes, events: list[Happened]) -> None:
        self.happened = events[-1].number if events else 0
        self._body = body[:-1].decode()
        self._events = events
        self._texts: dict[tuple[bool, int], str] = {}

    def text(self, driver: bool, seen: int) -> str:
        """The message for a viewer that already has the events up to a number."""
        key = (driver, min(seen, self.happened))
        if key not in self._texts:
            told = [
                {"time_s": event.time_s, "words": event.words}
                for event in self._events
                if event.number > seen
            ]
            events = msgspec.json.encode(told).decode()
            self._texts[key] = f'{self._body},"driver":{"true" if driver else "false"},"events":{events}}}'
        return self._texts[key]


class Viewer:
    """A page watching a bench.

    Attributes:
        drives: whether it is in control.
        left_out: frames dropped because it was too slow.
    """

    def __init__(self, send: Send) -> None:
        self.drives = False
        self.left_out = 0
        self._send = send
        self._words: deque[str] = deque(maxlen=GREATEST_WORDS)
        self._pictures: deque[Picture] = deque()
        self._wake = asyncio.Event()
        self._seen = 0

    def say(self, message: dict[str, object]) -> None:
        """Queues a message for this viewer, before any waiting frame."""
        self._words.append(msgspec.json.encode(message).decode())
        self._wake.set()

    def show(self, picture: Picture) -> None:
        """Queues a frame; never waits."""
        if len(self._pictures) == DEPTH:
            self._pictures.popleft()
            self.left_out += 1
        self._pictures.append(picture)
        self._wake.set()

    async def keep_sending(self) -> None:
        """Sends the queue until cancelled; a slow viewer delays only itself."""
        while True:
            await self._wake.wait()
            self._wake.clear()
            while self._words or self._pictures:
                if self._words:
                    await self._send(self._words.popleft())
                    continue
                picture = self._pictures.popleft()
                text = picture.text(self.drives, self._seen)
                self._seen = max(self._seen, picture.happened)
                await self._send(text)


class Allowance:
    """A viewer's message limit: a steady rate with room for a burst.

    Attributes:
        beyond: messages beyond the limit so far.
    """

    def __init__(self, now_s: float) -> None:
        self.beyond = 0
        self._bucket = Bucket(BURST, RATE_HZ, now_s)
        self._told = False

    def take(self, now_s: float) -> bool:
        """Whether one more message is within the limit."""
        if self._bucket.left(now_s) < 1.0:
            self.beyond += 1
            return False
        self._bucket.take(now_s)
        if self._bucket.left(now_s) > 0.5 * BURST:
            self._told = False
        return True

    def tell_once(self) -> bool:
        """Whether to tell the viewer, once until its rate drops."""
        told, self._told = self._told, True
        return not told

    @property
    def is_spent(self) -> bool:
        """Whether to close the socket."""
        return self.beyond > PATIENCE
