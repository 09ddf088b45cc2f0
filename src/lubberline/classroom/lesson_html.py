"""Markdown of a lesson as HTML that is safe to show: no HTML of its own, links to the web alone."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from markdown_it import MarkdownIt


@cache
def _markdown() -> MarkdownIt:
    from markdown_it import MarkdownIt

    made = MarkdownIt("commonmark", {"html": False, "linkify": False, "maxNesting": 20})
    # A picture would be fetched from elsewhere while a class looks on.
    made = made.disable("image").enable("table")
    made.validateLink = _is_safe  # type: ignore[method-assign]
    return made


def _is_safe(url: str) -> bool:
    """Whether a link leads to the web, or to a place on these pages."""
    link = url.strip().lower()
    return link.startswith(("https://", "http://", "#")) or (link[:1] == "/" and link[1:2] not in ("/", "\\"))


def lesson_html(text: str) -> str:
    """HTML of a text in Markdown; what HTML stands in it is shown as text.

    Headings are made to begin at the third level, below those of the page.
    """
    markdown = _markdown()
    tokens = markdown.parse(text)
    for token in tokens:
        if token.type in ("heading_open", "heading_close"):
            token.tag = f"h{min(int(token.tag[1]) + 2, 6)}"
    return str(markdown.renderer.render(tokens, markdown.options, {}))
