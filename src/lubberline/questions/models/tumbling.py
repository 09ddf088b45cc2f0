"""Limits and stops of the gimbals, tumbling and its consequences."""

import math
from functools import cache

import numpy as np

from lubberline.questions.models import (
    PERFECT,
    Draw,
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    flown_legs,
    notation,
    statements_model,
)

SOURCE = (
    "limits of 55 and 85 degrees of pitch and bank: AC 61-27C and theory texts (from memory); the model's "
    "stops are at 85"
)
STOP_DEG = 85.0
# At the start the engine's spin axis lies along north; its knob turns the card alone.
FLOWN = "an engine flight with that attitude: whether its gyro reaches the stop"


def reaches_stop(kind: str, size_deg: float, from_axis_deg: float) -> bool:
    """Whether a pitch or bank tilts the inner gimbal to its stop: |sin(size) cos or sin(angle)| >= sin 85."""
    angle = math.radians(from_axis_deg)
    share = math.cos(angle) if kind == "pitch" else math.sin(angle)
    return abs(math.sin(math.radians(size_deg)) * share) >= math.sin(math.radians(STOP_DEG))


@cache
def flown_to_stop(kind: str, size_deg: float, from_axis_deg: float) -> bool:
    """The same by flying it."""
    legs = (
        'kind = "straight"; minutes = 0.5',
        f'kind = "upset"; {kind}_deg = {size_deg}; rate_deg_s = 20; hold_seconds = 2',
        'kind = "straight"; minutes = 0.5',
    )
    flown = flown_legs(0.0, from_axis_deg % 360.0, 120.0, legs)
    return bool(np.any(flown.trace.on_stop)) or abs(float(flown.ledger.tumble_deg[-1])) > 1.0


CASES = {
    "pitch along": ("pitch", 88.0, 0.0),
    "pitch across": ("pitch", 88.0, 90.0),
    "bank along": ("bank", 88.0, 0.0),
    "bank across": ("bank", 88.0, 90.0),
    "pitch half": ("pitch", 60.0, 0.0),
    "bank half": ("bank", 60.0, 90.0),
}
TEXTS = {
    "pitch half": "60° nose up, heading {along}",
    "pitch along": "88° nose up, heading {along}",
    "pitch across": "88° nose up, heading {across}",
    "bank half": "60° of bank, heading {across}",
    "bank along": "88° of bank, heading {along}",
    "bank across": "88° of bank, heading {across}",
}
IDEAS = {
    "pitch half": "tumbling-is-gimballing",
    "bank half": "tumbling-is-gimballing",
    "pitch along": "tumble-goes-by-attitude-alone",
    "pitch across": "tumble-goes-by-attitude-alone",
    "bank along": "tumble-goes-by-attitude-alone",
    "bank across": "tumble-goes-by-attitude-alone",
}


def _which(d: Drawn) -> Worked:
    cases = _cases(d)
    key = next(name for name in cases if reaches_stop(*CASES[name]))
    return Worked(
        key,
        tuple(Wrong(IDEAS[name], name) for name in cases if name != key),
        {
            "along": notation.heading(d["axis_deg"]),
            "across": notation.heading(d["axis_deg"] + 90.0),
        },
        phrase=key.split()[0],
    )


def _cases(d: Drawn) -> tuple[str, ...]:
    """The attitude that reaches the stop in this item, and all those that do not."""
    return (d["reaching"], "pitch across", "bank along", "pitch half", "bank half")


WHICH = ItemModel(
    id="tumbling-which-attitude",
    topic="tumbling",
    level="judge",
    kind="choice",
    draw=lambda draw: {
        "axis_deg": draw.heading_deg(10),
        "reaching": draw.pick(("pitch along", "bank across")),
    },
    work=_which,
    second=lambda d: next(name for name in _cases(d) if flown_to_stop(*CASES[name])),
    second_way=FLOWN,
    words=Words(
        stem="The spin axis of a heading indicator lies along {along}. Its inner gimbal (housing) meets a "
        "stop when it is tilted by 85° from its level position in the outer gimbal. In which of these "
        "attitudes does it meet a stop?",
        reason="{phrase}",
        feedback={
            "tumbling-is-gimballing": "At 60° the inner gimbal is still 25° from the stop. {phrase}",
            "tumble-goes-by-attitude-alone": "In this attitude the aircraft has rotated about the spin axis, "
            "and the inner gimbal is hardly tilted. {phrase}",
        },
        options=TEXTS,
        phrases={
            "pitch": "With the nose along the spin axis ({along}), the inner gimbal tilts by as much as the "
            "aircraft pitches: 88° is past the stop.",
            "bank": "With the nose square to the spin axis (heading {across}), the inner gimbal tilts by as "
            "much as the aircraft banks: 88° is past the stop.",
        },
    ),
    source=SOURCE,
    steps=4,
)


@cache
def _after_stop(kind: str, heading_deg: float, rate_deg_s: float) -> tuple[float, float]:
    """The largest card rate in the last two minutes after a spell on the stop, deg/s, and the error left."""
    legs = (
        'kind = "straight"; minutes = 0.5',
        f'kind = "upset"; {kind}_deg = 88; rate_deg_s = {rate_deg_s}; hold_seconds = 20',
        'kind = "straight"; minutes = 3',
    )
    trace = flown_legs(0.0, heading_deg, 120.0, legs, PERFECT).trace
    shown = np.unwrap(trace.indicated_heading_deg, period=360.0)
    return float(np.abs(np.diff(shown[-120:])).max()), float(abs(trace.heading_error_deg[-1]))


def _worst(kind: str, headings_deg: tuple[float, ...], which: int) -> float:
    """The largest of several such flights, because the result of a single one is chance."""
    return max(_after_stop(kind, heading, rate)[which] for heading in headings_deg for rate in PUSHES_DEG_S)


# How fast the aircraft goes into the attitude.
PUSHES_DEG_S = (30.0, 40.0)
PITCHED, BANKED = (0.0, 1.0, 2.0), (89.0, 90.0, 91.0)


def _attitude(kind: str, sizes: tuple[float, ...]) -> Statement:
    return Statement(
        kind,
        "The spin axis of a heading indicator lies along {axis}, and the stops of its inner gimbal "
        f"(housing) are at 85° of tilt. {{size}} of {kind} "
        "on a heading of {heading} brings the inner gimbal to a stop.",
        ("tumble-goes-by-attitude-alone", "housing-never-meets-its-stop"),
        lambda draw: {
            "axis_deg": draw.heading_deg(30),
            "size_deg": draw.pick(sizes),
            "from_axis_deg": draw.pick((0.0, 90.0)),
        },
        lambda d: reaches_stop(kind, d["size_deg"], d["from_axis_deg"]),
        lambda d: flown_to_stop(kind, d["size_deg"], d["from_axis_deg"]),
        f"A {kind} tilts the inner gimbal fully only with the nose "
        f"{'along' if kind == 'pitch' else 'square to'} the spin axis; here the nose is {{angle}} from it.",
        lambda d: {
            "size": f"{d['size_deg']:.0f}°",
            "heading": notation.heading(d["axis_deg"] + d["from_axis_deg"]),
            "axis": notation.heading(d["axis_deg"]),
            "angle": f"{d['from_axis_deg']:.0f}°",
        },
    )


STOPS = statements_model(
    id="tumbling-stop-claims",
    topic="tumbling",
    level="apply",
    claims=(_attitude("pitch", (60.0, 75.0, 88.0)), _attitude("bank", (60.0, 75.0, 88.0))),
    source=SOURCE,
    second_way=FLOWN,
    steps=3,
)


def _limit(draw: Draw) -> dict[str, float]:
    return {"limit_deg": draw.pick((3.0, 4.0, 5.0, 6.0, 8.0))}


def _limit_facts(d: Drawn) -> dict[str, str]:
    return {"limit": f"{d['limit_deg']:.0f}°"}


@cache
def _run_down_spin_deg_s(real_deg_15min: float) -> float:
    """The largest card rate within 40 minutes after the suction failed, standing still."""
    aircraft = (
        f"[heading_indicator]\nrandom_wander_deg_15min = 0.0\nreal_wander_deg_15min = {real_deg_15min}\n"
    )
    legs = ('kind = "wait"; minutes = 40; engine_rpm = 2400',)
    trace = flown_legs(0.0, 0.0, 0.0, legs, aircraft, ("pump=1@1",)).trace
    shown = np.unwrap(trace.indicated_heading_deg, period=360.0)
    return float(np.abs(np.diff(shown)).max())


AFTER = statements_model(
    id="tumbling-after-claims",
    topic="tumbling",
    level="recall",
    claims=(
        Statement(
            "spins-on",
            "With its rotor at full speed, the gyro of a heading indicator was forced against its stop. "
            "Three minutes after the aircraft is level again, the card still turns by more than {limit} a "
            "second.",
            ("tumbled-card-spins-on",),
            _limit,
            lambda d: _worst("pitch", PITCHED, 0) > d["limit_deg"],
            lambda d: _worst("bank", BANKED, 0) > d["limit_deg"],
            "With the rotor at full speed, the card has stopped turning by then.",
            _limit_facts,
        ),
        Statement(
            "usable",
            "The gyro of a heading indicator was forced against its stop for about twenty seconds. When the "
            "aircraft is level again, its reading can be relied on to within {limit} without setting it.",
            ("tumbling-is-gimballing",),
            _limit,
            lambda d: _worst("pitch", PITCHED, 1) < d["limit_deg"],
            lambda d: _worst("bank", BANKED, 1) < d["limit_deg"],
            "The card may stop at any reading, with the gyro still tilted. Fly level for some minutes, then "
            "set it again.",
            _limit_facts,
        ),
        Statement(
            "run-down",
            "After the suction has failed, the card of a heading indicator may turn by more than {limit} a "
            "second while its rotor runs down.",
            ("tumbled-card-spins-on", "gyro-stops-with-the-pump"),
            _limit,
            lambda d: max(map(_run_down_spin_deg_s, (1.0, 2.0, 3.0))) > d["limit_deg"],
            lambda d: max(map(_run_down_spin_deg_s, (-1.5, -2.5, -3.0))) > d["limit_deg"],
            "As the rotor slows, the inner gimbal (housing) tilts to its stop, and the remaining spin turns "
            "the card round.",
            _limit_facts,
        ),
    ),
    source=SOURCE,
    second_way="engine flights to the stop by bank instead of pitch",
    steps=1,
)

MODELS = (WHICH, STOPS, AFTER)
