"""The Aircraft pages, rendered here and complete without script."""

from functools import partial

import msgspec

from lubberline.publish.reports.upkeep_report import trend_svg, upkeep_report_pdf
from lubberline.publish.words import degrees
from lubberline.store.fleet import add_aircraft, broken, fleet
from lubberline.upkeep.in_class import bench_address, questions_about, scene_toml
from lubberline.upkeep.records import Refusal
from lubberline.web.aircraft import log_book, log_form, plan, verdict
from lubberline.web.aircraft import swing as swings
from lubberline.web.aircraft.entries import NAMES, as_csv, entry_rows, withdrawn_of
from lubberline.web.aircraft.fleet import code_of, craft_asked, log_addresses, make_code, take_code
from lubberline.web.kit import (
    NO_FORM,
    THEMES,
    Form,
    InputError,
    Page,
    Refused,
    Request,
    Response,
    file,
    get,
    go_to,
    home_for,
    page,
    post,
    qr_picture,
    records,
    required,
    theme_of,
)
from lubberline.web.questions.items import item_look
from lubberline.web.questions.papers import next_seed, whole_seed

SAMPLE_FILE = (
    'name = "MY-ONE"\n\n[heading_indicator]\nbalance_latitude_deg = 45.0\n\n[suction]\ngauge_tap = "cabin"\n'
)


def show_fleet(request: Request, form: Form = NO_FORM, error: InputError | None = None) -> Response:
    """GET /aircraft: the fleet at a glance."""
    school = records(request)
    home = home_for(request)
    rows = [verdict.brief(craft, verdict.judged_of(school, craft), home) for craft in fleet(school)]
    text = form.get("file", "") or SAMPLE_FILE
    return page(request, "aircraft/fleet.html", error, rows=rows, file_text=text, broken=broken(school))


def add(request: Request, form: Form) -> Response:
    """POST /aircraft: adds an aircraft from its file."""
    craft = add_aircraft(records(request), form.get("file", ""))
    return go_to(f"/aircraft/{craft.key}", "added", form=form)


def show_one(
    request: Request,
    form: Form = NO_FORM,
    error: InputError | None = None,
    *,
    wrong: str = "",
    refused: tuple[Refusal, ...] = (),
) -> Response:
    """GET /aircraft/KEY: verdict, trend, entries, swing, files, the log's code.

    What was wrong with a form (`wrong`: 'csv' or 'swing') is shown with what was typed there.
    """
    school, craft = records(request), craft_asked(request)
    entries, trail = log_book.all_entries(school, craft), school.log.trail(craft.name)
    found = verdict.judged_of(records(request), craft)
    picture = f"/aircraft/{craft.key}/figure.svg?theme={theme_of(request)}&of={len(entries)}-{len(trail)}"
    view = verdict.whole(craft, found, picture, home_for(request))
    estimated = verdict.estimated_of(craft, found)
    if estimated is not None:
        fault = f"{estimated.fault} {estimated.size:g}" if estimated.fault else ""
        view["class"] = {
            "wander": degrees(estimated.wander_deg_15min),
            "fault": fault,
            "bench": bench_address(estimated),
        }
    swing = swings.swing_view(school, craft)
    if wrong == "swing":
        swing["typed"] = {
            **swing["typed"],
            **{name: form.get(name, "") for name in ("pairs", "day", "limit")},
        }
    code = code_of(school, craft)
    return page(
        request,
        "aircraft/one.html",
        error,
        craft=craft,
        view=view,
        swing=swing,
        swing_wrong=wrong == "swing",
        csv_wrong=wrong == "csv",
        csv_text=form.get("csv", ""),
        refused=(*refused, *found.log.refused),
        entries=entry_rows(entries, found.log, verdict.says_of(found), trail, home_for(request)),
        withdrawn=withdrawn_of(school, craft, trail, home_for(request)),
        open_entries=request.query_params.get("done") in ("corrected", "taken-back", "brought-back"),
        code=code,
        addresses=[{"address": one, "qr": qr_picture(one, 4)} for one in log_addresses(request, code)]
        if code
        else [],
    )


def take_csv(request: Request, form: Form) -> Response:
    """POST /aircraft/KEY/csv: saves good rows, lists bad ones."""
    craft = craft_asked(request)
    taken = log_book.take_csv(records(request), craft, form.get("csv", ""))
    if not taken.log.refused:
        return go_to(f"/aircraft/{craft.key}", "kept", at="#entries-title", form=form)
    return show_one(request, form, wrong="csv", refused=taken.log.refused)


def keep_maintenance(request: Request, form: Form) -> Response:
    """POST /aircraft/KEY/maintenance: work done on it."""
    craft = craft_asked(request)
    log_book.keep_maintenance(records(request), craft, form)
    return go_to(f"/aircraft/{craft.key}", "kept", at="#entries-title", form=form)


def keep_swing(request: Request, form: Form) -> Response:
    """POST /aircraft/KEY/swing: the pairs of a swing."""
    craft = craft_asked(request)
    swings.keep_swing(records(request), craft, form)
    return go_to(f"/aircraft/{craft.key}", "swung", at="#swing-title", form=form)


def change_code(request: Request, form: Form) -> Response:
    """POST /aircraft/KEY/code: a new code for the log on the network, or none."""
    craft, is_none = craft_asked(request), form.get("do") == "none"
    (take_code if is_none else make_code)(records(request), craft)
    return go_to(f"/aircraft/{craft.key}", "no-code" if is_none else "code", at="#code-title")


def _correct_page(request: Request, fields: Form = NO_FORM, error: InputError | None = None) -> Response:
    craft, id = craft_asked(request), request.path_params["id"]
    typed = fields or log_book.own_entry(records(request), craft, id).typed
    return page(
        request,
        "aircraft/correct.html",
        error,
        craft=craft,
        entry_id=id,
        names=list(NAMES.items()),
        typed={name: typed.get(name, "") for name in NAMES},
        by=fields.get("by", ""),
        why=fields.get("why", ""),
    )


def show_entry(request: Request) -> Response:
    """GET /aircraft/KEY/entries/ID: an entry to correct."""
    try:
        return _correct_page(request)
    except InputError as error:
        raise Refused(404, error.where, error.wrong, error.right, error.code) from None


def correct_entry(request: Request, form: Form) -> Response:
    """POST /aircraft/KEY/entries/ID: corrects or withdraws it; the old values stay in the history."""
    craft, school, id = craft_asked(request), records(request), request.path_params["id"]
    if form.get("do") == "bring back":
        log_book.put_back(school, craft, id)
        return go_to(f"/aircraft/{craft.key}", "brought-back", at=f"#entry-{id}")
    if form.get("do") == "withdraw":
        by, why = form.get("by", "").strip()[:60], form.get("why", "").strip()[:200]
        log_book.withdraw(school, craft, id, by, why)
        return go_to(f"/aircraft/{craft.key}", "taken-back", at="#entries-title", form=form)
    log_book.correct(school, craft, id, form)
    return go_to(f"/aircraft/{craft.key}", "corrected", at=f"#entry-{id}", form=form)


def show_questions(request: Request) -> Response:
    """GET /aircraft/KEY/questions: questions with this aircraft's numbers."""
    craft = craft_asked(request)
    estimated = required(
        verdict.estimated_of(craft, verdict.judged_of(records(request), craft)),
        Refused(404, "questions", "too few checks so far", "log more checks first"),
    )
    seed = whole_seed(request.query_params.get("seed", ""))
    items = [item_look(item, place) for place, item in enumerate(questions_about(estimated, seed), 1)]
    return page(request, "aircraft/questions.html", craft=craft, items=items, next_seed=next_seed(seed))


FILES = ("report.pdf", "judgement.json", "log.csv", "figure.svg", "card.pdf", "scene.toml")


def take_file(request: Request) -> Response:
    """GET /aircraft/KEY/NAME: one of `FILES`."""
    craft, name = craft_asked(request), request.path_params["name"]
    school = records(request)
    if name not in FILES:
        raise Refused(404, "file", f"there is no '{name[:40]}' here", "choose one on the aircraft's page")
    stem = f"{craft.key}_{name}"
    if name == "log.csv":
        return file(stem, as_csv(log_book.all_entries(school, craft)))
    if name == "card.pdf":
        return file(stem, swings.card_file(school, craft))
    found = verdict.judged_of(records(request), craft)
    estimated = verdict.estimated_of(craft, found)
    if found.judgement is None or estimated is None:
        raise Refused(404, "file", "too few checks so far", "log more checks first")
    if name == "report.pdf":
        return file(stem, upkeep_report_pdf(found.judgement, found.log, craft.aircraft, home_for(request)))
    if name == "judgement.json":
        told = {**msgspec.to_builtins(found.judgement), "refused": msgspec.to_builtins(found.log.refused)}
        return file(stem, msgspec.json.format(msgspec.json.encode(told), indent=1))
    if name == "scene.toml":
        return file(f"{craft.key.replace('-', '_')}_as_logged.toml", scene_toml(estimated).encode())
    wanted = request.query_params.get("theme", "")
    theme = wanted if wanted in THEMES else "auto"
    return file(stem, trend_svg(found.judgement, found.log.events, theme=theme).encode(), shown=True)


PAGE = Page(
    "/aircraft",
    "Aircraft",
    [
        get("/aircraft", show_fleet),
        post("/aircraft", add, show_fleet),
        *log_form.ROUTES,
        *plan.ROUTES,
        get("/aircraft/{key}", show_one),
        post("/aircraft/{key}/csv", take_csv, partial(show_one, wrong="csv")),
        post("/aircraft/{key}/maintenance", keep_maintenance, show_one),
        post("/aircraft/{key}/swing", keep_swing, partial(show_one, wrong="swing")),
        post("/aircraft/{key}/code", change_code),
        get("/aircraft/{key}/entries/{id}", show_entry),
        post("/aircraft/{key}/entries/{id}", correct_entry, _correct_page),
        get("/aircraft/{key}/questions", show_questions),
        get("/aircraft/{key}/{name}", take_file),
    ],
)
