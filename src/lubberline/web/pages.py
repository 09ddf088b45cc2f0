"""The page, rendered here: complete without script but for the drawings."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import jinja2
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from lubberline import __version__
from lubberline.errors import InputError
from lubberline.publish.words import signed
from lubberline.web.asked import Asked, asked_in_query, has_form_fields
from lubberline.web.flying import Flying
from lubberline.web.house import House
from lubberline.web.kit import shared
from lubberline.web.uploads import Uploads

STATIC = Path(__file__).parent / "static"
THEMES = ("auto", "light", "dark")


def drift(value: float | None) -> str:
    """A drift for the table: signed, with fewer decimals for what is large anyway."""
    return signed(value, 0 if value is not None and abs(value) >= 100.0 else 1)


def typeset(text: str) -> str:
    """Plain text with degree signs and true minus signs, as the rest of the page has them."""
    return re.sub(r"(?<=\d) deg\b", "°", re.sub(r"(?<!\S)-(?=\d)", "−", text))


def duration(minutes_flown: float) -> str:
    """A length of time as hours and minutes."""
    hours, rest = divmod(round(minutes_flown), 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


class Pages:
    """Fills the templates."""

    def __init__(self, house: House, uploads: Uploads) -> None:
        self._house = house
        self._uploads = uploads
        self._templates = jinja2.Environment(
            loader=jinja2.PackageLoader("lubberline.web"),
            autoescape=True,
            undefined=jinja2.StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self._templates.filters.update(drift=drift, duration=duration, typeset=typeset)

    def part(self, name: str, answer: dict[str, Any]) -> str:
        """One text of an answer, as the page holds it."""
        return self._templates.get_template(f"_{name}.html").render(flown=answer)

    def page(
        self, asked: Asked, flown: dict[str, Any] | None, error: InputError | None, theme: str
    ) -> HTMLResponse:
        """The whole page, with a flight or with what was wrong with it."""
        html = self._templates.get_template("page.html").render(
            asked=asked,
            flown=flown,
            error=error,
            theme=theme,
            version=__version__,
            house=self._house,
            given=self._uploads.titles(),
            fault_rows=[*map(fault_fields, asked.faults), ("", "", "")],
            drawings=(STATIC / "app.js").is_file(),
        )
        return HTMLResponse(html, status_code=422 if error else 200)


def fault_fields(fault: str) -> tuple[str, str, str]:
    """Name, size and minute of a fault as written, for the three fields of the form."""
    named, _, at_min = fault.partition("@")
    name, _, size = named.partition("=")
    return name, size, at_min


async def home(request: Request) -> Response:
    """GET /: the flight that the address names."""
    query = request.query_params
    theme = request.cookies.get("theme", "auto")
    theme = theme if theme in THEMES else "auto"
    pages = Pages(shared(request).house, shared(request).uploads)
    flying: Flying = shared(request).flying
    asked = Asked()
    try:
        asked = asked_in_query(query)
        if has_form_fields(query):
            return RedirectResponse("/" + asked.address(), status_code=303)
        flown = await flying.reply(asked)
    except InputError as error:
        return pages.page(asked, None, error, theme)
    return pages.page(flying.named(asked), flown, None, theme)


ROUTES = [Route("/", home, methods=["GET"])]
