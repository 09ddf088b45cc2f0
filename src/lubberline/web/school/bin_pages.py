"""Deleting with a question first, and the bin: what is in it, brought back or deleted for good."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, cast
from urllib.parse import quote

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.errors import InputError
from lubberline.store.bin.belongings import Kind
from lubberline.store.bin.contents import Binned, Deletable
from lubberline.store.school import School
from lubberline.store.settings import key_of
from lubberline.web.aircraft.fleet import craft_of
from lubberline.web.framed import framed, go_to, refused, school_of
from lubberline.web.kit import shared
from lubberline.web.school.demo_class import settle
from lubberline.web.sent import sent_fields
from lubberline.web.sides import own_address

FILES = ("lesson", "draft")


def _thing(request: Request, school: School, fields: Mapping[str, str]) -> Deletable:
    """What is to be deleted.

    Raises:
        InputError: there is none such, or it came with the program.
    """
    kind, key = fields.get("kind", ""), fields.get("key", "")
    if kind in FILES:
        found: Deletable = shared(request).lessons.deletable(kind, key)
        return found
    if kind == "aircraft":
        craft = craft_of(school, key)
        if craft.invented:
            raise InputError("aircraft", f"{craft.name} came with the program", "one that you added")
        return school.bin.deletable("aircraft", craft.name)
    if kind in ("class", "demo"):
        settle(school)
    if kind not in ("class", "demo", "student", "sitting", "entry"):
        raise InputError("kind", f"'{kind[:20]}' is nothing that is deleted here", "use the page's buttons")
    return school.bin.deletable(cast("Kind", kind), key)


def _ask_page(
    request: Request, school: School, fields: Mapping[str, str], error: InputError | None = None
) -> Response:
    thing = _thing(request, school, fields)
    group = next((one.title for one in school.groups() if one.id == thing.part_of), "")
    sitting = school.sitting(thing.key) if thing.kind == "sitting" else None
    return framed(
        request,
        "delete.html",
        error,
        thing=thing,
        group=group,
        is_open=bool(sitting and not sitting.closed_utc),
        parts=[one for one in school.bin.entries() if one.part_of == thing.key],
        copies=() if thing.kind in FILES else school.copies_holding(thing.key),
        key=fields.get("key", ""),
        back=own_address(fields.get("back", "")),
    )


async def _away(request: Request, act: Callable[[School], Response], back: str = "/school") -> Response:
    """Does something in a thread; what is wrong is told on a page of its own."""

    def doing() -> Response:
        try:
            return act(school_of(request.app))
        except InputError as error:
            return refused(request, error, back)

    return await to_thread.run_sync(doing)


async def ask(request: Request) -> Response:
    """GET /school/delete: who or what would go, and how to delete it, or not."""
    return await _away(request, lambda school: _ask_page(request, school, request.query_params))


def _after(thing: Deletable, back: str) -> str:
    """Where to go when something was deleted: back, or where it was listed."""
    if back:
        return back
    if thing.kind == "entry":
        return f"/aircraft/{key_of(thing.part_of)}"
    listed = {"sitting": "/sittings", "aircraft": "/aircraft", "lesson": "/lessons", "draft": "/lessons"}
    return listed.get(thing.kind, "/school")


async def delete(request: Request) -> Response:
    """POST /school/delete: into the bin, or for good."""
    fields = dict(await sent_fields(request))

    def act(school: School) -> Response:
        thing = _thing(request, school, fields)
        after = _after(thing, own_address(fields.get("back", "")))
        if fields.get("do") != "for good":
            gone = _put(request, school, thing)
            return go_to(after, binned=gone.id)
        if fields.get("sure") != "1":
            error = InputError(
                "delete for good", "it was not confirmed", "tick the box: nothing brings it back"
            )
            return _ask_page(request, school, fields, error)
        copies = (
            () if thing.kind in FILES or fields.get("copies") != "1" else school.copies_holding(thing.key)
        )
        if thing.kind in FILES:
            shared(request).lessons.delete(thing.kind, thing.key)
        else:
            school.bin.delete_for_good(thing.kind, thing.key)
        _delete_copies(copies)
        return go_to(after, "deleted")

    return await _away(request, act)


def _put(request: Request, school: School, thing: Deletable) -> Binned:
    if thing.kind in FILES:
        binned: Binned = shared(request).lessons.put_in(school.bin, thing)
        return binned
    return school.bin.delete(thing.kind, thing.key)


def _delete_copies(copies: tuple[Any, ...]) -> None:
    for copy in copies:
        try:
            copy.unlink(missing_ok=True)
        except OSError as error:
            wrong = f"the copy could not be deleted ({error.strerror}); all the rest is deleted"
            raise InputError(copy.name, wrong, "delete it by hand") from None


async def show(request: Request) -> Response:
    """GET /school/bin: what was deleted and can be brought back."""
    return await _away(
        request, lambda school: framed(request, "bin.html", entries=school.bin.entries(), remarks=())
    )


async def show_entry(request: Request) -> Response:
    """GET /school/bin/ID: something in the bin, to be deleted for good."""

    def act(school: School) -> Response:
        thing = school.bin.entry(request.path_params["id"])
        parts = [one for one in school.bin.entries() if one.part_of == thing.key]
        copies = () if thing.kind in FILES else school.copies_holding(thing.key)
        return framed(request, "bin_entry.html", thing=thing, parts=parts, copies=copies)

    return await _away(request, act, "/school/bin")


def address_of(thing: Deletable) -> str:
    """Where something that was brought back stands."""
    if thing.kind in ("aircraft", "entry"):
        return f"/aircraft/{key_of(thing.key if thing.kind == 'aircraft' else thing.part_of)}"
    pages = {
        "student": "/results/student/",
        "sitting": "/sittings/",
        "lesson": "/lessons/",
        "draft": "/lessons/",
    }
    return f"{pages[thing.kind]}{quote(thing.key)}" if thing.kind in pages else "/school"


async def change(request: Request) -> Response:
    """POST /school/bin/ID: brought back, or deleted for good."""
    fields = dict(await sent_fields(request))
    id = request.path_params["id"]

    def act(school: School) -> Response:
        if fields.get("do") != "for good":
            brought = school.bin.bring_back(id, shared(request).lessons)
            if not brought.remarks:
                return go_to(address_of(brought.thing), "brought-back")
            entries = school.bin.entries()
            return framed(request, "bin.html", entries=entries, remarks=brought.remarks)
        thing = school.bin.entry(id)
        if fields.get("sure") != "1":
            raise InputError(
                "delete for good", "it was not confirmed", "tick the box: nothing brings it back"
            )
        copies = school.copies_holding(thing.key) if fields.get("copies") == "1" else ()
        school.bin.empty(id)
        _delete_copies(copies)
        return go_to("/school/bin", "deleted")

    return await _away(request, act, "/school/bin")


ROUTES = [
    Route("/school/delete", ask, methods=["GET"]),
    Route("/school/delete", delete, methods=["POST"]),
    Route("/school/bin", show, methods=["GET"]),
    Route("/school/bin/{id}", show_entry, methods=["GET"]),
    Route("/school/bin/{id}", change, methods=["POST"]),
]
