"""One shape for every refusal: `{"error": {"code", "where", "wrong", "right"}}`."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from lubberline.errors import INPUT, InputError

# What is asked for may be right in itself, and about something that is not there.
STATUS = {"no-sitting": 404, "no-student": 404, "no-class": 404}


class Refused(HTTPException):
    """Something the server will not take, raised from the middle of a request."""

    def __init__(self, status: int, where: str, wrong: str, right: str, code: str = INPUT) -> None:
        super().__init__(status, detail=f"{where}: {wrong}; {right}")
        self.where, self.wrong, self.right, self.code = where, wrong, right, code


def refusal(status: int, where: str, wrong: str, right: str, code: str = INPUT) -> Response:
    """The answer that says what is wrong, where, and what would be right."""
    error = {"code": code, "where": where, "wrong": wrong, "right": right}
    return JSONResponse({"error": error}, status_code=status)


async def input_refused(request: Request, error: Exception) -> Response:
    """A person's bad input, as 422, or as its code says."""
    if not isinstance(error, InputError):
        raise error
    return refusal(STATUS.get(error.code, 422), error.where, error.wrong, error.right, error.code)


async def http_refused(request: Request, error: Exception) -> Response:
    """Anything the server itself refuses (no such page, too large), in the same shape."""
    if not isinstance(error, HTTPException):
        raise error
    if isinstance(error, Refused):
        return refusal(error.status_code, error.where, error.wrong, error.right, error.code)
    return refusal(error.status_code, "address", str(error.detail), "start at /")


async def broken(request: Request, error: Exception) -> Response:
    """A fault of the program, not of the person."""
    right = "try another flight"
    return refusal(500, "program", "something broke here; the terminal says what", right, "broken")
