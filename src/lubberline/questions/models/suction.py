"""The air system: which fault fits, what the gauge shows, which check tells two faults apart."""

from __future__ import annotations

from functools import cache
from typing import Any

from lubberline.questions import forms
from lubberline.questions.claims import Claim, claims_model
from lubberline.questions.drawing import Draw
from lubberline.questions.drives import CRUISE_RPM, IDLE_RPM, drive, flown_gauge_inhg
from lubberline.questions.model import Drawn, ItemModel, Words, Worked, Wrong

SOURCE = (
    "signs of each fault worked out by the model; path of the air and 4.5 to 5.5 inHg: "
    "FAA-H-8083-25, chapter 8"
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
    "filter": (0.85, 0.87, 0.9),
    "bearings": (0.8, 1.0, 1.2),
}
TAPS = {"cabin": "the manifold against the cabin", "instruments": "the suction across the instruments"}
# What somebody believes who calls the first fault by the name of the second.
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


def _which(d: Drawn) -> Worked:
    seen, usual = _seen(d), _seen({**d, "fault": "", "size": 0.0})
    facts = {name: f"{value:.1f}" for name, value in seen.items()}
    facts.update({f"usual_{name}": f"{value:.1f}" for name, value in usual.items()})
    facts["run_down"], facts["usual_run_down"] = f"{seen['run_down']:.0f}", f"{usual['run_down']:.0f}"
    facts["tap"] = TAPS[d["tap"]]
    return Worked(
        d["fault"],
        tuple(Wrong(WRONG_FAULT[d["fault"], name], name) for name in FAULT_NAMES if name != d["fault"]),
        facts,
        phrase=f"{d['fault']} {d['tap']}",
    )


def fault_by_rule(seen: Drawn, usual: Drawn, tap: str) -> str:
    """The fault by rule from what is seen, as a person would go about it; not by the model.

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


def _which_second(d: Drawn) -> str:
    return fault_by_rule(_seen(d), _seen({**d, "fault": "", "size": 0.0}), d["tap"])


WHICH = ItemModel(
    id="suction-which-fault",
    topic="suction",
    level="judge",
    kind="choice",
    draw=_draw_fault,
    work=_which,
    second=_which_second,
    second_way="a rule of thumb on the observations alone",
    words=Words(
        stem="The suction gauge of this aircraft shows {tap}. In good health it shows {usual_idle} inHg "
        "at idle and "
        "{usual_cruise} inHg in cruise, and the rotor of the heading indicator takes {usual_run_down} "
        "minutes to run "
        "down. Now the gauge shows {idle} inHg at idle and {cruise} inHg in cruise, the run-down from "
        "cruise takes "
        "{run_down} minutes, and the heading indicator drifts more than it did. Which single fault fits "
        "best?",
        reason="{phrase}",
        feedback=dict.fromkeys(sorted(set(WRONG_FAULT.values())), "Here: {phrase}"),
        options=FAULT_NAMES,
        phrases={
            "pump cabin": "At idle the gauge fell from {usual_idle} to {idle} inHg, in cruise hardly: "
            "at high power "
            "even a weak pump moves enough air.",
            "pump instruments": "At idle the gauge fell from {usual_idle} to {idle} inHg, in cruise "
            "hardly: at high "
            "power even a weak pump moves enough air.",
            "regulator cabin": "At idle the suction is as usual ({idle} inHg); in cruise it is held at "
            "{cruise} instead "
            "of {usual_cruise} inHg.",
            "regulator instruments": "At idle the suction is as usual ({idle} inHg); in cruise it is "
            "held at {cruise} "
            "instead of {usual_cruise} inHg.",
            "filter cabin": "The gauge reads against the cabin, on the pump's side of the clogged "
            "filter: at idle "
            "{idle} instead of {usual_idle} inHg, though the gyros get less air and the rotor is slow.",
            "filter instruments": "Across the instruments there is little suction at any power: {idle} "
            "and {cruise} "
            "inHg.",
            "bearings cabin": "The suction is as usual, and the run-down takes {run_down} instead of "
            "{usual_run_down} "
            "minutes.",
            "bearings instruments": "The suction is as usual, and the run-down takes {run_down} instead of "
            "{usual_run_down} minutes.",
        },
    ),
    source=SOURCE,
    steps=4,
    least=3,
)


def _shows(d: Drawn) -> Worked:
    fault, size, tap, engine = d["fault"], d["size"], d["tap"], d["engine_rpm"]
    other = "instruments" if tap == "cabin" else "cabin"
    return Worked(
        _gauge(fault, size, tap, engine),
        (
            Wrong(
                "clogged-filter-reads-low" if tap == "cabin" else "gauge-tap-mixed-up",
                _gauge(fault, size, other, engine),
            ),
            Wrong("filter-leaves-the-gauge-alone", _gauge("", 0.0, tap, engine)),
            Wrong("clogged-filter-stops-all-air", 0.0),
        ),
        {
            "tap": TAPS[tap],
            "power": "at idle" if engine < 1500.0 else "in cruise",
            "usual": f"{_gauge('', 0.0, tap, engine):.1f}",
            "usual_other": f"{_gauge('', 0.0, tap, 2400.0 if engine < 1500.0 else 800.0):.1f}",
            "percent": f"{size * 100.0:.0f}",
            "cabin": f"{_gauge(fault, size, 'cabin', engine):.1f}",
            "instruments": f"{_gauge(fault, size, 'instruments', engine):.1f}",
        },
        phrase=tap,
    )


FILTER_GAUGE = ItemModel(
    id="suction-filter-and-gauge",
    topic="suction",
    level="apply",
    kind="choice",
    draw=lambda draw: {
        "fault": "filter",
        "size": draw.pick((0.8, 0.85, 0.87, 0.9)),
        "tap": draw.pick(tuple(TAPS)),
        "engine_rpm": draw.pick((IDLE_RPM, CRUISE_RPM)),
    },
    work=_shows,
    second=lambda d: flown_gauge_inhg(d["fault"], d["size"], d["tap"], d["engine_rpm"]),
    second_way="the gauge in an engine flight with that fault",
    words=Words(
        stem="The suction gauge of an aircraft shows {tap}. With a clean filter it shows {usual} inHg "
        "{power}. Now {percent} "
        "% of the filter's area is clogged. What does the gauge show {power}, most likely?",
        reason="{phrase} Most likely: {key}.",
        feedback={
            "clogged-filter-reads-low": "Against the cabin it is {cabin} inHg, across the instruments "
            "{instruments} inHg.",
            "gauge-tap-mixed-up": "Against the cabin it is {cabin} inHg, across the instruments "
            "{instruments} inHg.",
            "filter-leaves-the-gauge-alone": "{phrase}",
            "clogged-filter-stops-all-air": "Some air still comes through. {phrase}",
        },
        phrases={
            "cabin": "This gauge reads on the pump's side of the filter, where the pump now draws "
            "against a smaller hole.",
            "instruments": "This gauge reads across the instruments, which the clogged filter starves "
            "of air.",
        },
    ),
    source=SOURCE,
    steps=3,
    form=forms.INHG,
    apart=0.4,
    agree=0.15,
)

CHECKS = {
    "gauge_idle": "the suction at idle",
    "gauge_cruise": "the suction in cruise",
    "run_down": "the time that the rotor takes to run down",
    "drift": "the drift in a quarter of an hour",
    "set": "the reading right after the heading indicator was set",
    "swing": "a new swing of the magnetic compass",
}
# What a person can tell apart; drift differs by itself from one instrument to the next.
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
    sizes = (d["one_size"], d["other_size"])
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
    return {
        "one": one,
        "other": other,
        "one_size": draw.pick(SIZES[one]),
        "other_size": draw.pick(SIZES[other]),
        "tap": draw.pick(tuple(TAPS)),
    }


def _next_second(d: Drawn) -> str:
    """The check that tells the two faults apart best in engine flights (gauge) and by closed form."""
    one, other = (
        {
            "gauge_idle": flown_gauge_inhg(d[x], d[f"{x}_size"], d["tap"], IDLE_RPM),
            "gauge_cruise": flown_gauge_inhg(d[x], d[f"{x}_size"], d["tap"], CRUISE_RPM),
            "run_down": drive(d[x], d[f"{x}_size"], CRUISE_RPM).run_down_min,
            "drift": drive(d[x], d[f"{x}_size"], CRUISE_RPM).limit_drift_deg_15min,
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
        stem="A heading indicator drifts too much. Its engineer thinks of two faults: {one}, or "
        "{other}. The gauge shows "
        "{tap}. Which of these observations tells the two apart best?",
        reason="With {one} it is about {one_value}, with {other} about {other_value}; the other "
        "observations here differ "
        "by less than can be read or relied on.",
        feedback={
            "green-gauge-good-instrument": "Look at {key}: about {one_value} with {one}, {other_value} "
            "with {other}.",
            "short-run-down-means-suction": "Look at {key}: about {one_value} with {one}, {other_value} "
            "with {other}.",
            "drift-means-suction": "Look at {key}: about {one_value} with {one}, {other_value} with {other}.",
            "setting-shows-the-fault": "Look at {key}: about {one_value} with {one}, {other_value} with "
            "{other}.",
            "swing-shows-the-gyro": "Look at {key}: about {one_value} with {one}, {other_value} with "
            "{other}.",
        },
        options=CHECKS,
    ),
    source=SOURCE,
    steps=4,
)


@cache
def _share(fault: str, size: float) -> float:
    return drive(fault, size, CRUISE_RPM).rotor_rpm / drive("", 0.0, CRUISE_RPM).rotor_rpm


def _any_fault(draw: Draw) -> dict[str, Any]:
    fault = draw.pick(("bearings", "filter", "pump"))
    return {"fault": fault, "size": draw.pick(SIZES[fault])}


CLAIMS = claims_model(
    id="suction-claims",
    topic="suction",
    level="recall",
    claims=(
        Claim(
            "gauge-good",
            "A gauge that reads the manifold against the cabin and shows 4.5 to 5.5 inHg in cruise does "
            "so even with {fault}.",
            "green-gauge-good-instrument",
            _any_fault,
            lambda d: 4.5 <= _gauge(d["fault"], d["size"], "cabin", CRUISE_RPM) <= 5.5,
            lambda d: 4.5 <= flown_gauge_inhg(d["fault"], d["size"], "cabin", CRUISE_RPM) <= 5.5,
            "In cruise it then still shows about {value} inHg, while the rotor turns at {share} % of "
            "its usual speed.",
            lambda d: {
                "fault": FAULT_NAMES[d["fault"]].replace("a weak pump or a leaking hose", "a weak pump"),
                "value": f"{_gauge(d['fault'], d['size'], 'cabin', CRUISE_RPM):.1f}",
                "share": f"{100.0 * _share(d['fault'], d['size']):.0f}",
            },
        ),
        Claim(
            "idle-low",
            "In a healthy system of this kind the suction gauge may read under {limit} inHg while the "
            "engine runs at {rpm} "
            "turns a minute.",
            "suction-same-at-idle",
            lambda draw: {"limit": draw.pick((4.5, 4.0)), "rpm": draw.pick((700.0, 800.0, 2200.0, 2400.0))},
            lambda d: _gauge("", 0.0, "cabin", d["rpm"]) < d["limit"],
            lambda d: flown_gauge_inhg("", 0.0, "cabin", d["rpm"]) < d["limit"],
            "The pump turns with the engine: at {rpm} turns a minute the model's gauge shows {value} inHg.",
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
        stem="In cruise the suction gauge of a light aeroplane shows {value} inHg. Against the range "
        "that handbooks usually "
        "give, this is:",
        reason="The usual range is 4.5 to 5.5 inHg; the aircraft's own handbook decides.",
        feedback={
            "usual-range-mixed-up": "{value} inHg against 4.5 to 5.5 inHg is {key}.",
        },
        options={"low": "too low", "normal": "in the usual range", "high": "too high"},
    ),
    source="4.5 to 5.5 inHg: FAA-H-8083-25, chapter 8 (from memory)",
    steps=1,
)

MODELS = (WHICH, FILTER_GAUGE, NEXT, CLAIMS, NORMAL)
