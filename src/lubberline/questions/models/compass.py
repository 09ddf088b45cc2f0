"""Variation, deviation and the steady compass: chains of headings, swings, cards and the window."""

import cmath
import math
import re
from functools import cache

from lubberline.angles import wrapped_deg
from lubberline.questions.figures import compass_face
from lubberline.questions.models import (
    COMPASS,
    GYRO,
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Words,
    Worked,
    Wrong,
    notation,
    under,
)

SOURCE = (
    "magnetic = true - variation, compass = magnetic - deviation, east positive: FAA-H-8083-25C, chapter 8"
)
TURNED = "the directions as unit vectors, turned one after the other"


def _turned(start_deg: float, *by_deg: float) -> float:
    """A direction turned by angles, through complex numbers; 0 to 360."""
    vector = cmath.rect(1.0, math.radians(start_deg))
    for angle in by_deg:
        vector *= cmath.rect(1.0, math.radians(angle))
    return math.degrees(cmath.phase(vector)) % 360.0


def _chain_second(d: Drawn, believed: Belief, sense: float) -> float:
    """The chain from true to compass (sense -1) or back, as a student applies its parts."""
    variation = believed.laws(GYRO).variation_sign * d["variation_deg"]
    deviation = believed.laws(COMPASS).compass_deviation * d["deviation_deg"]
    deviation = believed.of({"compass-heading": deviation, "magnetic-heading": 0.0}, "compass-heading")
    sense = believed.step("sense of the chain", sense)
    return _turned(d["start_deg"], sense * variation, sense * deviation)


def _draw_chain(draw: Draw) -> dict[str, float]:
    return {
        "start_deg": draw.heading_deg(),
        "variation_deg": draw.variation_deg(5, 22, 1),
        "deviation_deg": draw.signed(2, 6, 1),
    }


def _chain_facts(d: Drawn) -> dict[str, str]:
    return {
        "start": notation.heading(d["start_deg"]),
        "variation": notation.east_west(d["variation_deg"]),
        "deviation": notation.east_west(d["deviation_deg"]),
    }


def _chain(d: Drawn, sense: float) -> Worked:
    """From true to compass (sense -1) or back (+1): the signs of variation and deviation, and their slips."""
    start, variation, deviation = d["start_deg"], d["variation_deg"], d["deviation_deg"]
    middle = start + sense * (variation if sense < 0.0 else deviation)
    return Worked(
        start + sense * (variation + deviation),
        (
            *under(
                ("add-east-variation", "compass-points-to-true-north"),
                lambda laws: start + sense * (laws.variation_sign * variation + deviation),
            ),
            Wrong("deviation-the-wrong-way", start + sense * (variation - deviation)),
            Wrong("both-the-wrong-way", start - sense * (variation + deviation)),
            Wrong("compass-heading-is-magnetic", start + sense * variation),
        ),
        {**_chain_facts(d), "magnetic": notation.heading(middle)},
        signs=int(variation * sense < 0.0) + int(deviation * sense < 0.0),
    )


CHAIN_FEEDBACK = {
    "compass-points-to-true-north": "Apply the variation of {variation} as well: {key}.",
    "add-east-variation": "With variation {variation} and deviation {deviation} the answer is {key}.",
    "deviation-the-wrong-way": "With deviation {deviation} and the magnetic heading {magnetic} the answer "
    "is {key}.",
    "both-the-wrong-way": "Here both were applied the wrong way: with variation {variation} and deviation "
    "{deviation} the answer is {key}.",
    "compass-heading-is-magnetic": "Apply the deviation of {deviation} as well: {key}.",
}

TO_COMPASS = ItemModel(
    id="compass-from-true",
    topic="compass",
    level="apply",
    kind="choice",
    draw=_draw_chain,
    work=lambda d: _chain(d, -1.0),
    second=lambda d, believed: _chain_second(d, believed, -1.0),
    second_way=TURNED,
    words=Words(
        stem="The true heading must be {start}. The variation is {variation}, and the deviation on this "
        "heading is {deviation}. Which heading must the magnetic compass show?",
        reason="True {start} with variation {variation} is magnetic {magnetic}; with deviation {deviation} "
        "the compass shows {key}. From true to compass, subtract east and add west.",
        feedback=CHAIN_FEEDBACK,
    ),
    source=SOURCE,
    steps=2,
    notation=notation.HEADING,
    apart=2.0,
    agree=0.1,
    least=3,
    unoffered=("compass-points-to-true-north", "compass-heading-is-magnetic"),
)

TO_TRUE = ItemModel(
    id="compass-to-true",
    topic="compass",
    level="apply",
    kind="number",
    draw=_draw_chain,
    work=lambda d: _chain(d, 1.0),
    second=lambda d, believed: _chain_second(d, believed, 1.0),
    second_way=TURNED,
    words=Words(
        stem="The magnetic compass shows {start} in straight, steady flight. The deviation on this heading "
        "is {deviation}, and the variation is {variation}. What is the true heading, in degrees?",
        reason="Compass {start} with deviation {deviation} is magnetic {magnetic}; with variation "
        "{variation} that is true {key}. From compass to true, add east and subtract west.",
        feedback=CHAIN_FEEDBACK,
    ),
    source=SOURCE,
    steps=2,
    notation=notation.HEADING,
    apart=2.0,
    agree=0.1,
    tolerance=0.5,
)


def _named(d: Drawn) -> Worked:
    difference = wrapped_deg(d["first_deg"] - d["second_deg"])
    other = wrapped_deg(d["second_deg"] - d["third_deg"])
    whole = wrapped_deg(d["first_deg"] - d["third_deg"])
    by_name = {"variation": difference, "deviation": other}
    key = by_name[d["asked"]]
    mixed = by_name["deviation" if d["asked"] == "variation" else "variation"]
    return Worked(
        key,
        (
            Wrong("add-east-variation" if d["asked"] == "variation" else "deviation-the-wrong-way", -key),
            Wrong("variation-is-deviation" if d["asked"] == "variation" else "deviation-is-variation", mixed),
            Wrong("whole-difference", whole),
        ),
        {
            "true": notation.heading(d["first_deg"]),
            "magnetic": notation.heading(d["second_deg"]),
            "compass": notation.heading(d["third_deg"]),
            "asked": d["asked"],
            "other": "deviation" if d["asked"] == "variation" else "variation",
            "to": "true" if d["asked"] == "variation" else "magnetic",
            "from": "magnetic" if d["asked"] == "variation" else "compass",
            "begin": notation.heading(d["second_deg" if d["asked"] == "variation" else "third_deg"]),
            "end": notation.heading(d["first_deg" if d["asked"] == "variation" else "second_deg"]),
            "turned": f"{abs(key):.0f}° {'clockwise' if key > 0.0 else 'anticlockwise'}",
            "side": "east" if key > 0.0 else "west",
        },
        signs=1,
    )


def _draw_named(draw: Draw) -> dict[str, float | str]:
    start, variation, deviation = draw.heading_deg(5), draw.variation_deg(6, 20, 1), draw.signed(2, 5, 1)
    return {
        "asked": draw.pick(("variation", "deviation")),
        "first_deg": start,
        "second_deg": (start - variation) % 360.0 or 360.0,
        "third_deg": (start - variation - deviation) % 360.0 or 360.0,
    }


def _named_second(d: Drawn, believed: Belief) -> float:
    variation = _between(d["second_deg"], d["first_deg"]) * believed.laws(GYRO).variation_sign
    deviation = _between(d["third_deg"], d["second_deg"]) * believed.laws(COMPASS).compass_deviation
    found = believed.of({"variation": variation, "deviation": deviation}, d["asked"])
    return believed.step("difference of two headings", found, _between(d["third_deg"], d["first_deg"]))


def _between(one_deg: float, other_deg: float) -> float:
    found = _turned(other_deg, -one_deg)
    return found - 360.0 if found > 180.0 else found


NAMED = ItemModel(
    id="compass-name-the-difference",
    topic="compass",
    level="recall",
    kind="choice",
    draw=_draw_named,
    work=_named,
    second=_named_second,
    second_way=TURNED,
    words=Words(
        stem="In straight, steady flight the true heading is {true}, the magnetic heading is {magnetic}, and "
        "the compass shows {compass}. What is the {asked}?",
        reason="The {asked} is the angle from the {from} heading to the {to} heading. From {begin} to {end} "
        "it is {turned}, which is {side}: {key}.",
        feedback={
            "add-east-variation": "From true {true} to magnetic {magnetic} the variation is {key}.",
            "deviation-the-wrong-way": "From magnetic {magnetic} to compass {compass} the deviation is "
            "{key}.",
            "variation-is-deviation": "Here {this} is the {other}; the {asked} is {key}.",
            "deviation-is-variation": "Here {this} is the {other}; the {asked} is {key}.",
            "whole-difference": "{this} is the sum of variation and deviation; the {asked} alone is {key}.",
        },
    ),
    source=SOURCE,
    steps=1,
    notation=notation.EAST_WEST,
    apart=1.0,
    agree=0.1,
    least=3,
    crossed=True,
)


def _window(d: Drawn) -> Worked:
    heading = d["heading_deg"]
    row = 10.0 * math.floor(heading / 10.0)
    nearest = row if heading - row < 5.0 else row + 10.0
    return Worked(
        heading,
        (
            Wrong("compass-window-mirrored", 2.0 * nearest - heading),
            Wrong("compass-shows-reciprocal", heading + 180.0),
        ),
        {"heading": notation.heading(heading)},
        figure=compass_face(heading),
        signs=1,
    )


@cache
def _read_window(svg: str) -> float:
    """The heading at the lubber line of a drawn window, from where its figures in tens stand."""
    letters = {"N": 0, "E": 90, "S": 180, "W": 270}
    (x0, first), (x1, second) = [
        (float(x), float(letters[word] if word in letters else 10 * int(word)))
        for x, word in re.findall(r'<text x="([\d.]+)"[^>]*>([NESW\d]+)</text>', svg)
    ][:2]
    per_px = wrapped_deg(second - first) / (x1 - x0)
    line = float(re.findall(r'd="M([\d.]+) 4v', svg)[0])
    return (first + per_px * (line - x0)) % 360.0


def _window_second(d: Drawn, believed: Belief) -> float:
    read = believed.step("figures of the window", _read_window(compass_face(d["heading_deg"]).svg))
    return believed.step("end of the card", read) % 360.0


WINDOW = ItemModel(
    id="compass-read-the-window",
    pictured=True,
    topic="compass",
    level="recall",
    kind="number",
    draw=lambda draw: {"heading_deg": draw.step(10.0, 340.0, 10.0) + draw.pick((2.0, 3.0, 7.0, 8.0))},
    work=_window,
    second=_window_second,
    second_way="the drawing itself, measured: two of its figures and the lubber line",
    words=Words(
        stem="The drawing shows the window of a magnetic compass in straight, steady flight. What does the "
        "compass read, to the nearest degree that you can judge by eye?",
        reason="You see the near side of the card, so its figures decrease towards the right. The lubber "
        "line is at {heading}.",
        feedback={
            "compass-window-mirrored": "Count to the left from the nearest figure on the right of the lubber "
            "line: {key}.",
            "compass-shows-reciprocal": "Here that is {key}.",
        },
    ),
    source="FAA-H-8083-15B, chapter 5: the card of a magnetic compass is read at the lubber line",
    steps=1,
    notation=notation.HEADING,
    apart=3.0,
    agree=0.5,
    tolerance=1.0,
    least=1,
)


MODELS = (TO_COMPASS, TO_TRUE, NAMED, WINDOW)
