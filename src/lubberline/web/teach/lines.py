"""The lines over which pages of a live class are told what is new: views out, and from phones what waits."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable

import msgspec
from anyio import to_thread
from starlette.routing import WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect, WebSocketState

from lubberline.errors import Unavailable
from lubberline.web.heard import Heard
from lubberline.web.kit import records, shared
from lubberline.web.refusals import Refused
from lubberline.web.sittings import seats
from lubberline.web.teach.contact import for_class, for_instructor
from lubberline.web.teach.hub import Hub, Watcher
from lubberline.web.teach.snapshot import lesson_sitting, stamped

# A phone that hears nothing for longer takes its line for dead.
SIGN_OF_LIFE_S = 15.0
SIGN_OF_LIFE = b"{}"
LONGEST_SAID = 200
NOT_YOURS = 4403
TRY_AGAIN = 1013

Hears = Callable[[int | None], None]


class _Said(msgspec.Struct):
    """What a phone says over its line."""

    waiting: int | None = None


async def _keep_sending(websocket: WebSocket, watcher: Watcher) -> None:
    while not watcher.gone:
        texts = await watcher.next_texts(SIGN_OF_LIFE_S)
        for text in texts or [SIGN_OF_LIFE]:
            await websocket.send_text(stamped(text).decode())


async def _keep_reading(websocket: WebSocket, hears: Hears | None) -> None:
    """A phone says how many answers wait on it; of other pages only their leaving is noticed."""
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
    hub: Hub = shared(websocket).hub
    try:
        hub.enter(id, watcher)
    except Refused:
        await websocket.close(TRY_AGAIN)
        return
    # A line that only sends never learns that its page has left: whichever ends first ends the other.
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
    digest = seats.digest_of(websocket)
    try:
        place = (
            await to_thread.run_sync(lambda: records(websocket).place_by_secret(id, digest))
            if digest
            else None
        )
    except Unavailable:
        await websocket.close(TRY_AGAIN)
        return
    if place is None:
        await websocket.close(NOT_YOURS)
        return
    heard: Heard = shared(websocket).heard
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
    await _instructors(websocket, Watcher(lambda snapshot: snapshot.for_projector, for_class))


async def instructor_line(websocket: WebSocket) -> None:
    """/teach/SITTING/line: what the instructor sees."""
    await _instructors(websocket, Watcher(lambda snapshot: snapshot.for_instructor, for_instructor))


ROUTES = [
    WebSocketRoute("/class/{sitting}/line", student_line),
    WebSocketRoute("/teach/{sitting}/line", instructor_line),
    WebSocketRoute("/teach/{sitting}/projector/line", projector_line),
]
