"""Numbers that a scene's texts state, and whether one of its claims holds the engine to them."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from lubberline.simulation.live.orders import Pace
from lubberline.simulation.live.scene import Claim, Scene

# Unit in a text, and how the names of claims end that may stand for it.
UNITS = {
    "degrees an hour": "_deg_h",
    "degrees a second": "_deg_s",
    "degrees": "_deg",
    "degree": "_deg",
    "turns": "_deg",
    "rpm": "_rpm",
    "inHg": "_inhg",
    "kt": "_kt",
    "nT": "_nt",
}
TIMES_S = {"minutes": 60.0, "minute": 60.0, "seconds": 1.0}
_UNIT = "|".join(sorted([*UNITS, *TIMES_S], key=len, reverse=True))
NUMBER = re.compile(
    rf"(?P<way>(?:falls|fell|rises|rose) by )?(?<![\w.])(?P<number>\d+(?:,\d{{3}})*(?:\.\d+)?)"
    rf"(?: (?P<unit>{_UNIT})\b)?(?: (?P<side>low|high|behind|ahead)\b)?"
)
SIGNS = {
    "low": -1,
    "behind": -1,
    "falls by ": -1,
    "fell by ": -1,
    "high": 1,
    "ahead": 1,
    "rises by ": 1,
    "rose by ": 1,
}
PACE = re.compile(r"\bx(\d+(?:\.\d+)?)")
# A caption's claim is made within this time of it, or this share of the scene.
NEAR_S, NEAR_SHARE = 40.0, 0.15


@dataclass(frozen=True)
class Stated:
    """A number in a text.

    Attributes:
        words: as they stand there.
        value: the number.
        decimals: with which it is written.
        unit: after it; '' for none.
        sign: -1 or 1 where the text says a side, else 0.
        at_s: of the caption; none for the other texts.
    """

    words: str
    value: float
    decimals: int
    unit: str
    sign: int
    at_s: float | None


def texts_of(scene: Scene) -> Iterator[tuple[float | None, str]]:
    """Texts of a scene with the time at which they are shown, less what is named as unclaimed."""
    entry = scene.entry
    found: list[tuple[float | None, str]] = [
        (None, text) for text in (entry.title, entry.aim, entry.watch, entry.ask)
    ]
    found += [(event.at_s, event.caption) for event in scene.events]
    for at_s, text in found:
        left = text
        for phrase in entry.unclaimed:
            left = left.replace(phrase, "")
        yield at_s, left


def stated_in(at_s: float | None, text: str) -> Iterator[Stated]:
    """The numbers of a text."""
    for match in NUMBER.finditer(text):
        digits = match["number"].replace(",", "")
        sign = SIGNS.get(match["side"] or "", 0) or SIGNS.get(match["way"] or "", 0)
        decimals = len(digits.partition(".")[2])
        yield Stated(match[0], float(digits), decimals, match["unit"] or "", sign, at_s)


def is_claimed(stated: Stated, scene: Scene) -> bool:
    """Whether the scene claims what is stated, or for a time, has it in its script."""
    if stated.unit in TIMES_S:
        return _is_in_script(stated.value * TIMES_S[stated.unit], scene)
    window_s = max(NEAR_S, NEAR_SHARE * scene.length_s)
    return any(
        _covers(claim, stated)
        for claim in scene.entry.claim
        if stated.at_s is None or abs(claim.at_s - stated.at_s) <= window_s
    )


def _is_in_script(span_s: float, scene: Scene) -> bool:
    marks = {0.0, *(event.at_s for event in scene.events), *(claim.at_s for claim in scene.entry.claim)}
    return any(abs(last - first - span_s) < 0.05 for first in marks for last in marks)


def _covers(claim: Claim, stated: Stated) -> bool:
    ending = UNITS.get(stated.unit, "")
    if not claim.name.endswith(ending):
        return False
    value = stated.value * (360.0 if stated.unit == "turns" else 1.0)
    signs = (stated.sign,) if stated.sign else (1, -1)
    return any(_says(claim, sign * value, stated.decimals) for sign in signs)


def _says(claim: Claim, value: float, decimals: int) -> bool:
    """A bound that is stated, or a range round the number that is not wider than the number means."""
    if value in (claim.low, claim.high):
        return True
    half_width = (claim.high - claim.low) / 2.0
    return claim.low <= value <= claim.high and half_width <= 0.1 * abs(value) + 0.6 * 10.0**-decimals


def paces_said(scene: Scene) -> Iterator[tuple[float, float]]:
    """Paces that captions announce: time and factor."""
    for event in scene.events:
        for match in PACE.finditer(event.caption):
            yield event.at_s, float(match[1])


def paces(scene: Scene) -> list[tuple[float, float]]:
    """Paces that the script sets: time and factor, from the start on."""
    return [(0.0, 1.0), *((e.at_s, e.order.factor) for e in scene.events if isinstance(e.order, Pace))]


def watching_s(scene: Scene) -> float:
    """How long a scene lasts for those who watch it."""
    steps = [*paces(scene), (scene.length_s, 1.0)]
    return sum((until - at_s) / factor for (at_s, factor), (until, _) in pairwise(steps))
