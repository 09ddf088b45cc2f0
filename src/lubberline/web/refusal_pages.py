"""Every refusal: a page in the frame of whoever asks with a browser, JSON for a script.

    {"error": {"code", "where", "wrong", "right"}}

The page says what is wrong and what to do, and has a way back.
"""

from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection, Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Match, Route

from lubberline.errors import INPUT, InputError, Unavailable
from lubberline.web.callers import sees_students_pages
from lubberline.web.kit import page
from lubberline.web.refusals import Refused, kept_sent

# What is asked for may be right in itself, and about something that is not there.
STATUS = {"no-sitting": 404, "no-student": 404, "no-class": 404}


def refusal(
    request: HTTPConnection,
    status: int,
    where: str,
    wrong: str,
    right: str,
    code: str = INPUT,
    retry_after_s: int = 0,
) -> Response:
    """The answer that says what is wrong, where, and what would be right.

    Args:
        request: that is refused.
        status: of the answer.
        where: in what was asked for.
        wrong: is this.
        right: would be this.
        code: what scripts go by.
        retry_after_s: when another try makes sense; a page that was asked for then tries again by itself.
    """
    told = {"Retry-After": str(retry_after_s)} if retry_after_s else {}
    if "text/html" not in request.headers.get("accept", ""):
        error = {"code": code, "where": where, "wrong": wrong, "right": right}
        return JSONResponse({"error": error}, status_code=status, headers=told)
    is_get = request.scope.get("method", "GET") in ("GET", "HEAD")
    if retry_after_s and is_get:
        # By a header, which needs no script.
        told["Refresh"] = str(2 * retry_after_s)
    students = sees_students_pages(request)
    answer = page(
        request,
        "refused.html",
        status=status,
        students=students,
        refused_status=status,
        where=where,
        wrong=wrong,
        right=right,
        is_get=is_get,
        here=request.url.path + (f"?{request.url.query}" if request.url.query else ""),
        back=_back(request, status, "/join" if students else "/"),
        sent=kept_sent(request),
        kind=request.headers.get("content-type", "").partition(";")[0],
    )
    answer.headers.update(told)
    return answer


def _back(request: HTTPConnection, status: int, first: str) -> str:
    """The nearest page above what was refused."""
    steps = request.url.path.strip("/").split("/")
    here = len(steps)
    # What is not there is not the way back, nor is the page that was refused.
    is_itself = request.scope.get("method") == "POST" or (request.url.query and not request.path_params)
    for length in range(here if is_itself else here - 1, 0, -1):
        if status == 404 and length > 1:
            continue
        path = "/" + "/".join(steps[:length])
        scope = {**request.scope, "type": "http", "method": "GET", "path": path, "root_path": ""}
        if any(
            route.matches(scope)[0] is Match.FULL for route in request.app.routes if isinstance(route, Route)
        ):
            return path
    return first


def unavailable(request: HTTPConnection, error: Unavailable) -> Response:
    """The records are away: told without a path, an address or a password."""
    given = ("records", error.wrong, error.right, error.code, error.retry_after_s)
    return refusal(request, 503, *given)


def answer(request: Request, error: Exception) -> Response:
    """The answer to whatever was raised while a request was answered."""
    if isinstance(error, InputError):
        status = STATUS.get(error.code, 422)
        return refusal(request, status, error.where, error.wrong, error.right, error.code)
    if isinstance(error, Unavailable):
        return unavailable(request, error)
    if isinstance(error, Refused):
        return refusal(request, error.status_code, error.where, error.wrong, error.right, error.code)
    if isinstance(error, HTTPException):
        wrong = "there is nothing at this address" if error.status_code == 404 else str(error.detail)
        return refusal(request, error.status_code, "address", wrong, "start at /")
    right = "go back and try again; details are in the terminal"
    return refusal(request, 500, "program", "an internal error", right, "broken")
