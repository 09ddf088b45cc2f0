"""A restore in two steps: what goes and what comes is shown first, then one press does it."""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lubberline.errors import InputError
from lubberline.store.database.engines import IN_MEMORY
from lubberline.store.school import School
from lubberline.web.forms import SentFile
from lubberline.web.framed import file_answer, framed, go_to, refused, school_of
from lubberline.web.kit import shared
from lubberline.web.school import files
from lubberline.web.sent import sent_fields, sent_form

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

    def here(self) -> SentFile | None:
        """The one that is held."""
        with self._lock:
            return self._held[2] if self._held and time.monotonic() <= self._held[1] else None

    @contextmanager
    def taken(self, key: str) -> Iterator[SentFile]:
        """Gives it, once; where the restore fails it is held on.

        Raises:
            InputError: another was sent since, or it was restored, or too long ago.
        """
        with self._lock:
            held = self._held
            if held is None or held[1] < time.monotonic():
                raise InputError("backup", "it is not held here any more", "choose the file again")
            if not secrets.compare_digest(held[0].encode(), key.encode("utf-8", "replace")):
                raise InputError(
                    "backup", "another one is held here", "look at what it holds, then restore it"
                )
            self._held = None
        try:
            yield held[2]
        except BaseException:
            with self._lock:
                self._held = self._held or held
            raise


def _shown(
    request: Request, school: School, file: SentFile | None, error: InputError | None = None
) -> Response:
    comes, file = files.counts_in(file)
    here = school.counted()
    return framed(
        request,
        "restore.html",
        error,
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
        school, held = school_of(request.app), shared(request).held_backup
        try:
            with held.taken(fields.get("key", "")) as file:
                files.restore_from(school, file)
        except InputError as error:
            kept = held.here()
            return _shown(request, school, kept, error) if kept else refused(request, error, "/school")
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
