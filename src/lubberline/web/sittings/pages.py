"""The instructor's pages of sittings: the list, a new one, and what is done with one."""

from __future__ import annotations

from typing import Any

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.classroom.records import Sitting
from lubberline.errors import InputError
from lubberline.questions.bank import jurisdictions
from lubberline.questions.locked_papers import GREATEST_BYTES
from lubberline.store.school import School
from lubberline.web.framed import file_answer, framed, go_to, school_of
from lubberline.web.questions import papers as making
from lubberline.web.questions.papers import OWN
from lubberline.web.sent import sent_fields, sent_form
from lubberline.web.sittings import answer_pages, late, roll, starting, typing_pages
from lubberline.web.sittings.acting import with_sitting
from lubberline.web.sittings.files import answers_csv, totals_csv
from lubberline.web.sittings.overview import now_given, sitting_page, state_of
from lubberline.web.typed import real_groups

LEFT = ("group", "new_group", "minutes", "on_paper")
CARRIED = ("text", "items", "jurisdiction", "seed", "forms", "blueprint", "title")


def _list(request: Request) -> Response:
    school = school_of(request.app)
    groups = {group.id: group.title for group in school.groups()}
    rows = []
    for sitting in school.sittings():
        places = school.places(sitting.id)
        rows.append(
            {
                "id": sitting.id,
                "title": sitting.title,
                "group": groups.get(sitting.group, ""),
                "kind": sitting.kind,
                "opened": sitting.opened_utc,
                "state": state_of(sitting),
                "on_paper": sitting.on_paper,
                "count": len(places),
                "ended": sum(bool(place.ended_utc) for place in places),
            }
        )
    return framed(request, "sittings.html", rows=rows, has_classes=bool(groups))


async def show_list(request: Request) -> Response:
    """GET /sittings: all sittings, the latest first."""
    return await to_thread.run_sync(_list, request)


def _new(request: Request, fields: dict[str, str], error: InputError | None = None) -> Response:
    school = school_of(request.app)
    chosen = fields.get("blueprint", "") or next((one.name for one in making.shelf()), "")
    return framed(
        request,
        "sitting_new.html",
        error,
        fields={
            name: fields.get(name, "") for name in (*CARRIED, "group", "new_group", "minutes", "on_paper")
        },
        chosen=chosen,
        own=OWN,
        from_file=starting.FROM_FILE,
        shelf=making.shelf(),
        groups=real_groups(school),
        jurisdictions=jurisdictions(),
    )


async def show_new(request: Request) -> Response:
    """GET /sittings/new: what the paper is made of, who sits it, for how long."""
    return await to_thread.run_sync(_new, request, dict(request.query_params))


async def carry_over(request: Request) -> Response:
    """POST /sittings/new: the same, with papers as they stand on the Questions page."""
    fields = dict(await sent_fields(request))
    return await to_thread.run_sync(_new, request, {name: fields.get(name, "") for name in CARRIED})


async def add(request: Request) -> Response:
    """POST /sittings: makes the sitting and shows it."""
    sent = await sent_form(request, GREATEST_BYTES)

    def act() -> Response:
        try:
            made, said = starting.begin(school_of(request.app), sent.fields, sent.file)
        except InputError as error:
            return _new(request, sent.fields, error)
        return go_to(f"/sittings/{made.id}{f'?class={said}' if said else ''}")

    return await to_thread.run_sync(act)


async def show_one(request: Request) -> Response:
    """GET /sittings/ID: the sitting as it is now."""
    return await with_sitting(request, lambda school, sitting: sitting_page(request, school, sitting))


async def show_now(request: Request) -> Response:
    """GET /sittings/ID/now: who is in, for a page that looks again every few seconds."""

    def act(school: School, sitting: Sitting) -> Response:
        return framed(request, "_roll.html", **now_given(request, school, sitting))

    return await with_sitting(request, act)


MOVES: dict[str, tuple[dict[str, Any], str]] = {
    "close": ({"closed": True}, "closed"),
    "open again": ({"closed": False, "phase": "open"}, "opened"),
    "show marks": ({"phase": "shown"}, "released"),
    "hide marks": ({"phase": "closed"}, "taken-back"),
}


async def move(request: Request) -> Response:
    """POST /sittings/ID/move: closes, opens again, shows or hides the marks."""
    fields = await sent_fields(request)

    def act(school: School, sitting: Sitting) -> Response:
        wanted = MOVES.get(fields.get("do", ""))
        if wanted is None:
            raise InputError("do", "there is nothing of that name", " or ".join(MOVES))
        if wanted[1] == "released" and not sitting.closed_utc:
            raise InputError("sitting", "it is open: marks would tell the others", "close it first")
        school.move_sitting(sitting.id, **wanted[0])
        return go_to(f"/sittings/{sitting.id}", wanted[1])

    return await with_sitting(request, act)


async def take_file(request: Request) -> Response:
    """GET /sittings/ID/marks.csv and answers.csv."""
    name = request.path_params["file"]

    def act(school: School, sitting: Sitting) -> Response:
        makers = {"marks.csv": totals_csv, "answers.csv": answers_csv}
        if name not in makers:
            raise InputError("file", f"there is no '{name[:40]}'", " or ".join(makers))
        return file_answer(name, makers[name](roll.roll_of(school, sitting)), "text/csv; charset=utf-8")

    return await with_sitting(request, act)


ROUTES = [
    Route("/sittings", show_list, methods=["GET"]),
    Route("/sittings", add, methods=["POST"]),
    Route("/sittings/new", show_new, methods=["GET"]),
    Route("/sittings/new", carry_over, methods=["POST"]),
    Route("/sittings/{sitting}", show_one, methods=["GET"]),
    Route("/sittings/{sitting}/now", show_now, methods=["GET"]),
    Route("/sittings/{sitting}/move", move, methods=["POST"]),
    *answer_pages.ROUTES,
    *late.ROUTES,
    *typing_pages.ROUTES,
    Route("/sittings/{sitting}/{file}", take_file, methods=["GET"]),
]
