"""The routes of an aircraft's plans."""

from __future__ import annotations

import base64
from typing import Any

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.errors import InputError
from lubberline.publish.reports.kneeboard import kneeboard_pdf, plan_svg
from lubberline.upkeep.plan_records import Plan
from lubberline.web.aircraft import books, judged
from lubberline.web.aircraft.fleet import Craft, craft_of
from lubberline.web.aircraft.framing import fields_of, file_answer, page
from lubberline.web.aircraft.planned import SAMPLE, asked_of, plan_view, planned
from lubberline.web.catalogue import Choice, demo_catalogue
from lubberline.web.forms import digest
from lubberline.web.kit import THEMES, records, shared


def _flights() -> tuple[Choice, ...]:
    return demo_catalogue().flights


def _plan(request: Request, craft: Craft, asked: dict[str, str]) -> Plan:
    found = shared(request).judging.of(craft, books.all_entries(records(request), craft))
    return planned(asked, craft, _flights(), judged.own_wander(craft, found))


def _page(
    request: Request, craft: Craft, asked: dict[str, str], plan: Plan | None, error: InputError | None
) -> Response:
    picture = ""
    if plan is not None:
        theme = request.cookies.get("theme", "auto")
        svg = plan_svg(plan, theme=theme if theme in THEMES else "auto").encode("utf-8")
        picture = f"data:image/svg+xml;base64,{base64.b64encode(svg).decode('ascii')}"
    return page(
        request,
        "plan.html",
        error,
        craft=craft,
        asked=asked,
        flights=_flights(),
        plan=plan_view(plan) if plan else None,
        picture=picture,
        sample=SAMPLE,
        text_shown=digest(asked["text"] or SAMPLE),
    )


async def _answered(request: Request, fields: Any, *, card: bool = False) -> Response:
    def work() -> Response:
        craft = craft_of(records(request), request.path_params["key"])
        asked = asked_of(fields)
        try:
            plan = _plan(request, craft, asked)
            if card:
                return file_answer("kneeboard.pdf", kneeboard_pdf(plan))
        except InputError as error:
            return _page(request, craft, asked, None, error)
        return _page(request, craft, asked, plan, None)

    return await to_thread.run_sync(work)


async def show_plan(request: Request) -> Response:
    """GET /aircraft/KEY/plan: a plan of a flight of the list."""
    return await _answered(request, request.query_params)


async def make_plan(request: Request) -> Response:
    """POST /aircraft/KEY/plan: a plan of what the form asks for."""
    return await _answered(request, await fields_of(request))


async def take_card(request: Request) -> Response:
    """POST /aircraft/KEY/plan/kneeboard.pdf: its card."""
    return await _answered(request, await fields_of(request), card=True)


ROUTES = [
    Route("/aircraft/{key}/plan", show_plan, methods=["GET"]),
    Route("/aircraft/{key}/plan", make_plan, methods=["POST"]),
    Route("/aircraft/{key}/plan/kneeboard.pdf", take_card, methods=["POST"]),
]
