"""Deviation: coefficients from a swing, the correction card, and the effect of a weaker field."""

import math
from functools import cache

import numpy as np

from lubberline.instruments.compass.deviation import coefficients_by_hand
from lubberline.questions.figures import correction_card
from lubberline.questions.models import (
    COMPASS,
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Words,
    Worked,
    Wrong,
    notation,
)

SWING = "NGA, Handbook of Magnetic Compass Adjustment (2004), chapter V"
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
        "A": "the mean of all eight deviations",
        "B": f"half of (east minus west), here half of ({_signed(swing[90.0])}) − ({_signed(swing[270.0])})",
        "C": f"half of (north minus south), here half of ({_signed(swing[0.0])}) − ({_signed(swing[180.0])})",
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


def _coefficient_second(d: Drawn, believed: Belief) -> float:
    swing = _swing(d)
    h = np.radians(list(swing))
    parts = np.column_stack([np.ones_like(h), np.sin(h), np.cos(h), np.sin(2.0 * h), np.cos(2.0 * h)])
    _, b, c, _, _ = np.linalg.lstsq(parts, np.array(list(swing.values())), rcond=None)[0].tolist()
    both = (b, c) if d["asked"] == "B" else (c, b)
    half: float = believed.step("pair of headings", *both)
    return believed.step("half of the difference", half)


COEFFICIENT = ItemModel(
    id="compass-coefficient",
    topic="compass",
    level="apply",
    kind="choice",
    draw=lambda draw: {
        "asked": draw.pick(("B", "C")),
        "a_deg": draw.step(-1.5, 1.5, 0.5),
        "b_deg": draw.signed(2, 7, 0.5),
        "c_deg": draw.signed(2, 7, 0.5),
        "d_deg": draw.step(-1.5, 1.5, 0.5),
        "e_deg": draw.step(-1, 1, 0.5),
    },
    work=_coefficient,
    second=_coefficient_second,
    second_way="least squares on all eight headings",
    words=Words(
        stem="A swing gives these deviations in degrees (east +): {swing}. What is coefficient {asked} by "
        "the hand method?",
        reason="Coefficient {asked} is {way}: {key}.",
        feedback={
            "coefficients-swapped": "Coefficient {asked} is {way}: {key}.",
            "coefficient-not-halved": "{this} is the whole difference; half of it is {key}.",
            "coefficient-sign-turned": "In the right order coefficient {asked} is {key}.",
        },
    ),
    source=SWING,
    steps=2,
    notation=notation.Notation("deg", 0.1, lambda value: f"{_signed(value)}°"),
    apart=0.8,
    agree=0.2,
    least=2,
    crossed=True,
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
            "first": notation.heading(d["row_deg"]),
            "first_steer": notation.heading(d["row_deg"] + low),
            "second": notation.heading(d["row_deg"] + 30.0),
            "second_steer": notation.heading(d["row_deg"] + 30.0 + high),
            "wanted": notation.heading(wanted),
            "correction": f"{abs(correction):.0f}° {'more' if correction > 0.0 else 'less'}",
        },
        signs=1,
        figure=correction_card(_card(d)),
    )


# As far as the two rows of a question go, so that they stand on its card as they were drawn.
MOST_CORRECTION_DEG = 10.0


def _card(d: Drawn) -> dict[int, float]:
    """The whole card: the two drawn rows, and round the circle a wave through them."""
    row, low, high = d["row_deg"], d["low_deg"], d["high_deg"]
    across = (high - low * math.cos(math.radians(30.0))) / math.sin(math.radians(30.0))
    found = {}
    for heading in range(30, 361, 30):
        angle = math.radians(heading - row)
        wave = low * math.cos(angle) + across * math.sin(angle)
        found[heading] = heading + float(round(max(-MOST_CORRECTION_DEG, min(MOST_CORRECTION_DEG, wave))))
    return found


def _draw_steer(draw: Draw) -> dict[str, float]:
    row = draw.step(30.0, 300.0, 30.0)
    low = draw.signed(2, 6, 2)
    return {
        "row_deg": row,
        "low_deg": low,
        "high_deg": low + draw.pick((-4.0, 0.0, 4.0)),
        "wanted_deg": row + 15.0,
    }


def _steer_second(d: Drawn, believed: Belief) -> float:
    """The heading on the straight line through the two rows of the card, as a student takes it."""
    x0, x1 = d["row_deg"], d["row_deg"] + 30.0
    y0, y1 = x0 + d["low_deg"], x1 + d["high_deg"]
    slope = (y1 - y0) / (x1 - x0)
    more = y0 + slope * (d["wanted_deg"] - x0) - d["wanted_deg"]
    more = believed.step("between two rows", more, max(y0 - x0, y1 - x1, key=abs))
    return float((d["wanted_deg"] + believed.laws(COMPASS).compass_deviation * more) % 360.0)


STEER = ItemModel(
    id="compass-correction-card",
    pictured=True,
    topic="compass",
    level="apply",
    kind="number",
    draw=_draw_steer,
    work=_steer,
    second=_steer_second,
    second_way="the straight line through the two rows",
    words=Words(
        stem="The drawing shows the correction card of a compass. What must the compass show for a "
        "magnetic heading of {wanted}?",
        reason="The card says: for {first} steer {first_steer}; for {second} steer {second_steer}. Half way "
        "between the two rows, at {wanted}, the correction is {correction}: steer {key}.",
        feedback={
            "deviation-the-wrong-way": "The card says what to steer, so its correction is applied as "
            "written: {key}.",
            "swung-compass-has-no-deviation": "Near this heading the correction is {correction}: {key}.",
            "deviation-card-one-row": "Half way between the rows the correction is {correction}: {key}.",
        },
    ),
    source="correction card: 14 CFR 25.1547",
    steps=2,
    notation=notation.HEADING,
    apart=2.0,
    agree=0.6,
    tolerance=0.5,
    least=1,
)


def _weak(d: Drawn) -> Worked:
    swung, ratio = abs(d["deviation_deg"]), d["ratio"]
    return Worked(
        swung / ratio,
        (
            Wrong("deviation-same-everywhere", swung),
            Wrong("deviation-with-the-field", swung * ratio),
            Wrong("swung-compass-has-no-deviation", 0.0),
        ),
        {
            "deviation": notation.east_west(d["deviation_deg"]),
            "strong": f"{d['field_nt']:,.0f}",
            "weak": f"{d['field_nt'] * ratio:,.0f}",
            "times": f"{1.0 / ratio:g}",
        },
    )


def _weak_second(d: Drawn, believed: Belief) -> float:
    """The angle by which the aircraft's own magnetism turns the Earth's field, by vectors."""
    across = d["field_nt"] * math.tan(math.radians(abs(d["deviation_deg"])))
    share = believed.step("share of the field", d["ratio"])
    return believed.laws(COMPASS).compass_deviation * math.degrees(math.atan2(across, d["field_nt"] * share))


WEAK = ItemModel(
    id="compass-deviation-in-weak-field",
    topic="compass",
    level="judge",
    kind="number",
    draw=lambda draw: {
        "deviation_deg": draw.signed(2, 6, 2),
        "ratio": draw.pick((0.25, 0.5, 0.5)),
        "field_nt": draw.pick((16000.0, 18000.0, 20000.0)),
    },
    work=_weak,
    second=_weak_second,
    second_way="the Earth's field and the aircraft's own field added as vectors",
    words=Words(
        stem="The permanent magnetism of an aircraft causes a deviation of {deviation} on north at a place "
        "where the horizontal part of the Earth's field is {strong} nT. How many degrees of deviation "
        "does it cause on north where the horizontal part is {weak} nT? (Without a sign.)",
        reason="The aircraft's own field is the same but the Earth's field is weaker, so the deviation is "
        "about {times} times as large: {key}.",
        feedback={
            "deviation-same-everywhere": "With {weak} nT instead of {strong} nT the deviation is {key}.",
            "deviation-with-the-field": "With {weak} nT instead of {strong} nT the deviation is {key}.",
            "swung-compass-has-no-deviation": "Here the deviation is {key}.",
        },
    ),
    source=SWING + ": B and C go as 1 / (horizontal field)",
    steps=3,
    notation=notation.DEGREES,
    apart=1.5,
    agree=1.6,
    tolerance=1.5,
    least=1,
)

MODELS = (COEFFICIENT, STEER, WEAK)
