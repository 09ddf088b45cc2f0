"""The shape of a drawing that belongs to a question."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from lubberline.errors import InputError
from lubberline.questions.item import Figure

# A drawing up to this much wider than high is a dial or the like; a wider one is a strip or a trace.
WIDEST_UPRIGHT = 1.35


def shape_of(figure: Figure, where: str) -> float:
    """How many times wider than high a drawing is.

    Raises:
        InputError: when it is not SVG with a size.
    """
    right = "a drawing is SVG with a viewBox, or with width and height"
    try:
        root = ElementTree.fromstring(figure.svg)
    except ElementTree.ParseError as error:
        raise InputError(where, f"the drawing is not well-formed ({error})", right) from None
    box = [float(number) for number in re.findall(r"[-+\d.eE]+", root.get("viewBox", ""))]
    sides = box[2:] if len(box) == 4 else [_length(root.get(name, "")) for name in ("width", "height")]
    if min(sides) <= 0.0:
        raise InputError(where, "the drawing has no size", right)
    return sides[0] / sides[1]


def _length(text: str) -> float:
    found = re.match(r"\s*(\d+(?:\.\d+)?)", text)
    return float(found[1]) if found else 0.0
