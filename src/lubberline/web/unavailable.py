"""The answer while the records are away: 503, for scripts as JSON, for people as a page that tries again."""

from __future__ import annotations

import jinja2
from starlette.requests import HTTPConnection, Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from lubberline.errors import Unavailable
from lubberline.web.pages import THEMES
from lubberline.web.sent import kept_sent
from lubberline.web.sides import is_students

TEMPLATES = jinja2.Environment(
    loader=jinja2.PackageLoader("lubberline.web"),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


def answer(request: HTTPConnection, error: Unavailable) -> Response:
    """What is told to whoever asks while the records are away, without a path, an address or a password.

    A page that was asked for tries again by itself; a form that was sent can be sent again, as it was.
    """
    told = {"Retry-After": str(error.retry_after_s)}
    if "text/html" not in request.headers.get("accept", ""):
        words = {"code": error.code, "where": "records", "wrong": error.wrong, "right": error.right}
        return JSONResponse({"error": words}, status_code=503, headers=told)
    is_get = request.scope.get("method", "GET") == "GET"
    if is_get:
        # By a header, which needs no script.
        told["Refresh"] = str(2 * error.retry_after_s)
    theme = request.cookies.get("theme", "auto")
    html = TEMPLATES.get_template("unavailable.html").render(
        theme=theme if theme in THEMES else "auto",
        students=is_students(request.scope["path"]),
        wrong=error.wrong,
        right=error.right,
        is_get=is_get,
        sent=kept_sent(request),
        kind=request.headers.get("content-type", "").partition(";")[0],
        here=request.url.path + (f"?{request.url.query}" if request.url.query else ""),
    )
    return HTMLResponse(html, status_code=503, headers=told)


async def records_away(request: Request, error: Exception) -> Response:
    """Nobody's fault: the records are away."""
    if not isinstance(error, Unavailable):
        raise error
    return answer(request, error)
