"""Gimballing error: the effect of a bank on the card, by the angle between nose and spin axis."""

import math

from lubberline.angles import wrapped_deg
from lubberline.questions.models import (
    Belief,
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    facts,
    gimballing_deg,
    greatest_gimballing_deg,
    notation,
    statements_model,
)
from lubberline.questions.panel_figures import axis_plan

SOURCE = "tan(card) = cos(bank) tan(heading), from the spin axis: universal joint; US patent 3,870,940"
ENGINE = "the engine's gimbals as vectors, in that attitude"


def card_deg(from_axis_deg: float, bank_deg: float) -> float:
    """What a card shows, from the spin axis, in a level bank: atan(cos(bank) tan(angle))."""
    angle, bank = math.radians(from_axis_deg), math.radians(bank_deg)
    return math.degrees(math.atan2(math.cos(bank) * math.sin(angle), math.cos(angle)))


def card_error_deg(from_axis_deg: float, bank_deg: float) -> float:
    """Gimballing error of a level bank, positive reading high."""
    return wrapped_deg(card_deg(from_axis_deg, bank_deg) - from_axis_deg)


def peak_deg(bank_deg: float) -> float:
    """The largest gimballing error of a level bank: atan((1 - cos) / (2 sqrt(cos)))."""
    cosine = math.cos(math.radians(bank_deg))
    return math.degrees(math.atan((1.0 - cosine) / (2.0 * math.sqrt(cosine))))


def _facts(d: Drawn) -> dict[str, str]:
    return {
        "axis": notation.heading(d["axis_deg"]),
        "heading": notation.heading(d["axis_deg"] + d["from_axis_deg"]),
        "angle": f"{d['from_axis_deg']:.0f}°",
        "bank": f"{d['bank_deg']:.0f}°",
        "card": f"{card_deg(d['from_axis_deg'], d['bank_deg']) % 360.0:.1f}°",
        "error": notation.error(card_error_deg(d["from_axis_deg"], d["bank_deg"]), 1),
    }


def _in_bank(d: Drawn) -> Worked:
    angle, bank = d["from_axis_deg"], d["bank_deg"]
    error = card_error_deg(angle, bank)
    return Worked(
        error,
        (
            Wrong("bank-error-by-quadrant", card_error_deg(d["axis_deg"] + angle, bank)),
            Wrong("bank-leaves-card-alone", 0.0),
            Wrong("gimballing-sign-turned", -error),
        ),
        _facts(d),
        signs=1,
        figure=axis_plan(d["axis_deg"], d["axis_deg"] + angle),
    )


def _in_bank_second(d: Drawn, believed: Belief) -> float:
    axis, bank = d["axis_deg"], d["bank_deg"]
    error = gimballing_deg(axis + d["from_axis_deg"], axis, bank_deg=bank, believed=believed)
    return believed.step("gimballing error", error)


IN_BANK = ItemModel(
    id="gimballing-in-a-bank",
    pictured=True,
    topic="gimballing",
    level="judge",
    kind="choice",
    draw=lambda draw: {
        "axis_deg": draw.heading_deg(10),
        "from_axis_deg": draw.step(0.0, 345.0, 15.0),
        "bank_deg": draw.pick((30.0, 40.0, 45.0, 50.0)),
    },
    work=_in_bank,
    second=_in_bank_second,
    second_way=ENGINE,
    words=Words(
        stem="The knob of a heading indicator turns its card alone. The drawing shows from above a moment of "
        "a level turn with {bank} of bank: the nose, and the spin axis as a broken line. What is the "
        "gimballing error at that moment?",
        reason="The error depends on the angle from the spin axis to the nose, here {angle}: tan(card) = cos "
        "{bank} × tan {angle}, so the card shows {card} from the axis. The result is {key}.",
        feedback={
            "bank-error-by-quadrant": "The axis lies along {axis}, so the nose is {angle} from it, and the "
            "result is {error}.",
            "bank-leaves-card-alone": "With the nose {angle} from the axis and {bank} of bank, the result "
            "is {error}.",
            "gimballing-sign-turned": "With the nose {angle} from the axis and {bank} of bank, the result "
            "is {error}.",
        },
    ),
    source=SOURCE,
    steps=4,
    notation=notation.ERROR_TENTHS,
    apart=1.5,
    agree=0.1,
    crossed=True,
    tells=facts("term gimballing-error"),
    unoffered=("bank-leaves-card-alone",),
)


def _peak(d: Drawn) -> Worked:
    bank, known = d["bank_deg"], d.get("known_deg", 30.0)
    return Worked(
        peak_deg(bank),
        (
            Wrong("bank-leaves-card-alone", 0.0),
            Wrong("gimballing-in-proportion", peak_deg(known) * bank / known),
            Wrong("bank-taken-for-the-error", bank),
        ),
        {
            "bank": f"{bank:.0f}°",
            "known": f"{known:.0f}°",
            "peak": f"{peak_deg(known):.0f}°",
        },
    )


def _peak_second(d: Drawn, believed: Belief) -> float:
    bank, known = d["bank_deg"], d.get("known_deg", 30.0)
    largest = greatest_gimballing_deg(bank, believed)
    largest = believed.step("largest error by bank", largest, bank)
    return believed.step(
        "largest error in proportion", largest, greatest_gimballing_deg(known) * bank / known
    )


PEAK = ItemModel(
    id="gimballing-largest",
    topic="gimballing",
    level="apply",
    kind="choice",
    # From a smaller bank to a larger one or back, so that the error in proportion lies on either side.
    draw=lambda draw: dict(
        zip(
            ("known_deg", "bank_deg"),
            draw.pick(((30.0, 45.0), (30.0, 50.0), (30.0, 60.0), (60.0, 30.0), (60.0, 40.0), (55.0, 30.0))),
            strict=True,
        )
    ),
    work=_peak,
    second=_peak_second,
    second_way=ENGINE,
    words=Words(
        stem="In a level turn of 360° with {known} of bank, the largest gimballing error of a heading "
        "indicator is {peak}. What is the largest error in the same turn with {bank} of bank?",
        reason="The largest error of a level bank is atan((1 − cos b) / (2 √cos b)); with b = {bank} that "
        "is about {key}. It occurs about half way between the spin axis and the line square to it.",
        feedback={
            "bank-leaves-card-alone": "With {bank} of bank the largest error is {key}.",
            "gimballing-in-proportion": "With {bank} of bank the largest error is {key}.",
            "bank-taken-for-the-error": "With {bank} of bank the largest error is {key}, far less than the "
            "bank itself.",
        },
    ),
    source=SOURCE,
    steps=2,
    notation=notation.DEGREES,
    apart=2.0,
    agree=0.6,
    least=1,
    most=1,
    unoffered=("bank-leaves-card-alone", "bank-taken-for-the-error"),
    tells=facts("term gimballing-error"),
)


def _no_error(d: Drawn) -> Worked:
    axis, quarter = d["axis_deg"], d["quarter"]
    key = axis + 90.0 * quarter
    return Worked(
        key,
        (
            Wrong("bank-error-by-quadrant", 90.0 * round(key / 90.0)),
            Wrong("gimballing-places-exchanged", axis + 90.0 * quarter + 45.0),
        ),
        {"axis": notation.heading(axis), "bank": f"{d['bank_deg']:.0f}°", "angle": f"{90.0 * quarter:.0f}°"},
        figure=axis_plan(axis),
    )


def _no_error_second(d: Drawn, believed: Belief) -> float:
    """The heading about the drawn quarter where the engine's error is least, to half a degree."""
    axis, quarter, bank = d["axis_deg"], d["quarter"], d["bank_deg"]
    headings = [axis + 90.0 * quarter + 0.5 * half for half in range(-80, 101)]

    def size(heading: float) -> float:
        asked: float = believed.step("angle from the axis", heading)
        return abs(gimballing_deg(asked, axis, bank_deg=bank, believed=believed))

    return float(min(headings, key=size) % 360.0)


NO_ERROR = ItemModel(
    id="gimballing-none-on-heading",
    pictured=True,
    topic="gimballing",
    level="apply",
    kind="choice",
    draw=lambda draw: {
        "axis_deg": draw.step(0.0, 270.0, 90.0) + draw.pick((20.0, 25.0, 30.0, 60.0, 65.0, 70.0)),
        "quarter": float(draw.random.randrange(4)),
        "bank_deg": draw.pick((30.0, 40.0, 45.0)),
    },
    work=_no_error,
    second=_no_error_second,
    second_way="where the error of the engine's gimbals is least",
    words=Words(
        stem="The knob of a heading indicator turns its card alone. The drawing shows from above where its "
        "spin axis lies at the moment. In a level turn with {bank} of bank, on which of these headings is "
        "there no gimballing error?",
        reason="There is no error with the nose along the spin axis ({axis}), opposite to it or square to "
        "it. {key} is one of these four headings.",
        feedback={
            "bank-error-by-quadrant": "The axis lies along {axis}, so the headings without error are "
            "{axis} and every 90° from it.",
            "gimballing-places-exchanged": "{this} lies 45° from those headings.",
        },
    ),
    source=SOURCE,
    steps=3,
    notation=notation.HEADING,
    apart=15.0,
    agree=1.0,
    least=1,
    most=1,
    needs_options=True,
    tells=facts("term gimballing-error"),
)


def _left_when_level(d: Drawn, believed: Belief) -> float:
    """The error that a student expects with the wings level after the bank."""
    in_bank = abs(gimballing_deg(d["from_axis_deg"], bank_deg=d["bank_deg"], believed=believed))
    level = abs(gimballing_deg(d["from_axis_deg"], believed=believed))
    return believed.step("error with the wings level", level, in_bank)


def _growth(d: Drawn, believed: Belief) -> float:
    """How many times as large the error becomes that a student expects."""
    small, large = (
        _peak_second({"bank_deg": bank}, believed) for bank in (d["small_deg"], 2.0 * d["small_deg"])
    )
    return small and large / small


CLAIMS = statements_model(
    id="gimballing-claims",
    topic="gimballing",
    level="recall",
    claims=(
        Statement(
            "stays",
            "A gimballing error of {size} in a turn with {bank} of bank remains until the heading "
            "indicator is set again.",
            ("gimballing-stays",),
            lambda draw: {
                "bank_deg": draw.pick((30.0, 45.0, 60.0)),
                "from_axis_deg": 45.0,
            },
            lambda d: abs(card_error_deg(d["from_axis_deg"], 0.0)) > 0.1,
            lambda d, believed: _left_when_level(d, believed) > 0.3,
            "Without bank cos(bank) is 1, so tan(card) = tan(heading): no error is left.",
            lambda d: {
                "bank": f"{d['bank_deg']:.0f}°",
                "size": f"{abs(card_error_deg(d['from_axis_deg'], d['bank_deg'])):.0f}°",
            },
        ),
        Statement(
            "north",
            "The knob of a heading indicator turns its card alone, and its spin axis lies along {axis}. In "
            "a turn with 45° of bank the instrument shows no gimballing error on north.",
            ("bank-error-by-quadrant", "gimballing-places-exchanged"),
            lambda draw: {"axis_deg": draw.pick((0.0, 30.0, 45.0, 60.0, 90.0, 120.0, 180.0, 225.0, 300.0))},
            lambda d: abs(card_error_deg(-d["axis_deg"], 45.0)) < 0.5,
            lambda d, believed: (
                abs(
                    gimballing_deg(
                        believed.step("angle from the axis", 0.0),
                        d["axis_deg"],
                        bank_deg=45.0,
                        believed=believed,
                    )
                )
                < 1.0
            ),
            "On north the nose is {angle} from the spin axis; with 45° of bank that gives {error}.",
            lambda d: {
                "axis": notation.heading(d["axis_deg"]),
                "angle": f"{abs(wrapped_deg(d['axis_deg'])):.0f}°",
                "error": notation.error(card_error_deg(-d["axis_deg"], 45.0)),
            },
        ),
        Statement(
            "gone",
            "A gimballing error of {size} in a turn with {bank} of bank is gone as soon as the wings are "
            "level.",
            ("gimballing-stays",),
            lambda draw: {"bank_deg": draw.pick((30.0, 40.0, 45.0, 60.0)), "from_axis_deg": 45.0},
            lambda d: abs(card_error_deg(d["from_axis_deg"], 0.0)) < 0.1,
            lambda d, believed: _left_when_level(d, believed) < 0.3,
            "Without bank cos(bank) is 1, so tan(card) = tan(heading): no error is left.",
            lambda d: {
                "bank": f"{d['bank_deg']:.0f}°",
                "size": f"{abs(card_error_deg(d['from_axis_deg'], d['bank_deg'])):.0f}°",
            },
        ),
        Statement(
            "grows",
            "When the bank increases from {small} to {large}, the largest gimballing error of a level turn "
            "becomes {more} than three times as large.",
            ("bank-taken-for-the-error", "gimballing-in-proportion"),
            lambda draw: {"small_deg": draw.pick((20.0, 25.0, 30.0)), "more": draw.pick(("more", "less"))},
            lambda d: (
                (peak_deg(2.0 * d["small_deg"]) / peak_deg(d["small_deg"]) > 3.0) == (d["more"] == "more")
            ),
            lambda d, believed: (_growth(d, believed) > 3.0) == (d["more"] == "more"),
            "The largest error grows faster than the bank: from {one} to {other}.",
            lambda d: {
                "small": f"{d['small_deg']:.0f}°",
                "large": f"{2.0 * d['small_deg']:.0f}°",
                "more": d["more"],
                "one": f"{peak_deg(d['small_deg']):.1f}°",
                "other": f"{peak_deg(2.0 * d['small_deg']):.1f}°",
            },
        ),
    ),
    source=SOURCE,
    second_way=ENGINE,
    steps=2,
    asks=lambda d: ("gimballing after the bank",) if d["claim"] in ("stays", "gone") else (),
    tells=facts("term gimballing-error"),
)


def pitch_error_deg(pitch_deg: float, from_axis_deg: float) -> float:
    """Gimballing error in a pitch with the wings level: atan(sin a / (cos(pitch) cos a)) - a."""
    angle = math.radians(from_axis_deg)
    shown = math.atan2(math.sin(angle), math.cos(math.radians(pitch_deg)) * math.cos(angle))
    return wrapped_deg(math.degrees(shown) - from_axis_deg)


PITCH = statements_model(
    id="gimballing-pitch-claims",
    topic="gimballing",
    level="apply",
    claims=(
        Statement(
            "pitch",
            "The nose {where} the spin axis of a heading indicator. A pitch of {pitch} nose up with "
            "the wings level makes the reading wrong by more than 1°.",
            ("gimballing-places-exchanged", "pitch-leaves-card-alone"),
            lambda draw: {
                "pitch_deg": draw.pick((20.0, 25.0, 30.0)),
                "from_axis_deg": draw.pick((0.0, 45.0, 45.0, 90.0)),
            },
            lambda d: abs(pitch_error_deg(d["pitch_deg"], d["from_axis_deg"])) > 1.0,
            lambda d, believed: (
                abs(
                    gimballing_deg(
                        believed.step("angle from the axis", d["from_axis_deg"]),
                        pitch_deg=d["pitch_deg"],
                        believed=believed,
                    )
                )
                > 1.0
            ),
            "Where the nose {where} the axis, a pitch of {pitch} makes the reading wrong by {error}.",
            lambda d: {
                "where": {0.0: "lies along", 90.0: "lies square to"}.get(
                    d["from_axis_deg"], f"lies {d['from_axis_deg']:.0f}° from"
                ),
                "pitch": f"{d['pitch_deg']:.0f}°",
                "error": notation.degrees(abs(pitch_error_deg(d["pitch_deg"], d["from_axis_deg"])), 1),
            },
        ),
    ),
    source=SOURCE,
    second_way=ENGINE,
    steps=2,
)

MODELS = (IN_BANK, PEAK, NO_ERROR, CLAIMS, PITCH)
