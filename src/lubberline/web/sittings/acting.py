"""Doing something with the sitting that an address names."""

from __future__ import annotations

from collections.abc import Callable

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response

from lubberline.classroom.records import Place, Sitting
from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.web.framed import refused, school_of
from lubberline.web.refusal_pages import STATUS

Act = Callable[[School, Sitting], Response]


async def with_sitting(request: Request, act: Act) -> Response:
    """Does something with the sitting of the address; what is wrong is told on a page of its own."""

    def doing() -> Response:
        back = "/sittings"
        try:
            school = school_of(request.app)
            sitting = school.sitting(request.path_params["sitting"])
            back = f"/sittings/{sitting.id}"
            return act(school, sitting)
        except InputError as error:
            return refused(request, error, back, STATUS.get(error.code, 422))

    return await to_thread.run_sync(doing)


def place_in(school: School, sitting: Sitting, student: str) -> Place:
    """A student's place in a sitting.

    Raises:
        InputError: the student is not in it.
    """
    found = next((one for one in school.places(sitting.id) if one.student == student), None)
    if found is None:
        raise InputError("student", "is not in this sitting", "choose one of the list", "no-place")
    return found
