"""What people see where a page cannot be had: the records are away (503), or nothing is there (404)."""

from __future__ import annotations

import jinja2
from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection, Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from lubberline.errors import Unavailable
from lubberline.web.pages import THEMES
from lubberline.web.refusals import Refused, http_refused
from lubberline.web.sent import kept_sent
from lubberline.web.sides import is_students

TEMPLATES = jinja2.Environment(
    loader=jinja2.PackageLoader("lubberline.web"),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


def _is_page(request: HTTPConnection) -> bool:
    """Whether a person's browser asks for a page, not a script for its facts."""
    return "text/html" in request.headers.get("accept", "")


def _page(request: HTTPConnection, name: str, **given: object) -> str:
    theme = request.cookies.get("theme", "auto")
    return TEMPLATES.get_template(name).render(
        theme=theme if theme in THEMES else "auto",
        students=is_students(request.scope["path"]),
        here=request.url.path + (f"?{request.url.query}" if request.url.query else ""),
        **given,
    )


def answer(request: HTTPConnection, error: Unavailable) -> Response:
    """What is told to whoever asks while the records are away, without a path, an address or a password.

    A page that was asked for tries again by itself; a form that was sent can be sent again, as it was.
    """
    told = {"Retry-After": str(error.retry_after_s)}
    if not _is_page(request):
        words = {"code": error.code, "where": "records", "wrong": error.wrong, "right": error.right}
        return JSONResponse({"error": words}, status_code=503, headers=told)
    is_get = request.scope.get("method", "GET") == "GET"
    if is_get:
        # By a header, which needs no script.
        told["Refresh"] = str(2 * error.retry_after_s)
    html = _page(
        request,
        "unavailable.html",
        wrong=error.wrong,
        right=error.right,
        is_get=is_get,
        sent=kept_sent(request),
        kind=request.headers.get("content-type", "").partition(";")[0],
    )
    return HTMLResponse(html, status_code=503, headers=told)


async def records_away(request: Request, error: Exception) -> Response:
    """Nobody's fault: the records are away."""
    if not isinstance(error, Unavailable):
        raise error
    return answer(request, error)


async def nothing_here(request: Request, error: Exception) -> Response:
    """Whatever the server itself refuses; a page that is not there is told of on a page, with the way on."""
    is_missing = isinstance(error, HTTPException) and error.status_code == 404
    if not (is_missing and request.method == "GET" and _is_page(request)):
        return await http_refused(request, error)
    known = error if isinstance(error, Refused) else None
    wrong = known.wrong if known else "there is nothing at this address"
    right = known.right if known else "choose a page above"
    return HTMLResponse(_page(request, "not_here.html", wrong=wrong, right=right), status_code=404)
