"""A restore in two steps: what goes and what comes is shown first, then one press does it."""

from __future__ import annotations

import secrets
import threading
import time

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.errors import InputError
from lubberline.store.opening import IN_MEMORY
from lubberline.store.school import School
from lubberline.web.forms import SentFile
from lubberline.web.framed import file_answer, framed, go_to, refused, school_of
from lubberline.web.kit import shared
from lubberline.web.questions.asked import sent_fields
from lubberline.web.school import files
from lubberline.web.sent import sent_form

RESTORE_LIMIT_BYTES = 90_000_000
HELD_S = 15 * 60.0


class HeldBackup:
    """The backup that was sent last, in memory, until it is restored or a quarter of an hour is over."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._held: tuple[str, float, SentFile] | None = None

    def hold(self, file: SentFile) -> str:
        """Holds it in the place of any other; gives the key to it."""
        key = secrets.token_urlsafe(12)
        with self._lock:
            self._held = key, time.monotonic() + HELD_S, file
        return key

    def take(self, key: str) -> SentFile:
        """Gives it, once.

        Raises:
            InputError: another was sent since, or it was restored, or too long ago.
        """
        with self._lock:
            held, self._held = self._held, None
        if held is None or held[1] < time.monotonic() or not secrets.compare_digest(held[0], key):
            raise InputError("backup", "it is not held here any more", "choose the file again")
        return held[2]


def _shown(request: Request, school: School, file: SentFile | None) -> Response:
    comes, file = files.counts_in(file)
    here = school.counted()
    return framed(
        request,
        "restore.html",
        kinds=[(kind, here.get(kind, 0), comes.get(kind, 0)) for kind in {**here, **comes}],
        file_name=file.name,
        keeps=any(here.values()) and school.where != IN_MEMORY,
        something=any(here.values()),
        where=school.where,
        key=shared(request).held_backup.hold(file),
    )


async def show(request: Request) -> Response:
    """POST /school/restore: a backup; what would go and what would come. Nothing is changed."""
    sent = await sent_form(request, RESTORE_LIMIT_BYTES)

    def act() -> Response:
        try:
            return _shown(request, school_of(request.app), sent.file)
        except InputError as error:
            return refused(request, error, "/school")

    return await to_thread.run_sync(act)


async def do(request: Request) -> Response:
    """POST /school/restore/now: the records of the backup that was shown, in the place of those here."""
    fields = await sent_fields(request)

    def act() -> Response:
        try:
            files.restore_from(
                school_of(request.app), shared(request).held_backup.take(fields.get("key", ""))
            )
        except InputError as error:
            return refused(request, error, "/school")
        return go_to("/school", "restored")

    return await to_thread.run_sync(act)


async def take_copy(request: Request) -> Response:
    """GET /school/copies/NAME: one of the copies that the program has made and kept."""

    def act() -> Response:
        wanted = request.path_params["name"]
        found = next((one for one in school_of(request.app).copies() if one.name == wanted), None)
        if found is None:
            error = InputError("copy", "there is none of this name", "choose one of the School page")
            return refused(request, error, "/school", 404)
        return file_answer(found.name, found.read_bytes(), "application/octet-stream")

    return await to_thread.run_sync(act)


ROUTES = [
    Route("/school/restore", show, methods=["POST"]),
    Route("/school/restore/now", do, methods=["POST"]),
    Route("/school/copies/{name}", take_copy, methods=["GET"]),
]
