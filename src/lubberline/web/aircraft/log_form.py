"""The log's form: on this machine under the aircraft, on the network under its code."""

import secrets
from collections.abc import Mapping

from lubberline.flight.home import Home
from lubberline.store import times
from lubberline.store.fleet import Craft
from lubberline.store.settings import RECORDS_ID
from lubberline.web.aircraft import log_book
from lubberline.web.aircraft.entries import (
    AFTER_LAST,
    ENGINE_CHOICES,
    FORM,
    SET_CHOICES,
    kept_words,
    lately,
)
from lubberline.web.aircraft.fleet import craft_asked, craft_for
from lubberline.web.aircraft.verdict import judged_of
from lubberline.web.kit import (
    Form,
    InputError,
    Refused,
    Request,
    Response,
    Route,
    as_json,
    get,
    go_to,
    home_for,
    page,
    post,
    read_form,
    records,
    run_in_threadpool,
)
from lubberline.web.refusal_pages import refusal
from lubberline.web.sendings import Sending, acknowledged, check_records, read_sending, refused, whose

# 'Since the last entry' can be chosen for a day.
LONGEST_S = 86_400.0
LARGEST_SENDING_BYTES = 10_000


def _craft(request: Request) -> Craft:
    """The aircraft of an address: by its code on the network's side, by its key on the instructor's."""
    code = request.path_params.get("code")
    return craft_for(request, code) if code else craft_asked(request)


def _address(request: Request, craft: Craft) -> str:
    code = request.path_params.get("code")
    return f"/log/{code}" if code else f"/aircraft/{craft.key}/log"


def _form_page(
    request: Request, craft: Craft, typed: Mapping[str, str], error: InputError | None = None
) -> Response:
    school = records(request)
    last = log_book.last_check(judged_of(records(request), craft).log)
    choices = list(SET_CHOICES)
    if last is not None and 0.0 < times.now().timestamp() - last.time_s < LONGEST_S:
        at = home_for(request).minute(last.time_s)
        choices.insert(0, (AFTER_LAST, f"after the last entry, {at}"))
    place = f"{last.latitude_deg:.3f}, {last.longitude_deg:.3f}" if last else ""
    shown = {name: typed.get(name, usual) for name, usual in {**FORM, "place": place}.items()}
    return page(
        request,
        "aircraft/log.html",
        error,
        craft=craft,
        address=_address(request, craft),
        back="" if "code" in request.path_params else f"/aircraft/{craft.key}",
        sent=secrets.token_hex(12),
        typed=shown,
        near=near(home_for(request)),
        clock=home_for(request).to_utc(times.now()),
        set_choices=choices,
        engine_choices=ENGINE_CHOICES,
        recent=lately(school, craft, home_for(request)),
        whose=whose(school.settings.get(RECORDS_ID), craft.key),
        kept=request.query_params.get("done") == "kept",
    )


def near(home: Home) -> str:
    """The place of home, as a place is typed: '43.40S 172.20E'."""
    north_south, east_west = "NS"[home.latitude_deg < 0.0], "EW"[home.longitude_deg < 0.0]
    return f"{abs(home.latitude_deg):.2f}{north_south} {abs(home.longitude_deg):.2f}{east_west}"


def show(request: Request) -> Response:
    """GET: the form."""
    return _form_page(request, _craft(request), {})


def _keep_sending(request: Request, sending: Sending) -> Response:
    school = records(request)
    try:
        craft = _craft(request)
    except Refused as error:
        if error.code != "no-place":
            raise
        return refused(sending, InputError(error.where, error.wrong, error.right, error.code))
    try:
        check_records(school.settings.get(RECORDS_ID), sending, craft.key)
        form = {**sending.fields, "sent": sending.sent}
        entry = log_book.keep_form(school, craft, form, judged_of(records(request), craft).log)
    except InputError as error:
        where = error.where.removeprefix("entry, ")
        return refused(sending, InputError(where, error.wrong, error.right, error.code))
    return acknowledged(sending, "kept", kept_words(entry, home_for(request)))


def _keep_form(request: Request, form: Form) -> Response:
    craft = _craft(request)
    try:
        log_book.keep_form(records(request), craft, form, judged_of(records(request), craft).log)
    except InputError as error:
        return _form_page(request, craft, form, error)
    return go_to(_address(request, craft), "kept")


async def keep(request: Request) -> Response:
    """POST: an entry, from the form or its script."""
    if request.headers.get("content-type", "").startswith("application/json"):
        sending = await read_sending(request, LARGEST_SENDING_BYTES)
        return await run_in_threadpool(_keep_sending, request, sending)
    return await run_in_threadpool(_keep_form, request, await read_form(request))


def undo(request: Request, form: Form) -> Response:
    """POST: undoes an entry, or brings it back, for the person who has just made it."""
    craft, back = _craft(request), form.get("do", "") == "bring back"
    is_script = request.headers.get("accept", "").startswith("application/json")
    try:
        act = log_book.redo if back else log_book.undo
        act(records(request), craft, form.get("entry", ""))
    except InputError as error:
        if is_script:
            return refusal(request, 422, error.where, error.wrong, error.right)
        return _form_page(request, craft, {}, error)
    if is_script:
        return as_json({"undone": not back})
    return go_to(_address(request, craft), "brought-back" if back else "taken-back")


ROUTES = [
    route
    for path in ("/aircraft/{key}/log", "/log/{code}")
    for route in (get(path, show), Route(path, keep, methods=["POST"]), post(f"{path}/undo", undo))
]
