"""Variation, deviation and the compass at rest: chains of headings, swings, cards, and its window."""

from __future__ import annotations

import cmath
import math
import re
from functools import cache

from lubberline.instruments.deviation import coefficients_by_hand, fit_swing
from lubberline.questions import forms
from lubberline.questions.believed import laws_of
from lubberline.questions.drawing import Draw
from lubberline.questions.figures import compass_face
from lubberline.questions.model import Drawn, ItemModel, Words, Worked, Wrong

SOURCE = (
    "magnetic = true - variation, compass = magnetic - deviation, east positive: FAA-H-8083-25, chapter 8"
)
SWING = "NGA, Handbook of Magnetic Compass Adjustment (2004), chapter V"
TURNED = "the directions as unit vectors, turned one after the other"


def _turned(start_deg: float, *by_deg: float) -> float:
    """A direction turned by angles, through complex numbers; 0 to 360."""
    vector = cmath.rect(1.0, math.radians(start_deg))
    for angle in by_deg:
        vector *= cmath.rect(1.0, math.radians(angle))
    return math.degrees(cmath.phase(vector)) % 360.0


def _draw_chain(draw: Draw) -> dict[str, float]:
    return {
        "start_deg": draw.heading_deg(),
        "variation_deg": draw.signed(5, 22, 1),
        "deviation_deg": draw.signed(2, 6, 1),
    }


def _chain_facts(d: Drawn) -> dict[str, str]:
    return {
        "start": forms.heading(d["start_deg"]),
        "variation": forms.east_west(d["variation_deg"]),
        "deviation": forms.east_west(d["deviation_deg"]),
    }


def _chain(d: Drawn, sense: float) -> Worked:
    """True to compass (sense -1) or back (+1): the signs of variation and deviation, and their slips."""
    start, variation, deviation = d["start_deg"], d["variation_deg"], d["deviation_deg"]
    variation_sign = laws_of("add-east-variation").variation_sign
    middle = start + sense * (variation if sense < 0.0 else deviation)
    return Worked(
        start + sense * (variation + deviation),
        (
            Wrong("add-east-variation", start + sense * (variation_sign * variation + deviation)),
            Wrong("deviation-the-wrong-way", start + sense * (variation - deviation)),
            Wrong("both-the-wrong-way", start - sense * (variation + deviation)),
            Wrong("compass-heading-is-magnetic", start + sense * variation),
        ),
        {**_chain_facts(d), "magnetic": forms.heading(middle)},
        signs=int(variation * sense < 0.0) + int(deviation * sense < 0.0),
    )


CHAIN_FEEDBACK = {
    "add-east-variation": "With variation {variation} and deviation {deviation} this comes to {key}.",
    "deviation-the-wrong-way": "With deviation {deviation} the magnetic heading {magnetic} goes with {key}.",
    "both-the-wrong-way": "Both are turned over here; {variation} and {deviation} give {key}.",
    "compass-heading-is-magnetic": "The deviation of {deviation} belongs in it too: {key}.",
}

TO_COMPASS = ItemModel(
    id="compass-from-true",
    topic="compass",
    level="apply",
    kind="choice",
    draw=_draw_chain,
    work=lambda d: _chain(d, -1.0),
    second=lambda d: _turned(d["start_deg"], -d["variation_deg"], -d["deviation_deg"]),
    second_way=TURNED,
    words=Words(
        stem="The true heading is to be {start}. Variation is {variation}, deviation on this heading is "
        "{deviation}. "
        "Which heading must the magnetic compass show?",
        reason="True {start} with variation {variation} is magnetic {magnetic}; with deviation "
        "{deviation} the "
        "compass shows {key}. East is taken away on the way from true to compass, west is added.",
        feedback=CHAIN_FEEDBACK,
    ),
    source=SOURCE,
    steps=2,
    form=forms.HEADING,
    apart=2.0,
    agree=0.1,
    least=3,
)

TO_TRUE = ItemModel(
    id="compass-to-true",
    topic="compass",
    level="apply",
    kind="number",
    draw=_draw_chain,
    work=lambda d: _chain(d, 1.0),
    second=lambda d: _turned(d["start_deg"], d["deviation_deg"], d["variation_deg"]),
    second_way=TURNED,
    words=Words(
        stem="The magnetic compass shows {start} in steady straight flight. Deviation on this heading "
        "is {deviation}, "
        "variation is {variation}. What is the true heading, in degrees?",
        reason="Compass {start} with deviation {deviation} is magnetic {magnetic}; with variation "
        "{variation} that is "
        "true {key}. East is added on the way from compass to true, west is taken away.",
        feedback=CHAIN_FEEDBACK,
    ),
    source=SOURCE,
    steps=2,
    form=forms.HEADING,
    apart=2.0,
    agree=0.1,
    tolerance=0.5,
)


def _named(d: Drawn) -> Worked:
    asked = d["first_deg"] - d["second_deg"]
    difference = (asked + 180.0) % 360.0 - 180.0
    other = (d["second_deg"] - d["third_deg"] + 180.0) % 360.0 - 180.0
    whole = (d["first_deg"] - d["third_deg"] + 180.0) % 360.0 - 180.0
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
            "true": forms.heading(d["first_deg"]),
            "magnetic": forms.heading(d["second_deg"]),
            "compass": forms.heading(d["third_deg"]),
            "asked": d["asked"],
            "other": "deviation" if d["asked"] == "variation" else "variation",
            "between": "true and magnetic" if d["asked"] == "variation" else "magnetic and compass",
        },
        signs=1,
    )


def _draw_named(draw: Draw) -> dict[str, float | str]:
    start, variation, deviation = draw.heading_deg(5), draw.signed(6, 20, 1), draw.signed(2, 5, 1)
    return {
        "asked": draw.pick(("variation", "deviation")),
        "first_deg": start,
        "second_deg": (start - variation) % 360.0 or 360.0,
        "third_deg": (start - variation - deviation) % 360.0 or 360.0,
    }


def _named_second(d: Drawn) -> float:
    first, second = ("first_deg", "second_deg") if d["asked"] == "variation" else ("second_deg", "third_deg")
    found = _turned(d[first], -d[second])
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
        stem="At a certain moment the true heading is {true}, the magnetic heading {magnetic}, and the "
        "compass shows "
        "{compass}. How large is the {asked}?",
        reason="The {asked} is the difference between {between}, here {key}: east, when the first of "
        "the two is "
        "the larger.",
        feedback={
            "add-east-variation": "Magnetic {magnetic} against true {true} is {key}.",
            "deviation-the-wrong-way": "Compass {compass} against magnetic {magnetic} is {key}.",
            "variation-is-deviation": "{this} is the {other} here; the {asked} is {key}.",
            "deviation-is-variation": "{this} is the {other} here; the {asked} is {key}.",
            "whole-difference": "{this} is variation and deviation together; the {asked} alone is {key}.",
        },
    ),
    source=SOURCE,
    steps=1,
    form=forms.EAST_WEST,
    apart=1.0,
    agree=0.1,
    least=3,
)

NAMES = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


@cache
def _swing_of(a: float, b: float, c: float, d: float, e: float) -> dict[float, float]:
    found = {}
    for heading in range(0, 360, 45):
        h = math.radians(heading)
        value = a + b * math.sin(h) + c * math.cos(h) + d * math.sin(2 * h) + e * math.cos(2 * h)
        found[float(heading)] = round(value, 1)
    return found


def _swing(d: Drawn) -> dict[float, float]:
    if "swing" in d:
        found: dict[float, float] = d["swing"]
        return found
    return _swing_of(d["a_deg"], d["b_deg"], d["c_deg"], d["d_deg"], d["e_deg"])


def _signed(value: float) -> str:
    return f"{'+' if value > 0.0 else '−' if value < 0.0 else ''}{abs(value):.1f}"


def _coefficient(d: Drawn) -> Worked:
    swing = _swing(d)
    found = coefficients_by_hand(swing)
    values = {"A": found.a_deg, "B": found.b_deg, "C": found.c_deg}
    asked = d["asked"]
    listed = ", ".join(f"{name} {_signed(swing[45.0 * i])}" for i, name in enumerate(NAMES))
    ways = {
        "A": "the mean of all eight",
        "B": "half of east less west",
        "C": "half of north less south",
    }
    swapped = {"A": values["C"], "B": values["C"], "C": values["B"]}[asked]
    return Worked(
        values[asked],
        (
            Wrong("coefficients-swapped", swapped),
            Wrong("coefficient-not-halved", 2.0 * values[asked]),
            Wrong("coefficient-sign-turned", -values[asked]),
        ),
        {"swing": listed, "asked": asked, "way": ways[asked]},
    )


def _draw_swing(draw: Draw) -> dict[str, float | str]:
    return {
        "asked": draw.pick(("B", "C")),
        "a_deg": draw.step(-1.5, 1.5, 0.5),
        "b_deg": draw.signed(2, 7, 0.5),
        "c_deg": draw.signed(2, 7, 0.5),
        "d_deg": draw.step(-1.5, 1.5, 0.5),
        "e_deg": draw.step(-1, 1, 0.5),
    }


def _coefficient_second(d: Drawn) -> float:
    fitted = fit_swing(_swing(d)).coefficients
    return {"A": fitted.a_deg, "B": fitted.b_deg, "C": fitted.c_deg}[d["asked"]]


COEFFICIENT = ItemModel(
    id="compass-coefficient",
    topic="compass",
    level="apply",
    kind="choice",
    draw=_draw_swing,
    work=_coefficient,
    second=_coefficient_second,
    second_way="least squares on all eight headings",
    words=Words(
        stem="A swing gives these deviations in degrees (east +): {swing}. What is coefficient {asked}, "
        "by the "
        "hand method?",
        reason="Coefficient {asked} is {way}: {key}.",
        feedback={
            "coefficients-swapped": "Coefficient {asked} is {way}: {key}.",
            "coefficient-not-halved": "{this} is the whole difference; half of it is {key}.",
            "coefficient-sign-turned": "Taken in the right order it is {key}.",
        },
    ),
    source=SWING,
    steps=2,
    form=forms.Form("deg", 0.1, lambda value: f"{_signed(value)}°"),
    apart=0.8,
    agree=0.2,
    least=2,
)


def _steer(d: Drawn) -> Worked:
    low, high, share = d["low_deg"], d["high_deg"], (d["wanted_deg"] - d["row_deg"]) / 30.0
    correction = low + share * (high - low)
    wanted = d["wanted_deg"]
    return Worked(
        wanted + correction,
        (
            Wrong("deviation-the-wrong-way", wanted - correction),
            Wrong("swung-compass-has-no-deviation", wanted),
            Wrong("deviation-card-one-row", wanted + low if abs(low) > abs(high) else wanted + high),
        ),
        {
            "first": forms.heading(d["row_deg"]),
            "first_steer": forms.heading(d["row_deg"] + low),
            "second": forms.heading(d["row_deg"] + 30.0),
            "second_steer": forms.heading(d["row_deg"] + 30.0 + high),
            "wanted": forms.heading(wanted),
            "correction": f"{abs(correction):.0f}° {'more' if correction > 0.0 else 'less'}",
        },
        signs=1,
    )


def _draw_steer(draw: Draw) -> dict[str, float]:
    row = draw.step(30.0, 300.0, 30.0)
    low = draw.signed(2, 6, 2)
    return {
        "row_deg": row,
        "low_deg": low,
        "high_deg": low + draw.pick((-2.0, 0.0, 2.0)),
        "wanted_deg": row + 15.0,
    }


def _steer_second(d: Drawn) -> float:
    """The heading on the straight line through the two rows of the card."""
    x0, x1 = d["row_deg"], d["row_deg"] + 30.0
    y0, y1 = x0 + d["low_deg"], x1 + d["high_deg"]
    slope = (y1 - y0) / (x1 - x0)
    return float((y0 + slope * (d["wanted_deg"] - x0)) % 360.0)


STEER = ItemModel(
    id="compass-correction-card",
    topic="compass",
    level="apply",
    kind="choice",
    draw=_draw_steer,
    work=_steer,
    second=_steer_second,
    second_way="the straight line through the two rows",
    words=Words(
        stem="A compass correction card says: for {first} steer {first_steer}; for {second} steer "
        "{second_steer}. What "
        "must the compass show for a magnetic heading of {wanted}?",
        reason="Between the two rows the correction at {wanted} is {correction}: steer {key}.",
        feedback={
            "deviation-the-wrong-way": "The card says what to steer, so its correction is used as it "
            "stands: {key}.",
            "swung-compass-has-no-deviation": "Near this heading the card asks for {correction}: {key}.",
            "deviation-card-one-row": "Half way between the rows the correction is {correction}: {key}.",
        },
    ),
    source="14 CFR 25.1547 (correction card); common practice, no source for the straight line between rows",
    steps=2,
    form=forms.HEADING,
    apart=2.0,
    agree=0.6,
    least=2,
)


def _window(d: Drawn) -> Worked:
    heading = d["heading_deg"]
    row = 10.0 * math.floor(heading / 10.0)
    mirrored = 2.0 * (row + (5.0 if heading - row > 5.0 else 0.0)) + 5.0 - heading
    return Worked(
        heading,
        (
            Wrong("compass-window-mirrored", mirrored),
            Wrong("compass-window-mirrored", row + 10.0 - (heading - row)),
            Wrong("compass-shows-reciprocal", heading + 180.0),
        ),
        {"heading": forms.heading(heading)},
        figure=compass_face(heading),
        signs=1,
    )


@cache
def _read_window(svg: str) -> float:
    """The heading at the lubber line of a drawn window, from where its figures in tens stand."""
    letters = {"N": 0, "E": 90, "S": 180, "W": 270}
    found = []
    for x, word in re.findall(r'<text x="([\d.]+)"[^>]*>([NESW\d]+)</text>', svg):
        found.append((float(x), float(letters[word] if word in letters else 10 * int(word))))
    (x0, first), (x1, second) = found[0], found[1]
    per_px = ((second - first + 180.0) % 360.0 - 180.0) / (x1 - x0)
    line = float(re.findall(r'd="M([\d.]+) 4v', svg)[0])
    return (first + per_px * (line - x0)) % 360.0


WINDOW = ItemModel(
    id="compass-read-the-window",
    topic="compass",
    level="recall",
    kind="choice",
    draw=lambda draw: {"heading_deg": draw.step(10.0, 340.0, 10.0) + draw.pick((2.0, 3.0, 7.0, 8.0))},
    work=_window,
    second=lambda d: _read_window(compass_face(d["heading_deg"]).svg),
    second_way="the drawing itself, measured: two of its figures and the lubber line",
    words=Words(
        stem="The drawing shows the window of a magnetic compass in steady straight flight. What does "
        "it show, "
        "to the nearest degree that can be judged by eye?",
        reason="One looks at the near side of the card, so its figures fall towards the right. The lubber "
        "line stands at {heading}.",
        feedback={
            "compass-window-mirrored": "Count from the nearest figure on the right of the lubber line: "
            "{key}.",
            "compass-shows-reciprocal": "The figures are placed so that the one behind the line is the "
            "heading: {key}.",
        },
    ),
    source="FAA-H-8083-15B, chapter 5: the card of a magnetic compass is read at the lubber line",
    steps=1,
    form=forms.HEADING,
    apart=3.0,
    agree=0.5,
    least=2,
)


def _weak(d: Drawn) -> Worked:
    swung, ratio = d["deviation_deg"], d["ratio"]
    return Worked(
        swung / ratio,
        (
            Wrong("deviation-same-everywhere", swung),
            Wrong("deviation-with-the-field", swung * ratio),
            Wrong("swung-compass-has-no-deviation", 0.0),
        ),
        {
            "deviation": forms.east_west(swung),
            "strong": f"{d['field_nt']:.0f}",
            "weak": f"{d['field_nt'] * ratio:.0f}",
            "times": f"{1.0 / ratio:g}",
        },
    )


def _weak_second(d: Drawn) -> float:
    """The angle by which the aircraft's own magnetism turns the Earth's field, by vectors."""
    across = d["field_nt"] * math.tan(math.radians(d["deviation_deg"]))
    return math.degrees(math.atan2(across, d["field_nt"] * d["ratio"]))


WEAK = ItemModel(
    id="compass-deviation-in-weak-field",
    topic="compass",
    level="judge",
    kind="choice",
    draw=lambda draw: {
        "deviation_deg": draw.signed(2, 6, 2),
        "ratio": draw.pick((0.25, 0.5, 0.5)),
        "field_nt": draw.pick((16000.0, 18000.0, 20000.0)),
    },
    work=_weak,
    second=_weak_second,
    second_way="the Earth's field and the aircraft's own field added as vectors",
    words=Words(
        stem="The permanent magnetism of an aircraft gives {deviation} of deviation on north, at a "
        "place where the "
        "horizontal part of the Earth's field is {strong} nT. What deviation does it give on north where "
        "that part is {weak} nT?",
        reason="The aircraft's own field stays the same while the Earth's pull is weaker, so the "
        "deviation is "
        "about {times} times as large: {key}.",
        feedback={
            "deviation-same-everywhere": "With {weak} nT instead of {strong} nT it becomes {key}.",
            "deviation-with-the-field": "The weaker the Earth's field, the more the aircraft's own "
            "counts: {key}.",
            "swung-compass-has-no-deviation": "Permanent magnetism goes with the aircraft: {key}.",
        },
    ),
    source=SWING + ": B and C go as 1 / (horizontal field)",
    steps=3,
    form=forms.EAST_WEST,
    apart=1.5,
    agree=1.6,
    least=2,
)

MODELS = (TO_COMPASS, TO_TRUE, NAMED, COEFFICIENT, STEER, WINDOW, WEAK)
