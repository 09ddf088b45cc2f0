"""The frame of the Aircraft pages: one environment of templates, and answers with files."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any
from urllib.parse import urlencode

import jinja2
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from lubberline import __version__
from lubberline.errors import InputError
from lubberline.publish.words import many, number, signed, typeset
from lubberline.simulation import CAUTIONS
from lubberline.web.forms import read_form
from lubberline.web.framed import just_binned
from lubberline.web.kit import STATIC, THEMES

# What a page says after something was done, by the word in its address.
DONE = {
    "added": "Added.",
    "brought-back": "Brought back.",
    "code": "The code opens this aircraft’s log on the network.",
    "deleted": "Deleted for good.",
    "corrected": "The correction is kept, with who made it and why.",
    "kept": "Kept.",
    "no-code": "The code is gone; the log opens on this machine alone.",
    "swung": "The swing is kept.",
    "taken-back": "Taken back. It stays in the trail.",
}
TEMPLATES = jinja2.Environment(
    loader=jinja2.ChoiceLoader(
        [
            jinja2.PackageLoader("lubberline.web", "templates/aircraft"),
            jinja2.PackageLoader("lubberline.web"),
        ]
    ),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
TEMPLATES.filters.update(
    typeset=typeset, many=many, number=number, signed=signed, share=partial(number, decimals=2)
)


def page(
    request: Request, name: str, error: InputError | None = None, status: int = 0, **given: Any
) -> HTMLResponse:
    """One of these pages, with what was wrong where something was."""
    theme = request.cookies.get("theme", "auto")
    html = TEMPLATES.get_template(name).render(
        theme=theme if theme in THEMES else "auto",
        version=__version__,
        cautions=CAUTIONS,
        built=(STATIC / "aircraft.js").is_file(),
        error=error,
        done=DONE.get(request.query_params.get("done", ""), ""),
        binned=just_binned(request),
        **given,
    )
    return HTMLResponse(html, status_code=status or (422 if error else 200))


async def fields_of(request: Request) -> Mapping[str, str]:
    """The fields of a form that was sent; the last of each name counts.

    Raises:
        Refused: too large, or of another kind than a page's own form sends.
    """
    return await read_form(request)


def go_to(address: str, done: str, at: str = "", fields: Mapping[str, str] | None = None) -> Response:
    """The way to a page after something was done there, with the name of the form that was taken."""
    told = {"done": done}
    if fields and fields.get("draft"):
        told["taken"] = fields["draft"][:40]
    return RedirectResponse(f"{address}?{urlencode(told)}{at}", status_code=303)


def file_answer(name: str, data: bytes, *, shown: bool = False) -> Response:
    """A file to take, or a picture to be shown in a page."""
    kinds = {
        "pdf": "application/pdf",
        "csv": "text/csv; charset=utf-8",
        "json": "application/json",
        "svg": "image/svg+xml",
        "toml": "text/plain; charset=utf-8",
    }
    told = {} if shown else {"content-disposition": f'attachment; filename="{name}"'}
    return Response(data, media_type=kinds[name.rpartition(".")[2]], headers=told)
