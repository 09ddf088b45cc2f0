"""Refusals raised while handling a request, and the form sent with it."""

from collections.abc import Mapping

from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection

from lubberline.errors import INPUT

_SENT = "lubberline.sent"


class Refused(HTTPException):
    """A refused request, with the status of the answer."""

    def __init__(self, status: int, where: str, wrong: str, right: str, code: str = INPUT) -> None:
        super().__init__(status, detail=f"{where}: {wrong}; {right}")
        self.where, self.wrong, self.right, self.code = where, wrong, right, code


def keep_sent(request: HTTPConnection, fields: Mapping[str, str]) -> None:
    """Stores the fields of a form, for a page to send it again after an outage.

    Secrets are never shown on a page.
    """
    if "passphrase" not in fields:
        request.scope[_SENT] = fields


def kept_sent(request: HTTPConnection) -> Mapping[str, str] | None:
    """The fields of this request's form; None if it has files or was not read yet."""
    found: Mapping[str, str] | None = request.scope.get(_SENT)
    return found
