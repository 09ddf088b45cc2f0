"""The frame of the live class's pages."""

from __future__ import annotations

from typing import Any

import jinja2
from starlette.requests import Request
from starlette.responses import HTMLResponse

from lubberline import __version__
from lubberline.publish.words import many
from lubberline.simulation import CAUTIONS
from lubberline.web.kit import STATIC, THEMES

TEMPLATES = jinja2.Environment(
    loader=jinja2.ChoiceLoader(
        [
            jinja2.PackageLoader("lubberline.web", "templates/teach"),
            jinja2.PackageLoader("lubberline.web", "templates"),
        ]
    ),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
TEMPLATES.filters.update(many=many)


def page(request: Request, name: str, status: int = 200, **given: Any) -> HTMLResponse:
    """A page from its template."""
    theme = request.cookies.get("theme", "auto")
    html = TEMPLATES.get_template(name).render(
        theme=theme if theme in THEMES else "auto",
        version=__version__,
        cautions=CAUTIONS,
        built=(STATIC / "class.js").is_file(),
        **given,
    )
    return HTMLResponse(html, status_code=status)
