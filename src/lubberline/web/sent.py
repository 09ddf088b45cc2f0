"""Forms with files: read within bounds, one small file at most."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection, Request

from lubberline.errors import InputError
from lubberline.web.refusals import Refused

MOST_FIELDS = 60
FIELD_LIMIT_BYTES = 400_000
_SENT = "lubberline.sent"


class SentFile(NamedTuple):
    """A file of a form: its bare name, for messages alone, and its bytes."""

    name: str
    data: bytes


class Sent(NamedTuple):
    """The fields of a form, the last of each name, and its file if one was chosen."""

    fields: dict[str, str]
    file: SentFile | None


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


def bare_name(name: str) -> str:
    """A file's name without folders or anything that cannot be seen, shortened: it names no path here."""
    last = name.replace("\\", "/").rpartition("/")[2]
    return "".join(sign for sign in last if sign.isprintable())[:80] or "file"


async def sent_form(request: Request, limit_bytes: int) -> Sent:
    """The form of a request of the kind that carries files.

    Args:
        request: with the form.
        limit_bytes: the largest file taken.

    Raises:
        Refused: another kind of form, too many fields, or too large.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "multipart/form-data":
        raise Refused(415, "form", f"sent as '{kind[:60]}'", "send it from the page")
    declared = request.headers.get("content-length", "0")
    if declared.isdigit() and int(declared) > limit_bytes + FIELD_LIMIT_BYTES:
        raise _too_large(limit_bytes)
    fields: dict[str, str] = {}
    file: SentFile | None = None
    try:
        form = await request.form(max_files=1, max_fields=MOST_FIELDS, max_part_size=FIELD_LIMIT_BYTES)
    except Refused:
        raise
    except HTTPException as error:
        raise Refused(413, "form", str(error.detail)[:100], "send it from the page") from None
    try:
        for name, value in form.multi_items():
            if isinstance(value, str):
                fields[name] = value.replace("\r\n", "\n")
            elif isinstance(value, UploadFile) and value.filename:
                data = await value.read(limit_bytes + 1)
                if len(data) > limit_bytes:
                    raise _too_large(limit_bytes)
                file = SentFile(bare_name(value.filename), data)
    finally:
        await form.close()
    if file is None:
        keep_sent(request, fields)
    return Sent(fields, file)


def _too_large(limit_bytes: int) -> Refused:
    return Refused(413, "file", f"larger than {limit_bytes / 1e6:g} MB", "give a smaller one")


def text_of(file: SentFile) -> str:
    """The text of a file.

    Raises:
        InputError: it is not UTF-8.
    """
    try:
        return file.data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(file.name, "it is no text in UTF-8", "save it as UTF-8") from None
