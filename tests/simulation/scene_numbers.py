"""Numbers that a scene's texts state, and whether one of its claims holds the engine to them."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from lubberline.flight.motion import STEP_S
from lubberline.simulation.fitted import Frame
from lubberline.simulation.live.orders import Pace
from lubberline.simulation.live.scene import Claim, Scene
from lubberline.simulation.scenes import number_in

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
# How often the dials are looked at while a caption stands.
LOOKS = 5
# The suction gauge's own number has as many.
DIAL_DECIMALS = 1
# Before a number that is a bound or still to come; the claims hold it.
BOUNDS = ("within", "than", "under", "below", "turn with", "when it shows")


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
    return any(_covers(claim, stated) for claim in scene.entry.claim if _is_near(claim, stated, scene))


def _is_near(claim: Claim, stated: Stated, scene: Scene) -> bool:
    window_s = max(NEAR_S, NEAR_SHARE * scene.length_s)
    return stated.at_s is None or abs(claim.at_s - stated.at_s) <= window_s


def standing(scene: Scene, from_s: float = 0.0) -> list[tuple[float, float, str]]:
    """Captions with the times between which they stand; of a tour's step its sentence."""
    captions = [(at_s, text) for at_s, text in texts_of(scene) if at_s is not None and text]
    if not captions:
        return [(from_s, scene.length_s, text) for _, text in texts_of(scene)]
    ends = [at_s for at_s, _ in captions[1:]] + [scene.length_s]
    return [(at_s, end_s, text) for (at_s, text), end_s in zip(captions, ends, strict=True)]


def looks(scene: Scene, from_s: float = 0.0) -> set[int]:
    """Steps at which the dials are compared with the caption that stands beside them, its last among them."""
    found = set()
    for at_s, end_s, _ in standing(scene, from_s):
        first, last = round(at_s / STEP_S), round(end_s / STEP_S)
        found |= {first + (last - first) * k // LOOKS for k in range(LOOKS)}
        found.add(max(first, last - 1) if end_s < scene.length_s else last)
    return found


def misread(scene: Scene, frames: Mapping[int, Frame], from_s: float = 0.0) -> list[str]:
    """Numbers of captions that no dial shows, rounded as they are written, while they stand."""
    wrong = []
    for at_s, end_s, text in standing(scene, from_s):
        seen = [
            frame for step, frame in sorted(frames.items()) if at_s <= step * STEP_S <= end_s + STEP_S / 2.0
        ]
        for number in stated_in(at_s, text):
            claims = [
                claim
                for claim in scene.entry.claim
                if _is_near(claim, number, scene) and _covers(claim, number)
            ]
            ways = [
                [number_in(frame, name) for frame in seen]
                for name in sorted({claim.name for claim in claims})
            ]
            if ways and not _is_bound(number, text) and not any(_shows(way, number) for way in ways):
                wrong.append(f"{at_s:g} s, {number.words}: {[(way[0], way[-1]) for way in ways]}")
    return wrong


def _is_bound(number: Stated, text: str) -> bool:
    return any(f"{word} {number.words}" in text for word in BOUNDS)


def _shows(way: Sequence[float], number: Stated) -> bool:
    """Whether what a dial showed came to the number, rounded as it is written."""
    value = number.value * (360.0 if number.unit == "turns" else 1.0)
    # Of a speed that is written in hundreds, the hundreds are read.
    hundreds = number.unit in ("rpm", "") and value >= 1000.0 and value % 100.0 == 0.0
    if number.unit == "inHg" and number.decimals > DIAL_DECIMALS:
        return False
    half = 50.0 if hundreds else 0.5 * 10.0**-number.decimals
    signs = (number.sign,) if number.sign else (1, -1)
    return any(min(way) - half <= sign * value <= max(way) + half for sign in signs)


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
