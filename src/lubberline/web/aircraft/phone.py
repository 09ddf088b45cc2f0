"""The log's form: on this machine under the aircraft, on the network under its code."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import Any

import msgspec
from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.errors import InputError
from lubberline.store import times
from lubberline.store.settings import RECORDS_ID
from lubberline.web.aircraft import books, correcting, rows_shown
from lubberline.web.aircraft.codes import craft_for
from lubberline.web.aircraft.entries import AFTER_LAST, ENGINE_CHOICES, FORM, SET_CHOICES
from lubberline.web.aircraft.fleet import Craft, craft_of
from lubberline.web.aircraft.framing import fields_of, go_to, page
from lubberline.web.kit import records, shared
from lubberline.web.refusal_pages import refusal
from lubberline.web.refusals import Refused
from lubberline.web.sendings import acknowledged, check_records, read_sending, refused, whose

# Choosing 'since the last entry' means something for a day.
LONGEST_S = 86_400.0
LARGEST_SENDING_BYTES = 10_000
Finds = Callable[[Request], Craft]


def by_key(request: Request) -> Craft:
    """The aircraft of an address of the instructor's side."""
    return craft_of(records(request), request.path_params["key"])


def by_code(request: Request) -> Craft:
    """The aircraft of an address of the network's side."""
    return craft_for(request, request.path_params["code"])


def _address(request: Request, craft: Craft) -> str:
    code = request.path_params.get("code")
    return f"/log/{code}" if code else f"/aircraft/{craft.key}/log"


def _form_page(
    request: Request, craft: Craft, typed: Mapping[str, str], error: InputError | None = None
) -> Response:
    school = records(request)
    log = shared(request).judging.of(craft, books.all_entries(school, craft)).log
    last = books.last_check(log)
    choices = list(SET_CHOICES)
    now_s = times.now().timestamp()
    if last is not None and 0.0 < now_s - last.time_s < LONGEST_S:
        at = datetime.fromtimestamp(last.time_s, UTC)
        choices.insert(0, (AFTER_LAST, f"after the last entry, {at:%H:%M} UTC"))
    place = f"{last.latitude_deg:.3f}, {last.longitude_deg:.3f}" if last else ""
    shown = {name: typed.get(name, usual) for name, usual in {**FORM, "place": place}.items()}
    return page(
        request,
        "log.html",
        error,
        craft=craft,
        address=_address(request, craft),
        back="" if "code" in request.path_params else f"/aircraft/{craft.key}",
        sent=secrets.token_hex(12),
        typed=shown,
        set_choices=choices,
        engine_choices=ENGINE_CHOICES,
        recent=rows_shown.lately(school, craft),
        whose=whose(school.setting(RECORDS_ID), craft.key),
        kept=request.query_params.get("done") == "kept",
    )


def _wants_json(request: Request) -> bool:
    return request.headers.get("accept", "").startswith("application/json")


def _json(answer: Mapping[str, Any]) -> Response:
    return Response(msgspec.json.encode(answer), media_type="application/json")


def _shown(finds: Finds) -> Any:
    async def show(request: Request) -> Response:
        def work() -> Response:
            return _form_page(request, finds(request), {})

        return await to_thread.run_sync(work)

    return show


async def _sent(request: Request, finds: Finds) -> Response:
    sending = await read_sending(request, LARGEST_SENDING_BYTES)

    def work() -> Response:
        school = records(request)
        try:
            craft = finds(request)
        except Refused as error:
            if error.code != "no-place":
                raise
            return refused(sending, InputError(error.where, error.wrong, error.right, error.code))
        try:
            check_records(school.setting(RECORDS_ID), sending, craft.key)
            log = shared(request).judging.of(craft, books.all_entries(school, craft)).log
            form = {**sending.fields, "sent": sending.sent}
            entry = books.keep_form(school, craft, form, log)
        except InputError as error:
            where = error.where.removeprefix("entry, ")
            return refused(sending, InputError(where, error.wrong, error.right, error.code))
        return acknowledged(sending, "kept", rows_shown.kept_words(entry))

    return await to_thread.run_sync(work)


def _kept(finds: Finds) -> Any:
    async def keep(request: Request) -> Response:
        if request.headers.get("content-type", "").startswith("application/json"):
            return await _sent(request, finds)
        form = await fields_of(request)

        def work() -> Response:
            craft = finds(request)
            school = records(request)
            log = shared(request).judging.of(craft, books.all_entries(school, craft)).log
            try:
                books.keep_form(school, craft, form, log)
            except InputError as error:
                return _form_page(request, craft, form, error)
            return go_to(_address(request, craft), "kept")

        return await to_thread.run_sync(work)

    return keep


def _undone(finds: Finds) -> Any:
    async def undo(request: Request) -> Response:
        form = await fields_of(request)

        def work() -> Response:
            craft, back = finds(request), form.get("do", "") == "bring back"
            try:
                act = correcting.redo if back else correcting.undo
                act(records(request), craft, form.get("entry", ""))
            except InputError as error:
                if _wants_json(request):
                    return refusal(request, 422, error.where, error.wrong, error.right)
                return _form_page(request, craft, {}, error)
            return (
                _json({"undone": not back})
                if _wants_json(request)
                else go_to(_address(request, craft), "brought-back" if back else "taken-back")
            )

        return await to_thread.run_sync(work)

    return undo


ROUTES = [
    route
    for path, finds in (("/aircraft/{key}/log", by_key), ("/log/{code}", by_code))
    for route in (
        Route(path, _shown(finds), methods=["GET"]),
        Route(path, _kept(finds), methods=["POST"]),
        Route(f"{path}/undo", _undone(finds), methods=["POST"]),
    )
]
