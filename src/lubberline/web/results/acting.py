"""Doing something off the event's loop, and what every Results page shows."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response

from lubberline.classroom.records import Group
from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.web.framed import framed, refused, school_of
from lubberline.web.refusal_pages import STATUS


async def off_the_loop(request: Request, act: Callable[[School], Response]) -> Response:
    """Does something in a thread; what is wrong is told on a page of its own."""

    def doing() -> Response:
        try:
            return act(school_of(request.app))
        except InputError as error:
            return refused(request, error, "/results", STATUS.get(error.code, 422))

    return await to_thread.run_sync(doing)


def shelf(school: School, group: Group | None) -> dict[str, Any]:
    """The classes to choose from, and the one that is shown."""
    return {"groups": school.groups(), "group": group}


def empty(request: Request, school: School, group: Group | None, here: str) -> Response:
    """What a page is for, where nothing was answered yet."""
    return framed(request, "results_empty.html", here=here, **shelf(school, group))
