"""The Aircraft pages, rendered here and complete without script."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec
from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.errors import InputError
from lubberline.publish.reports.upkeep_report import trend_svg, upkeep_report_pdf
from lubberline.publish.words import degrees
from lubberline.upkeep.in_class import bench_address, questions_about, scene_toml
from lubberline.upkeep.records import Refusal
from lubberline.web.aircraft import books, correcting, judged, phone, planning, rows_shown, taking_csv
from lubberline.web.aircraft.codes import code_of, log_addresses, make_code, qr_picture, take_code
from lubberline.web.aircraft.entries import NAMES, as_csv
from lubberline.web.aircraft.fleet import Craft, add_aircraft, broken, craft_of, fleet
from lubberline.web.aircraft.framing import fields_of, file_answer, go_to, page
from lubberline.web.aircraft.judged import Judged
from lubberline.web.aircraft.swinging import card_file, keep_swing, swing_view
from lubberline.web.kit import THEMES, records, shared
from lubberline.web.questions.items import item_look
from lubberline.web.questions.papers import next_seed, whole_seed
from lubberline.web.refusals import Refused

SAMPLE_FILE = (
    'name = "MY-ONE"\n\n[heading_indicator]\nbalance_latitude_deg = 45.0\n\n[suction]\ngauge_tap = "cabin"\n'
)
FIGURE_THEMES = {"auto": "auto", "light": "light", "dark": "dark"}


def judged_of(request: Request, craft: Craft) -> Judged:
    """What the log of an aircraft says."""
    found: Judged = shared(request).judging.of(craft, books.all_entries(records(request), craft))
    return found


def theme_of(request: Request) -> str:
    """The theme that this browser chose."""
    theme = request.cookies.get("theme", "auto")
    return theme if theme in THEMES else "auto"


def _craft(request: Request) -> Craft:
    return craft_of(records(request), request.path_params["key"])


async def _away(work: Callable[..., Response], *given: Any) -> Response:
    return await to_thread.run_sync(work, *given)


def _fleet_page(request: Request, error: InputError | None = None, text: str = "") -> Response:
    school = records(request)
    crafts = fleet(school)
    rows = [judged.brief(craft, judged_of(request, craft)) for craft in crafts]
    return page(request, "fleet.html", error, rows=rows, file_text=text or SAMPLE_FILE, broken=broken(school))


async def show_fleet(request: Request) -> Response:
    """GET /aircraft: the fleet at a glance."""
    return await _away(_fleet_page, request)


async def add(request: Request) -> Response:
    """POST /aircraft: one more aircraft, by its file."""
    fields = await fields_of(request)

    def work() -> Response:
        try:
            craft = add_aircraft(records(request), fields.get("file", ""))
        except InputError as error:
            return _fleet_page(request, error, fields.get("file", ""))
        return go_to(f"/aircraft/{craft.key}", "added", fields=fields)

    return await _away(work)


def _one_page(
    request: Request,
    craft: Craft,
    error: InputError | None = None,
    *,
    wrong: str = "",
    typed: dict[str, str] | None = None,
    refused: tuple[Refusal, ...] = (),
) -> Response:
    school = records(request)
    entries, trail = books.all_entries(school, craft), school.log_trail(craft.name)
    found = judged_of(request, craft)
    picture = f"/aircraft/{craft.key}/figure.svg?theme={theme_of(request)}&of={len(entries)}-{len(trail)}"
    view = judged.whole(craft, found, picture)
    estimated = judged.estimated_of(craft, found)
    if estimated is not None:
        fault = f"{estimated.fault} {estimated.size:g}" if estimated.fault else ""
        view["class"] = {
            "wander": degrees(estimated.wander_deg_15min),
            "fault": fault,
            "bench": bench_address(estimated),
        }
    swing = swing_view(school, craft)
    if wrong == "swing" and typed:
        swing["typed"] = {
            **swing["typed"],
            **{name: typed.get(name, "") for name in ("pairs", "day", "limit")},
        }
    code = code_of(school, craft)
    return page(
        request,
        "one.html",
        error,
        craft=craft,
        view=view,
        swing=swing,
        swing_wrong=wrong == "swing",
        csv_wrong=wrong == "csv",
        csv_text=(typed or {}).get("csv", ""),
        refused=(*refused, *found.log.refused),
        entries=rows_shown.rows_of(entries, found.log, judged.says_of(found), trail),
        withdrawn=rows_shown.withdrawn_of(school, craft, trail),
        open_entries=request.query_params.get("done") in ("corrected", "taken-back", "brought-back"),
        code=code,
        addresses=[{"address": one, "qr": qr_picture(one)} for one in log_addresses(request, code)]
        if code
        else [],
    )


async def show_one(request: Request) -> Response:
    """GET /aircraft/KEY: verdict, trend, entries, swing, files, the log's code."""

    def work() -> Response:
        return _one_page(request, _craft(request))

    return await _away(work)


async def take_csv(request: Request) -> Response:
    """POST /aircraft/KEY/csv: good rows kept, bad ones listed."""
    fields = dict(await fields_of(request))

    def work() -> Response:
        craft = _craft(request)
        try:
            taken = taking_csv.take_csv(records(request), craft, fields.get("csv", ""))
        except InputError as error:
            return _one_page(request, craft, error, wrong="csv", typed=fields)
        if not taken.log.refused:
            return go_to(f"/aircraft/{craft.key}", "kept", "#entries-title", fields)
        return _one_page(request, craft, wrong="csv", typed=fields, refused=taken.log.refused)

    return await _away(work)


async def keep_maintenance(request: Request) -> Response:
    """POST /aircraft/KEY/maintenance: work done on it."""
    fields = await fields_of(request)

    def work() -> Response:
        craft = _craft(request)
        try:
            books.keep_maintenance(records(request), craft, fields)
        except InputError as error:
            return _one_page(request, craft, error)
        return go_to(f"/aircraft/{craft.key}", "kept", "#entries-title", fields)

    return await _away(work)


async def keep_the_swing(request: Request) -> Response:
    """POST /aircraft/KEY/swing: the pairs of a swing."""
    fields = dict(await fields_of(request))

    def work() -> Response:
        craft = _craft(request)
        try:
            keep_swing(records(request), craft, fields)
        except InputError as error:
            return _one_page(request, craft, error, wrong="swing", typed=fields)
        return go_to(f"/aircraft/{craft.key}", "swung", "#swing-title", fields)

    return await _away(work)


async def change_code(request: Request) -> Response:
    """POST /aircraft/KEY/code: a new code for the log on the network, or none."""
    fields = await fields_of(request)

    def work() -> Response:
        craft, school = _craft(request), records(request)
        if fields.get("do") == "none":
            take_code(school, craft)
            return go_to(f"/aircraft/{craft.key}", "no-code", "#code-title")
        make_code(school, craft)
        return go_to(f"/aircraft/{craft.key}", "code", "#code-title")

    return await _away(work)


def _correct_page(
    request: Request, craft: Craft, fields: dict[str, str] | None = None, error: InputError | None = None
) -> Response:
    id = request.path_params["id"]
    entry = correcting.own_entry(records(request), craft, id)
    typed = fields or entry.typed
    return page(
        request,
        "correct.html",
        error,
        craft=craft,
        entry_id=id,
        names=list(NAMES.items()),
        typed={name: typed.get(name, "") for name in NAMES},
        by=(fields or {}).get("by", ""),
        why=(fields or {}).get("why", ""),
    )


async def show_entry(request: Request) -> Response:
    """GET /aircraft/KEY/entries/ID: an entry to be put right."""

    def work() -> Response:
        craft = _craft(request)
        try:
            return _correct_page(request, craft)
        except InputError as error:
            raise Refused(404, error.where, error.wrong, error.right, error.code) from None

    return await _away(work)


async def correct_entry(request: Request) -> Response:
    """POST /aircraft/KEY/entries/ID: put right, or taken out; what it was stays in the trail."""
    fields = dict(await fields_of(request))

    def work() -> Response:
        craft, school, id = _craft(request), records(request), request.path_params["id"]
        try:
            if fields.get("do") == "bring back":
                correcting.put_back(school, craft, id)
                return go_to(f"/aircraft/{craft.key}", "brought-back", f"#entry-{id}")
            if fields.get("do") == "withdraw":
                by, why = fields.get("by", "").strip()[:60], fields.get("why", "").strip()[:200]
                correcting.withdraw(school, craft, id, by, why)
                return go_to(f"/aircraft/{craft.key}", "taken-back", "#entries-title", fields)
            correcting.correct(school, craft, id, fields)
        except InputError as error:
            return _correct_page(request, craft, fields, error)
        return go_to(f"/aircraft/{craft.key}", "corrected", f"#entry-{id}", fields)

    return await _away(work)


async def show_questions(request: Request) -> Response:
    """GET /aircraft/KEY/questions: questions with this aircraft's numbers."""

    def work() -> Response:
        craft = _craft(request)
        estimated = judged.estimated_of(craft, judged_of(request, craft))
        if estimated is None:
            raise Refused(404, "questions", "the log says nothing yet", "log a check first")
        seed = whole_seed(request.query_params.get("seed", ""))
        items = [item_look(item, place) for place, item in enumerate(questions_about(estimated, seed), 1)]
        return page(request, "questions.html", craft=craft, items=items, next_seed=next_seed(seed))

    return await _away(work)


FILES = ("report.pdf", "judgement.json", "log.csv", "figure.svg", "card.pdf", "scene.toml")


def _file(request: Request) -> Response:
    craft, name = _craft(request), request.path_params["name"]
    school = records(request)
    if name not in FILES:
        raise Refused(404, "file", f"there is no '{name[:40]}' here", "take one of those on the page")
    stem = f"{craft.key}_{name}"
    if name == "log.csv":
        return file_answer(stem, as_csv(books.all_entries(school, craft)))
    if name == "card.pdf":
        return file_answer(stem, card_file(school, craft))
    found = judged_of(request, craft)
    estimated = judged.estimated_of(craft, found)
    if found.judgement is None or estimated is None:
        raise Refused(404, "file", "the log says nothing yet", "log a check first")
    if name == "report.pdf":
        return file_answer(stem, upkeep_report_pdf(found.judgement, found.log, craft.aircraft))
    if name == "judgement.json":
        told = {**msgspec.to_builtins(found.judgement), "refused": msgspec.to_builtins(found.log.refused)}
        return file_answer(stem, msgspec.json.format(msgspec.json.encode(told), indent=1))
    if name == "scene.toml":
        return file_answer(f"{craft.key.replace('-', '_')}_as_logged.toml", scene_toml(estimated).encode())
    theme = FIGURE_THEMES.get(request.query_params.get("theme", ""), "auto")
    return file_answer(stem, trend_svg(found.judgement, found.log.events, theme=theme).encode(), shown=True)


async def take_file(request: Request) -> Response:
    """GET /aircraft/KEY/NAME: one of `FILES`."""
    return await _away(_file, request)


ROUTES = [
    Route("/aircraft", show_fleet, methods=["GET"]),
    Route("/aircraft", add, methods=["POST"]),
    *phone.ROUTES,
    *planning.ROUTES,
    Route("/aircraft/{key}", show_one, methods=["GET"]),
    Route("/aircraft/{key}/csv", take_csv, methods=["POST"]),
    Route("/aircraft/{key}/maintenance", keep_maintenance, methods=["POST"]),
    Route("/aircraft/{key}/swing", keep_the_swing, methods=["POST"]),
    Route("/aircraft/{key}/code", change_code, methods=["POST"]),
    Route("/aircraft/{key}/entries/{id}", show_entry, methods=["GET"]),
    Route("/aircraft/{key}/entries/{id}", correct_entry, methods=["POST"]),
    Route("/aircraft/{key}/questions", show_questions, methods=["GET"]),
    Route("/aircraft/{key}/{name}", take_file, methods=["GET"]),
]
