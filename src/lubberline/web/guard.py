"""Checks every request: who may use which side, from which page, and how large it is."""

import math
import time
from urllib.parse import quote

from anyio import to_thread
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection, cookie_parser
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from lubberline.errors import Unavailable
from lubberline.store.settings import PASSPHRASE
from lubberline.web.callers import Caller, Door, caller_of, is_students, keep_caller
from lubberline.web.forms import limited
from lubberline.web.records import Opening
from lubberline.web.refusal_pages import refusal, unavailable
from lubberline.web.refusals import Refused

BODY_LIMIT_BYTES = 100_000_000
STUDENTS_BODY_LIMIT_BYTES = 1_000_000
SESSION_COOKIE = "instructor"
LOGIN = "/login"
# An outage does not lock out an instructor who was logged in just before.
REMEMBERED_S = 3600.0
MOST_REMEMBERED = 50

HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}

Refusal = tuple[int, str, str, str]


class Guard:
    """Refuses foreign hosts, origins and sides, odd paths and large bodies; adds the safety headers.

    Args:
        app: the application behind it.
        body_limit_bytes: the largest body accepted, by its declared length and while it streams in.
        door: how far the school is open; by default this machine only.
        records: their passphrase opens the instructor's side; none is asked for when not given.
    """

    def __init__(
        self,
        app: ASGIApp,
        body_limit_bytes: int = BODY_LIMIT_BYTES,
        door: Door | None = None,
        records: Opening | None = None,
    ) -> None:
        self.app = app
        self.body_limit_bytes = body_limit_bytes
        self.door = door or Door()
        self.records = records
        # By cookie: when it was checked, whether a passphrase is needed, and whether the session is valid.
        self._found: dict[str, tuple[float, bool, bool]] = {}
        self._found_with = ("", "")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request: refused here, or passed on with its body counted and its headers set."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                headers.setdefault("cache-control", "no-store")
            await send(message)

        stopped = await self._stopped(scope)
        if stopped is not None and scope["type"] == "websocket":
            # Closed before it is accepted, which the browser sees as a plain 403.
            await send({"type": "websocket.close", "code": 1008, "reason": ""})
            return
        if stopped is not None:
            await stopped(scope, receive, send_with_headers)
            return
        limit_bytes = self._limit(scope)
        await self.app(
            scope, limited(receive, limit_bytes, Refused(*_too_large(limit_bytes))), send_with_headers
        )

    async def _stopped(self, scope: Scope) -> Response | None:
        """The answer to a request that goes no further."""
        caller, asked = caller_of(scope, self.door), HTTPConnection(scope)
        if caller is None:
            return refusal(asked, 403, "Host", *self._not_served())
        keep_caller(scope, caller)
        refused = self._refused(scope, caller)
        if refused is not None:
            return refusal(asked, *refused)
        if is_students(scope["path"]):
            return None
        if not (caller.here or caller.proxied):
            if scope["path"] == "/":
                return RedirectResponse("/join", status_code=303)
            return refusal(asked, 403, "page", "it is for the instructor", "students: go to /join")
        return await self._not_logged_in(scope, caller)

    def _not_served(self) -> tuple[str, str]:
        if self.door.behind:
            return "the page is not available at this address", f"open it at {self.door.behind}"
        if self.door.lan:
            return "the page is not available at this name", "open it at the address on the projector"
        return "this page is available on this machine only", "open it at 127.0.0.1"

    def _refused(self, scope: Scope, caller: Caller) -> Refusal | None:
        headers = Headers(scope=scope)
        if _is_odd(scope["path"]):
            return 400, "path", "the path has characters that are not allowed", "start at /"
        # A browser lets any page open a WebSocket to any host: only the origin shows whose page it is.
        changes = scope["type"] == "websocket" or scope["method"] == "POST"
        if changes and headers.get("origin") != caller.origin:
            return 403, "Origin", "the request came from another page", "send it from the page itself"
        if _is_from_elsewhere(headers, changes):
            return 403, "Sec-Fetch-Site", "the request came from another site", "open the page directly"
        declared = headers.get("content-length", "0")
        if not declared.isdigit():
            return 400, "Content-Length", "is not a number", "give the number of bytes"
        if int(declared) > self._limit(scope):
            return _too_large(self._limit(scope))
        return None

    async def _not_logged_in(self, scope: Scope, caller: Caller) -> Response | None:
        if self.records is None:
            return None
        cookie = cookie_parser(Headers(scope=scope).get("cookie", "")).get(SESSION_COOKIE, "")
        try:
            with_, runs = await to_thread.run_sync(_session, self.records, cookie)
            asks = bool(with_[0])
            if with_ != self._found_with:
                # A new passphrase, or all sessions ended: earlier results are invalid.
                self._found, self._found_with = {}, with_
            self._remember(cookie, asks, runs)
        except Unavailable as error:
            remembered = self._remembered(cookie)
            if remembered is None:
                # It is not known whether a passphrase is set, so nobody is let in.
                return unavailable(HTTPConnection(scope), error)
            asks, runs = remembered
        if not asks and caller.proxied:
            right = "on the machine itself: lubberline open --passphrase --behind " + self.door.behind
            return refusal(
                HTTPConnection(scope),
                403,
                "passphrase",
                "no passphrase is set, so only this machine has access",
                right,
            )
        if not asks or runs or scope["path"] == LOGIN:
            return None
        if scope["type"] == "http" and scope["method"] == "GET" and not scope["path"].startswith("/api/"):
            query = scope["query_string"].decode("latin-1")
            back = quote(scope["path"] + (f"?{query}" if query else ""), safe="")
            return RedirectResponse(f"{LOGIN}?next={back}", status_code=303)
        return refusal(HTTPConnection(scope), 401, "passphrase", "not logged in", f"log in at {LOGIN}")

    def _remember(self, cookie: str, asks: bool, runs: bool) -> None:
        """For pages that need no records, while the records cannot be reached."""
        self._found.pop(cookie, None)
        if runs or not (asks or cookie):
            self._found[cookie] = (time.monotonic(), asks, runs)
        if len(self._found) > MOST_REMEMBERED:
            del self._found[next(iter(self._found))]

    def _remembered(self, cookie: str) -> tuple[bool, bool] | None:
        found_s, asks, runs = self._found.get(cookie, (-math.inf, True, False))
        return (asks, runs) if time.monotonic() - found_s < REMEMBERED_S else None

    def _limit(self, scope: Scope) -> int:
        if is_students(scope["path"]):
            return min(self.body_limit_bytes, STUDENTS_BODY_LIMIT_BYTES)
        return self.body_limit_bytes


def _session(records: Opening, cookie: str) -> tuple[tuple[str, str], bool]:
    """The passphrase's digest with the key of its sessions, and whether this cookie's session is valid."""
    from lubberline.web import passphrase

    school = records()
    digest = school.settings.get(PASSPHRASE)
    key = school.settings.get(passphrase.KEY) if digest else ""
    return (digest, key), passphrase.is_session(key, cookie)


def _too_large(limit_bytes: int) -> Refusal:
    return 413, "file", f"larger than {limit_bytes / 1e6:g} MB", "a recorded flight is smaller than that"


def _is_from_elsewhere(headers: Headers, changes: bool) -> bool:
    """Whether the browser says the request comes from another site's page; following a link is allowed."""
    if headers.get("sec-fetch-site", "none") in ("none", "same-origin"):
        return False
    return changes or headers.get("sec-fetch-mode") != "navigate"


def _is_odd(path: str) -> bool:
    segments = path.split("/")
    return ".." in segments or "\\" in path or any(ord(sign) < 32 or ord(sign) == 127 for sign in path)
