"""How a fault of the air system shows: gauge, rotor speed, run-down.

Each distractor is what a student expects who has one relation of the model of faults wrong.
"""

from collections.abc import Callable
from functools import cache
from typing import Any

from lubberline.questions.models import (
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Words,
    Worked,
    Wrong,
    facts,
    flown_sight,
    notation,
)
from lubberline.questions.models.suction import SOURCE, TAPS
from lubberline.questions.notation import Notation
from lubberline.questions.panel_figures import suction_gauge
from lubberline.simulation.misconceptions import BY_ID, CAUSAL
from lubberline.simulation.symptoms import believed_sight, sight

FAULTS = {
    "pump": "the pump has lost {percent}% of its efficiency",
    "regulator": "the regulator is set {inches} inHg too low",
    "leak": "a hose between the instruments and the pump leaks",
    "filter": "{percent}% of the filter's area is clogged",
    "bearings": "the rotor's bearings are worn",
}
SIZES: dict[str, tuple[float, ...]] = {
    "pump": (0.4, 0.45, 0.5),
    "regulator": (1.2, 1.4, 1.6),
    "leak": (0.25,),
    "filter": (0.8, 0.85, 0.87, 0.9),
    "bearings": (1.0,),
}


def _ideas(*quantities: str) -> tuple[str, ...]:
    """The causal wrong ideas about these quantities."""
    return tuple(
        idea.id for idea in CAUSAL if any(name in rule.fields for rule in idea.rules for name in quantities)
    )


GAUGES = ("gauge_idle_inhg", "gauge_cruise_inhg")
ROTORS = ("rotor_idle_rpm", "rotor_cruise_rpm")


@cache
def _believed(fault: str, size: float, tap: str, quantity: str) -> tuple[Wrong, ...]:
    """The value of a quantity that each causal wrong idea expects."""
    return tuple(
        Wrong(id, getattr(believed_sight(BY_ID[id], fault, size, tap), quantity))  # type: ignore[arg-type]
        for id in _ideas(quantity)
    )


def _facts(d: Drawn) -> dict[str, str]:
    fault, size, tap, quantity = d["fault"], d["size"], d["tap"], d["quantity"]
    usual = getattr(sight("", None, tap), quantity)
    gauge = "gauge_idle_inhg" if "idle" in quantity else "gauge_cruise_inhg"
    healthy, now = (
        notation.INHG.written(getattr(seen, gauge))
        for seen in (sight("", None, tap), sight(fault, size, tap))
    )
    return {
        "fault": FAULTS[fault].format(percent=f"{size * 100.0:.0f}", inches=f"{size:.1f}"),
        "tap": TAPS[tap],
        "power": "at idle (engine at 800 rpm)" if "idle" in quantity else "in cruise (engine at 2400 rpm)",
        "usual": notation.INHG.written(usual),
        "usual_rpm": RPM.written(usual),
        "usual_min": notation.MINUTES.written(usual),
        "gauge": f"still shows {healthy}" if now == healthy else f"shows {now} instead of {healthy}",
    }


def _work(d: Drawn, *slips: Wrong) -> Worked:
    fault, size, tap, quantity = d["fault"], d["size"], d["tap"], d["quantity"]
    key = getattr(sight(fault, size, tap), quantity)
    unmoved = Wrong("fault-leaves-it-alone", getattr(sight("", None, tap), quantity))
    return Worked(key, (*_believed(fault, size, tap, quantity), unmoved, *slips), _facts(d), phrase=_why(d))


def _why(d: Drawn) -> str:
    return f"filter {d['tap']}" if d["fault"] == "filter" else str(d["fault"])


def _draw(
    quantities: tuple[str, ...], faults: tuple[str, ...], taps: tuple[str, ...] = tuple(TAPS)
) -> Callable[[Draw], dict[str, Any]]:
    def draw(source: Draw) -> dict[str, Any]:
        fault = source.pick(faults)
        return {
            "fault": fault,
            "size": source.pick(SIZES[fault]),
            "tap": source.pick(taps),
            "quantity": source.pick(quantities),
        }

    return draw


def _flown(d: Drawn, believed: Belief) -> float:
    """What a student expects, from the true values of engine flights."""
    fault, tap, quantity = believed.step("fault", d["fault"]), d["tap"], d["quantity"]
    tap = believed.step("tap of the gauge", tap, "instruments" if tap == "cabin" else "cabin")
    other = quantity.replace("cruise", "idle") if "cruise" in quantity else quantity.replace("idle", "cruise")
    size = d["size"] if fault else None
    return believed.expects(believed.step("power", quantity, other), fault, size, tap, flown_sight)


def _gauge(d: Drawn) -> Worked:
    other = "gauge_cruise_inhg" if d["quantity"] == "gauge_idle_inhg" else "gauge_idle_inhg"
    tapped = "instruments" if d["tap"] == "cabin" else "cabin"
    worked = _work(
        d,
        Wrong("gauge-at-the-other-power", getattr(sight(d["fault"], d["size"], d["tap"]), other)),
        Wrong("gauge-tap-mixed-up", getattr(sight(d["fault"], d["size"], tapped), d["quantity"])),
    )
    usual_inhg = round(getattr(sight("", None, d["tap"]), d["quantity"]), 1)
    return worked._replace(figure=suction_gauge(usual_inhg, arc=False))


PHRASES = {
    "pump": "A weak pump still moves enough air at high power, where the regulator lets in the surplus; at "
    "idle it does not.",
    "leak": "The pump must also move the air that leaks in: at high power it can, at idle it cannot.",
    "regulator": "A regulator limits the suction to its setting and has no effect below it.",
    "filter cabin": "This gauge is connected on the pump's side of the filter, where the pump draws through "
    "a smaller opening; the gyros beyond the filter get less air.",
    "filter instruments": "The clogged filter starves the instruments of air, and this gauge measures the "
    "suction across them.",
    "bearings": "Worn bearings do not change the flow of air; they slow the rotor.",
}
GAUGE = ItemModel(
    id="suction-gauge-with-fault",
    pictured=True,
    topic="suction",
    level="apply",
    kind="choice",
    draw=_draw(GAUGES, tuple(FAULTS)),
    work=_gauge,
    second=_flown,
    second_way="the gauge in an engine flight with that fault",
    words=Words(
        stem="The suction gauge of an aircraft measures {tap}. Without a fault it shows what is drawn "
        "{power}. Now {fault}; nothing else is wrong. What does the gauge most likely show {power}?",
        reason="{phrase} The gauge most likely shows {key}.",
        feedback=dict.fromkeys(
            (*_ideas(*GAUGES), "fault-leaves-it-alone", "gauge-at-the-other-power", "gauge-tap-mixed-up"),
            "Here the gauge shows {key}. {phrase}",
        ),
        phrases=PHRASES,
    ),
    source=SOURCE,
    steps=3,
    notation=notation.INHG,
    apart=0.4,
    agree=0.15,
    most=2,
    tells=facts("usual suction"),
)

RPM = Notation("rpm", 500.0, lambda value: f"{value:.0f} rpm")
ROTOR = ItemModel(
    id="suction-rotor-with-fault",
    topic="suction",
    level="judge",
    kind="choice",
    draw=_draw(ROTORS, tuple(FAULTS)),
    work=_work,
    second=_flown,
    second_way="the rotor in a long engine flight with that fault",
    words=Words(
        stem="With a healthy air system the rotor of a heading indicator turns at {usual_rpm} {power}. Now "
        "{fault}; nothing else is wrong. The gauge, which measures {tap}, {gauge}. "
        "At about what speed does the rotor turn after a long time {power}?",
        reason="{phrase} In the model the rotor turns at about {key}.",
        feedback=dict.fromkeys(
            (*_ideas(*ROTORS), "fault-leaves-it-alone"), "Here the rotor turns at about {key}. {phrase}"
        ),
        phrases=PHRASES,
    ),
    source=SOURCE,
    steps=4,
    notation=RPM,
    apart=1400.0,
    agree=500.0,
    # The stem prints the usual speed at idle: nobody takes a fault to make the rotor faster.
    unoffered=("suction-same-at-idle",),
    least=1,
    most=1,
    tells=facts("usual suction"),
)


RUN_DOWN_PHRASES = {
    "pump": "In cruise a weak pump moves nearly enough air: the rotor runs down from almost full speed.",
    "regulator": "The lower suction slows the rotor a little in cruise, and the run-down hardly changes.",
    "filter cabin": "The clogged filter slows the rotor in cruise: it runs down a little sooner.",
    "bearings": "Worn bearings brake the rotor, in cruise and during the run-down.",
}
RUN_DOWN = ItemModel(
    id="suction-run-down-with-fault",
    topic="suction",
    level="apply",
    kind="choice",
    draw=_draw(("run_down_min",), ("filter", "bearings", "regulator", "pump"), ("cabin",)),
    work=_work,
    second=_flown,
    second_way="the rotor's run-down stepped in time",
    words=Words(
        stem="After a cruise with a healthy air system, the rotor of a heading indicator takes {usual_min} "
        "to run down. Now {fault}; nothing else is wrong. About how long does the rotor take to run down "
        "after a cruise?",
        reason="{phrase} In the model the run-down takes {key}.",
        feedback=dict.fromkeys(
            (*_ideas("run_down_min"), "fault-leaves-it-alone"), "{phrase} Here the run-down takes {key}."
        ),
        phrases=RUN_DOWN_PHRASES,
    ),
    source=SOURCE,
    steps=2,
    notation=notation.MINUTES,
    apart=2.0,
    agree=0.7,
    least=1,
    most=1,
    tells=facts("run-down"),
    zero=True,
)

MODELS = (GAUGE, ROTOR, RUN_DOWN)
