"""The Questions pages, rendered here and complete without script."""

from __future__ import annotations

from collections import Counter
from functools import partial
from typing import Any, get_args

import jinja2
from anyio import to_thread
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from lubberline import __version__
from lubberline.errors import InputError, nearest_of
from lubberline.publish.words import many, number, typeset
from lubberline.questions.bank import LEVELS, TOPICS, jurisdictions, models
from lubberline.simulation import CAUTIONS
from lubberline.simulation.misconceptions.idea import Kind
from lubberline.web.kit import STATIC, THEMES
from lubberline.web.questions import making, writing
from lubberline.web.questions.asked import (
    OWN,
    Fields,
    PaperAsked,
    next_seed,
    paper_asked,
    sent_fields,
    whole_seed,
)
from lubberline.web.questions.looks import askers, ideas_at, item_look, model_look, models_at
from lubberline.web.typed import digest, was_typed

FIRST_TOPIC = "wander"
ALL_TOPICS = "all"
KINDS: tuple[str, ...] = get_args(Kind)
LONGEST_SEARCH = 100
TEMPLATES = jinja2.Environment(
    loader=jinja2.ChoiceLoader(
        [jinja2.PackageLoader("lubberline.web", folder) for folder in ("templates/questions", "templates")]
    ),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
TEMPLATES.filters.update(typeset=typeset, share=partial(number, decimals=2), many=many)


def page(request: Request, name: str, error: InputError | None = None, **given: Any) -> HTMLResponse:
    """One of the pages, with what was wrong where something was."""
    theme = request.cookies.get("theme", "auto")
    html = TEMPLATES.get_template(name).render(
        theme=theme if theme in THEMES else "auto",
        version=__version__,
        cautions=CAUTIONS,
        built=(STATIC / "questions.js").is_file(),
        error=error,
        **given,
    )
    return HTMLResponse(html, status_code=422 if error else 200)


def _one_of(where: str, found: str, allowed: list[str]) -> str:
    if found and found not in allowed:
        raise InputError(where, f"'{found[:60]}' is not known", nearest_of(found, allowed))
    return found


async def show_models(request: Request) -> Response:
    """GET /questions: the item models of a topic and level, each with a fresh example."""
    query = request.query_params
    topic, level, seed, error = FIRST_TOPIC, "", 1, None
    try:
        topic = _one_of("topic", query.get("topic", ""), [ALL_TOPICS, *TOPICS]) or FIRST_TOPIC
        level = _one_of("level", query.get("level", ""), list(LEVELS))
        seed = whole_seed(query.get("seed", ""))
    except InputError as found:
        error = found

    def looks() -> list[dict[str, Any]]:
        return [model_look(model, seed) for model in models_at("" if topic == ALL_TOPICS else topic, level)]

    return page(
        request,
        "models.html",
        error,
        topic=topic,
        level=level,
        seed=seed,
        next_seed=next_seed(seed),
        topics=TOPICS,
        levels=LEVELS,
        counts=Counter(model.topic for model in models().values()),
        models=await to_thread.run_sync(looks),
    )


async def show_ideas(request: Request) -> Response:
    """GET /questions/ideas: the wrong ideas, with what mends each and the scene that shows it."""
    query = request.query_params
    kind, error = "", None
    words = query.get("words", "")[:LONGEST_SEARCH]
    try:
        kind = _one_of("kind", query.get("kind", ""), list(KINDS))
    except InputError as found:
        error = found
    return page(
        request,
        "ideas.html",
        error,
        kind=kind,
        words=words,
        kinds=KINDS,
        counts=Counter(idea.kind for idea in ideas_at("", "")),
        ideas=ideas_at(kind, words),
        askers=await to_thread.run_sync(askers),
    )


FIELDS = ("seed", "forms", "jurisdiction", "blueprint")


async def _paper_page(request: Request, fields: Fields, error: InputError | None = None) -> Response:
    """The page of papers: what was asked for, and the papers or what is wrong."""
    asked, papers = PaperAsked(), None
    try:
        asked = paper_asked(fields)
        if error is None:
            papers = await to_thread.run_sync(making.papers_of, asked)
    except InputError as found:
        error = found
    return page(request, "paper.html", error, **_paper_given(fields, asked, papers, error))


def _wrong_field(where: str) -> str:
    """The field of the form that an error's place belongs to."""
    if where.startswith(making.ITEMS):
        return "items"
    last = where.rpartition(", ")[2]
    return last if last in FIELDS else "blueprint"


def _paper_given(
    fields: Fields, asked: PaperAsked, papers: tuple[Any, ...] | None, error: InputError | None
) -> dict[str, Any]:
    shown = making.shown_of(papers, asked.show) if papers else None
    chosen = fields.get("blueprint", "") or next((choice.name for choice in making.shelf()), OWN)
    text = fields.get("text", "").replace("\r\n", "\n")
    listed = {choice.name: choice.path for choice in making.shelf()}
    if chosen in listed:
        text = listed[chosen].read_text(encoding="utf-8")
    return {
        "asked": asked,
        "next_seed": next_seed(asked.seed),
        "own": OWN,
        "shelf": making.shelf(),
        "chosen": chosen,
        "text": text,
        "text_shown": digest(text),
        "typed_counts": bool(fields.get("passed_over", "")),
        "own_items": fields.get("items", "").replace("\r\n", "\n"),
        # As they were written, so that what is wrong can be mended where it stands.
        "seed_written": fields.get("seed", "") or "1",
        "forms_written": fields.get("forms", ""),
        "jurisdictions": jurisdictions(),
        "wrong_field": _wrong_field(error.where) if error else "",
        "papers": papers or (),
        "shown": shown,
        "items": [item_look(item, place) for place, item in enumerate(shown.items, 1)] if shown else [],
        "per_form": making.PER_FORM,
        "for_all": making.FOR_ALL,
    }


async def show_paper(request: Request) -> Response:
    """GET /questions/paper: papers from a blueprint of the list."""
    return await _paper_page(request, dict(request.query_params))


def _meant(fields: Fields) -> Fields:
    """A text that was changed is meant, whatever the list shows."""
    if fields.get("blueprint", "") == OWN or not was_typed(fields, "text"):
        return fields
    return {**fields, "passed_over": fields.get("blueprint", ""), "blueprint": OWN}


async def make_paper(request: Request) -> Response:
    """POST /questions/paper: papers from the form; those of the list are shown at their address."""
    fields = _meant(await sent_fields(request))
    if fields.get("blueprint", "") != OWN and not fields.get("items", "").strip():
        try:
            asked = paper_asked(fields)
        except InputError as error:
            return await _paper_page(request, fields, error)
        return RedirectResponse(asked.address(), status_code=303)
    return await _paper_page(request, fields)


async def take_file(request: Request) -> Response:
    """POST /questions/paper/files/NAME: one file of the papers that the form asks for."""
    fields = await sent_fields(request)
    try:
        asked = paper_asked(fields)
        made = await to_thread.run_sync(making.file_of, asked, request.path_params["name"])
    except InputError as error:
        return await _paper_page(request, fields, error)
    return _file(made.name, made.media_type, made.data)


def _file(name: str, media_type: str, data: bytes) -> Response:
    told = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(data, media_type=media_type, headers=told)


def _write_page(request: Request, text: str) -> Response:
    """The page of items by hand: the text, and its items or what is wrong."""
    error = None
    found: dict[str, Any] = {"records": [], "together": ()}
    try:
        found = writing.previewed(text)
    except InputError as problem:
        error = problem
    given = {"text": text, "file_name": writing.FILE_NAME, "topics": TOPICS, "levels": LEVELS}
    return page(request, "write.html", error, **given, **found)


async def show_sample(request: Request) -> Response:
    """GET /questions/write: an item by hand to begin with."""
    return await to_thread.run_sync(_write_page, request, writing.SAMPLE)


async def show_written(request: Request) -> Response:
    """POST /questions/write: the items of a text, with advice."""
    return await to_thread.run_sync(_write_page, request, await _sent_text(request))


async def take_written(request: Request) -> Response:
    """POST /questions/write/items.md: the text itself as a file, right or not: it is its writer's."""
    return _file(
        writing.FILE_NAME, "text/markdown; charset=utf-8", (await _sent_text(request)).encode("utf-8")
    )


async def _sent_text(request: Request) -> str:
    return (await sent_fields(request)).get("text", "").replace("\r\n", "\n")


ROUTES = [
    Route("/questions", show_models, methods=["GET"]),
    Route("/questions/ideas", show_ideas, methods=["GET"]),
    Route("/questions/paper", show_paper, methods=["GET"]),
    Route("/questions/paper", make_paper, methods=["POST"]),
    Route("/questions/paper/files/{name}", take_file, methods=["POST"]),
    Route("/questions/write", show_sample, methods=["GET"]),
    Route("/questions/write", show_written, methods=["POST"]),
    Route(f"/questions/write/{writing.FILE_NAME}", take_written, methods=["POST"]),
]
