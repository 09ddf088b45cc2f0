"""The page of the bench: its frame is rendered here; what moves in it comes over the bench's socket."""

from __future__ import annotations

from typing import Any

import jinja2
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from lubberline import __version__
from lubberline.publish.figures.bands import REST, STACK_ORDER
from lubberline.publish.figures.causes import CAUSE_TEXTS, PATTERNS, look_of
from lubberline.publish.words import cause_label
from lubberline.simulation import CAUTIONS
from lubberline.web.pages import STATIC, THEMES

TEMPLATES = jinja2.Environment(
    loader=jinja2.PackageLoader("lubberline.web"),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
SCRIPT = "bench.js"


def known_causes() -> list[dict[str, Any]]:
    """The causes of the ledger in the order of its bands: name, look and account of each."""
    causes = []
    for key in STACK_ORDER:
        if key == REST:
            continue
        look = look_of(key)
        causes.append(
            {
                "key": key,
                "name": cause_label(key),
                "fill": look.fill,
                "ink": look.ink,
                "pattern": PATTERNS[look.pattern],
                **CAUSE_TEXTS[key.removesuffix("_deg")]._asdict(),
            }
        )
    return causes


async def bench(request: Request) -> Response:
    """GET /bench: the page of a bench; the script reads which one, and what state, from the address."""
    theme = request.cookies.get("theme", "auto")
    html = TEMPLATES.get_template("bench.html").render(
        theme=theme if theme in THEMES else "auto",
        version=__version__,
        causes=known_causes(),
        cautions=CAUTIONS,
        drawings=(STATIC / SCRIPT).is_file(),
    )
    return HTMLResponse(html)


ROUTES = [Route("/bench", bench, methods=["GET"])]
