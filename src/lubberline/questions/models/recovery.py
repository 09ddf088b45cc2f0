"""After a tumble: when to cage or set the heading indicator, from drawn moments."""

import math
from itertools import permutations
from typing import Any

from lubberline.angles import wrapped_deg
from lubberline.instruments.heading_indicator.gyro import Gyro
from lubberline.questions.models import (
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Words,
    Worked,
    Wrong,
    facts,
    hanging_card_deg,
)
from lubberline.questions.panel_figures import Moment, moments_figure

LETTERS = "PQRS"
KINDS = ("banked", "speed", "soon", "late")
ORDERS = tuple("".join(order) for order in permutations("0123"))
TILT_DEG = 30.0
KNOBS = {
    "caging": "Its knob cages the gyro: it levels it and holds it until it is let go.",
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


def _letter(d: Drawn, kind: str) -> str:
    return LETTERS[[KINDS[int(place)] for place in d["order"]].index(kind)]


def _recovery(d: Drawn) -> Worked:
    moments = _moments(d)
    order = [KINDS[int(place)] for place in d["order"]]
    key = _letter(d, "soon" if d["knob"] == "caging" else "late")
    return Worked(
        key,
        tuple(Wrong(idea, _letter(d, kind)) for idea, kind in MISTAKEN[d["knob"]].items()),
        {
            "knob": KNOBS[d["knob"]],
            "half": "southern" if d["dip_deg"] < 0.0 else "northern",
            "late": f"{d['late_min']:.0f}",
            "best": key,
        },
        phrase=d["knob"],
        figure=moments_figure([moments[kind][4] for kind in order]),
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
    return _letter(d, min(away, key=lambda kind: away[kind]))


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
        "deviation. At which of them is it brought back to the compass "
        "most accurately, compass and gyro together?",
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
    source="FAA-H-8083-15B, chapter 5; common practice; levelling as the model calculates it",
    steps=3,
    asks=facts("moment to set"),
    tells=facts("after a tumble"),
)

MODELS = (RECOVERY,)
