"""Errors with a name of their own: which name belongs to which, and what causes it.

A situation in which an error is the only one is told as a person would see it, and flown by the engine,
whose ledger says which error it is.
"""

from functools import cache
from typing import Any, NamedTuple

import numpy as np

from lubberline.questions.belief import Belief
from lubberline.questions.model import Draw, Drawn, ItemModel, Words, Worked, Wrong
from lubberline.questions.second_ways import PERFECT, flown_legs, straight
from lubberline.simulation.misconceptions import VERBAL


class Term(NamedTuple):
    """An error and its name.

    Attributes:
        name: as printed.
        cause: its cause, to follow 'it comes from'.
        column: the ledger column that the engine keeps for it.
        seen: by name, situations in which it is the only error, as a person would see them.
    """

    name: str
    cause: str
    column: str
    seen: dict[str, str]


TERMS: dict[str, Term] = {
    "apparent": Term(
        "apparent wander",
        "the rotation of the Earth under a gyro that keeps its direction in space",
        "earth_deg",
        {
            "still north": "An aircraft stands still at 60° N. The reading of its perfect heading "
            "indicator falls slowly and steadily. What is this",
            "still south": "An aircraft stands still at 45° S. The reading of its perfect heading "
            "indicator rises slowly and steadily. What is this",
        },
    ),
    "transport": Term(
        "transport wander",
        "flying east or west, which turns the direction of north under the gyro",
        "travel_deg",
        {
            "fast east": "Two perfect heading indicators at 60° N drift at different rates, because one "
            "is in an aircraft that flies east and the other in an aircraft that stands still. The "
            "difference",
            "fast west": "A perfect heading indicator at 60° N drifts more slowly while the aircraft "
            "flies west than while it stands still. What is the difference",
        },
    ),
    "real": Term(
        "real wander",
        "friction and imbalance in the gyro itself",
        "friction_deg",
        {
            "worn": "An aircraft stands still on the equator. The reading of its heading indicator, which "
            "has poor bearings, rises by 3° in a quarter of an hour. What is this",
            "worn down": "An aircraft stands still on the equator. The reading of its heading "
            "indicator, whose gyro is out of balance, falls by 4° in a quarter of an hour. What is this",
        },
    ),
    "gimballing": Term(
        "gimballing error",
        "the geometry of two gimbals in a bank, climb or dive",
        "geometry_deg",
        {
            "bank 45": "In a turn with 45° of bank a heading indicator is wrong by up to 10°. With the wings "
            "level it is right again. What is this error",
            "bank 30": "In a turn with 30° of bank a heading indicator is wrong by up to 4°, first to one "
            "side and then to the other. With the wings level it is right again. What is this error",
        },
    ),
    "deviation": Term(
        "deviation",
        "the aircraft's own magnetism",
        "deviation_deg",
        {
            "iron": "In straight, steady flight the compass is wrong by 6° on one heading, and by other "
            "amounts on other headings, because of iron and electric currents in the aircraft. What is this "
            "error",
            "iron west": "In straight, steady flight the compass is wrong by 5° because of a loudspeaker "
            "next to it. What is this error",
        },
    ),
    "turning": Term(
        "turning error",
        "the dip of the field, acting on a card that is tilted in a turn",
        "turning_deg",
        {
            "turn north": "As an aircraft turns through north at rate one, its compass lags far behind. It "
            "is right again some time after the turn. What is this error",
            "turn left": "As an aircraft turns left through north with 12° of bank, its compass lags far "
            "behind. It is right again some time after the turn. What is this error",
        },
    ),
    "acceleration": Term(
        "acceleration error",
        "the dip of the field, acting on a card that is tilted while the speed changes",
        "acceleration_deg",
        {
            "speed up": "On a steady heading of east the compass swings towards north while the aircraft "
            "speeds up. At a steady speed it is right again. What is this error",
            "slow down": "On a steady heading of east the compass swings towards south while the aircraft "
            "slows down. At a steady speed it is right again. What is this error",
        },
    ),
}
# What is seen instead in the southern hemisphere, by the scene in the northern one.
SOUTH = {
    "still north": "still south",
    "fast east": "fast east in the south",
    "fast west": "fast west in the south",
    "turn north": "turn south in the south",
    "turn left": "turn left in the south",
    "speed up": "speed up in the south",
    "slow down": "slow down in the south",
}
SEEN_SOUTH = {
    "fast east in the south": TERMS["transport"].seen["fast east"].replace("60° N", "60° S"),
    "fast west in the south": TERMS["transport"].seen["fast west"].replace("60° N", "60° S"),
    "turn south in the south": TERMS["turning"].seen["turn north"].replace("north", "south"),
    "turn left in the south": TERMS["turning"].seen["turn left"].replace("north", "south"),
    "speed up in the south": TERMS["acceleration"].seen["speed up"].replace("north", "south"),
    "slow down in the south": TERMS["acceleration"].seen["slow down"].replace("south", "north"),
}
SCENES_ANYWHERE = tuple(scene for term in TERMS.values() for scene in term.seen)
BY_SCENE = {scene: key for key, term in TERMS.items() for scene in term.seen}
BY_SCENE |= {south: BY_SCENE[north] for north, south in SOUTH.items()}


STANDING = 'kind = "wait"; minutes = 15; engine_rpm = 2400'
WORN = PERFECT + "real_wander_deg_15min = {}\n"
IRON = PERFECT + "[compass]\ndeviation_b_deg = {}\n"
# Latitude, heading, speed, legs, aircraft of each scene.
SCENES: dict[str, tuple[float, float, float, tuple[str, ...], str]] = {
    "still north": (60.0, 0.0, 0.0, (STANDING,), PERFECT),
    "still south": (-45.0, 0.0, 0.0, (STANDING,), PERFECT),
    "fast east": (60.0, 90.0, 180.0, (straight(15),), PERFECT),
    "fast west": (60.0, 270.0, 180.0, (straight(15),), PERFECT),
    "worn": (0.0, 0.0, 0.0, (STANDING,), WORN.format(3.0)),
    "worn down": (0.0, 0.0, 0.0, (STANDING,), WORN.format(-4.0)),
    "bank 45": (0.0, 45.0, 120.0, ('kind = "turn"; by_deg = 360; bank_deg = 45',), PERFECT),
    "bank 30": (0.0, 45.0, 120.0, ('kind = "turn"; by_deg = 360; bank_deg = 30',), PERFECT),
    "iron": (50.0, 90.0, 100.0, (straight(2),), IRON.format(6.0)),
    "iron west": (50.0, 90.0, 100.0, (straight(2),), IRON.format(-5.0)),
    "turn north": (50.0, 320.0, 100.0, ('kind = "turn"; by_deg = 80; rate_deg_s = 3',), PERFECT),
    "turn left": (50.0, 40.0, 100.0, ('kind = "turn"; by_deg = -80; bank_deg = 12',), PERFECT),
    "speed up": (50.0, 90.0, 80.0, ('kind = "accelerate"; to_kt = 140; at_g = 0.1',), PERFECT),
    "slow down": (50.0, 90.0, 140.0, ('kind = "accelerate"; to_kt = 80; at_g = 0.1',), PERFECT),
}
SCENES |= {
    "fast east in the south": (-60.0, 90.0, 180.0, (straight(15),), PERFECT),
    "fast west in the south": (-60.0, 270.0, 180.0, (straight(15),), PERFECT),
    "still at 60 south": (-60.0, 0.0, 0.0, (STANDING,), PERFECT),
    "turn south in the south": (-50.0, 140.0, *SCENES["turn north"][2:]),
    "turn left in the south": (-50.0, 220.0, *SCENES["turn left"][2:]),
    "speed up in the south": (-50.0, *SCENES["speed up"][1:]),
    "slow down in the south": (-50.0, *SCENES["slow down"][1:]),
}
COMPASS_SCENES = ("deviation", "turning", "acceleration")
# Scenes that are compared with standing still at the same place.
DIFFERENCES = {
    "fast east": "still north",
    "fast west": "still north",
    "fast east in the south": "still at 60 south",
    "fast west in the south": "still at 60 south",
}


def _spans(scene: str) -> dict[str, float]:
    latitude, heading, speed, legs, aircraft = SCENES[scene]
    flown = flown_legs(latitude, heading, speed, legs, aircraft)
    ledger = flown.compass_ledger if BY_SCENE.get(scene) in COMPASS_SCENES else flown.ledger
    columns = {name: ledger[name] for name in ledger if name not in ("time_s", "total_deg", "lag_deg")}
    return {name: float(np.abs(values).max()) for name, values in columns.items()}


@cache
def term_by_ledger(scene: str) -> str:
    """The term whose ledger column is largest in a flight of this scene."""
    spans = _spans(scene)
    if scene in DIFFERENCES:
        still = _spans(DIFFERENCES[scene])
        spans = {name: abs(span - still[name]) for name, span in spans.items()}
    largest = max(spans, key=lambda name: spans[name])
    return next((key for key, term in TERMS.items() if term.column == largest), largest)


SOURCE = "FAA-H-8083-25C, chapter 8; FAA-H-8083-15B, chapter 5; AFPAM 11-216 (2001), section 14.18"
LEDGERS = "an engine flight with this cause alone: the column of its ledgers that changes"


# The quantity that each of these terms means.
QUANTITY_OF = {
    "apparent": "apparent-wander",
    "transport": "transport-wander",
    "real": "real-wander",
    "gimballing": "gimballing-error",
    "deviation": "deviation",
    "turning": "turning-error",
    "acceleration": "acceleration-error",
}
TERM_OF = {quantity: term for term, quantity in QUANTITY_OF.items()}
MIXED_UP = "name-of-another-error"
# The idea of a student who gives a name (first) to an error with another cause (second).
IDEAS = {
    (TERM_OF[idea.term], TERM_OF[idea.taken_for]): idea.id
    for idea in VERBAL
    if idea.term in TERM_OF and idea.taken_for in TERM_OF
}
IDEA_NAMES = (MIXED_UP, *IDEAS.values())


def _idea(name: str, cause: str) -> str:
    return IDEAS.get((name, cause), MIXED_UP)


def _named(d: Drawn) -> Worked:
    key = BY_SCENE[d["scene"]]
    return Worked(
        key,
        tuple(Wrong(_idea(other, key), other) for other in TERMS if other != key),
        {"cause": TERMS[key].cause},
        phrase=d["scene"],
    )


def _draw_scene(draw: Draw) -> dict[str, Any]:
    scene = draw.pick(SCENES_ANYWHERE)
    return {"scene": SOUTH.get(scene, scene) if draw.half() else scene}


NAME = ItemModel(
    id="terms-name-the-error",
    topic="terms",
    level="recall",
    kind="choice",
    draw=_draw_scene,
    work=_named,
    second=lambda d, believed: TERM_OF[believed.named(QUANTITY_OF[term_by_ledger(d["scene"])])],
    second_way=LEDGERS,
    words=Words(
        stem="{phrase} called?",
        reason="The error comes from {cause}, so it is {key}.",
        feedback=dict.fromkeys(IDEA_NAMES, "This error comes from {cause}, so it is {key}, not {this}."),
        options={key: term.name for key, term in TERMS.items()},
        phrases={scene: text for term in TERMS.values() for scene, text in term.seen.items()} | SEEN_SOUTH,
    ),
    source=SOURCE,
    steps=1,
    most=2,
    asks=lambda d: (f"term {QUANTITY_OF[BY_SCENE[d['scene']]]}",),
)


def _caused(d: Drawn) -> Worked:
    key = d["term"]
    return Worked(
        key,
        tuple(Wrong(_idea(key, other), other) for other in TERMS if other != key),
        {"name": TERMS[key].name},
    )


def _draw_term(draw: Draw) -> dict[str, Any]:
    return {"term": draw.pick(tuple(TERMS))}


def _by_first_scene(term: str) -> str:
    return term_by_ledger(next(iter(TERMS[term].seen)))


CAUSE = ItemModel(
    id="terms-what-causes-it",
    topic="terms",
    level="recall",
    kind="choice",
    draw=_draw_term,
    work=_caused,
    second=lambda d, believed: _by_first_scene(TERM_OF[believed.means(QUANTITY_OF[d["term"]])]),
    second_way=LEDGERS,
    words=Words(
        stem="What causes {name}?",
        reason="The cause of {name} is {key}.",
        feedback=dict.fromkeys(IDEA_NAMES, "The cause of {name} is {key}."),
        options={key: term.cause for key, term in TERMS.items()},
    ),
    source=SOURCE,
    steps=1,
    most=2,
    asks=lambda d: (f"term {QUANTITY_OF[d['term']]}",),
)


def _instrument(d: Drawn) -> Worked:
    key = "compass" if d["term"] in COMPASS_SCENES else "gyro"
    other = "gyro" if key == "compass" else "compass"
    return Worked(
        key,
        (Wrong("errors-of-the-other-instrument", other), Wrong("error-of-both-instruments", "both")),
        {
            "name": TERMS[d["term"]].name,
            "Name": TERMS[d["term"]].name.capitalize(),
            "cause": TERMS[d["term"]].cause,
        },
    )


@cache
def _moves_which(term: str) -> str:
    """Which of the two instruments is wrong in the flight of the term's first scene."""
    latitude, heading, speed, legs, aircraft = SCENES[next(iter(TERMS[term].seen))]
    flown = flown_legs(latitude, heading, speed, legs, aircraft)
    column = TERMS[term].column
    return "gyro" if column in flown.ledger and np.ptp(flown.ledger[column]) > 1.0 else "compass"


def _instrument_second(d: Drawn, believed: Belief) -> str:
    found = _moves_which(d["term"])
    found = believed.step("instrument", found, "gyro" if found == "compass" else "compass")
    return believed.step("instruments with an error", found)


INSTRUMENT = ItemModel(
    id="terms-which-instrument",
    topic="terms",
    level="recall",
    kind="choice",
    draw=_draw_term,
    work=_instrument,
    second=_instrument_second,
    second_way=LEDGERS,
    words=Words(
        stem="Which instrument has {name}: the heading indicator (a free gyro) or the magnetic compass?",
        reason="{Name} comes from {cause}, so it is an error of {key}.",
        feedback=dict.fromkeys(
            ("errors-of-the-other-instrument", "error-of-both-instruments"),
            "{Name} comes from {cause}, so it is an error of {key}.",
        ),
        options={"gyro": "the heading indicator", "compass": "the magnetic compass", "both": "both of them"},
    ),
    source=SOURCE,
    steps=1,
    least=1,
    most=1,
    unoffered=("error-of-both-instruments",),
    asks=lambda d: (f"term {QUANTITY_OF[d['term']]}",),
)


MODELS = (NAME, CAUSE, INSTRUMENT)
