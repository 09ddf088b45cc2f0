"""The School page: its name, its classes, and its records: where they lie, taken out, put back, deleted."""

from __future__ import annotations

from collections.abc import Callable

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.store.settings import LONGEST_SCHOOL_NAME, PASSPHRASE, SCHOOL_NAME
from lubberline.web import passphrase
from lubberline.web.framed import file_answer, framed, go_to, school_of
from lubberline.web.guard import LOGIN
from lubberline.web.kit import shared
from lubberline.web.refusals import Refused
from lubberline.web.school import bin_pages, demo_class, files, restoring
from lubberline.web.sent import sent_fields
from lubberline.web.sides import caller

Act = Callable[[School], Response]


def _page(request: Request, school: School, error: InputError | None = None) -> Response:
    made_up = school.made_up_class()
    groups = [(group, school.students(group.id)) for group in school.groups()]
    return framed(
        request,
        "school.html",
        error,
        school_name=school.setting(SCHOOL_NAME),
        where=school.where,
        groups=groups,
        made_up=made_up,
        has_passphrase=passphrase.is_set(school),
        copies=school.copies()[::-1],
        in_the_bin=len(school.bin.entries()),
        broken=school.broken_settings(),
    )


async def _told(request: Request, act: Act) -> Response:
    """Does something with the records in a thread; what is wrong is told at the head of the page."""

    def doing() -> Response:
        school = school_of(request.app)
        try:
            return act(school)
        except InputError as error:
            return _page(request, school, error)

    return await to_thread.run_sync(doing)


async def show(request: Request) -> Response:
    """GET /school: the page."""
    return await _told(request, lambda school: _page(request, school))


async def rename(request: Request) -> Response:
    """POST /school: the school's name."""
    fields = await sent_fields(request)

    def act(school: School) -> Response:
        name = " ".join(fields.get("name", "").split())
        if len(name) > LONGEST_SCHOOL_NAME:
            raise InputError("name", f"{len(name)} signs", f"at most {LONGEST_SCHOOL_NAME}")
        school.set_setting(SCHOOL_NAME, name)
        return go_to("/school", "kept")

    return await _told(request, act)


async def change_classes(request: Request) -> Response:
    """POST /school/classes: a new class or student."""
    fields = await sent_fields(request)

    def act(school: School) -> Response:
        wanted = fields.get("do", "")
        if wanted == "add class":
            school.add_group(fields.get("title", ""))
            return go_to("/school", "added")
        if wanted == "add student":
            school.add_student(
                fields.get("group", ""), fields.get("name", ""), fields.get("number", "").strip()
            )
            return go_to("/school", "added")
        raise InputError("do", "there is nothing of that name", "use the page's buttons")

    return await _told(request, act)


async def demo(request: Request) -> Response:
    """POST /school/demo: the demo class, loaded."""
    await sent_fields(request)

    def act(school: School) -> Response:
        group = school.add_made_up_class(demo_class.term())
        return go_to(f"/results?group={group.id}", "demo")

    return await _told(request, act)


async def take_backup(request: Request) -> Response:
    """GET /school/backup: everything in one file."""
    return await _told(
        request, lambda school: file_answer(*files.backup_of(school), "application/octet-stream")
    )


async def take_csv(request: Request) -> Response:
    """GET /school/csv: everything as CSV in a zip."""
    return await _told(request, lambda school: file_answer(*files.csv_zip(school), "application/zip"))


def _check_old(request: Request, school: School, old: str) -> None:
    """Whether somebody who changes the passphrase knows it: a browser left open is no reason to let them."""
    tries, address = shared(request).login_tries, caller(request).address
    try:
        tries.check(address)
    except Refused as error:
        raise InputError("passphrase", error.wrong, error.right) from None
    if not passphrase.fits(old, school.setting(PASSPHRASE)):
        tries.failed(address)
        right = "type the one that is set; if nobody knows it: lubberline open --passphrase --forgotten"
        raise InputError("present passphrase", "it is not the one that is set", right)


async def set_passphrase(request: Request) -> Response:
    """POST /school/passphrase: the passphrase of the instructor's side, set or taken away."""
    fields = await sent_fields(request)

    def act(school: School) -> Response:
        if fields.get("passphrase", "") != fields.get("again", ""):
            raise InputError("passphrase", "the two are not the same", "type it twice")
        if passphrase.is_set(school):
            _check_old(request, school, fields.get("old", ""))
        passphrase.set_passphrase(school, fields.get("passphrase", ""))
        # Every session has ended, this one too.
        return (
            go_to(f"{LOGIN}?next=/school", "set") if passphrase.is_set(school) else go_to("/school", "kept")
        )

    return await _told(request, act)


ROUTES = [
    Route("/school", show, methods=["GET"]),
    Route("/school", rename, methods=["POST"]),
    Route("/school/classes", change_classes, methods=["POST"]),
    Route("/school/demo", demo, methods=["POST"]),
    Route("/school/backup", take_backup, methods=["GET"]),
    Route("/school/csv", take_csv, methods=["GET"]),
    Route("/school/passphrase", set_passphrase, methods=["POST"]),
    *bin_pages.ROUTES,
    *restoring.ROUTES,
]
