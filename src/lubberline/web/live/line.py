"""The bench's line: one WebSocket a viewer, one reader and one sender each."""

from __future__ import annotations

import asyncio
import contextlib
import time
from typing import Any

from starlette.routing import WebSocketRoute
from starlette.websockets import WebSocket, WebSocketState

from lubberline.errors import InputError
from lubberline.simulation.live.orders import order_in_json
from lubberline.web.kit import shared
from lubberline.web.live.allowance import Allowance
from lubberline.web.live.room import Room, refusal_of
from lubberline.web.live.rooms import Rooms
from lubberline.web.live.viewer import Viewer

GREATEST_MESSAGE = 4096
# For the server: larger messages are not even read, and frames are small enough to go as they are.
SERVER_OPTIONS: dict[str, Any] = {"ws_max_size": 65536, "ws_per_message_deflate": False}
TOO_MUCH = 1008


def _take(room: Room, viewer: Viewer, text: str | bytes) -> None:
    try:
        if len(text) > GREATEST_MESSAGE:
            raise InputError("message", f"{len(text)} signs", f"at most {GREATEST_MESSAGE}")
        room.ask(viewer, order_in_json(text))
    except InputError as error:
        viewer.say(refusal_of(error))


async def _keep_reading(websocket: WebSocket, room: Room, viewer: Viewer) -> None:
    """Read until the viewer leaves or its flood of messages goes on too long."""
    allowance = Allowance(time.monotonic())
    while True:
        message = await websocket.receive()
        if message["type"] != "websocket.receive":
            return
        if allowance.take(time.monotonic()):
            _take(room, viewer, message.get("text") or message.get("bytes") or "")
        elif allowance.is_spent:
            return
        elif allowance.tell_once():
            viewer.say({"kind": "notice", "words": "Too many messages at once: some are left out."})


async def bench_socket(websocket: WebSocket) -> None:
    """/bench/socket?bench=ID: frames out, orders in, until the viewer leaves."""
    rooms: Rooms = shared(websocket).rooms
    await websocket.accept()
    viewer = Viewer(websocket.send_text)
    try:
        room = rooms.enter(websocket.query_params.get("bench", ""))
    except InputError as error:
        await websocket.send_json(refusal_of(error))
        await websocket.close(TOO_MUCH)
        return
    await room.join(viewer)
    # A line that only sends never learns that its viewer has left: whichever ends first ends the other.
    tasks = [
        asyncio.create_task(_keep_reading(websocket, room, viewer)),
        asyncio.create_task(viewer.keep_sending()),
    ]
    try:
        await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    finally:
        room.leave(viewer)
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
    if websocket.client_state is WebSocketState.CONNECTED:
        with contextlib.suppress(RuntimeError):
            await websocket.close(TOO_MUCH)


ROUTES = [WebSocketRoute("/bench/socket", bench_socket)]
