"""A bench's state to keep: as the text of an address, and as a scene file."""

from __future__ import annotations

import msgspec
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.errors import InputError
from lubberline.simulation.scenes import state_address, state_toml
from lubberline.web.kit import shared
from lubberline.web.live.rooms import Rooms


async def bench_state(request: Request) -> Response:
    """GET /bench/state?bench=ID: `state` for an address, `scene_toml` to save it as a scene."""
    rooms: Rooms = shared(request).rooms
    playing = rooms.existing(request.query_params.get("bench", "")).playing
    if playing is None:
        raise InputError("bench", "it is not ready yet", "ask again in a moment")
    answer = {
        "state": state_address(playing.bench, playing.pace),
        "scene_toml": state_toml(playing.bench),
    }
    return Response(msgspec.json.encode(answer), media_type="application/json")


ROUTES = [Route("/bench/state", bench_state, methods=["GET"])]
