"""The forms that pages send: read by Starlette within bounds, one small file at most."""

import hashlib
import math
from collections.abc import Mapping
from typing import NamedTuple
from urllib.parse import unquote_to_bytes

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.types import Message, Receive

from lubberline.errors import InputError
from lubberline.web.refusals import Refused, keep_sent

# A log of 1 MB, or two texts of 200 kB with every letter written as %XX, and the small fields.
FORM_LIMIT_BYTES = 1_500_000
# The greatest size of each field in a form with a file.
FIELD_LIMIT_BYTES = 400_000
MOST_FIELDS = 60
PLAIN, WITH_FILES = "application/x-www-form-urlencoded", "multipart/form-data"


class SentFile(NamedTuple):
    """A file in a form: its bare name, for messages only, and its bytes."""

    name: str
    data: bytes

    @property
    def text(self) -> str:
        """Its text, with plain ends of lines.

        Raises:
            InputError: it is not UTF-8.
        """
        try:
            return self.data.decode("utf-8-sig").replace("\r\n", "\n")
        except UnicodeDecodeError:
            raise InputError(self.name, "not text in UTF-8", "save it as UTF-8") from None


class Form(dict[str, str]):
    """The fields of a form, the last of each name.

    Attributes:
        file: the file sent; None where none was chosen.
    """

    file: SentFile | None = None


# What a page is asked for by its address alone.
NO_FORM = Form()


def limited(receive: Receive, limit_bytes: int, refused: Refused) -> Receive:
    """Reads a body as it comes and refuses it beyond the limit."""
    taken_bytes = 0

    async def receive_limited() -> Message:
        nonlocal taken_bytes
        message = await receive()
        taken_bytes += len(message.get("body", b""))
        if taken_bytes > limit_bytes:
            raise refused
        return message

    return receive_limited


async def read_form(request: Request, most_fields: int = MOST_FIELDS, file_bytes: int = 0) -> Form:
    """The form that was sent.

    Args:
        request: with the form.
        most_fields: how many fields it may have.
        file_bytes: size of the largest file; 0 for a form without files.

    Raises:
        Refused: another kind of form, too many fields, or too large.
        InputError: what was sent is not UTF-8.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    is_empty = not kind and not file_bytes and request.headers.get("content-length", "0") == "0"
    if not is_empty and kind != (WITH_FILES if file_bytes else PLAIN):
        raise Refused(415, "form", f"sent as '{kind[:60]}'", "send it from the page")
    field_bytes = FIELD_LIMIT_BYTES if file_bytes else FORM_LIMIT_BYTES
    large = (
        Refused(413, "file", f"larger than {file_bytes / 1e6:g} MB", "choose a smaller file")
        if file_bytes
        else Refused(413, "form", "too large", f"at most {FORM_LIMIT_BYTES // 1000} kB")
    )
    declared = request.headers.get("content-length", "0")
    if declared.isdigit() and int(declared) > file_bytes + field_bytes:
        raise large
    # Whatever the declared length, nothing is read beyond it.
    bounded = Request(request.scope, limited(request.receive, file_bytes + field_bytes, large))
    if not file_bytes:
        _check_utf8(await bounded.body())
    try:
        sent = await bounded.form(max_files=1, max_fields=most_fields, max_part_size=field_bytes)
    except Refused:
        raise
    except HTTPException as error:
        raise Refused(413, "form", str(error.detail)[:100], "send it from the page") from None
    form = Form()
    try:
        for name, value in sent.multi_items():
            if isinstance(value, str):
                form[name] = value.replace("\r\n", "\n")
            elif isinstance(value, UploadFile) and value.filename:
                data = await value.read(file_bytes + 1)
                if len(data) > file_bytes:
                    raise large
                form.file = SentFile(bare_name(value.filename), data)
    finally:
        await sent.close()
    if form.file is None:
        keep_sent(request, form)
    return form


def _check_utf8(body: bytes) -> None:
    # Starlette replaces what it cannot decode by a special character.
    try:
        unquote_to_bytes(body).decode("utf-8")
    except UnicodeDecodeError:
        raise InputError("form", "its fields cannot be read", "text in UTF-8, sent from the page") from None


def bare_name(name: str) -> str:
    """A file's name without folders and invisible characters, shortened; never used as a path."""
    last = name.replace("\\", "/").rpartition("/")[2]
    return "".join(sign for sign in last if sign.isprintable())[:80] or "file"


def digest(text: str) -> str:
    """A digest of a text as shown on a page, to find out whether it was changed."""
    return hashlib.sha256(text.replace("\r\n", "\n").strip().encode("utf-8", "replace")).hexdigest()[:16]


def was_typed(fields: Mapping[str, str], name: str) -> bool:
    """Whether a text was changed since the page showed it; the page sends the digest of that text."""
    shown, text = fields.get(f"{name}_shown", ""), fields.get(name, "")
    return bool(shown and text.strip()) and digest(text) != shown


def number_in(text: str) -> float:
    """A number as it was typed, with a point or a comma; nan where it is not a number."""
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        value = math.nan
    return value if math.isfinite(value) else math.nan
