"""A lesson's text: the numbers that the engine puts in, and Markdown as HTML that is safe to show.

{{ shown.error_deg @ fifteen_minutes_45n 900 }}            2.7 with its sign
{{ shown.error_deg @ fifteen_minutes_45n 900, size 1 }}    without it, one decimal
{{ shown.indicated_deg @ setting_it 130, heading }}        three figures
{{ shown.rotor_rpm @ rigidity 10, round 100 }}             to the nearest hundred
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache
from typing import TYPE_CHECKING

from lubberline.classroom.lessons.lesson import Number
from lubberline.classroom.lessons.scenes import PATH, length_of
from lubberline.csvfile import plain_number
from lubberline.errors import InputError
from lubberline.headed_markdown import Line

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
_MARK = re.compile(r"\{\{(.*?)\}\}")
_SHAPE = re.compile(r"\s*(\S+)\s*@\s*(\S+)\s+(\S+?)\s*(?:,\s*([a-z]+)?\s*([0-9.]+)?\s*)?")
_RIGHT = "{{ PATH @ SCENE SECONDS, size 1 }} (or heading, round 100, or a count of decimals)"


def numbers_in(source: str, lines: Iterable[Line]) -> tuple[Number, ...]:
    """The numbers that stand in lines of text.

    Raises:
        InputError: one that is not written rightly; names source and line.
    """
    found = []
    for line in lines:
        where = f"{source}, line {line.number}"
        marks = _MARK.findall(line.text)
        if line.text.count("{{") != len(marks) or line.text.count("}}") != len(marks):
            raise InputError(where, "a number to be put in is not closed on its line", _RIGHT)
        found += [_number(where, mark, line.number) for mark in marks]
    return tuple(found)


def _number(where: str, written: str, line: int) -> Number:
    shape = _SHAPE.fullmatch(written)
    if not shape or not PATH.fullmatch(shape[1]):
        raise InputError(where, f"'{{{{{written[:60]}}}}}' is no number to be put in", _RIGHT)
    at_s = plain_number(shape[3])
    length = length_of(shape[2], where)
    if at_s is None or not 0.0 <= at_s <= length:
        raise InputError(where, f"'{shape[3]}' is no moment of {shape[2]}", f"seconds from 0 to {length:g}")
    word, digits = shape[4] or "", plain_number(shape[5] or "")
    if word == "heading" and digits is None:
        return Number(written, shape[1], shape[2], at_s, "heading", 0.0, line)
    if word == "round" and digits is not None and digits > 0.0:
        return Number(written, shape[1], shape[2], at_s, "round", digits, line)
    whole = 1.0 if digits is None else digits
    if word in ("", "size") and whole.is_integer() and 0 <= whole <= 4:
        return Number(written, shape[1], shape[2], at_s, "size" if word else "decimals", whole, line)
    raise InputError(where, f"'{written[:60]}' can't be written so", _RIGHT)


def number_text(number: Number, value: float) -> str:
    """A value as the text has it, with the minus sign of print."""
    if number.how == "heading":
        return f"{round(value) % 360:03d}"
    if number.how == "round":
        return f"{round(value / number.digits) * number.digits:,.0f}".replace("-", "−")
    shown = abs(value) if number.how == "size" else value
    # No negative zero.
    return f"{round(shown, int(number.digits)) + 0.0:.{int(number.digits)}f}".replace("-", "−")


def filled(text: str, values: Mapping[str, str]) -> str:
    """A text with its numbers put in, by what stands between the braces."""
    return _MARK.sub(lambda mark: values.get(mark[1], mark[0]), text)


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
