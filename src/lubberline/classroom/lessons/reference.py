"""Where a lesson mixes true and magnetic: it says 'pointing north', and its bench starts at 000 true.

The card is set to magnetic and the key is read from the card, so at a place with variation both are another
number than the text leads to expect.
"""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, time
from typing import NamedTuple

from lubberline.angles import rose_deg, wrapped_deg
from lubberline.classroom.lessons.lesson import Lesson, Step
from lubberline.classroom.lessons.scenes import scene_of
from lubberline.earth.magnetic import field_at
from lubberline.flight.motion import decimal_year_of
from lubberline.simulation.live.scene import Scene
from lubberline.units import FT_M

# A difference under this is not seen on a card that is read to a few degrees.
LEAST_VARIATION_DEG = 3.0
WAYS_DEG = {"north": 0.0, "east": 90.0, "south": 180.0, "west": 270.0}
_POINTING = re.compile(
    r"\b(?:point\w*|fac(?:es|ed|ing)|head\w*|nose|fl(?:y|ies|ying)|steer\w*|taxi\w*)\s+"
    r"(?:(?:is|of|on|to|towards?|due|straight)\s+){0,2}(north|east|south|west|[0-3]\d\d)\b"
    r"(?!\s*(?:°|degrees)?\s*(?:true|magnetic|by the (?:card|compass|map)))",
    re.IGNORECASE,
)


class Mixed(NamedTuple):
    """A line of a lesson that mixes true and magnetic, and what to write instead."""

    line: int
    words: str


def mixed_references(lesson: Lesson) -> tuple[Mixed, ...]:
    """The lines of a lesson that name a direction of the nose that its bench has as a true one only."""
    return tuple(found for step in lesson.steps for found in _mixed(lesson, step))


def _mixed(lesson: Lesson, step: Step) -> Iterator[Mixed]:
    show = step.show or (step.question.show if step.question else None)
    if show is None:
        return
    scene = scene_of(show.scene_ref, f"{lesson.source}, line {step.line}", lesson.scenes)
    variation, heading = variation_at(scene), scene.entry.start.heading_deg
    if abs(variation) < LEAST_VARIATION_DEG or _is_true(scene):
        return
    for found in _POINTING.finditer(f"{step.title}\n{step.text}"):
        way = found[1].lower()
        if abs(wrapped_deg((WAYS_DEG[way] if way in WAYS_DEG else float(way)) - heading)) < 0.5:
            yield Mixed(_line_of(lesson, step, found[0]), _words(found[0], heading, variation))


def variation_at(scene: Scene) -> float:
    """The variation where a scene starts, on its day."""
    start = scene.entry.start
    year = decimal_year_of(datetime.combine(start.utc, time(tzinfo=UTC)))
    place = (start.latitude_deg, start.longitude_deg, start.altitude_ft * FT_M)
    return field_at(*place, year).variation_deg


def _is_true(scene: Scene) -> bool:
    """Whether it is set to true headings from the start."""
    orders = (event.order for event in scene.events if event.at_s == 0.0)
    return any(getattr(order, "true", False) for order in orders)


def _line_of(lesson: Lesson, step: Step, phrase: str) -> int:
    lines = lesson.text.splitlines()
    after = range(step.line, len(lines) + 1)
    return next((number for number in after if phrase.split("\n")[0] in lines[number - 1]), step.line)


def _words(phrase: str, heading_deg: float, variation_deg: float) -> str:
    shown, magnetic = (round(rose_deg(heading_deg + by)) or 360 for by in (-variation_deg, variation_deg))
    east_west = "E" if variation_deg > 0.0 else "W"
    said = " ".join(phrase.split())
    return (
        f"'{said}' is a true direction here, but the card and the key are magnetic: with variation "
        f"{abs(variation_deg):.0f} {east_west} the card reads {shown:03d}. Write '{said} true', or "
        f"'{said} magnetic' and start at heading {magnetic:03d}, or add 'true' to the bench's address"
    )
