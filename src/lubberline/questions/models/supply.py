"""What the instruments of a drawn panel run on, what is left when a part fails, and the venturi."""

import math
from itertools import combinations
from typing import Any

from lubberline.questions.belief import Belief
from lubberline.questions.models import (
    Draw,
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    notation,
    statements_model,
)
from lubberline.questions.panel_figures import plumbing_figure
from lubberline.simulation.supply import (
    BUS,
    COMPASS,
    GYROS,
    INSTRUMENTS,
    SUCTION,
    TRUE_SUPPLY,
    Plumbing,
    SupplyLaws,
    running,
    venturi_inhg,
)
from lubberline.units import INHG_PA, KT_MPS

SOURCE = "suction or electricity for each gyro: FAA-H-8083-25C, chapter 8"
NAMES = {
    "attitude": "the attitude indicator",
    "heading": "the heading indicator",
    "turn": "the turn indicator",
    "compass": "the compass",
}
PANELS = tuple(
    dict(zip(GYROS, drives, strict=True))
    for drives in (
        (SUCTION, SUCTION, BUS),
        (SUCTION, BUS, BUS),
        (SUCTION, BUS, SUCTION),
        (BUS, SUCTION, SUCTION),
        (SUCTION, SUCTION, SUCTION),
        (BUS, SUCTION, BUS),
    )
)
IDEAS = (
    *("gyros-run-on-suction", "gyros-run-on-the-bus", "heading-indicator-always-on-suction"),
    *("suction-pump-is-electric", "dead-bus-dead-panel"),
    *("each-pump-has-its-own-instruments", "suction-needs-both-pumps"),
)


def _plumbing(d: Drawn) -> Plumbing:
    return Plumbing(dict(zip(GYROS, d["drives"].split("+"), strict=True)), int(d["pumps"]))


def _draw_failure(draw: Draw) -> dict[str, Any]:
    """Suction, one of two pumps and the bus fail equally often."""
    failed = draw.pick(("pump 1", "pump 2", BUS))
    pumps = 2 if failed == "pump 2" or (failed == BUS and draw.pick((True, False))) else 1
    if failed == "pump 2":
        failed = draw.pick(("pump 1", "pump 2"))
    return {"drives": "+".join(draw.pick(PANELS).values()), "pumps": float(pumps), "failed": failed}


def _lost(d: Drawn, idea: str = "") -> set[str]:
    """What loses its drive, by sets: the truth, or what a student with an idea says."""
    plumbing, failed = _plumbing(d), d["failed"]
    sucked, wired = set(plumbing.on(SUCTION)), set(plumbing.on(BUS))
    if idea in ("gyros-run-on-suction", "gyros-run-on-the-bus"):
        sucked, wired = (set(GYROS), set()) if idea == "gyros-run-on-suction" else (set(), set(GYROS))
    elif idea == "heading-indicator-always-on-suction":
        sucked, wired = sucked | {"heading"}, wired - {"heading"}
    if failed == BUS:
        if idea == "dead-bus-dead-panel":
            return set(INSTRUMENTS)
        return wired | sucked if idea == "suction-pump-is-electric" else wired
    if plumbing.pumps == 1 or idea == "suction-needs-both-pumps":
        return sucked
    if idea == "each-pump-has-its-own-instruments":
        in_order = [gyro for gyro in GYROS if gyro in sucked]
        half = (len(in_order) + 1) // 2
        return set(in_order[:half] if failed == "pump 1" else in_order[half:])
    return set()


def _code(names: set[str] | frozenset[str]) -> str:
    return "+".join(name for name in INSTRUMENTS if name in names) or "none"


def _listed(names: tuple[str, ...]) -> str:
    words = [NAMES[name] for name in names]
    if len(names) == len(INSTRUMENTS):
        return "the gyros and the compass"
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


OPTIONS = dict(
    sorted(
        {
            "none": "no instrument",
            **{_code(set(n)): _listed(n) for size in (1, 2, 3) for n in combinations(GYROS, size)},
            _code(set(INSTRUMENTS)): _listed(INSTRUMENTS),
        }.items(),
        key=lambda entry: entry[1],
    )
)
PART = {"pump 1": "the pump", "pump 2": "the pump", BUS: "the electrical bus"}


def _stops(d: Drawn) -> Worked:
    plumbing = _plumbing(d)
    return Worked(
        _code(_lost(d)),
        tuple(Wrong(idea, _code(_lost(d, idea))) for idea in IDEAS),
        _facts(d),
        phrase=_case(d),
        figure=plumbing_figure(plumbing, d["failed"]),
    )


def _case(d: Drawn) -> str:
    return "bus" if d["failed"] == BUS else "two" if d["pumps"] == 2.0 else "one"


def _facts(d: Drawn) -> dict[str, str]:
    plumbing = _plumbing(d)
    wired, sucked = plumbing.on(BUS), plumbing.on(SUCTION)
    return {
        "wired": _listed(wired) if wired else "none of them",
        "sucked": _listed(sucked) if sucked else "none of them",
    }


def _left(d: Drawn, believed: Belief) -> frozenset[str]:
    return running(_plumbing(d), d["failed"], believed.supply)


def _stops_second(d: Drawn, believed: Belief) -> str:
    return _code(set(INSTRUMENTS) - _left(d, believed))


PHRASES = {
    "one": "",
    "two": "",
    "bus": "",
    "one because": "Without the pump no air is drawn through what the pipes lead to: {sucked}.",
    "two because": "The crossed pump is one of two on the manifold, so no instrument loses its drive.",
    "bus because": "The bus feeds only what its wires lead to: {wired}. The engine drives the pump, and a "
    "compass needs no drive.",
}
LEGEND = (
    "The drawing shows what the instruments of an aeroplane run on: suction pipes as solid lines, electrical "
    "wires as broken lines; 'reg.' is the regulator. "
)
STOPS = ItemModel(
    id="supply-what-stops",
    pictured=True,
    topic="suction",
    level="apply",
    kind="choice",
    draw=_draw_failure,
    work=_stops,
    second=_stops_second,
    second_way="the parts that each instrument needs, followed from the failed one",
    words=Words(
        stem=LEGEND + "The crossed part has just failed; the engine and everything else work. Which of the "
        "drawn instruments lose what drives them?",
        reason="{because}",
        feedback=dict.fromkeys(IDEAS, "{because}"),
        options=OPTIONS,
        phrases=PHRASES,
    ),
    source=SOURCE,
    steps=2,
    least=1,
    most=1,
    unoffered=("dead-bus-dead-panel", _code(set(GYROS))),
)


def _draw_claim(draw: Draw) -> dict[str, Any]:
    """An instrument that loses its drive as often as one that keeps it, if there is one."""
    drawn = _draw_failure(draw)
    lost = _lost(drawn)
    asked = [name for name in INSTRUMENTS if (name in lost) == draw.pick((True, False))] or list(GYROS)
    return {**drawn, "asked": draw.pick(asked)}


def _stays(d: Drawn) -> Worked:
    kept = d["asked"] not in _lost(d)
    others = [idea for idea in IDEAS if (d["asked"] in _lost(d, idea)) == kept]
    return Worked(
        _true(kept),
        tuple(Wrong(idea, _true(not kept)) for idea in others),
        {**_facts(d), "asked": NAMES[d["asked"]]},
        phrase="compass" if d["asked"] == COMPASS else _case(d),
        figure=plumbing_figure(_plumbing(d), d["failed"]),
    )


def _true(holds: bool) -> str:
    return "true" if holds else "false"


STAYS = ItemModel(
    id="supply-what-stays",
    pictured=True,
    topic="suction",
    level="recall",
    kind="statement",
    draw=_draw_claim,
    work=_stays,
    second=lambda d, believed: _true(d["asked"] in _left(d, believed)),
    second_way="the parts that each instrument needs, followed from the failed one",
    words=Words(
        stem=LEGEND + "The crossed part failed half an hour ago; the engine and everything else work. "
        "True or false? What {asked} shows can still be used.",
        reason="{because}",
        feedback=dict.fromkeys(IDEAS, "{because}"),
        options={"true": "True", "false": "False"},
        phrases={
            **PHRASES,
            "compass": "",
            "compass because": "The Earth's field turns the card of the compass; no suction or current does.",
        },
    ),
    source=SOURCE,
    steps=2,
    least=1,
    most=1,
)


VENTURI_SOURCE = "venturi and pump: FAA-H-8083-15B, Instrument Flying Handbook, chapter 5"
LAWS = ("venturi-in-proportion", "venturi-from-its-rated-speed", "venturi-by-the-engine")
DENSITY_KG_M3 = 1.225


def _by_the_throat_inhg(rated_inhg: float, rated_kt: float, airspeed_kt: float, laws: SupplyLaws) -> float:
    """The drop from the air's speed in the throat, as narrow as the rated drop makes it."""
    if laws.venturi_by_engine:
        airspeed_kt = rated_kt
    if laws.venturi_from_rated and airspeed_kt < rated_kt:
        return 0.0
    felt_kt = rated_kt * math.exp(0.5 * laws.venturi_power * math.log(airspeed_kt / rated_kt))
    rated_mps, felt_mps = rated_kt * KT_MPS, felt_kt * KT_MPS
    throat_mps = math.sqrt(rated_mps**2 + 2.0 * rated_inhg * INHG_PA / DENSITY_KG_M3)
    now_mps = throat_mps / rated_mps * felt_mps
    return 0.5 * DENSITY_KG_M3 * (now_mps**2 - felt_mps**2) / INHG_PA


def _speed(d: Drawn) -> Worked:
    rated, at, now = d["rated_inhg"], d["rated_kt"], d["airspeed_kt"]
    share = now / at
    return Worked(
        rated * share * share,
        (
            Wrong("venturi-in-proportion", rated * share),
            Wrong("venturi-from-its-rated-speed", 0.0 if share < 1.0 else rated * share * share),
            Wrong("venturi-by-the-engine", rated),
        ),
        {
            "rated": notation.INHG.written(rated),
            "at": f"{at:.0f} kt",
            "now": f"{now:.0f} kt",
            "share": f"{share:.2f}",
        },
    )


SPEED = ItemModel(
    id="venturi-at-speed",
    topic="suction",
    level="apply",
    kind="number",
    draw=lambda draw: {
        "rated_inhg": draw.pick((4.0, 4.5, 5.0)),
        "rated_kt": draw.pick((90.0, 100.0, 110.0)),
        "airspeed_kt": draw.pick((50.0, 55.0, 60.0, 65.0, 70.0, 120.0, 125.0)),
    },
    work=_speed,
    second=lambda d, believed: _by_the_throat_inhg(
        d["rated_inhg"], d["rated_kt"], d["airspeed_kt"], believed.supply
    ),
    second_way="the air's speed in the throat, and Bernoulli's theorem",
    words=Words(
        stem="The gyros of an aeroplane are driven by a venturi outside its fuselage. At an indicated "
        "airspeed of {at} it gives {rated}; there is no regulator. How much suction does it give at {now}, "
        "in inches of mercury?",
        reason="The suction of a venturi varies with the square of the airspeed. The speed is {share} times "
        "that at which it gives {rated}, so the suction is {key}.",
        feedback={
            "venturi-in-proportion": "With {share} times the speed it is {key}.",
            "venturi-from-its-rated-speed": "At {now} it still gives {key}.",
            "venturi-by-the-engine": "At {now} it gives {key}.",
        },
    ),
    source=VENTURI_SOURCE,
    steps=2,
    notation=notation.INHG,
    apart=0.4,
    agree=0.06,
    tolerance=0.15,
)


def _enough(d: Drawn, laws: SupplyLaws) -> bool:
    return bool(_by_the_throat_inhg(4.5, 100.0, d["airspeed_kt"], laws) >= d["needed_inhg"])


def _speed_facts(d: Drawn) -> dict[str, str]:
    shown = venturi_inhg(4.5, 100.0, d["airspeed_kt"])
    return {
        "speed": f"{d['airspeed_kt']:.0f} kt",
        "needed": notation.INHG.written(d["needed_inhg"]),
        "shown": notation.INHG.written(shown),
        "share": f"{d['airspeed_kt'] / 100.0:.2f}",
    }


def _ices(d: Drawn, laws: SupplyLaws = TRUE_SUPPLY) -> bool:
    if d["part"] == "venturi":
        return not laws.venturi_never_ices
    return bool(laws.ice_stops_pumps)


def _draw_speed(*speeds_kt: float) -> Any:
    return lambda draw: {"airspeed_kt": draw.pick(speeds_kt), "needed_inhg": draw.pick((2.0, 3.0, 4.0))}


def _claim(name: str, text: str, draw: Any, *, enough: bool = True) -> Statement:
    return Statement(
        name,
        text,
        LAWS,
        draw,
        lambda d: (venturi_inhg(4.5, 100.0, d["airspeed_kt"]) >= d["needed_inhg"]) is enough,
        lambda d, believed: _enough(d, believed.supply) is enough,
        "{speed} is {share} of 100 kt, so the venturi gives {share}² × 4.5 = {shown}.",
        _speed_facts,
    )


RATED = "A venturi gives 4.5 inHg at 100 kt of indicated airspeed. "
PARTS = {"venturi": "a venturi outside the fuselage", "pump": "a pump on the engine that draws cabin air"}
ICED = {
    "venturi": "Ice that closes the venturi stops the flow of air through the gyros.",
    "pump": "The pump draws cabin air, so ice on the outside leaves its suction as it was.",
}
CLAIMS = statements_model(
    id="venturi-claims",
    topic="suction",
    level="recall",
    claims=(
        _claim(
            "climb",
            RATED + "In a climb at {speed} with full power it gives {needed} or more.",
            _draw_speed(60.0, 65.0, 70.0, 75.0, 85.0),
        ),
        _claim(
            "glide",
            RATED + "In a glide at {speed} with the engine stopped it gives {needed} or more.",
            _draw_speed(65.0, 75.0, 85.0, 90.0, 95.0),
        ),
        _claim(
            "ground",
            RATED + "In a taxi run at {speed} with the engine at 2000 rpm it gives less than {needed}.",
            _draw_speed(10.0, 15.0, 20.0),
            enough=False,
        ),
        Statement(
            "ice",
            "The gyros of an aeroplane are driven by {part}. In icing conditions ice on the outside of the "
            "aeroplane can take their suction away.",
            ("venturi-cannot-ice", "ice-outside-stops-the-pump"),
            lambda draw: {"part": draw.pick(tuple(PARTS))},
            lambda d: d["part"] == "venturi",
            lambda d, believed: _ices(d, believed.supply),
            "{iced}",
            lambda d: {"part": PARTS[d["part"]], "iced": ICED[d["part"]]},
        ),
    ),
    source=VENTURI_SOURCE,
    second_way="the air's speed in the throat, and Bernoulli's theorem",
    steps=2,
)


MODELS = (STOPS, STAYS, SPEED, CLAIMS)
