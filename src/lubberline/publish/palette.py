"""How each cause looks: a fill, a darker ink and a pattern, so that none is told by colour alone.

The fills differ in lightness as well as hue, so neighbours in the stack stay apart in greyscale print
and for the common kinds of colour blindness.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple


class Look(NamedTuple):
    """Fill and ink as hex colours, and the name of a pattern in `PATTERNS`."""

    fill: str
    ink: str
    pattern: str


# Paths drawn in the ink on an 8 x 8 tile.
PATTERNS = {
    "plain": "",
    "rising": "M-2 2L2 -2M0 8L8 0M6 10L10 6",
    "falling": "M-2 6L2 10M0 0L8 8M6 -2L10 2",
    "level": "M0 2H8M0 6H8",
    "upright": "M2 0V8M6 0V8",
    "dots": "M1.2 2H2.8M5.2 6H6.8",
    "cross": "M0 0L8 8M8 0L0 8",
    "grid": "M0 4H8M4 0V8",
    "dashes": "M0 2H5M4 6H8M0 6H1",
}

LOOKS = {
    "earth": Look("#7ea6c4", "#24506f", "plain"),
    "travel": Look("#c6dce8", "#2f6285", "rising"),
    "friction": Look("#dfa04d", "#6e4308", "dots"),
    "balance": Look("#6d9f87", "#1e4f39", "level"),
    "levelling": Look("#cfe3c4", "#3f6b2c", "falling"),
    "geometry": Look("#f3e2a4", "#7a6313", "upright"),
    "variation_change": Look("#b9a3cf", "#4d3470", "dashes"),
    "set_deviation": Look("#8d8f92", "#33332f", "plain"),
    "set_turning": Look("#ced6da", "#55503f", "grid"),
    "set_acceleration": Look("#a59a86", "#463f2e", "rising"),
    "set_misreading": Look("#ddd2b8", "#5c574a", "dots"),
    "tumble": Look("#b0605c", "#4e1512", "cross"),
    "rest": Look("#f8f8f7", "#77756c", "dashes"),
}
UNKNOWN = Look("#e4e4e4", "#444444", "grid")


def look_of(cause: str) -> Look:
    """The look of a cause, by ledger column or its stem."""
    return LOOKS.get(cause.removesuffix("_deg"), UNKNOWN)


def fills(prefix: str, cause: str) -> tuple[str, ...]:
    """What to fill a cause's shape with, one over the other: its colour, then its pattern if it has one.

    The colour is no part of the pattern, whose tiles would show their seams in print.
    """
    look = look_of(cause)
    if not PATTERNS[look.pattern]:
        return (look.fill,)
    return look.fill, f"url(#{prefix}-{cause.removesuffix('_deg')})"


def pattern_definitions(prefix: str, causes: Iterable[str]) -> str:
    """SVG `<pattern>` elements for the causes, ids beginning with `prefix`."""
    parts = []
    for cause in causes:
        look = look_of(cause)
        if PATTERNS[look.pattern]:
            parts.append(
                f'<pattern id="{prefix}-{cause.removesuffix("_deg")}" width="8" height="8" '
                f'patternUnits="userSpaceOnUse"><path d="{PATTERNS[look.pattern]}" stroke="{look.ink}" '
                'stroke-width="1" opacity=".75"/></pattern>'
            )
    return "".join(parts)
