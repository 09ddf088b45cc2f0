"""The Flights page, complete without script except for the drawings, and the requests of its script."""

from pathlib import PurePosixPath
from typing import Any

from lubberline.web.aircraft.fleet import catalogue_for
from lubberline.web.flights.engine import FlightAnswer
from lubberline.web.flights.query import FlightQuery, has_form_fields, query_in_address, query_in_json
from lubberline.web.kit import (
    InputError,
    Page,
    Refused,
    Request,
    Response,
    Route,
    as_json,
    get,
    go_to,
    page,
    part,
    run_in_threadpool,
    shared,
)

REQUEST_LIMIT_BYTES = 64_000


def fault_fields(fault: str) -> tuple[str, str, str]:
    """Name, size and minute of a fault as text, for the three fields of the form."""
    named, _, at_min = fault.partition("@")
    name, _, size = named.partition("=")
    return name, size, at_min


async def home(request: Request) -> Response:
    """GET /flights: the flight in the address."""
    engine, asked = shared(request).flying, FlightQuery()
    lists = await run_in_threadpool(catalogue_for, request)
    flown: FlightAnswer | None = None
    error: InputError | None = None
    try:
        asked = query_in_address(request.query_params)
        if has_form_fields(request.query_params):
            return go_to("/flights" + asked.address())
        flown = await engine.answer(asked, lists)
        asked = engine.named(asked, lists)
    except InputError as found:
        error = found
    given: dict[str, Any] = {"asked": asked, "flown": flown, "catalogue": lists}
    given["given"] = shared(request).uploads.titles()
    given["fault_rows"] = [*map(fault_fields, asked.faults), ("", "", "")]
    return page(request, "flights/flights.html", error, **given)


async def fly(request: Request) -> Response:
    """POST /api/fly: takes the fields of `FlightQuery`, returns one flown flight with its texts as HTML."""
    body = await request.body()
    if len(body) > REQUEST_LIMIT_BYTES:
        raise Refused(413, "request", f"{len(body)} bytes", f"at most {REQUEST_LIMIT_BYTES} bytes")
    lists = await run_in_threadpool(catalogue_for, request)
    answer = await shared(request).flying.answer(query_in_json(body), lists)
    parts = {name: part(f"flights/_{name}.html", flown=answer) for name in ("head", "account", "remarks")}
    return as_json({**answer, "parts": parts})


async def take_flight(request: Request) -> Response:
    """POST /api/flights?name=FILE with the file as the body: stores it in memory, returns its name."""
    name = PurePosixPath(request.query_params.get("name", "").replace("\\", "/")).name
    if not name:
        raise InputError("name", "the file has no name", "give a name ending in .gpx, .igc, .csv or .toml")
    key = await shared(request).flying.take(name[:120], await request.body())
    return as_json({"flight": key, "name": name[:120]})


PAGE = Page(
    "/flights",
    "Flights",
    [
        get("/flights", home),
        Route("/api/fly", fly, methods=["POST"]),
        Route("/api/flights", take_flight, methods=["POST"]),
    ],
)
