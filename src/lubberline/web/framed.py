"""The pages of the class: one frame for all, and the school's records behind them."""

from __future__ import annotations

import re
from contextlib import suppress
from functools import partial
from typing import Any
from urllib.parse import quote

import jinja2
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from lubberline import __version__
from lubberline.errors import InputError
from lubberline.publish.words import many, number, typeset
from lubberline.simulation import CAUTIONS
from lubberline.store.bin.contents import Binned
from lubberline.store.school import School
from lubberline.web.kit import THEMES

# What a page says after something was done, by the word in its address.
DONE = {
    "added": "Added.",
    "brought-back": "Brought back.",
    "closed": "Closed. No more answers are taken.",
    "corrected": "The correction is kept, with who made it and why.",
    "deleted": "Deleted for good.",
    "demo": "The demo class is here.",
    "kept": "Kept.",
    "late-left": "Not taken. The answers stay in the trail.",
    "late-taken": "Taken. They count now, and are marked in the trail as late.",
    "opened": "Open again.",
    "released": "The marks are shown to the students now.",
    "gave-time": "The time is given; the student's clock shows it within a few seconds.",
    "released-place": "The place is free: the student joins again with the code.",
    "restored": "Restored: the records are now those of the backup.",
    "taken-back": "The marks are hidden from the students again.",
    "typed": "The answers are kept.",
}


def day(utc: str) -> str:
    """A time as it is kept, for people: '2026-05-01 10:20 UTC'; '' stays so."""
    return f"{utc[:10]} {utc[11:16]} UTC" if utc else ""


TEMPLATES = jinja2.Environment(
    loader=jinja2.ChoiceLoader(
        [jinja2.PackageLoader("lubberline.web", folder) for folder in ("templates/records", "templates")]
    ),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
TEMPLATES.filters.update(
    typeset=typeset, share=partial(number, decimals=2), many=many, day=day, number=number
)


def school_of(app: Starlette) -> School:
    """The school's records."""
    found: School = app.state.shared.records()
    return found


def just_binned(request: Request) -> Binned | None:
    """What was deleted just now, as the address says, while it is in the bin."""
    id = request.query_params.get("binned", "")
    if not id:
        return None
    with suppress(InputError):
        return school_of(request.app).bin.entry(id)
    return None


def framed(
    request: Request, name: str, error: InputError | None = None, status: int = 0, **given: Any
) -> HTMLResponse:
    """A page from its template; with an error, what is wrong stands at its head.

    Args:
        request: whose theme and whose word of what was done are shown.
        name: of the template.
        error: what was wrong with what was sent.
        status: of the answer; 200, or 422 with an error, without it.
        given: what the template shows.
    """
    theme = request.cookies.get("theme", "auto")
    html = TEMPLATES.get_template(name).render(
        theme=theme if theme in THEMES else "auto",
        version=__version__,
        cautions=CAUTIONS,
        built=True,
        styled={"sittings", "results", "school", "sit", "class", "teach", "projector"},
        error=error,
        done=DONE.get(request.query_params.get("done", ""), ""),
        binned=just_binned(request),
        **given,
    )
    return HTMLResponse(html, status_code=status or (422 if error else 200))


def refused(request: Request, error: InputError, back: str = "", status: int = 422) -> Response:
    """A page that only says what was wrong, with the way back."""
    return framed(request, "refused.html", error, status, back=back)


def go_to(address: str, done: str = "", binned: str = "") -> Response:
    """The way to a page after something was done there; `binned` is the id of what went into the bin."""
    joint = "&" if "?" in address else "?"
    said = f"done={done}" if done else f"binned={binned}" if binned else ""
    return RedirectResponse(f"{address}{joint}{said}" if said else address, status_code=303)


def file_answer(name: str, data: bytes, kind: str) -> Response:
    """A file to take."""
    # RFC 6266: a plain name for old readers, the whole one in UTF-8.
    plain = re.sub(r"[^A-Za-z0-9._ -]", "_", name)
    whole = f"UTF-8''{quote(name, safe='')}"
    told = {"content-disposition": f'attachment; filename="{plain}"; filename*={whole}'}
    return Response(data, media_type=kind, headers=told)
