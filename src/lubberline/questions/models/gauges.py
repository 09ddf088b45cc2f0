"""Suction gauges to be looked at: what they read, and what they say about the air system."""

import math
from functools import cache
from typing import Any, NamedTuple

from lubberline.instruments.faults import HEALTHY
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.drive import settle_suction
from lubberline.instruments.suction.rotor import Rotor
from lubberline.questions.belief import Belief
from lubberline.questions.item import Figure
from lubberline.questions.models import (
    COMMON,
    CRUISE_RPM,
    IDLE_RPM,
    Draw,
    Drawn,
    ItemModel,
    Words,
    Worked,
    Wrong,
    drive,
    facts,
    notation,
)
from lubberline.questions.panel_figures import gauges_row, needle_inhg, suction_gauge
from lubberline.units import INHG_PA

SOURCE = "usual range 4.5 to 5.5 inHg: FAA-H-8083-25C, chapter 8"


# On a gauge in hectopascals there is a figure every 50.
HPA_FIGURE_INHG = 50.0 * 100.0 / INHG_PA


def _figure_inhg(d: Drawn) -> float:
    return HPA_FIGURE_INHG if d.get("scale") == "hPa" else 1.0


def _read(d: Drawn) -> Worked:
    size = _figure_inhg(d)
    value = d["gauge_inhg"] / size
    whole, part = math.floor(value), value - math.floor(value)
    told = {"below": size * whole, "more": size * part}
    return Worked(
        d["gauge_inhg"],
        (
            Wrong("gauge-mark-is-a-tenth", size * (whole + part / 5.0)),
            Wrong("gauge-mark-is-an-inch", size * (whole + 2.0 * part)),
            Wrong("gauge-counted-back", size * (whole + 1.0 - part)),
            Wrong("gauge-figure-above", size * (value + 1.0)),
            Wrong("gauge-figure-before", size * (value - 1.0)),
        ),
        # Unrounded where it is said in hectopascals.
        {name: f"{inhg:.{3 if 'scale' in d else 1}f} inHg" for name, inhg in told.items()},
        figure=suction_gauge(d["gauge_inhg"], arc=False),
    )


def _draw_reading(draw: Draw) -> dict[str, Any]:
    """A needle between two figures of the scale of home."""
    parts = (0.2, 0.3, 0.7, 0.8)
    if draw.home is None or draw.home.suction == "inHg":
        return {"gauge_inhg": round(draw.step(2.0, 6.0, 1.0) + draw.pick(parts), 1)}
    return {"gauge_inhg": HPA_FIGURE_INHG * (draw.step(2.0, 4.0, 1.0) + draw.pick(parts)), "scale": "hPa"}


def _read_second(d: Drawn, believed: Belief) -> float:
    (value,) = needle_inhg(suction_gauge(d["gauge_inhg"], arc=False).svg)
    size = 50.0 / 33.8639 if "scale" in d else 1.0  # Of 50 hPa, an inch of mercury being 33.8639.
    figure = believed.step("figure of the gauge", float(math.floor(value / size)))
    return size * (figure + believed.step("marks of the gauge", value / size % 1.0))


READ = ItemModel(
    id="gauge-reading",
    pictured=True,
    topic="suction",
    level="recall",
    kind="choice",
    draw=_draw_reading,
    work=_read,
    second=_read_second,
    second_way="the drawing itself: the angle of its needle",
    words=Words(
        stem="The drawing shows a suction gauge. What does it read?",
        reason="The needle has passed the figure for {below} by about {more}; the small marks are half way "
        "between the figures. It reads {key}.",
        feedback=dict.fromkeys(
            (
                *("gauge-mark-is-a-tenth", "gauge-mark-is-an-inch", "gauge-counted-back"),
                *("gauge-figure-above", "gauge-figure-before"),
            ),
            "The needle has passed the figure for {below} by about {more}: {key}.",
        ),
    ),
    source=COMMON,
    steps=1,
    notation=notation.INHG,
    apart=0.2,
    agree=0.06,
    least=3,
)

CONDITIONS = {
    "healthy": "nothing is wrong",
    "filter": "the filter is clogged",
    "pump": "the pump is weak or a hose leaks",
    "high": "the regulator is set too high",
    "regulator": "the regulator is set too low",
}
# Size of each condition and engine speed at idle; all of them read differently.
AT_IDLE_RPM = (750.0, 800.0, 850.0)
CASES: dict[str, tuple[tuple[float, float], ...]] = {
    "healthy": tuple((0.0, rpm) for rpm in AT_IDLE_RPM),
    "filter": ((0.82, 850.0), (0.84, 800.0), (0.87, 750.0), (0.87, 800.0)),
    "pump": ((0.4, 750.0), (0.4, 850.0), (0.5, 750.0), (0.5, 850.0)),
    "high": tuple((size, rpm) for size in (1.1, 1.3, 1.5) for rpm in AT_IDLE_RPM),
    "regulator": tuple((size, rpm) for size in (1.2, 1.4, 1.6) for rpm in AT_IDLE_RPM),
}
# What a student with each idea says of a system in each condition.
SAME, AT_CRUISE = "suction-same-at-idle", "weak-pump-shows-at-cruise"
PUMP, FILTER = "below-the-green-means-the-pump", "below-the-green-means-the-filter"
SAID = {
    "healthy": {SAME: "regulator", PUMP: "pump", FILTER: "filter"},
    "filter": {
        "green-at-idle-is-best": "healthy",
        "clogged-filter-reads-low": "healthy",
        SAME: "healthy",
        "high-at-idle-means-the-regulator": "high",
    },
    "pump": {AT_CRUISE: "healthy", SAME: "regulator", FILTER: "filter"},
    "high": {"high-suction-is-healthy": "healthy", PUMP: "pump", SAME: "pump", FILTER: "filter"},
    "regulator": {PUMP: "pump", FILTER: "filter", "regulator-governs-the-rotor": "healthy"},
}
CLIMB_RPM, CLIMB_M = 2600.0, 600.0


@cache
def _gauges_inhg(condition: str, size: float, idle_rpm: float = IDLE_RPM) -> tuple[float, float, float]:
    """What the gauge shows at idle, in cruise and in a climb, by the engine's air in balance."""
    system = SuctionSystem()
    if condition == "high":
        system = system._replace(regulator_setting_pa=system.regulator_setting_pa + size * INHG_PA)
    if condition in ("healthy", "high"):
        found = [
            settle_suction(rpm, altitude, system, Rotor(), HEALTHY).airflow.manifold_pa / INHG_PA
            for rpm, altitude in ((idle_rpm, 0.0), (CRUISE_RPM, 0.0), (CLIMB_RPM, CLIMB_M))
        ]
    else:
        found = [drive(condition, size, rpm).cabin_gauge_inhg for rpm in (idle_rpm, CRUISE_RPM, CLIMB_RPM)]
    idle, cruise, climb = (round(value, 1) for value in found)
    return idle, cruise, climb


def _row(d: Drawn) -> Figure:
    shown = _gauges_inhg(d["condition"], d["size"], d["idle_rpm"])
    return gauges_row(dict(zip(POWERS, shown, strict=True)))


def _condition(d: Drawn) -> Worked:
    idle, cruise, _ = _gauges_inhg(d["condition"], d["size"], d["idle_rpm"])
    return Worked(
        d["condition"],
        tuple(Wrong(idea, said) for idea, said in SAID[d["condition"]].items()),
        {"idle": f"{idle:.1f} inHg", "cruise": f"{cruise:.1f} inHg"},
        phrase=d["condition"],
        figure=_row(d),
    )


def _draw_condition(draw: Draw) -> dict[str, Any]:
    condition = draw.pick(tuple(CONDITIONS))
    size, idle_rpm = draw.pick(CASES[condition])
    return {"condition": condition, "size": size, "idle_rpm": idle_rpm}


POWERS = ("idle", "cruise", "climb")
GREEN_INHG = (4.5, 5.5)


def _expected(believed: Belief, condition: str) -> tuple[float, float]:
    """What a student expects the gauge to show at idle and in cruise."""
    fault = "" if condition in ("healthy", "high") else condition
    seen = believed.seen(fault)
    if condition != "high":
        return seen.gauge_idle_inhg, seen.gauge_cruise_inhg
    # A regulator lets the suction rise by as much as it is set higher.
    raised = seen.gauge_cruise_inhg + 1.3
    return (raised if seen.gauge_idle_inhg == seen.gauge_cruise_inhg else seen.gauge_idle_inhg), raised


def _condition_second(d: Drawn, believed: Belief) -> str:
    """The condition whose expected readings are nearest to those of the drawing."""
    idle, cruise, _ = needle_inhg(_row(d).svg)
    away = {}
    for condition in CONDITIONS:
        expected = _expected(believed, condition)
        away[condition] = math.hypot(idle - expected[0], cruise - expected[1])
    # Who sees about what a healthy system should show looks no further.
    found = "healthy" if away["healthy"] < 0.45 else min(away, key=lambda name: away[name])
    if cruise > GREEN_INHG[1]:
        found = believed.step("suction above the green", found)
    if min(idle, cruise) < GREEN_INHG[0]:
        found = believed.step("reading below the green", found)
    if idle > GREEN_INHG[0]:
        found = believed.step("reading in the green at idle", found)
    return found


CONDITION = ItemModel(
    id="gauge-which-condition",
    pictured=True,
    topic="suction",
    level="judge",
    kind="choice",
    draw=_draw_condition,
    work=_condition,
    second=_condition_second,
    second_way="the needles of the drawing, against what the model of faults expects of each condition",
    words=Words(
        stem="The suction gauge of this aeroplane is connected between manifold and cabin. The drawing shows "
        "what it reads at idle, in cruise and in a climb. What do the three readings say?",
        reason="{because}",
        feedback=dict.fromkeys(sorted({idea for said in SAID.values() for idea in said}), "{because}"),
        options=CONDITIONS,
        phrases={
            "healthy because": "At idle {idle} is as usual, because the pump then moves little air. In "
            "cruise {cruise} is in the green.",
            "healthy": "",
            "filter because": "A healthy system reads about 3.0 inHg at idle. Here it is {idle}: the filter "
            "holds back the air, and the suction behind it is high already with a slow engine.",
            "filter": "",
            "pump because": "At idle {idle} is far below the 3.0 inHg or so of a healthy system. In cruise "
            "the pump still has enough to spare for {cruise}.",
            "pump": "",
            "high because": "At power the regulator should open within the green. Here it lets the suction "
            "rise to {cruise}.",
            "high": "",
            "regulator because": "At idle {idle} is as usual. In cruise {cruise} is below the green: the "
            "regulator opens too soon.",
            "regulator": "",
        },
    ),
    source=SOURCE,
    steps=3,
    most=2,
)

ACTIONS = {
    "power": "add engine speed, then look at it again",
    "partial": "cover the air-driven gyros, use the others",
    "watch": "keep the ground in sight, watch the heading",
    "go": "go on as planned: the reading is right",
    "back": "stay on the ground until it is checked",
}


class _Scene(NamedTuple):
    """A phase of a flight, the readings drawn for it, what to do, and what other students would do."""

    words: str
    rpm: float
    flying: bool
    readings_inhg: tuple[float, ...]
    key: str
    said: dict[str, str]


TOO_FEW, TOO_MANY = "idle-reading-is-enough", "idle-reading-means-a-fault"
LOW = {
    "low-suction-comes-up-in-flight": "go",
    "low-suction-needs-power": "power",
    "low-suction-stops-the-gyros": "partial",
}
ZERO = {"zero-is-the-gauges-fault": "go", "zero-needs-power": "power"}
IN_GREEN = "more-than-green-by-power", "green-must-be-the-same-every-time"
HIGH, RUN_UP = "high-suction-is-healthy", "at the run-up, with the engine at 2000 rpm"
IDLING, NORMAL, SMALL, LARGE = (2.8, 3.0, 3.2, 3.4), (4.7, 5.0, 5.2), (2.8, 3.2, 3.5, 3.8), (6.2, 6.5, 6.8)


def _both(*actions: str) -> dict[str, str]:
    return dict(zip(IN_GREEN, actions, strict=True))


SCENES = {
    "warm-up": _Scene(
        "while the engine warms up at idle", 800.0, False, IDLING, "power", {TOO_MANY: "back", TOO_FEW: "go"}
    ),
    "glide": _Scene(
        "in a long descent at idle, in sight of the ground",
        *(800.0, True, IDLING, "power", {TOO_MANY: "watch", TOO_FEW: "go"}),
    ),
    "run-up green": _Scene(RUN_UP, 2000.0, False, NORMAL, "go", _both("power", "back")),
    "cruise green": _Scene("in cruise, in cloud", 2400.0, True, NORMAL, "go", _both("power", "watch")),
    "run-up low": _Scene(RUN_UP, 2000.0, False, SMALL, "back", LOW),
    "run-up high": _Scene(
        RUN_UP,
        2000.0,
        False,
        LARGE,
        "back",
        {HIGH: "go", "high-suction-comes-down-in-flight": "watch", "high-suction-stops-the-gyros": "partial"},
    ),
    "run-up zero": _Scene(RUN_UP, 2000.0, False, (0.0,), "back", ZERO),
    "cruise low": _Scene("in cruise, in sight of the ground", 2400.0, True, SMALL, "watch", LOW),
    "cruise high": _Scene(
        "in cruise, in sight of the ground",
        *(2400.0, True, LARGE, "watch", {HIGH: "go", "high-suction-stops-the-gyros": "partial"}),
    ),
    "cloud zero": _Scene("in cruise, in cloud", 2400.0, True, (0.0,), "partial", ZERO),
    "night zero": _Scene("in cruise on a dark night", 2400.0, True, (0.0,), "partial", ZERO),
    "climb zero": _Scene("in a climb in cloud", 2600.0, True, (0.0,), "partial", ZERO),
}


SHOULD = "At this power the needle should be in the green."
MISLEAD = "Without suction the air-driven gyros run down within minutes and mislead before they stop"
BECAUSE_OF = {
    "run-up low": "The aircraft does not take off with gyros that are slow.",
    "cruise low": "With the ground in sight the pilot can do without the gyros, which now drift more.",
    "run-up high": "The regulator has to be adjusted before the aircraft flies.",
    "cruise high": "The gyros still work but may fail, so the ground has to stay in sight.",
}
BECAUSE = {
    **dict.fromkeys(
        ("warm-up", "glide"),
        "This reading is usual at idle. With more engine speed the needle must reach the green.",
    ),
    **dict.fromkeys(("low", "high"), SHOULD),
    "green": "The needle is in the green at power: the gyros have what they need.",
    "zero": MISLEAD + ", so the pilot goes by what needs no suction.",
}


def _draw_action(draw: Draw) -> dict[str, Any]:
    """Each action is the right one equally often."""
    action = draw.pick(tuple(ACTIONS))
    scene = draw.pick([name for name, scene in SCENES.items() if scene.key == action])
    return {"scene": scene, "gauge_inhg": draw.pick(SCENES[scene].readings_inhg)}


def _action(d: Drawn) -> Worked:
    scene = SCENES[d["scene"]]
    return Worked(
        scene.key,
        tuple(Wrong(idea, said) for idea, said in scene.said.items()),
        {"scene": scene.words},
        phrase=d["scene"],
        figure=suction_gauge(d["gauge_inhg"]),
    )


def _action_second(d: Drawn, believed: Belief) -> str:
    """By the drawn needle, what the engine's gauge shows at that power, and where the aircraft is."""
    scene = SCENES[d["scene"]]
    (reading,) = needle_inhg(suction_gauge(d["gauge_inhg"]).svg)
    usual = drive("", 0.0, scene.rpm).cabin_gauge_inhg
    careful = "watch" if scene.flying else "back"
    if abs(reading) < 0.1:
        return believed.step("suction at zero", "partial" if scene.flying else "back")
    if usual < GREEN_INHG[0] and abs(reading - usual) < 0.6:
        return believed.step("reading at idle", "power", scene.flying)
    if reading > GREEN_INHG[1]:
        return {"healthy": "go"}.get(found := believed.step("suction above the green", careful), found)
    if reading < GREEN_INHG[0]:
        return believed.step("low suction at power", careful)
    return believed.step("reading in the green at power", "go", scene.flying)


ACTION = ItemModel(
    id="gauge-what-to-do",
    pictured=True,
    topic="suction",
    level="apply",
    kind="choice",
    draw=_draw_action,
    work=_action,
    second=_action_second,
    second_way="the needle of the drawing, against what the engine's gauge shows at that power",
    words=Words(
        stem="A pilot looks at the suction gauge {scene}. The gauge shows what is drawn. What is the "
        "right thing to do first?",
        reason="{because}",
        feedback=dict.fromkeys(
            sorted({idea for scene in SCENES.values() for idea in scene.said}), "{because}"
        ),
        options=ACTIONS,
        phrases={
            **dict.fromkeys(SCENES, ""),
            **{f"{scene} because": BECAUSE[scene.split()[-1]] for scene in SCENES},
            **{f"{scene} because": f"{SHOULD} {then}" for scene, then in BECAUSE_OF.items()},
            "run-up zero because": MISLEAD + ", so the aircraft stays on the ground.",
        },
    ),
    source=SOURCE,
    steps=2,
    most=2,
    tells=facts("usual suction"),
)


def _normal(d: Drawn) -> Worked:
    value = d["gauge_inhg"]
    key = "low" if value < 4.5 else "high" if value > 5.5 else "normal"
    wrong = {
        "low": (("usual-range-too-low", "normal"), ("high-and-low-exchanged", "high")),
        "normal": (("usual-range-mixed-up", "low"), ("usual-range-too-low", "high")),
        "high": (("usual-range-mixed-up", "normal"), ("high-and-low-exchanged", "low")),
    }
    believed = tuple(Wrong(*one) for one in wrong[key])
    return Worked(key, believed, {"value": f"{value:.1f}"}, figure=suction_gauge(value, arc=False))


def _normal_second(d: Drawn, believed: Belief) -> str:
    """By the distance from the middle of the range that the student takes for usual."""
    away = d["gauge_inhg"] - 0.5 * sum(believed.step("usual range", (4.5, 5.5)))
    side = "normal" if abs(away) < 0.51 else "low" if away < 0.0 else "high"
    return believed.step("side of the range", side)


USUAL = ItemModel(
    id="suction-usual-range",
    pictured=True,
    topic="suction",
    level="recall",
    kind="choice",
    draw=lambda draw: {"gauge_inhg": draw.pick((3.0, 3.5, 3.8, 4.7, 4.9, 5.0, 5.2, 5.9, 6.2, 6.5))},
    work=_normal,
    second=_normal_second,
    second_way="the distance from the middle of the range",
    words=Words(
        stem="The drawing shows the suction gauge of a light aeroplane in cruise. How does its reading "
        "compare with the range that handbooks usually give?",
        reason="The gauge reads {value} inHg; the usual range is 4.5 to 5.5 inHg.",
        feedback=dict.fromkeys(
            ("usual-range-mixed-up", "usual-range-too-low", "high-and-low-exchanged"),
            "Compared with 4.5 to 5.5 inHg, {value} inHg is {key}.",
        ),
        options={"low": "too low", "normal": "in the usual range", "high": "too high"},
    ),
    source=SOURCE,
    steps=1,
    most=2,
    asks=facts("usual suction"),
)


MODELS = (READ, CONDITION, ACTION, USUAL)
