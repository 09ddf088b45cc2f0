"""Limits and stops of the gimbals, tumbling and its consequences."""

import math
from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np

from lubberline.angles import wrapped_deg
from lubberline.instruments.heading_indicator.gyro import Gyro
from lubberline.questions.models import (
    PERFECT,
    TRUTH,
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    attitude,
    facts,
    flown_legs,
    gimballing_deg,
    greatest_gimballing_deg,
    hanging_card_deg,
    notation,
    statements_model,
)
from lubberline.questions.panel_figures import LETTERS, ORDERS, Moment, axis_plan, letter_of, moments_figure

SOURCE = "limits of pitch and bank: AC 61-27C, Instrument Flying Handbook (1980)"
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


# Kind, size and angle from the spin axis of each attitude.
CASES = {
    "pitch along": ("pitch", 86.0, 0.0),
    "pitch across": ("pitch", 89.0, 90.0),
    "bank along": ("bank", 89.0, 0.0),
    "bank across": ("bank", 86.0, 90.0),
    "pitch between": ("pitch", 60.0, 45.0),
    "bank between": ("bank", 88.0, 45.0),
}
TEXTS = {
    name: f"heading {{{name.split()[1]}}}, {size:.0f}° {'nose up' if kind == 'pitch' else 'of bank'}"
    for name, (kind, size, _) in CASES.items()
}
# By the attitude that reaches the stop, the steeper one that does not, and one with a large gimballing error.
TOGETHER = {
    "pitch along": ("pitch along", "pitch across", "bank between"),
    "bank across": ("bank across", "bank along", "pitch between"),
}


def _which(d: Drawn) -> Worked:
    key, steep, half = d["reaching"], *TOGETHER[d["reaching"]][1:]
    if [name for name in (key, steep, half) if reaches_stop(*CASES[name])] != [key]:
        raise RuntimeError(f"{key} is not the one attitude that reaches the stop")
    return Worked(
        key,
        (Wrong("tumble-goes-by-attitude-alone", steep), Wrong("tumbling-is-gimballing", half)),
        {
            "along": notation.heading(d["axis_deg"]),
            "between": notation.heading(d["axis_deg"] + 45.0),
            "across": notation.heading(d["axis_deg"] + 90.0),
        },
        phrase=key.split()[0],
        figure=axis_plan(d["axis_deg"]),
    )


def _which_second(d: Drawn, believed: Belief) -> str:
    """The attitude that tilts the inner gimbal most, or by what a student takes tumbling for."""
    sizes = {}
    for name in TOGETHER[d["reaching"]]:
        kind, size, angle = CASES[name]
        pitch, bank = (size, 0.0) if kind == "pitch" else (0.0, size)
        full = 0.0 if kind == "pitch" else 90.0
        tilted = attitude(believed.step("angle of full tilt", angle, full), pitch, bank)
        quantities = {
            "tumbling": abs(tilted.floor_n),
            "gimballing-error": abs(gimballing_deg(angle, bank_deg=bank, pitch_deg=pitch)),
        }
        sizes[name] = believed.of(quantities, "tumbling")
    return max(sizes, key=lambda name: sizes[name])


WHICH = ItemModel(
    id="tumbling-which-attitude",
    pictured=True,
    topic="tumbling",
    level="judge",
    kind="choice",
    draw=lambda draw: {
        "axis_deg": draw.heading_deg(),
        "reaching": draw.pick(("pitch along", "bank across")),
    },
    work=_which,
    second=_which_second,
    second_way="the aircraft's axes as vectors: the attitude that leans its floor most along the axis",
    words=Words(
        stem="The drawing shows from above where the spin axis of a heading indicator lies. Its inner gimbal "
        "(housing) meets a stop when it is tilted by 85° from its level position in the outer gimbal. In "
        "which of these attitudes does it meet a stop?",
        reason="{phrase}",
        feedback={
            "tumbling-is-gimballing": "Half way between, the inner gimbal is tilted by at most 45°, far "
            "from the stop. {phrase}",
            "tumble-goes-by-attitude-alone": "In this attitude the aircraft has rotated about the spin axis, "
            "and the inner gimbal is hardly tilted. {phrase}",
        },
        options=TEXTS,
        phrases={
            "pitch": "With the nose along the spin axis ({along}), the inner gimbal tilts by as much as the "
            "aircraft pitches: 86° is past the stop.",
            "bank": "With the nose square to the spin axis (heading {across}), the inner gimbal tilts by as "
            "much as the aircraft banks: 86° is past the stop.",
        },
    ),
    source=SOURCE,
    steps=4,
    most=2,
    by_text=True,
)


@cache
def _after_stop(kind: str, heading_deg: float, rate_deg_s: float, believed: Belief) -> tuple[float, float]:
    """The largest card rate in the last two minutes after a spell on the stop, deg/s, and the error left."""
    legs = (
        'kind = "straight"; minutes = 0.5',
        f'kind = "upset"; {kind}_deg = 88; rate_deg_s = {rate_deg_s}; hold_seconds = 20',
        'kind = "straight"; minutes = 3',
    )
    trace = flown_legs(0.0, heading_deg, 120.0, legs, PERFECT, believed=believed).trace
    shown = np.unwrap(trace.indicated_heading_deg, period=360.0)
    return float(np.abs(np.diff(shown[-120:])).max()), float(abs(trace.heading_error_deg[-1]))


def _worst(which: int, believed: Belief) -> float:
    """The largest of several such flights, because the result of a single one is chance."""
    found = (_after_stop("bank", at, rate, believed) for at in BANKED for rate in PUSHES_DEG_S)
    return max(one[which] for one in found)


def _left_over(believed: Belief) -> float:
    """The error that a student expects with the aircraft level again."""
    quantities = {"tumbling": _worst(1, TRUTH), "gimballing-error": abs(gimballing_deg(45.0))}
    return believed.of(quantities, "tumbling")


# How fast the aircraft goes into the attitude.
PUSHES_DEG_S = (30.0, 40.0)
BANKED = (89.0, 90.0, 91.0)


def _stop_second(d: Drawn, kind: str, believed: Belief) -> bool:
    """Whether a student expects the stop to be reached, by flights."""
    angle = believed.step("angle of full tilt", d["from_axis_deg"], 0.0 if kind == "pitch" else 90.0)
    quantities = {
        "tumbling": flown_to_stop(kind, d["size_deg"], angle),
        # Somewhere in a turn with this attitude the gimbals err.
        "gimballing-error": greatest_gimballing_deg(d["size_deg"]) > 0.0,
    }
    return believed.step("stop", believed.of(quantities, "tumbling"))


def _attitude(kind: str, sizes: tuple[float, ...]) -> Statement:
    return Statement(
        kind,
        "The spin axis of a heading indicator lies along {axis}, and the stops of its inner gimbal "
        f"(housing) are at 85° of tilt. {{size}} of {kind} "
        "on a heading of {heading} brings the inner gimbal to a stop.",
        ("tumble-goes-by-attitude-alone", "tumbling-is-gimballing", "housing-never-meets-its-stop"),
        lambda draw: {
            "axis_deg": draw.heading_deg(30),
            "size_deg": draw.pick(sizes),
            "from_axis_deg": draw.pick((0.0, 90.0)),
        },
        lambda d: reaches_stop(kind, d["size_deg"], d["from_axis_deg"]),
        lambda d, believed: _stop_second(d, kind, believed),
        f"A {kind} tilts the inner gimbal fully only with the nose "
        f"{'along' if kind == 'pitch' else 'square to'} the spin axis; here the nose is {{nose}} it, "
        "so the gimbal tilts by {tilt}; its stop is at 85°.",
        lambda d: {
            "size": f"{d['size_deg']:.0f}°",
            "heading": notation.heading(d["axis_deg"] + d["from_axis_deg"]),
            "axis": notation.heading(d["axis_deg"]),
            "nose": "along" if d["from_axis_deg"] == 0.0 else "square to",
            "tilt": f"{d['size_deg'] if (d['from_axis_deg'] == 0.0) == (kind == 'pitch') else 0.0:.0f}°",
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


def _limit(*sizes: float) -> Callable[[Draw], dict[str, Any]]:
    return lambda draw: {"limit_deg": draw.pick(sizes), "more": draw.pick(("more", "less"))}


def _limit_facts(d: Drawn) -> dict[str, str]:
    limit, more = f"{d['limit_deg']:g}°", d["more"] == "more"
    return {
        "limit": limit,
        "more": d["more"],
        "reading": f"may be wrong by more than {limit} until it is set"
        if more
        else f"can be relied on to within {limit} without setting it",
        "turns": f"may turn by more than {limit} a second"
        if more
        else f"turns by less than {limit} a second",
    }


def _spin_expected(believed: Belief) -> float:
    """The card rate that a student expects while the rotor runs down."""
    runs_on = believed.seen().run_down_min > 0.0
    return max(map(_run_down_spin_deg_s, (-1.5, -2.5, -3.0))) if runs_on else 0.0


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
            "Three minutes after the aircraft is level again, the card still turns by {more} than {limit} a "
            "second.",
            ("tumbled-card-spins-on",),
            _limit(0.5, 1.0, 2.0),
            # It has stopped.
            lambda d: d["more"] == "less",
            lambda d, believed: (_worst(0, believed) > d["limit_deg"]) == (d["more"] == "more"),
            "With the rotor at full speed, the card has stopped turning by then.",
            _limit_facts,
        ),
        Statement(
            "usable",
            "The gyro of a heading indicator was forced against its stop for about twenty seconds. When the "
            "aircraft is level again, its reading {reading}.",
            ("tumbling-is-gimballing",),
            _limit(3.0, 4.0, 5.0, 6.0, 8.0),
            # It may have stopped anywhere.
            lambda d: d["more"] == "more",
            lambda d, believed: (_left_over(believed) < d["limit_deg"]) == (d["more"] == "less"),
            "The card may stop at any reading, with the gyro still tilted. Fly level for some minutes, then "
            "set it again.",
            _limit_facts,
        ),
        Statement(
            "run-down",
            "After the suction has failed, the card of a heading indicator {turns} while its rotor runs "
            "down.",
            ("gyro-stops-with-the-pump",),
            _limit(1.0, 3.0, 6.0, 10.0),
            # On the stop, the spin that is left turns the card faster than any of these.
            lambda d: d["more"] == "more",
            lambda d, believed: (_spin_expected(believed) > d["limit_deg"]) == (d["more"] == "more"),
            "As the rotor slows, the inner gimbal (housing) tilts to its stop, and the remaining spin turns "
            "the card round.",
            _limit_facts,
        ),
    ),
    source=SOURCE,
    second_way="engine flights to the stop",
    steps=1,
    asks=lambda d: ("after a tumble",) if d["claim"] == "usable" else (),
)


KINDS = ("banked", "speed", "soon", "late")
TILT_DEG = 30.0
KNOBS = {
    "caging": "Its knob cages the gyro: caging levels the gyro and holds it until the knob is let go.",
    "plain": "Its knob turns the card alone; the air jets level the gyro.",
}
MISTAKEN = {
    "caging": {
        "caging-finds-the-level": "banked",
        "no-acceleration-error": "speed",
        "caging-needs-time-too": "late",
    },
    "plain": {
        "jets-level-in-a-bank": "banked",
        "gyro-levels-at-once": "soon",
        "no-acceleration-error": "speed",
    },
}


def _moments(d: Drawn) -> dict[str, tuple[float, float, float, float, Moment]]:
    """Each moment: bank, acceleration, minutes since the wings were level, deviation, and its drawing."""
    deviations = {"banked": 0.0, "speed": 0.0, "soon": 1.0, "late": 2.0}
    if d["knob"] == "plain":
        deviations["speed"] = 1.0
    late = d["late_min"]
    told = {
        "banked": (d["bank_deg"], 0.0, 0.0, "steady", "banked"),
        "speed": (0.0, 0.15, late, "rising", f"level for {late:.0f} min"),
        "soon": (0.0, 0.0, 0.5, "steady", "level for 30 s"),
        "late": (0.0, 0.0, late, "steady", f"level for {late:.0f} min"),
    }
    heading = "090°" if d["heading_deg"] == 90.0 else "270°"
    return {
        kind: (
            *(bank, along, minutes, deviations[kind]),
            Moment(bank, speed, f"{heading}, dev. {deviations[kind]:.0f}°", since),
        )
        for kind, (bank, along, minutes, speed, since) in told.items()
    }


def _recovery(d: Drawn) -> Worked:
    moments = _moments(d)
    key = letter_of("soon" if d["knob"] == "caging" else "late", KINDS, d["order"])
    return Worked(
        key,
        tuple(Wrong(idea, letter_of(kind, KINDS, d["order"])) for idea, kind in MISTAKEN[d["knob"]].items()),
        {
            "knob": KNOBS[d["knob"]],
            "half": "southern" if d["dip_deg"] < 0.0 else "northern",
            "late": f"{d['late_min']:.0f}",
            "best": key,
        },
        phrase=d["knob"],
        figure=moments_figure([moments[KINDS[int(place)]][4] for place in d["order"]]),
    )


def _left_deg(minutes: float) -> float:
    """What the jets leave of the tilt: it decays with momentum over levelling torque."""
    gyro = Gyro()
    return TILT_DEG * math.exp(-60.0 * minutes * gyro.levelling_nm / gyro.full_momentum_nms)


def _recovery_second(d: Drawn, believed: Belief) -> str:
    """The moment with the least error and tilt, by the levelling of the engine's gyro and a hung card."""
    away = {}
    for kind, (bank, along, minutes, deviation, _) in _moments(d).items():
        heading = d["heading_deg"]
        shown = hanging_card_deg(heading, bank, along, d["dip_deg"], believed)
        left = believed.step("tilt left after a time", _left_deg(minutes))
        if d["knob"] == "caging":
            tilt = abs(believed.step("bank while caging", bank)) + believed.step(
                "tilt after caging", 0.0, left
            )
        else:
            tilt = left if not bank else believed.step("tilt in a bank", TILT_DEG)
        away[kind] = abs(wrapped_deg(shown - heading)) + deviation + tilt
    return letter_of(min(away, key=lambda kind: away[kind]), KINDS, d["order"])


def _draw(draw: Draw) -> dict[str, Any]:
    half = draw.half()
    return {
        "knob": draw.pick(tuple(KNOBS)),
        "bank_deg": draw.signed(10, 20, 5),
        "heading_deg": draw.pick((90.0, 270.0)),
        "late_min": draw.pick((16.0, 18.0, 20.0)),
        "order": draw.pick(ORDERS),
        "dip_deg": -65.0 if half else 65.0,
        **half,
    }


RECOVERY = ItemModel(
    id="tumbling-drawn-recovery",
    pictured=True,
    topic="tumbling",
    level="judge",
    kind="choice",
    draw=_draw,
    work=_recovery,
    second=_recovery_second,
    second_way="the levelling of the engine's gyro, and a compass card hung by vectors",
    words=Words(
        stem="A heading indicator has tumbled, and its gyro is left tilted by about 30°. {knob} The drawing "
        "shows four moments after the tumble (middle {half} latitude), with the size of the compass's "
        "deviation. At which moment can the heading indicator be set to the compass most accurately, with "
        "its gyro level?",
        reason="{because}",
        feedback=dict.fromkeys(sorted({idea for said in MISTAKEN.values() for idea in said}), "{because}"),
        options={letter: f"moment {letter}" for letter in LETTERS},
        phrases={
            "caging": "",
            "caging because": "Caged with the wings level and let go, the gyro is level at once, and at "
            "a steady speed the compass is wrong only by its deviation: moment {best}.",
            "plain": "",
            "plain because": "A gyro that is still tilted goes on drifting after it is set. After {late} "
            "minutes of level flight the jets have nearly levelled it, and the speed must be steady: moment "
            "{best}.",
        },
    ),
    source="FAA-H-8083-15B, Instrument Flying Handbook, chapter 5",
    steps=3,
    asks=facts("moment to set"),
    tells=facts("after a tumble"),
)


MODELS = (WHICH, STOPS, AFTER, RECOVERY)
