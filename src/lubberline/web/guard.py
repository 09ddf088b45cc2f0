"""What stands before every request: this machine alone, this page alone, nothing too large."""

from __future__ import annotations

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from lubberline.web.refusals import Refused, refusal

BODY_LIMIT_BYTES = 100_000_000
# A name that does not mean this machine is a rebound DNS answer or a proxy; neither is served.
OWN_NAMES = frozenset({"127.0.0.1", "localhost", "[::1]"})

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


class Guard:
    """Refuses foreign hosts and origins, odd paths and large bodies; adds the safety headers.

    Args:
        app: the application behind it.
        body_limit_bytes: the largest body taken, by its declared length and while it streams in.
    """

    def __init__(self, app: ASGIApp, body_limit_bytes: int = BODY_LIMIT_BYTES) -> None:
        self.app = app
        self.body_limit_bytes = body_limit_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request: refused here, or handed on with its body counted and its headers set."""
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

        stopped = self._refused(scope)
        if stopped is not None and scope["type"] == "websocket":
            # Closed before it is open, which the browser sees as a plain 403.
            await send({"type": "websocket.close", "code": 1008, "reason": stopped[2]})
            return
        if stopped is not None:
            status, where, wrong, right = stopped
            answer = refusal(status, where, wrong, right)
            await answer(scope, receive, send_with_headers)
            return
        await self.app(scope, self._counted(receive), send_with_headers)

    def _refused(self, scope: Scope) -> tuple[int, str, str, str] | None:
        headers = Headers(scope=scope)
        hosts = headers.getlist("host")
        if len(hosts) != 1 or _name_of(hosts[0]) not in OWN_NAMES:
            return 403, "Host", "this page is served to this machine alone", "open it at 127.0.0.1"
        if _is_odd(scope["path"]):
            return 400, "path", "the path has characters that no page here has", "start at /"
        # A browser lets any page open a line to any host: only its origin tells whose page it is.
        changes = scope["type"] == "websocket" or scope["method"] == "POST"
        if changes and headers.get("origin") != f"http://{hosts[0]}":
            return 403, "Origin", "the request came from another page", "send it from the page itself"
        declared = headers.get("content-length", "0")
        if not declared.isdigit():
            return 400, "Content-Length", "is not a number", "a count of bytes"
        if int(declared) > self.body_limit_bytes:
            return self._too_large()
        return None

    def _too_large(self) -> tuple[int, str, str, str]:
        limit_mb = self.body_limit_bytes / 1e6
        return 413, "file", f"larger than {limit_mb:g} MB", "a recorded flight is smaller than that"

    def _counted(self, receive: Receive) -> Receive:
        taken_bytes = 0

        async def receive_counted() -> Message:
            nonlocal taken_bytes
            message = await receive()
            taken_bytes += len(message.get("body", b""))
            if taken_bytes > self.body_limit_bytes:
                raise Refused(*self._too_large())
            return message

        return receive_counted


def _name_of(host: str) -> str:
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0].lower()


def _is_odd(path: str) -> bool:
    segments = path.split("/")
    return ".." in segments or "\\" in path or any(ord(sign) < 32 or ord(sign) == 127 for sign in path)
