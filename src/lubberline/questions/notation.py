"""How the trade writes numbers: a notation turns a value into the words of an option and gives its step."""

import math
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Notation:
    """How the values of a model are written.

    Attributes:
        unit: of the value, as in `Item.unit`; '' for words.
        step: what values are rounded to before they are written.
        write: a rounded value as printed.
        circle: True for directions, which are compared round the circle.
    """

    unit: str
    step: float
    write: Callable[[float], str]
    circle: bool = False

    def rounded(self, value: float) -> float:
        """A value in whole steps; a direction in (0, 360]."""
        found = round(round(value / self.step) * self.step, 6) + 0.0
        if self.circle:
            found %= 360.0
            return found or 360.0
        return found

    def written(self, value: float) -> str:
        """A value as printed."""
        return self.write(self.rounded(value))

    def distance(self, one: float, other: float) -> float:
        """How far two values are apart, in the notation's unit."""
        return apart(one, other, self.circle)


def apart(one: float, other: float, circle: bool) -> float:
    """How far two values are apart, round the circle where they are directions."""
    return abs(math.remainder(one - other, 360.0)) if circle else abs(one - other)


def plain(value: float, decimals: int = 0) -> str:
    """A number with a true minus sign, without a minus before zero."""
    text = f"{abs(value):.{decimals}f}"
    return f"−{text}" if value < 0.0 and float(text) != 0.0 else text


def degrees(value: float, decimals: int = 0) -> str:
    """The size of an angle: 12°."""
    return f"{plain(value, decimals)}°"


def heading(value_deg: float) -> str:
    """A direction in three figures, north as 360°."""
    return f"{(round(value_deg) - 1) % 360 + 1:03d}°"


def latitude(value_deg: float) -> str:
    """A latitude: 52° N; the equator by its name."""
    if value_deg == 0.0:
        return "the equator"
    return f"{abs(value_deg):g}° {'N' if value_deg > 0.0 else 'S'}"


def east_west(value_deg: float) -> str:
    """Variation or deviation: 7° E, 0°."""
    if round(value_deg) == 0:
        return "0°"
    return f"{abs(value_deg):.0f}° {'E' if value_deg > 0.0 else 'W'}"


def error(value_deg: float, decimals: int = 0) -> str:
    """An error of a reading: 12° too low."""
    if round(value_deg, decimals) == 0.0:
        return "no error"
    return f"{abs(value_deg):.{decimals}f}° too {'high' if value_deg > 0.0 else 'low'}"


def change(value_deg: float, decimals: int = 0) -> str:
    """A change of a reading: falls by 12°."""
    if round(value_deg, decimals) == 0.0:
        return "does not change"
    return f"{'rises' if value_deg > 0.0 else 'falls'} by {abs(value_deg):.{decimals}f}°"


def less_than(value_deg: float) -> str:
    """The size of an error in tenths: 0.4°; less than 0.1° if it rounds to zero."""
    size = f"{abs(value_deg):.1f}"
    return "less than 0.1°" if size == "0.0" else f"{size}°"


def rate(value_deg_h: float) -> str:
    """A rate of a reading: falls by 11.8° an hour."""
    if round(value_deg_h, 1) == 0.0:
        return "does not change"
    return f"{change(value_deg_h, 1)} an hour"


def minutes(value_min: float) -> str:
    """A time: 15 min."""
    return f"{value_min:.0f} min"


WORDS = Notation("", 1.0, str)
HEADING = Notation("deg", 1.0, heading, circle=True)
DEGREES = Notation("deg", 1.0, degrees)
ERROR = Notation("deg", 1.0, error)
ERROR_TENTHS = Notation("deg", 0.1, lambda value: error(value, 1))
CHANGE = Notation("deg", 1.0, change)
CHANGE_TENTHS = Notation("deg", 0.1, lambda value: change(value, 1))
RATE = Notation("deg/h", 0.1, rate)
MINUTES = Notation("min", 1.0, minutes)
KNOTS = Notation("kt", 5.0, lambda value: f"{value:.0f} kt")
INHG = Notation("inHg", 0.1, lambda value: f"{value:.1f} inHg")
EAST_WEST = Notation("deg", 1.0, east_west)
LATITUDE = Notation("deg", 1.0, latitude)
