"""The air system: which fault fits, what the gauge shows, which check tells two faults apart."""

import math
from functools import cache
from typing import Any

from lubberline.questions.models import (
    CRUISE_RPM,
    IDLE_RPM,
    Draw,
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    drive,
    flown_gauge_inhg,
    statements_model,
)
from lubberline.simulation.misconceptions import CAUSAL
from lubberline.simulation.symptoms import Sight, believed_sight, sight

SOURCE = (
    "symptoms of each fault calculated by the model; path of the air and 4.5 to 5.5 inHg: FAA-H-8083-25, "
    "chapter 8"
)
FAULT_NAMES = {
    "pump": "a weak pump or a leaking hose",
    "regulator": "a regulator that is set too low",
    "filter": "a clogged filter",
    "bearings": "worn rotor bearings",
}
SIZES: dict[str, tuple[float, ...]] = {
    "pump": (0.4, 0.45, 0.5),
    "regulator": (1.2, 1.4, 1.6, 1.8),
    "filter": (0.84, 0.87, 0.9),
    "bearings": (0.7, 1.0, 1.6),
}
MIDDLE = {fault: sizes[1] for fault, sizes in SIZES.items()}
TAPS = {
    "cabin": "the suction between manifold and cabin",
    "instruments": "the suction across the instruments",
}
# The idea of a student who takes the first fault for the second.
WRONG_FAULT = {
    ("pump", "regulator"): "suction-same-at-idle",
    ("pump", "filter"): "clogged-filter-reads-low",
    ("pump", "bearings"): "worn-bearings-lower-the-suction",
    ("regulator", "pump"): "weak-pump-shows-at-cruise",
    ("regulator", "filter"): "clogged-filter-reads-low",
    ("regulator", "bearings"): "worn-bearings-lower-the-suction",
    ("filter", "pump"): "drift-means-suction",
    ("filter", "regulator"): "regulator-governs-the-rotor",
    ("filter", "bearings"): "drift-means-bearings",
    ("bearings", "pump"): "short-run-down-means-suction",
    ("bearings", "regulator"): "regulator-governs-the-rotor",
    ("bearings", "filter"): "drift-means-suction",
}


def _gauge(fault: str, size: float, tap: str, engine_rpm: float) -> float:
    shown = drive(fault, size, engine_rpm)
    return shown.cabin_gauge_inhg if tap == "cabin" else shown.instrument_gauge_inhg


def _draw_fault(draw: Draw) -> dict[str, Any]:
    fault = draw.pick(tuple(FAULT_NAMES))
    return {"fault": fault, "size": draw.pick(SIZES[fault]), "tap": draw.pick(tuple(TAPS))}


def _seen(d: Drawn) -> dict[str, float]:
    """What a person sees, rounded as it is read: suction at idle and in cruise, run-down, drift."""
    fault, size, tap = d["fault"], d["size"], d["tap"]
    cruise = drive(fault, size, CRUISE_RPM)
    return {
        "idle": round(_gauge(fault, size, tap, IDLE_RPM), 1),
        "cruise": round(_gauge(fault, size, tap, CRUISE_RPM), 1),
        "run_down": float(round(cruise.run_down_min)),
        "drift": round(cruise.limit_drift_deg_15min, 1),
    }


def _believed_faults(d: Drawn) -> list[Wrong]:
    """The fault that each causal wrong idea would name: the one whose believed symptoms are nearest."""
    seen = sight(d["fault"], d["size"], d["tap"])
    found = []
    for idea in CAUSAL:
        away = {
            name: _unlike(believed_sight(idea, name, MIDDLE[name], d["tap"]), seen) for name in FAULT_NAMES
        }
        found.append(Wrong(idea.id, min(away, key=lambda name: away[name])))
    return [wrong for wrong in found if wrong.value != d["fault"]]


# How far two sights must differ to be told apart by eye, ear and watch.
TOLD_APART = {
    "gauge_idle_inhg": 0.4,
    "gauge_cruise_inhg": 0.4,
    "run_down_min": 1.5,
    "drift_cruise_deg_15min": 4.0,
}


def _unlike(one: Sight, other: Sight) -> float:
    """How much two sights differ, as a multiple of what can be told apart."""
    return math.hypot(*((getattr(one, n) - getattr(other, n)) / step for n, step in TOLD_APART.items()))


@cache
def _wrong_faults(fault: str, size: float, tap: str) -> tuple[Wrong, ...]:
    """Every other fault, with the idea that leads to it when run, or else the idea of `WRONG_FAULT`."""
    found = {
        str(wrong.value): wrong for wrong in _believed_faults({"fault": fault, "size": size, "tap": tap})
    }
    others = [name for name in FAULT_NAMES if name != fault]
    return tuple(found.get(name) or Wrong(WRONG_FAULT[fault, name], name) for name in others)


def _which(d: Drawn) -> Worked:
    seen, usual = _seen(d), _seen({**d, "fault": "", "size": 0.0})
    facts = {name: f"{value:.1f}" for name, value in seen.items()}
    facts.update({f"usual_{name}": f"{value:.1f}" for name, value in usual.items()})
    facts["run_down"], facts["usual_run_down"] = f"{seen['run_down']:.0f}", f"{usual['run_down']:.0f}"
    facts["tap"] = TAPS[d["tap"]]
    return Worked(
        d["fault"],
        _wrong_faults(d["fault"], d["size"], d["tap"]),
        facts,
        phrase=f"{d['fault']} {d['tap']}",
    )


def fault_by_rule(seen: Drawn, usual: Drawn, tap: str) -> str:
    """The fault by a rule of thumb from what is seen, as a person would find it; not by the model.

    Worn bearings: suction as usual and a run-down far too short. Regulator: as usual at idle, capped in
    cruise. Pump or leak: low at idle, nearly as usual in cruise. Filter: across the instruments low at
    every power; against the cabin high at idle, with a rotor that runs down sooner.
    """
    idle, cruise = seen["idle"] - usual["idle"], seen["cruise"] - usual["cruise"]
    if seen["run_down"] < 0.65 * usual["run_down"]:
        return "bearings"
    if tap == "cabin" and idle > 0.7:
        return "filter"
    if abs(idle) < 0.4 and cruise < -0.7:
        return "regulator"
    if idle < -0.4 and cruise > -1.2:
        return "pump"
    return "filter"


WHICH = ItemModel(
    id="suction-which-fault",
    topic="suction",
    level="judge",
    kind="choice",
    draw=_draw_fault,
    work=_which,
    second=lambda d: fault_by_rule(_seen(d), _seen({**d, "fault": "", "size": 0.0}), d["tap"]),
    second_way="a rule of thumb on the observations alone",
    words=Words(
        stem="The suction gauge of this aircraft measures {tap}. Without a fault it shows {usual_idle} inHg "
        "at idle and {usual_cruise} inHg in cruise, and the rotor of the heading indicator takes "
        "{usual_run_down} minutes to run down. Now the gauge shows {idle} inHg at idle and {cruise} inHg "
        "in cruise, the run-down from cruise takes {run_down} minutes, and the heading indicator drifts "
        "more than before. Which single fault fits best?",
        reason="{phrase}",
        feedback=dict.fromkeys(sorted(set(WRONG_FAULT.values())), "{phrase}"),
        options=FAULT_NAMES,
        phrases={
            "pump cabin": "The gauge has fallen from {usual_idle} to {idle} inHg at idle, but hardly in "
            "cruise: at high power even a weak pump moves enough air.",
            "pump instruments": "The gauge has fallen from {usual_idle} to {idle} inHg at idle, but "
            "hardly in cruise: at high power even a weak pump moves enough air.",
            "regulator cabin": "At idle the suction is normal ({idle} inHg), but in cruise it is limited to "
            "{cruise} instead of {usual_cruise} inHg.",
            "regulator instruments": "At idle the suction is normal ({idle} inHg), but in cruise it is "
            "limited to {cruise} instead of {usual_cruise} inHg.",
            "filter cabin": "The gauge is connected on the pump's side of the clogged filter. At idle it "
            "shows {idle} instead of {usual_idle} inHg, although the gyros get less air and the rotor is "
            "slow.",
            "filter instruments": "The suction across the instruments is low at every power: {idle} inHg at "
            "idle and {cruise} inHg in cruise.",
            "bearings cabin": "The suction is normal, but the run-down takes {run_down} instead of "
            "{usual_run_down} minutes.",
            "bearings instruments": "The suction is normal, but the run-down takes {run_down} instead of "
            "{usual_run_down} minutes.",
        },
    ),
    source=SOURCE,
    steps=4,
    least=3,
)


CHECKS = {
    "gauge_idle": "the suction at idle",
    "gauge_cruise": "the suction in cruise",
    "run_down": "the run-down time of the rotor",
    "drift": "the drift in a quarter of an hour",
    "set": "the reading right after the heading indicator is set",
    "swing": "a new swing of the magnetic compass",
}
# The least difference that a person can rely on; drift differs between healthy instruments too.
READABLE = {"gauge_idle": 0.4, "gauge_cruise": 0.4, "run_down": 2.0, "drift": 7.0, "set": 1.0, "swing": 1.0}


def _check_values(fault: str, size: float, tap: str) -> dict[str, float]:
    cruise = drive(fault, size, CRUISE_RPM)
    return {
        "gauge_idle": _gauge(fault, size, tap, IDLE_RPM),
        "gauge_cruise": _gauge(fault, size, tap, CRUISE_RPM),
        "run_down": cruise.run_down_min,
        "drift": cruise.limit_drift_deg_15min,
        "set": 0.0,
        "swing": 0.0,
    }


def _telling(d: Drawn, sizes: tuple[float, float]) -> str:
    one = _check_values(d["one"], sizes[0], d["tap"])
    other = _check_values(d["other"], sizes[1], d["tap"])
    return max(CHECKS, key=lambda name: abs(one[name] - other[name]) / READABLE[name])


def _next(d: Drawn) -> Worked:
    sizes = (MIDDLE[d["one"]], MIDDLE[d["other"]])
    one, other = (_check_values(d[x], s, d["tap"]) for x, s in zip(("one", "other"), sizes, strict=True))
    key = _telling(d, sizes)
    ideas = {
        "gauge_idle": "green-gauge-good-instrument",
        "gauge_cruise": "green-gauge-good-instrument",
        "run_down": "short-run-down-means-suction",
        "drift": "drift-means-suction",
        "set": "setting-shows-the-fault",
        "swing": "swing-shows-the-gyro",
    }
    unit = "min" if key == "run_down" else "° in 15 minutes" if key == "drift" else "inHg"
    told = {name: abs(one[name] - other[name]) / READABLE[name] for name in CHECKS}
    return Worked(
        key,
        tuple(Wrong(ideas[name], name) for name in CHECKS if name != key and told[name] < 1.0),
        {
            "one": FAULT_NAMES[d["one"]],
            "other": FAULT_NAMES[d["other"]],
            "tap": TAPS[d["tap"]],
            "one_value": f"{one[key]:.1f} {unit}",
            "other_value": f"{other[key]:.1f} {unit}",
        },
    )


def _draw_pair(draw: Draw) -> dict[str, Any]:
    one, other = draw.pick(
        (("pump", "regulator"), ("bearings", "pump"), ("bearings", "regulator"), ("filter", "bearings"))
    )
    return {"one": one, "other": other, "tap": draw.pick(tuple(TAPS))}


def _next_second(d: Drawn) -> str:
    """The check that tells the two faults apart best in engine flights (gauge) and by closed form."""
    one, other = (
        {
            "gauge_idle": flown_gauge_inhg(d[x], MIDDLE[d[x]], d["tap"], IDLE_RPM),
            "gauge_cruise": flown_gauge_inhg(d[x], MIDDLE[d[x]], d["tap"], CRUISE_RPM),
            "run_down": drive(d[x], MIDDLE[d[x]], CRUISE_RPM).run_down_min,
            "drift": drive(d[x], MIDDLE[d[x]], CRUISE_RPM).limit_drift_deg_15min,
        }
        for x in ("one", "other")
    )
    return max(one, key=lambda name: abs(one[name] - other[name]) / READABLE[name])


NEXT = ItemModel(
    id="suction-next-check",
    topic="suction",
    level="judge",
    kind="choice",
    draw=_draw_pair,
    work=_next,
    second=_next_second,
    second_way="gauge readings of engine flights with both faults",
    words=Words(
        stem="A heading indicator drifts too much. The engineer suspects either {one}, or {other}. The "
        "suction gauge measures {tap}. Which of these observations best tells the two faults apart?",
        reason="With {one}, {key} is about {one_value}; with {other}, it is about {other_value}. The other "
        "observations differ too little to be read or relied on.",
        feedback=dict.fromkeys(
            (
                *("green-gauge-good-instrument", "short-run-down-means-suction", "drift-means-suction"),
                *("setting-shows-the-fault", "swing-shows-the-gyro"),
            ),
            "With {one}, {key} is about {one_value}; with {other}, it is about {other_value}.",
        ),
        options=CHECKS,
    ),
    source=SOURCE,
    steps=4,
)


@cache
def _share(fault: str, size: float) -> float:
    return drive(fault, size, CRUISE_RPM).rotor_rpm / drive("", 0.0, CRUISE_RPM).rotor_rpm


def _gauge_claim(fault: str, name: str, idea: str) -> Statement:
    """Whether a gauge against the cabin stays in its usual range in cruise with a fault."""
    size = MIDDLE[fault]
    return Statement(
        f"gauge {fault}",
        "A suction gauge connected between manifold and cabin shows between {low} and {high} inHg in cruise "
        f"when {name}.",
        (idea,),
        lambda draw: dict(zip(("low_inhg", "high_inhg"), draw.pick(((4.5, 5.5), (2.0, 4.0))), strict=True)),
        lambda d: d["low_inhg"] <= _gauge(fault, size, "cabin", CRUISE_RPM) <= d["high_inhg"],
        lambda d: d["low_inhg"] <= flown_gauge_inhg(fault, size, "cabin", CRUISE_RPM) <= d["high_inhg"],
        "In the model the gauge then shows about {value} inHg in cruise, and the rotor turns at {share}% "
        "of its usual speed.",
        lambda d: {
            "low": f"{d['low_inhg']:.1f}",
            "high": f"{d['high_inhg']:.1f}",
            "value": f"{_gauge(fault, size, 'cabin', CRUISE_RPM):.1f}",
            "share": f"{100.0 * _share(fault, size):.0f}",
        },
    )


CLAIMS = statements_model(
    id="suction-claims",
    topic="suction",
    level="recall",
    claims=(
        _gauge_claim("bearings", "the rotor's bearings are worn", "worn-bearings-lower-the-suction"),
        _gauge_claim("filter", "the filter is clogged", "clogged-filter-reads-low"),
        _gauge_claim("regulator", "the regulator is set 1.4 inHg too low", "regulator-governs-the-rotor"),
        Statement(
            "idle-low",
            "With a healthy air system, a suction gauge connected between manifold and cabin may read below "
            "{limit} inHg while the engine runs at {rpm} rpm.",
            ("usual-range-mixed-up", "suction-same-at-idle"),
            lambda draw: {"limit": draw.pick((4.5, 4.0)), "rpm": draw.pick((700.0, 800.0, 2200.0, 2400.0))},
            lambda d: _gauge("", 0.0, "cabin", d["rpm"]) < d["limit"],
            lambda d: flown_gauge_inhg("", 0.0, "cabin", d["rpm"]) < d["limit"],
            "The engine drives the pump. At {rpm} rpm the gauge of the model shows {value} inHg.",
            lambda d: {
                "limit": f"{d['limit']:.1f}",
                "rpm": f"{d['rpm']:.0f}",
                "value": f"{_gauge('', 0.0, 'cabin', d['rpm']):.1f}",
            },
        ),
    ),
    source=SOURCE,
    second_way="engine flights",
    steps=2,
)


def _normal(d: Drawn) -> Worked:
    value = d["gauge_inhg"]
    key = "low" if value < 4.5 else "high" if value > 5.5 else "normal"
    return Worked(
        key,
        tuple(Wrong("usual-range-mixed-up", name) for name in ("low", "normal", "high") if name != key),
        {"value": f"{value:.1f}"},
    )


def _normal_second(d: Drawn) -> str:
    """By the distance from the middle of the range, 5.0 inHg."""
    away = d["gauge_inhg"] - 5.0
    return "normal" if abs(away) < 0.51 else "low" if away < 0.0 else "high"


NORMAL = ItemModel(
    id="suction-usual-range",
    topic="suction",
    level="recall",
    kind="choice",
    draw=lambda draw: {"gauge_inhg": draw.pick((3.0, 3.5, 3.8, 4.7, 4.9, 5.0, 5.2, 5.9, 6.2, 6.5))},
    work=_normal,
    second=_normal_second,
    second_way="the distance from the middle of the range",
    words=Words(
        stem="In cruise the suction gauge of a light aeroplane shows {value} inHg. Compared with the range "
        "that handbooks usually give, this is:",
        reason="The usual range is 4.5 to 5.5 inHg; the aircraft's own handbook decides.",
        feedback={
            "usual-range-mixed-up": "Compared with 4.5 to 5.5 inHg, {value} inHg is {key}.",
        },
        options={"low": "too low", "normal": "in the usual range", "high": "too high"},
    ),
    source="4.5 to 5.5 inHg: FAA-H-8083-25, chapter 8 (from memory)",
    steps=1,
)

MODELS = (WHICH, NEXT, CLAIMS, NORMAL)
