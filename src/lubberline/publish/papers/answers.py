"""Right answers for printing and marking: letters, numbers with their bounds, units in words."""

import re
from decimal import Decimal
from xml.etree import ElementTree

from lubberline.errors import InputError
from lubberline.publish.words import typeset
from lubberline.questions.item import LETTERS, Figure, Item, Option

# A drawing up to this ratio of width to height is a dial or similar; a wider one is a strip or a trace.
WIDEST_UPRIGHT = 1.35


def shape_of(figure: Figure, where: str) -> float:
    """The ratio of width to height of a drawing.

    Raises:
        InputError: it is not SVG with a size.
    """
    right = "use SVG with a viewBox, or with width and height"
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


# After a blank to write on, where a degree sign alone would be overlooked.
UNITS_AFTER_A_LINE = {
    "deg": "degrees",
    "deg/h": "degrees an hour",
    "deg/min": "degrees a minute",
    "min": "minutes",
    "h": "hours",
}
MOST_DECIMALS = 6
FULL_CIRCLE = Decimal(360)


def unit_words(unit: str) -> str:
    """A unit in words, for after a blank to write on."""
    return UNITS_AFTER_A_LINE.get(unit, unit)


def plain_number(value: float | Decimal) -> str:
    """A number without exponent, readable as XML Schema's float and by any program."""
    text = f"{Decimal(str(value)):f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def is_direction(item: Item) -> bool:
    """Whether the number asked for is a direction, counted round the circle."""
    return item.circle


def bounds(value: float, tolerance: float, *, direction: bool = False) -> tuple[tuple[str, str], ...]:
    """The ranges of numbers accepted for a value, each with its least and greatest.

    Decimal sums, so that a typed 6.9 is the bound of 7.1 with 0.2. A direction has its ranges in 0 to
    360, where 0 and 360 are both north.
    """
    middle, around = Decimal(str(round(value, MOST_DECIMALS))), Decimal(str(tolerance))
    low, high = middle - around, middle + around
    if not direction:
        return ((plain_number(low), plain_number(high)),)
    turns = [(low + turn, high + turn) for turn in (-FULL_CIRCLE, Decimal(0), FULL_CIRCLE)]
    inside = [(max(one, Decimal(0)), min(other, FULL_CIRCLE)) for one, other in turns]
    return tuple((plain_number(one), plain_number(other)) for one, other in inside if one <= other)


def right_bounds(item: Item) -> tuple[tuple[str, str], ...]:
    """The ranges of numbers that are right."""
    return bounds(item.answer or 0.0, item.tolerance or 0.0, direction=is_direction(item))


def slip_bounds(item: Item, slip: Option) -> tuple[tuple[str, str], ...]:
    """The ranges of numbers that indicate a slip; none for a slip without a number."""
    if slip.value is None:
        return ()
    return bounds(slip.value, item.tolerance or 0.0, direction=is_direction(item))


def key_words(item: Item) -> str:
    """The right answer for a marker: a letter, or a number with its accepted range."""
    if item.kind != "number":
        return LETTERS[item.key]
    told = number_words(item)
    return f"{told} ({range_words(item)})" if item.tolerance else told


def number_words(item: Item) -> str:
    """The right number with its unit; a direction in three figures."""
    if is_direction(item):
        return f"{round(item.answer or 0.0):03d}°"
    unit = re.sub(r"\bdeg\b", "°", item.unit.replace("deg/h", "° an hour"))
    joint = "" if unit.startswith("°") or not unit else " "
    return typeset(f"{plain_number(item.answer or 0.0)}{joint}{unit}")


def range_words(item: Item) -> str:
    """The accepted range: 6.9 to 7.3."""
    return typeset(" or ".join(f"{low} to {high}" for low, high in right_bounds(item)))


def paragraphs(text: str) -> list[str]:
    """The paragraphs of a text, each on one line."""
    return [" ".join(part.split()) for part in re.split(r"\n\s*\n", text.strip()) if part.strip()]
