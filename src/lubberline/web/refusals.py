"""What the server will not take, raised from the middle of a request, and what was sent with it."""

from collections.abc import Mapping

from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection

from lubberline.errors import INPUT

_SENT = "lubberline.sent"


class Refused(HTTPException):
    """Something the server will not take, with the status of the answer."""

    def __init__(self, status: int, where: str, wrong: str, right: str, code: str = INPUT) -> None:
        super().__init__(status, detail=f"{where}: {wrong}; {right}")
        self.where, self.wrong, self.right, self.code = where, wrong, right, code


def keep_sent(request: HTTPConnection, fields: Mapping[str, str]) -> None:
    """Notes what a form holds, for a page that lets it be sent again when the records were away.

    What is secret stands on no page.
    """
    if "passphrase" not in fields:
        request.scope[_SENT] = fields


def kept_sent(request: HTTPConnection) -> Mapping[str, str] | None:
    """What the form of this request holds; None where it held more than fields, or was not read yet."""
    found: Mapping[str, str] | None = request.scope.get(_SENT)
    return found
