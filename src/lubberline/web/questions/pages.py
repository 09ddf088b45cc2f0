"""The Questions pages, rendered here and complete without script."""

from collections import Counter
from typing import Any, get_args

from lubberline.questions.bank import LEVELS, TOPICS, jurisdictions, models
from lubberline.questions.item import Item
from lubberline.simulation.misconceptions.idea import Kind
from lubberline.web.editor import Editor, Look
from lubberline.web.kit import (
    Form,
    InputError,
    Page,
    Request,
    Response,
    Room,
    digest,
    file,
    get,
    go_to,
    home_for,
    nearest_of,
    page,
    post,
    shared,
    was_typed,
)
from lubberline.web.questions import items, papers
from lubberline.web.questions.items import askers, ideas_at, item_look, model_look, models_at
from lubberline.web.questions.papers import OWN, Fields, PaperAsked, next_seed, paper_asked, whole_seed

FIRST_TOPIC = "wander"
ALL_TOPICS = "all"
KINDS: tuple[str, ...] = get_args(Kind)
LONGEST_SEARCH = 100


def _one_of(where: str, found: str, allowed: list[str]) -> str:
    if found and found not in allowed:
        raise InputError(where, f"'{found[:60]}' is not known", nearest_of(found, allowed))
    return found


def show_models(request: Request) -> Response:
    """GET /questions: the item models of a topic and level, each with a fresh example."""
    query = request.query_params
    topic, level, seed, error = FIRST_TOPIC, "", 1, None
    try:
        topic = _one_of("topic", query.get("topic", ""), [ALL_TOPICS, *TOPICS]) or FIRST_TOPIC
        level = _one_of("level", query.get("level", ""), list(LEVELS))
        seed = whole_seed(query.get("seed", ""))
    except InputError as found:
        error = found
    asked = "" if topic == ALL_TOPICS else topic
    return page(
        request,
        "questions/models.html",
        error,
        topic=topic,
        level=level,
        seed=seed,
        next_seed=next_seed(seed),
        topics=TOPICS,
        levels=LEVELS,
        counts=Counter(model.topic for model in models().values()),
        models=[model_look(model, seed, home_for(request)) for model in models_at(asked, level)],
    )


def show_ideas(request: Request) -> Response:
    """GET /questions/ideas: the wrong ideas, each with its correction and its scene."""
    query = request.query_params
    kind, error = "", None
    words = query.get("words", "")[:LONGEST_SEARCH]
    try:
        kind = _one_of("kind", query.get("kind", ""), list(KINDS))
    except InputError as found:
        error = found
    return page(
        request,
        "questions/ideas.html",
        error,
        kind=kind,
        words=words,
        kinds=KINDS,
        counts=Counter(idea.kind for idea in ideas_at("", "")),
        ideas=ideas_at(kind, words),
        askers=askers(),
    )


FIELDS = ("seed", "forms", "jurisdiction", "blueprint")


def _school_items(request: Request) -> list[Item]:
    return [record.item for record in shared(request).shelves.items().values()]


def _paper_page(request: Request, fields: Fields, error: InputError | None = None) -> Response:
    """The page of papers: the form, and the papers or the error."""
    asked, made = PaperAsked(), None
    try:
        asked = paper_asked(fields)
        if error is None:
            made = papers.papers_of(asked, home_for(request), _school_items(request))
    except InputError as found:
        error = found
    return page(request, "questions/paper.html", error, **_paper_given(fields, asked, made, error))


def _wrong_field(where: str) -> str:
    """The field of the form for an error."""
    if where.startswith(papers.ITEMS):
        return "items"
    last = where.rpartition(", ")[2]
    return last if last in FIELDS else "blueprint"


def _paper_given(
    fields: Fields, asked: PaperAsked, made: tuple[Any, ...] | None, error: InputError | None
) -> dict[str, Any]:
    shown = papers.shown_of(made, asked.show) if made else None
    chosen = fields.get("blueprint", "") or next((choice.name for choice in papers.shelf()), OWN)
    text = fields.get("text", "")
    listed = {choice.name: choice for choice in papers.shelf()}
    if chosen in listed:
        text = listed[chosen].read()
    return {
        "asked": asked,
        "next_seed": next_seed(asked.seed),
        "own": OWN,
        "shelf": papers.shelf(),
        "chosen": chosen,
        "text": text,
        "text_shown": digest(text),
        "typed_counts": bool(fields.get("passed_over", "")),
        "own_items": fields.get("items", ""),
        # As typed, so that errors can be corrected in place.
        "seed_written": fields.get("seed", "") or "1",
        "forms_written": fields.get("forms", ""),
        "jurisdictions": jurisdictions(),
        "wrong_field": _wrong_field(error.where) if error else "",
        "papers": made or (),
        "shown": shown,
        "items": [item_look(item, place) for place, item in enumerate(shown.items, 1)] if shown else [],
        "per_form": papers.PER_FORM,
        "for_all": papers.FOR_ALL,
    }


def show_paper(request: Request) -> Response:
    """GET /questions/paper: papers from a blueprint of the list."""
    return _paper_page(request, dict(request.query_params))


def make_paper(request: Request, form: Form) -> Response:
    """POST /questions/paper: papers from the form; those of the list are shown at their address."""
    fields: Fields = form
    if form.get("blueprint", "") != OWN and was_typed(form, "text"):
        # A changed text takes priority over the list.
        fields = {**form, "passed_over": form.get("blueprint", ""), "blueprint": OWN}
    if fields.get("blueprint", "") != OWN and not fields.get("items", "").strip():
        return go_to(paper_asked(fields).address())
    return _paper_page(request, fields)


def take_file(request: Request, form: Form) -> Response:
    """POST /questions/paper/files/NAME: one file of the papers in the form."""
    name = request.path_params["name"]
    return file(*papers.file_of(paper_asked(form), name, home_for(request), _school_items(request)))


def _write_page(request: Request, text: str) -> Response:
    """The page of items written by hand: the text, and its items or the error."""
    error = None
    found: dict[str, Any] = {"records": [], "together": ()}
    try:
        found = items.previewed(text)
    except InputError as problem:
        error = problem
    given: dict[str, Any] = {"text": text, "file_name": items.FILE_NAME, "topics": TOPICS, "levels": LEVELS}
    return page(request, "questions/write.html", error, **given, **found)


def show_sample(request: Request) -> Response:
    """GET /questions/write: a sample item to start with."""
    return _write_page(request, items.SAMPLE)


def show_written(request: Request, form: Form) -> Response:
    """POST /questions/write: the items of a text, with advice."""
    return _write_page(request, form.get("text", ""))


def take_written(request: Request, form: Form) -> Response:
    """POST /questions/write/items.md: the text as a file, even with errors."""
    return file(items.FILE_NAME, form.get("text", "").encode("utf-8"))


def _look(request: Request, name: str, text: str) -> Look:
    return Look(items.previewed(text, f"{name}.md"))


EDITOR = Editor(
    "items",
    "/questions/own",
    "questions/own.html",
    lambda _: items.SAMPLE,
    _look,
    title="Own items",
    about="Items written by hand, which papers and lessons draw like those of the program",
    given={"topics": TOPICS, "levels": LEVELS},
)
PAGE = Page(
    "/questions",
    "Questions",
    [
        get("/questions", show_models),
        get("/questions/ideas", show_ideas),
        get("/questions/paper", show_paper),
        post("/questions/paper", make_paper, _paper_page),
        post("/questions/paper/files/{name}", take_file, _paper_page),
        get("/questions/write", show_sample),
        post("/questions/write", show_written),
        post(f"/questions/write/{items.FILE_NAME}", take_written),
        *EDITOR.list_routes(),
        *EDITOR.routes(".md"),
    ],
    more=[
        Room("/questions/ideas", "Wrong ideas"),
        Room("/questions/write", "Write an item"),
        Room("/questions/own", "Own items"),
        Room("/questions/paper", "Papers"),
    ],
)
