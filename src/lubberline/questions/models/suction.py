"""The air system: which fault fits, what the gauge shows, which check tells two faults apart."""

import math
from functools import cache
from typing import Any

from lubberline.questions.models import (
    CRUISE_RPM,
    IDLE_RPM,
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    drive,
    facts,
    flown_sight,
    statements_model,
)
from lubberline.questions.panel_figures import gauges_row
from lubberline.simulation.misconceptions import CAUSAL
from lubberline.simulation.symptoms import believed_sight

SOURCE = "path of the air and usual suction: FAA-H-8083-25C, chapter 8"
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
# Ideas that may take the first fault for the second, before the one that always names the second.
MISTAKEN = {
    ("pump", "regulator"): ("weak-pump-shows-at-cruise", "suction-same-at-idle"),
    ("pump", "filter"): ("suction-same-at-idle",),
    ("regulator", "filter"): ("regulator-governs-the-rotor",),
    ("regulator", "bearings"): ("short-run-down-means-suction",),
    ("filter", "pump"): ("suction-same-at-idle",),
    ("filter", "regulator"): ("clogged-filter-reads-low",),
    ("filter", "bearings"): ("clogged-filter-reads-low",),
    ("bearings", "regulator"): (
        "worn-bearings-lower-the-suction",
        "suction-same-at-idle",
        "short-run-down-means-suction",
    ),
}
ALWAYS = {
    "pump": "always-the-pump",
    "regulator": "always-the-regulator",
    "filter": "always-the-filter",
    "bearings": "drift-means-bearings",
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


# How far two sights must differ to be told apart by eye, ear and watch.
TOLD_APART = {
    "gauge_idle_inhg": 0.4,
    "gauge_cruise_inhg": 0.4,
    "run_down_min": 1.5,
    "drift_cruise_deg_15min": 4.0,
}


def _wrong_faults(fault: str) -> tuple[Wrong, ...]:
    """Every other fault, with the ideas that may lead to it."""
    return tuple(
        Wrong(idea, other)
        for other in FAULT_NAMES
        if other != fault
        for idea in (*MISTAKEN.get((fault, other), ()), ALWAYS[other])
    )


def _which_second(d: Drawn, believed: Belief) -> str:
    """The fault whose symptoms, as the student expects them, are nearest to what is seen."""
    seen = flown_sight(d["fault"], d["size"], d["tap"])
    away = {}
    for name in FAULT_NAMES:
        told = {
            field: believed.expects(field, name, MIDDLE[name], d["tap"], flown_sight) for field in TOLD_APART
        }
        away[name] = math.hypot(*((told[f] - getattr(seen, f)) / step for f, step in TOLD_APART.items()))
    return believed.step("fault behind a drift", min(away, key=lambda name: away[name]))


def _which(d: Drawn) -> Worked:
    seen, usual = _seen(d), _seen({**d, "fault": "", "size": 0.0})
    facts = {name: f"{value:.1f}" for name, value in seen.items()}
    facts.update({f"usual_{name}": f"{value:.1f}" for name, value in usual.items()})
    facts["run_down"], facts["usual_run_down"] = f"{seen['run_down']:.0f}", f"{usual['run_down']:.0f}"
    facts["tap"] = TAPS[d["tap"]]
    return Worked(
        d["fault"],
        _wrong_faults(d["fault"]),
        facts,
        phrase=f"{d['fault']} {d['tap']}",
        figure=gauges_row(
            {
                "idle, then": usual["idle"],
                "cruise, then": usual["cruise"],
                "idle, now": seen["idle"],
                "cruise, now": seen["cruise"],
            },
            arc=False,
        ),
    )


WHICH = ItemModel(
    id="suction-which-fault",
    pictured=True,
    topic="suction",
    level="judge",
    kind="choice",
    draw=_draw_fault,
    work=_which,
    second=_which_second,
    second_way="the fault whose calculated symptoms are nearest to the observations",
    words=Words(
        stem="The suction gauge of this aircraft measures {tap}. The drawing shows what it read earlier, "
        "without a fault, and what it reads now. The rotor of the heading indicator took {usual_run_down} "
        "minutes to run down from cruise; now it takes {run_down} minutes, and the heading indicator drifts "
        "more than before. Which single fault fits best?",
        reason="{phrase}",
        feedback=dict.fromkeys(
            sorted({*ALWAYS.values(), *(idea for ideas in MISTAKEN.values() for idea in ideas)}), "{phrase}"
        ),
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
    tells=facts("usual suction", "run-down"),
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


# The fields of a sight that are checks.
FIELDS = {
    "gauge_idle": "gauge_idle_inhg",
    "gauge_cruise": "gauge_cruise_inhg",
    "run_down": "run_down_min",
    "drift": "drift_cruise_deg_15min",
}


def _believed_checks(d: Drawn) -> list[Wrong]:
    """The check that each causal wrong idea would take, by the calculated symptoms that it expects."""
    found = []
    for idea in CAUSAL:
        one, other = (believed_sight(idea, d[x], MIDDLE[d[x]], d["tap"]) for x in ("one", "other"))
        told = {
            name: abs(getattr(one, field) - getattr(other, field)) / READABLE[name]
            for name, field in FIELDS.items()
        }
        found.append(Wrong(idea.id, max(told, key=lambda name: told[name])))
    return found


def _next(d: Drawn) -> Worked:
    sizes = (MIDDLE[d["one"]], MIDDLE[d["other"]])
    one, other = (_check_values(d[x], s, d["tap"]) for x, s in zip(("one", "other"), sizes, strict=True))
    key = _telling(d, sizes)
    unit = "min" if key == "run_down" else "° in 15 minutes" if key == "drift" else "inHg"
    told = {name: abs(one[name] - other[name]) / READABLE[name] for name in CHECKS}
    claimed = (
        *_believed_checks(d),
        Wrong("setting-shows-the-fault", "set"),
        Wrong("swing-shows-the-gyro", "swing"),
        *(Wrong("check-tells-little", name) for name in FIELDS),
    )
    return Worked(
        key,
        tuple(wrong for wrong in claimed if wrong.value != key and told[str(wrong.value)] < 1.0),
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


def _next_second(d: Drawn, believed: Belief) -> str:
    """The check that tells the two faults apart best as the student expects, from engine flights."""
    told = {}
    for name, field in FIELDS.items():
        one, other = (
            believed.expects(field, d[x], MIDDLE[d[x]], d["tap"], flown_sight) for x in ("one", "other")
        )
        told[name] = abs(one - other) / READABLE[name]
    told = believed.step("what tells two faults apart", told)
    return max(told, key=lambda name: told[name])


NEXT = ItemModel(
    id="suction-next-check",
    topic="suction",
    level="judge",
    kind="choice",
    draw=_draw_pair,
    work=_next,
    second=_next_second,
    second_way="engine flights with both faults",
    words=Words(
        stem="A heading indicator drifts too much. The engineer suspects either {one}, or {other}. The "
        "suction gauge measures {tap}. Which of these observations best tells the two faults apart?",
        reason="With {one}, {key} is about {one_value}; with {other}, it is about {other_value}. The other "
        "observations differ too little to be read or relied on.",
        feedback=dict.fromkeys(
            (
                *("weak-pump-shows-at-cruise", "worn-bearings-lower-the-suction", "suction-same-at-idle"),
                *("clogged-filter-reads-low", "setting-shows-the-fault", "swing-shows-the-gyro"),
                "check-tells-little",
            ),
            "With {one}, {key} is about {one_value}; with {other}, it is about {other_value}.",
        ),
        options=CHECKS,
    ),
    source=SOURCE,
    steps=4,
    least=1,
    most=1,
    unoffered=(
        *("short-run-down-means-suction", "drift-means-suction"),
        *("setting-shows-the-fault", "swing-shows-the-gyro"),
    ),
)


@cache
def _share(fault: str, size: float) -> float:
    return drive(fault, size, CRUISE_RPM).rotor_rpm / drive("", 0.0, CRUISE_RPM).rotor_rpm


RANGES = ((4.5, 5.5), (2.0, 4.0))


def _below_second(d: Drawn, believed: Belief) -> bool:
    """Whether a student expects a healthy gauge below the limit, by the range that is usual to them."""
    power = "idle" if d["rpm"] < 1500.0 else "cruise"
    shown = believed.expects(f"gauge_{power}_inhg", "", None, "cabin", flown_sight)
    usual = believed.step("usual range", (4.5, 5.5))
    below: bool = shown + 0.5 * sum(usual) - 5.0 < d["limit"]
    return below


def _gauge_claim(
    fault: str, name: str, idea: str, power: str = "cruise", ranges: tuple[tuple[float, float], ...] = RANGES
) -> Statement:
    """Whether a gauge against the cabin shows something in a range with a fault."""
    size = MIDDLE[fault]
    rpm, where = (CRUISE_RPM, "in cruise") if power == "cruise" else (IDLE_RPM, "at idle")
    return Statement(
        f"gauge {fault}",
        "A suction gauge connected between manifold and cabin shows between {low} and {high} inHg "
        f"{where} when {name}.",
        (idea,),
        lambda draw: dict(zip(("low_inhg", "high_inhg"), draw.pick(ranges), strict=True)),
        lambda d: d["low_inhg"] <= _gauge(fault, size, "cabin", rpm) <= d["high_inhg"],
        lambda d, believed: (
            d["low_inhg"]
            <= believed.expects(f"gauge_{power}_inhg", fault, size, "cabin", flown_sight)
            <= d["high_inhg"]
        ),
        f"In the model the gauge then shows about {{value}} inHg {where}. In cruise the rotor turns at "
        "{share}% of its usual speed.",
        lambda d: {
            "low": f"{d['low_inhg']:.1f}",
            "high": f"{d['high_inhg']:.1f}",
            "value": f"{_gauge(fault, size, 'cabin', rpm):.1f}",
            "share": f"{100.0 * _share(fault, size):.0f}",
        },
    )


CLAIMS = statements_model(
    id="suction-claims",
    topic="suction",
    level="recall",
    claims=(
        _gauge_claim(
            "bearings",
            "the rotor's bearings are worn",
            "worn-bearings-lower-the-suction",
            "idle",
            ((2.5, 4.0), (0.5, 2.0)),
        ),
        _gauge_claim("filter", "the filter is clogged", "clogged-filter-reads-low"),
        _gauge_claim("regulator", "the regulator is set 1.4 inHg too low", "regulator-governs-the-rotor"),
        Statement(
            "idle-low",
            "With a healthy air system, a suction gauge connected between manifold and cabin may read below "
            "{limit} inHg while the engine runs at {rpm} rpm.",
            ("usual-range-too-low", "suction-same-at-idle"),
            lambda draw: {"limit": draw.pick((4.5, 4.0)), "rpm": draw.pick((800.0, 2400.0))},
            lambda d: _gauge("", 0.0, "cabin", d["rpm"]) < d["limit"],
            _below_second,
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
    tells=facts("usual suction"),
)

MODELS = (WHICH, NEXT, CLAIMS)
