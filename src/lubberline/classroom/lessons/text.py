"""A lesson's text: inserts the engine's numbers, names parts, and turns Markdown into safe HTML.

{{ shown.error_deg @ fifteen_minutes_45n 900 }}            2.7 with its sign
{{ shown.error_deg @ fifteen_minutes_45n 900, size 1 }}    without it, one decimal
{{ shown.indicated_deg @ setting_it 130, heading }}        three figures
{{ shown.rotor_rpm @ rigidity 10, round 100 }}             to the nearest hundred
[the inner gimbal](part:inner-gimbal)                      a part of the drawing, pressed on the projector
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache
from typing import TYPE_CHECKING

import msgspec

from lubberline.classroom.lessons.lesson import Number
from lubberline.classroom.lessons.scenes import PATH, length_of
from lubberline.csvfile import plain_number
from lubberline.errors import InputError
from lubberline.headed_markdown import Line, Section
from lubberline.simulation.live.parts import PARTS, pieces_of
from lubberline.simulation.scenes import Library

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token
_MARK = re.compile(r"\{\{(.*?)\}\}")
_SHAPE = re.compile(r"\s*(\S+)\s*@\s*(\S+)\s+(\S+?)\s*(?:,\s*([a-z]+)?\s*([0-9.]+)?\s*)?")
_RIGHT = "{{ PATH @ SCENE SECONDS, size 1 }} (or heading, round 100, or a count of decimals)"


def numbers_in(source: str, lines: Iterable[Line], scenes: Library, part: Section) -> tuple[Number, ...]:
    """The numbers to insert in lines of a part, from scenes of a library, or benches with its aircraft.

    Raises:
        InputError: one in the wrong form; names source and line.
    """
    found = []
    for line in lines:
        where = f"{source}, line {line.number}"
        marks = _MARK.findall(line.text)
        if line.text.count("{{") != len(marks) or line.text.count("}}") != len(marks):
            raise InputError(where, "a number to insert is not closed with }} on its line", _RIGHT)
        for number in (_number(where, mark, line.number, scenes) for mark in marks):
            ref = scenes.fitted(number.scene_ref, part.text("aircraft", ""))
            found.append(msgspec.structs.replace(number, scene_ref=ref))
    return tuple(found)


def _number(where: str, written: str, line: int, scenes: Library) -> Number:
    shape = _SHAPE.fullmatch(written)
    if not shape or not PATH.fullmatch(shape[1]):
        raise InputError(where, f"'{{{{{written[:60]}}}}}' is not a number to insert", _RIGHT)
    at_s = plain_number(shape[3])
    length = length_of(shape[2], where, scenes)
    if at_s is None or not 0.0 <= at_s <= length:
        raise InputError(
            where, f"'{shape[3]}' is not a moment of {shape[2]}", f"give seconds from 0 to {length:g}"
        )
    word, digits = shape[4] or "", plain_number(shape[5] or "")
    if word == "heading" and digits is None:
        return Number(written, shape[1], shape[2], at_s, "heading", 0.0, line)
    if word == "round" and digits is not None and digits > 0.0:
        return Number(written, shape[1], shape[2], at_s, "round", digits, line)
    whole = 1.0 if digits is None else digits
    if word in ("", "size") and whole.is_integer() and 0 <= whole <= 4:
        return Number(written, shape[1], shape[2], at_s, "size" if word else "decimals", whole, line)
    raise InputError(where, f"'{written[:60]}' cannot be written in this form", _RIGHT)


def check_parts(source: str, lines: Iterable[Line]) -> None:
    """Checks the parts that lines of text name.

    Raises:
        InputError: one that the drawing does not have; names source and line.
    """
    for line in lines:
        pieces_of(line.text, f"{source}, line {line.number}")


def number_text(number: Number, value: float) -> str:
    """A value as printed, with a true minus sign."""
    if number.how == "heading":
        return f"{round(value) % 360:03d}"
    if number.how == "round":
        return f"{round(value / number.digits) * number.digits:,.0f}".replace("-", "−")
    shown = abs(value) if number.how == "size" else value
    # No negative zero.
    return f"{round(shown, int(number.digits)) + 0.0:.{int(number.digits)}f}".replace("-", "−")


def filled(text: str, values: Mapping[str, str]) -> str:
    """A text with its numbers inserted, by the text between the braces."""
    return _MARK.sub(lambda mark: values.get(mark[1], mark[0]), text)


@cache
def _markdown() -> MarkdownIt:
    from markdown_it import MarkdownIt

    made = MarkdownIt("commonmark", {"html": False, "linkify": False, "maxNesting": 20})
    # No images: they would be loaded from elsewhere.
    made = made.disable("image").enable("table")
    made.validateLink = _is_safe  # type: ignore[method-assign]
    return made


def _is_safe(url: str) -> bool:
    """Whether a link is to the web, to a place on these pages, or names a part of the drawing."""
    link = url.strip().lower()
    if link.startswith("part:"):
        return link.removeprefix("part:") in PARTS
    return link.startswith(("https://", "http://", "#")) or (link[:1] == "/" and link[1:2] not in ("/", "\\"))


def lesson_html(text: str, *, pressed: bool = False) -> str:
    """HTML from Markdown; HTML in the text is escaped.

    Headings start at the third level, below those of the page.

    Args:
        text: in Markdown.
        pressed: whether the names of parts are buttons, beside the drawing; elsewhere they are plain words.
    """
    markdown = _markdown()
    tokens = markdown.parse(text)
    for token in tokens:
        if token.type in ("heading_open", "heading_close"):
            token.tag = f"h{min(int(token.tag[1]) + 2, 6)}"
        if token.children:
            token.children = _with_parts(token.children, pressed)
    return str(markdown.renderer.render(tokens, markdown.options, {}))


def _with_parts(tokens: list[Token], pressed: bool) -> list[Token]:
    """The tokens of a line, with each link to a part as a button, or as its words alone."""
    made: list[Token] = []
    in_part = False
    for token in tokens:
        id = str(token.attrGet("href") or "").lower().removeprefix("part:") if token.tag == "a" else ""
        if token.type == "link_open" and id in PARTS:
            in_part = True
            token.attrs = {"type": "button", "class": "cl-part", "data-part": id}
        elif not (token.type == "link_close" and in_part):
            made.append(token)
            continue
        else:
            in_part = False
        token.tag = "button"
        if pressed:
            made.append(token)
    return made
