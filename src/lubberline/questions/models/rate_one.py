"""Turns at rate one: how long they take and how much bank they need."""

import math

from lubberline.questions.models import Belief, Drawn, ItemModel, Words, Worked, Wrong, facts, notation
from lubberline.units import KT_MPS, STANDARD_GRAVITY_MPS2


def rate_one_bank_deg(speed_kt: float) -> float:
    """Bank of a level turn at 3 deg a second: tan(bank) = rate x speed / g."""
    return math.degrees(math.atan(math.radians(3.0) * speed_kt * KT_MPS / STANDARD_GRAVITY_MPS2))


def _timed(d: Drawn) -> Worked:
    start, by = d["start_deg"], d["by_deg"]
    end = start + by
    return Worked(
        abs(by) / 3.0,
        (
            Wrong("rate-one-is-a-degree-a-second", abs(by)),
            Wrong("rate-one-in-one-minute", abs(by) / 6.0),
            Wrong("turn-the-long-way", (360.0 - abs(by)) / 3.0),
        ),
        {
            "start": notation.heading(start),
            "end": notation.heading(end),
            "side": "right" if by > 0.0 else "left",
            "degrees": f"{abs(by):.0f}°",
        },
        signs=1,
    )


def _timed_second(d: Drawn, believed: Belief) -> float:
    circle_s: float = 360.0 / believed.step("rate one", 360.0 / 120.0)
    by_deg: float = believed.step("size of the turn", abs(d["by_deg"]))
    return by_deg / 360.0 * circle_s


TIMED = ItemModel(
    id="turning-timed-turn",
    topic="turning",
    level="apply",
    kind="number",
    draw=lambda draw: {"start_deg": draw.heading_deg(10), "by_deg": draw.signed(40, 160, 10)},
    work=_timed,
    second=_timed_second,
    second_way="the fraction of a full circle, which takes two minutes",
    words=Words(
        stem="The heading indicator has failed. The pilot makes a timed turn to the {side} at rate one from "
        "{start} to {end}. How many seconds must the turn last?",
        reason="A turn to the {side} from {start} to {end} is {degrees}, which takes {key} at 3° a second.",
        feedback={
            "rate-one-is-a-degree-a-second": "A turn of {degrees} at 3° a second takes {key}.",
            "rate-one-in-one-minute": "A turn of {degrees} at 3° a second takes {key}.",
            "turn-the-long-way": "To the {side} the turn is {degrees}.",
        },
    ),
    source="standard rate 3 deg/s, two minutes for 360 deg: FAA-H-8083-15B, chapter 5",
    steps=2,
    notation=notation.Notation("s", 1.0, lambda value: f"{value:.0f} s"),
    apart=4.0,
    agree=0.6,
    tolerance=1.0,
    least=1,
    asks=facts("rate one"),
)


def _bank(d: Drawn) -> Worked:
    speed = d["speed_kt"]
    return Worked(
        rate_one_bank_deg(speed),
        (
            Wrong("rate-one-bank-always-same", 30.0),
            Wrong("rate-one-bank-falls-with-speed", rate_one_bank_deg(10000.0 / speed)),
        ),
        {"speed": f"{speed:.0f}", "rule": f"{speed / 10.0:.0f} + 7 = {speed / 10.0 + 7.0:.0f}°"},
    )


def _bank_second(d: Drawn, believed: Belief) -> float:
    """The bank whose level turn takes two minutes, by bisection on the time of the circle."""
    low, high = 1.0, 60.0
    speed_mps = believed.step("speed of the turn", d["speed_kt"]) * 1852.0 / 3600.0
    for _ in range(30):
        middle = 0.5 * (low + high)
        radius_m = speed_mps**2 / (9.80665 * math.tan(math.radians(middle)))
        seconds = 2.0 * math.pi * radius_m / speed_mps
        low, high = (middle, high) if seconds > 120.0 else (low, middle)
    return believed.step("bank of rate one", 0.5 * (low + high))


BANK = ItemModel(
    id="turning-rate-one-bank",
    topic="turning",
    level="recall",
    kind="number",
    draw=lambda draw: {"speed_kt": draw.step(80.0, 150.0, 5.0)},
    work=_bank,
    second=_bank_second,
    second_way="the bank whose circle takes two minutes, found by bisection",
    words=Words(
        stem="About how many degrees of bank does a level turn at rate one (3° a second) need at a true "
        "airspeed of {speed} kt? (Whole degrees; the usual rule of thumb is near enough.)",
        reason="tan(bank) = rate × speed / g gives {key}; the rule 'a tenth of the speed plus 7' gives "
        "{rule}.",
        feedback={
            "rate-one-bank-always-same": "At {speed} kt the bank is {key}.",
            "rate-one-bank-falls-with-speed": "At {speed} kt the bank is {key}.",
        },
    ),
    source="tan(bank) = rate x speed / g: any text on flight mechanics",
    steps=2,
    notation=notation.DEGREES,
    apart=4.5,
    agree=0.7,
    also_right=lambda d: (d["speed_kt"] / 10.0 + 7.0, 0.15 * d["speed_kt"]),
    tolerance=2.0,
    least=1,
    tells=facts("rate one"),
)


MODELS = (TIMED, BANK)
