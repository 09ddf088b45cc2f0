"""The page of the bench, and its WebSocket."""

import asyncio
import contextlib
import re
import time
from typing import Any

import msgspec
from starlette.routing import WebSocketRoute
from starlette.websockets import WebSocket, WebSocketState

from lubberline.flight.home import Home
from lubberline.publish.figures.bands import REST, STACK_ORDER
from lubberline.publish.figures.causes import CAUSE_TEXTS, named_look
from lubberline.simulation.bench import EMPTY_BENCH
from lubberline.simulation.live.address import address_of, flown_fields, scene_at
from lubberline.simulation.live.orders import order_in_json
from lubberline.simulation.live.scene import Camera, Scene
from lubberline.simulation.scenes import state_address, state_toml
from lubberline.store import times
from lubberline.store.fleet import Craft, craft_named, demo_home, fleet
from lubberline.web.aircraft.fleet import craft_of
from lubberline.web.bench.rooms import Room, refusal_of
from lubberline.web.bench.viewer import Allowance, Viewer
from lubberline.web.kit import (
    InputError,
    Page,
    Request,
    Response,
    Route,
    Unavailable,
    as_json,
    get,
    go_to,
    home_for,
    page,
    read_form,
    records,
    required,
    run_in_threadpool,
    shared,
)
from lubberline.web.records import Opening

# The bench at home flies this much above it.
ABOVE_HOME_FT = 2000.0
GREATEST_MESSAGE = 4096
MOST_KEPT_FIELDS = 6
# A line of the captions: its time and a colon, then what is shown; without a time, now.
CAPTION = re.compile(r"\s*(?:(\d+(?:\.\d+)?)\s*s?\s*:)?\s*(.+?)\s*")
# For the server: larger messages are not even read, and frames are small enough to be sent uncompressed.
SERVER_OPTIONS: dict[str, Any] = {"ws_max_size": 65536, "ws_per_message_deflate": False}
TOO_MUCH = 1008


def begins(opening: Opening) -> Scene:
    """Where a new bench begins: at the school's home with its usual aircraft, if a home is set."""
    home = opening.home()
    if home == demo_home():
        return EMPTY_BENCH
    craft = None
    with contextlib.suppress(Unavailable):
        craft = craft_named(fleet(opening()), home.aircraft) if home.aircraft else None
    return scene_at(state_at(home, craft))


def state_at(home: Home, craft: Craft | None) -> str:
    """The address of a bench's state at home, today, with an aircraft or a healthy one."""
    fields: dict[str, Any] = {
        "start": {
            "latitude_deg": round(home.latitude_deg, 2),
            "longitude_deg": round(home.longitude_deg, 2),
            "altitude_ft": round(max(home.elevation_ft, 0.0) + ABOVE_HOME_FT, -2),
            "utc": times.now().date(),
        },
        "aircraft": flown_fields(craft.aircraft) if craft else {},
    }
    return address_of(fields)


def known_causes() -> list[dict[str, Any]]:
    """The causes of the ledger in the order of its bands: name, look and account of each."""
    return [
        {"key": key, **named_look(key), **CAUSE_TEXTS[key.removesuffix("_deg")]._asdict()}
        for key in STACK_ORDER
        if key != REST
    ]


def show(request: Request) -> Response:
    """GET /bench: the page of a bench; the script reads its name and state from the address.

    With an aircraft in the address, it begins at home with that.
    """
    if key := request.query_params.get("aircraft", ""):
        craft = craft_of(records(request), key)
        return go_to(f"/bench?bench=home-{craft.key}&state={state_at(home_for(request), craft)}")
    return page(request, "bench/bench.html", causes=known_causes(), own=shared(request).shelves.words())


async def bench_state(request: Request) -> Response:
    """GET /bench/state?bench=ID: `state` for an address, `scene_toml` to download it as a scene."""
    playing = required(
        shared(request).rooms.existing(request.query_params.get("bench", "")).playing,
        InputError("bench", "not ready yet", "try again in a moment"),
    )
    state = state_address(playing.bench, playing.pace)
    return as_json({"state": state, "scene_toml": state_toml(playing.bench)})


async def keep(request: Request) -> Response:
    """POST /bench/keep: what a bench has flown, as a draft of an own scene, which is then edited."""
    form = await read_form(request, MOST_KEPT_FIELDS, 0)
    playing = required(
        shared(request).rooms.existing(form.get("bench", "")).playing,
        InputError("bench", "not ready yet", "try again in a moment"),
    )
    shelf = shared(request).shelves.by_kind["scene"]
    latitude = playing.bench.frame()["truth"]["latitude_deg"]
    side = "S" if latitude < 0.0 else "N"
    title = " ".join(form.get("title", "").split()) or f"A flight at {abs(latitude):.0f} {side}"
    name = await run_in_threadpool(shelf.free_name, title)
    captions = _captions(form.get("captions", ""), playing.bench.time_s)
    text = playing.kept(name, title, _camera(form.get("camera", "")), captions)
    await run_in_threadpool(shelf.keep_draft, name, text)
    return go_to(f"/scenes/{name}")


def _camera(text: str) -> list[dict[str, Any]]:
    """The views that the page sent, with the fields of a scene's cameras, in order of time.

    Raises:
        InputError: they are none.
    """
    try:
        views = msgspec.json.decode(text, type=list[dict[str, float | bool | str]]) if text else []
        return sorted(
            msgspec.to_builtins(msgspec.convert(views, list[Camera])), key=lambda view: view["at_s"]
        )
    except (msgspec.DecodeError, msgspec.ValidationError):
        raise InputError("camera", "not a view", "reload the page, and keep the flight again") from None


def _captions(text: str, now_s: float) -> list[dict[str, Any]]:
    found = (CAPTION.fullmatch(line) for line in text.splitlines())
    return [{"at_s": now_s if one[1] is None else float(one[1]), "caption": one[2]} for one in found if one]


def _take(room: Room, viewer: Viewer, text: str | bytes) -> None:
    try:
        if len(text) > GREATEST_MESSAGE:
            raise InputError("message", f"{len(text)} characters", f"at most {GREATEST_MESSAGE}")
        room.ask(viewer, order_in_json(text))
    except InputError as error:
        viewer.say(refusal_of(error))


async def _keep_reading(websocket: WebSocket, room: Room, viewer: Viewer) -> None:
    """Read until the viewer leaves or sends too many messages for too long."""
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
            viewer.say({"kind": "notice", "words": "Too many messages at once; some were dropped."})


async def bench_socket(websocket: WebSocket) -> None:
    """/bench/socket?bench=ID: frames out, orders in, until the viewer leaves."""
    await websocket.accept()
    viewer = Viewer(websocket.send_text)
    try:
        room = shared(websocket).rooms.enter(websocket.query_params.get("bench", ""))
    except InputError as error:
        await websocket.send_json(refusal_of(error))
        await websocket.close(TOO_MUCH)
        return
    await room.join(viewer)
    # Sending alone never notices that the viewer has left: whichever task ends first ends the other.
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


PAGE = Page(
    "/bench",
    "Bench",
    [
        get("/bench", show),
        get("/bench/state", bench_state),
        Route("/bench/keep", keep, methods=["POST"]),
        WebSocketRoute("/bench/socket", bench_socket),
    ],
)
