"""The answers for the script: fly a state, take a file."""

from __future__ import annotations

from pathlib import PurePosixPath

import msgspec
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.errors import InputError
from lubberline.web.asked import asked_in_json
from lubberline.web.flying import Flying, Reply
from lubberline.web.kit import shared
from lubberline.web.pages import Pages
from lubberline.web.refusals import Refused

REQUEST_LIMIT_BYTES = 64_000


def as_json(value: object) -> Response:
    """Plain values as JSON."""
    return Response(msgspec.json.encode(value), media_type="application/json")


async def fly(request: Request) -> Response:
    """POST /api/fly: the fields of `Asked` in, one flown flight out, its texts as HTML with it."""
    body = await request.body()
    if len(body) > REQUEST_LIMIT_BYTES:
        raise Refused(413, "request", f"{len(body)} bytes", f"at most {REQUEST_LIMIT_BYTES} bytes")
    flying: Flying = shared(request).flying
    answer = await flying.reply(asked_in_json(body))
    return as_json({**answer, "parts": parts(request, answer)})


def parts(request: Request, answer: Reply) -> dict[str, str]:
    """The texts of an answer, from the same templates as the page."""
    pages = Pages(shared(request).house, shared(request).uploads)
    return {name: pages.part(name, answer) for name in ("head", "account", "remarks")}


async def take_flight(request: Request) -> Response:
    """POST /api/flights?name=FILE with the file as the body: kept in memory, its name for /api/fly out."""
    name = PurePosixPath(request.query_params.get("name", "").replace("\\", "/")).name
    if not name:
        raise InputError("name", "the file has no name", "a name ending in .gpx, .igc, .csv or .toml")
    flying: Flying = shared(request).flying
    key = await flying.take(name[:120], await request.body())
    return as_json({"flight": key, "name": name[:120]})


ROUTES = [
    Route("/api/fly", fly, methods=["POST"]),
    Route("/api/flights", take_flight, methods=["POST"]),
]
