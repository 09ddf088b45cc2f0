"""Forms with files, as the rooms read them that do not stand on the kit yet."""

from __future__ import annotations

from typing import NamedTuple

from starlette.requests import Request

from lubberline.web.forms import SentFile, read_form


class Sent(NamedTuple):
    """The fields of a form, the last of each name, and its file if one was chosen."""

    fields: dict[str, str]
    file: SentFile | None


async def sent_form(request: Request, limit_bytes: int) -> Sent:
    """The form of a request of the kind that carries files."""
    form = await read_form(request, file_bytes=limit_bytes)
    return Sent(form, form.file)


def text_of(file: SentFile) -> str:
    """The text of a file."""
    return file.text


async def sent_fields(request: Request, most_fields: int = 40) -> dict[str, str]:
    """The fields of a form that was sent; the last of each name counts."""
    return await read_form(request, most_fields)
