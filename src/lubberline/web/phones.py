"""Which phones of a sitting respond, and how many unsent answers they report.

Kept only in memory and updated before the records are used, as it matters most while they cannot be reached.
Servers that share a PostgreSQL tell each other.
"""

import asyncio
import logging
import math
import re
import time
from collections.abc import Iterable
from typing import NamedTuple
from urllib.parse import parse_qs

from anyio import to_thread
from starlette.requests import HTTPConnection
from starlette.types import ASGIApp, Receive, Scope, Send

from lubberline.classroom.records import Place
from lubberline.web.records import Opening
from lubberline.web.sittings.join import digest_of

LOG = logging.getLogger(__name__)
# A page asks every few seconds in a lesson and every ten in a paper: three requests missed.
SILENT_S = 30.0
TELL_EVERY_S = 8.0
TOPIC = "heard"
# Only what has the form of an id is stored or sent to other servers.
OF_PHONES = re.compile(r"/(?:class|sit)/([A-Za-z0-9_-]{1,64})(?:/|$)")
# The start of a digest distinguishes the phones of a school; a database notice is limited to 8000 bytes.
KEY_LENGTH = 12
TOLD_TOGETHER = 300
MOST_WAITING = 999
MOST_PHONES = 20_000


class Phones(NamedTuple):
    """The state of a sitting's phones.

    Attributes:
        silent: ids of the students whose phones have not responded for `SILENT_S`.
        waiting: unsent answers reported by the phones.
    """

    silent: frozenset[str] = frozenset()
    waiting: int = 0


class _Phone:
    def __init__(self) -> None:
        self.heard_s = -math.inf
        # Heard by this process since the last notice; what other servers reported is not repeated.
        self.untold = False
        self.waiting = 0
        self.lines = 0

    def is_silent(self, now_s: float) -> bool:
        return not self.lines and now_s - self.heard_s > SILENT_S


class Heard:
    """The phones that this process hears, and those reported by other servers."""

    def __init__(self, records: Opening) -> None:
        self._records = records
        self._began_s = time.monotonic()
        self._phones: dict[tuple[str, str], _Phone] = {}
        self._sharing: asyncio.Task[None] | None = None
        self._alone = False

    def hear(self, sitting: str, digest: str, waiting: int | None = None, lines: int = 0) -> None:
        """Records that a phone was heard.

        Args:
            sitting: whose page it has.
            digest: of the secret that its browser holds; '' for none.
            waiting: its unsent answers, if reported.
            lines: opened (1) or closed (-1).
        """
        if digest:
            phone = self._take(sitting, digest[:KEY_LENGTH], waiting)
            phone.untold = True
            phone.lines = max(0, phone.lines + lines)
            self._share()

    def _take(self, sitting: str, key: str, waiting: int | None) -> _Phone:
        # The last one heard comes last.
        phone = self._phones.pop((sitting, key), None) or _Phone()
        self._phones[sitting, key] = phone
        phone.heard_s = time.monotonic()
        if waiting is not None:
            phone.waiting = min(max(waiting, 0), MOST_WAITING)
        if len(self._phones) > MOST_PHONES:
            del self._phones[next(iter(self._phones))]
        return phone

    def of(self, sitting: str, places: Iterable[Place]) -> Phones:
        """The phones of students with a place in a sitting that they have not finished."""
        now_s, silent, waiting = time.monotonic(), set(), 0
        for place in places:
            if not place.secret_hash or place.ended_utc:
                continue
            phone = self._phones.get((sitting, place.secret_hash[:KEY_LENGTH]))
            if phone is not None:
                waiting += phone.waiting
            # Right after a start nobody has been heard yet.
            if now_s - self._began_s > SILENT_S if phone is None else phone.is_silent(now_s):
                silent.add(place.student)
        return Phones(frozenset(silent), waiting)

    def _share(self) -> None:
        if self._alone or (self._sharing is not None and not self._sharing.done()):
            return
        self._sharing = asyncio.create_task(self._run())

    async def _run(self) -> None:
        try:
            changes = await to_thread.run_sync(lambda: self._records().changes)
            if not changes.shared:
                self._alone = True
                return
            listening = asyncio.create_task(self._listen())
            try:
                while True:
                    await asyncio.sleep(TELL_EVERY_S)
                    for topic in self._news():
                        await to_thread.run_sync(changes.publish, topic)
            finally:
                listening.cancel()
        except Exception as error:
            # The next phone heard starts it again.
            LOG.warning("other servers were not told which phones are heard (%s)", type(error).__name__)

    async def _listen(self) -> None:
        async for topic in self._records().changes.subscribe():
            kind, _, told = topic.partition(":")
            if kind == TOPIC:
                self._heard_elsewhere(told)

    def _heard_elsewhere(self, told: str) -> None:
        sitting, _, phones = told.partition(":")
        for one in phones.split(","):
            key, _, waiting = one.partition("=")
            known = self._phones.get((sitting, key))
            if known is None or not known.lines:
                self._take(sitting, key, int(waiting) if waiting.isdigit() else None)

    def _news(self) -> list[str]:
        """The notice to other servers: who was heard since the last one, by sitting."""
        lately: dict[str, list[str]] = {}
        for (sitting, key), phone in self._phones.items():
            if phone.lines or phone.untold:
                phone.untold = False
                lately.setdefault(sitting, []).append(f"{key}={phone.waiting}")
        return [
            f"{TOPIC}:{sitting}:{','.join(phones[first : first + TOLD_TOGETHER])}"
            for sitting, phones in lately.items()
            for first in range(0, len(phones), TOLD_TOGETHER)
        ]


def waiting_in(query: str) -> int | None:
    """The number of unsent answers in an address; None if not given."""
    told = parse_qs(query, max_num_fields=10).get("waiting", [""])[-1]
    return int(told) if told.isascii() and told.isdigit() and len(told) < 7 else None


class Hearing:
    """Middleware before the students' pages: records whose phones make requests."""

    def __init__(self, app: ASGIApp, heard: Heard) -> None:
        self.app = app
        self.heard = heard

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request or WebSocket, recorded and passed on."""
        found = OF_PHONES.match(scope["path"]) if scope["type"] in ("http", "websocket") else None
        if found:
            try:
                waiting = waiting_in(scope.get("query_string", b"").decode("latin-1"))
            except ValueError:
                waiting = None
            self.heard.hear(found[1], digest_of(HTTPConnection(scope)), waiting)
        await self.app(scope, receive, send)
