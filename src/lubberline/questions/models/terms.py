"""Words of the trade: which name belongs to which error, decided by what the engine's ledgers do."""

from __future__ import annotations

from functools import cache
from typing import Any, NamedTuple

import numpy as np

from lubberline.questions.draws import Draw
from lubberline.questions.model import Drawn, ItemModel, Words, Worked, Wrong
from lubberline.questions.second_ways import PERFECT, flown_legs

SOURCE = "names as in FAA-H-8083-25, chapter 8, FAA-H-8083-15B, chapter 5, and texts on gyroscopic theory"
LEDGERS = "an engine flight in which only this is at work: the column of its ledgers that moves"


class Term(NamedTuple):
    """A name and what it is the name of.

    Attributes:
        name: as printed.
        cause: what makes it, to follow 'it comes from'.
        column: the ledger column that the engine keeps for it.
        seen: situations in which it alone is at work, each by name: what a person would see.
    """

    name: str
    cause: str
    column: str
    seen: dict[str, str]


TERMS: dict[str, Term] = {
    "apparent": Term(
        "apparent wander",
        "the turning of the Earth under a gyro that keeps its direction in space",
        "earth_deg",
        {
            "still north": "An aircraft stands still at 60° N. The reading of its perfect heading "
            "indicator falls slowly and evenly. This",
            "still south": "An aircraft stands still at 45° S. The reading of its perfect heading "
            "indicator rises slowly and evenly. This",
        },
    ),
    "transport": Term(
        "transport wander",
        "the journey east or west, over which the direction of north turns",
        "travel_deg",
        {
            "fast east": "Two perfect heading indicators, at the same latitude of 60° N, drift at "
            "different rates, because one of them flies east and the other stands still. The difference "
            "between them",
            "fast west": "A perfect heading indicator at 60° N drifts less while it flies west than while "
            "it stands still. The difference",
        },
    ),
    "real": Term(
        "real wander",
        "friction and unbalance in the gyro itself",
        "friction_deg",
        {
            "worn": "On the equator, standing still, the reading of a heading indicator with poor bearings "
            "rises by 3° in a quarter of an hour. This",
            "worn down": "On the equator, standing still, the reading of a heading indicator with an "
            "unbalanced gyro falls by 4° in a quarter of an hour. This",
        },
    ),
    "gimballing": Term(
        "gimballing error",
        "the geometry of two gimbals in a bank or pitch",
        "geometry_deg",
        {
            "bank 45": "In a turn with 45° of bank a heading indicator is up to 10° wrong, and it is right "
            "again with the wings level. This",
            "bank 30": "In a turn with 30° of bank a heading indicator is up to 4° wrong, to both sides in "
            "turn, and it is right again with the wings level. This",
        },
    ),
    "deviation": Term(
        "deviation",
        "the aircraft's own magnetism",
        "deviation_deg",
        {
            "iron": "In straight and steady flight the compass is wrong by 6° on one heading, and would be "
            "by another amount on other headings, because of iron and currents in the aircraft. This",
            "iron west": "In straight and steady flight the compass is wrong by 5° because of a "
            "loudspeaker next to it. This",
        },
    ),
    "turning": Term(
        "turning error",
        "the dip of the field, on a card that is tilted in a turn",
        "turning_deg",
        {
            "turn north": "As an aircraft turns through north at rate one, its compass lags far behind, "
            "and comes right some time after the turn. This",
            "turn left": "As an aircraft turns left through north with 12° of bank, its compass lags far "
            "behind, and comes right some time after the turn. This",
        },
    ),
    "acceleration": Term(
        "acceleration error",
        "the dip of the field, on a card that is tilted while the speed changes",
        "acceleration_deg",
        {
            "speed up": "On a steady heading of east the compass swings towards north while the aircraft "
            "speeds up, and comes right at a steady speed. This",
            "slow down": "On a steady heading of east the compass swings towards south while the aircraft "
            "slows down, and comes right at a steady speed. This",
        },
    ),
}
BY_SCENE = {scene: key for key, term in TERMS.items() for scene in term.seen}


def _straight(minutes: float) -> str:
    return f'kind = "straight"; minutes = {minutes}'


STANDING = 'kind = "wait"; minutes = 15; engine_rpm = 2400'
WORN = PERFECT + "real_wander_deg_15min = {}\n"
IRON = PERFECT + "[compass]\ndeviation_b_deg = {}\n"
# Latitude, heading, speed, legs, aircraft of each scene.
SCENES: dict[str, tuple[float, float, float, tuple[str, ...], str]] = {
    "still north": (60.0, 0.0, 0.0, (STANDING,), PERFECT),
    "still south": (-45.0, 0.0, 0.0, (STANDING,), PERFECT),
    "fast east": (60.0, 90.0, 180.0, (_straight(15),), PERFECT),
    "fast west": (60.0, 270.0, 180.0, (_straight(15),), PERFECT),
    "worn": (0.0, 0.0, 0.0, (STANDING,), WORN.format(3.0)),
    "worn down": (0.0, 0.0, 0.0, (STANDING,), WORN.format(-4.0)),
    "bank 45": (0.0, 45.0, 120.0, ('kind = "turn"; by_deg = 360; bank_deg = 45',), PERFECT),
    "bank 30": (0.0, 45.0, 120.0, ('kind = "turn"; by_deg = 360; bank_deg = 30',), PERFECT),
    "iron": (50.0, 90.0, 100.0, (_straight(2),), IRON.format(6.0)),
    "iron west": (50.0, 90.0, 100.0, (_straight(2),), IRON.format(-5.0)),
    "turn north": (50.0, 320.0, 100.0, ('kind = "turn"; by_deg = 80; rate_deg_s = 3',), PERFECT),
    "turn left": (50.0, 40.0, 100.0, ('kind = "turn"; by_deg = -80; bank_deg = 12',), PERFECT),
    "speed up": (50.0, 90.0, 80.0, ('kind = "accelerate"; to_kt = 140; at_g = 0.1',), PERFECT),
    "slow down": (50.0, 90.0, 140.0, ('kind = "accelerate"; to_kt = 80; at_g = 0.1',), PERFECT),
}
COMPASS_SCENES = ("deviation", "turning", "acceleration")
# Against standing still at the same place, for what is told as a difference.
DIFFERENCES = {"fast east": "still north", "fast west": "still north"}


def _spans(scene: str) -> dict[str, float]:
    latitude, heading, speed, legs, aircraft = SCENES[scene]
    flown = flown_legs(latitude, heading, speed, legs, aircraft)
    ledger = flown.compass_ledger if BY_SCENE[scene] in COMPASS_SCENES else flown.ledger
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


MIXED_UP = "name-of-another-error"
# What somebody believes who gives a name (first) to what comes from another cause (second).
IDEAS = {
    ("apparent", "real"): "apparent-wander-is-friction",
    ("transport", "apparent"): "transport-wander-is-the-earth",
    ("real", "transport"): "real-wander-is-the-journey",
    ("gimballing", "real"): "gimballing-error-is-friction",
    ("turning", "gimballing"): "turning-error-is-the-cards",
}
IDEA_NAMES = (MIXED_UP, *IDEAS.values())


def _idea(name: str, cause: str) -> str:
    return IDEAS.get((name, cause), MIXED_UP)


def _draw_scene(draw: Draw) -> dict[str, Any]:
    return {"scene": draw.pick(tuple(BY_SCENE))}


def _named(d: Drawn) -> Worked:
    key = BY_SCENE[d["scene"]]
    return Worked(
        key,
        tuple(Wrong(_idea(other, key), other) for other in TERMS if other != key),
        {"cause": TERMS[key].cause},
        phrase=d["scene"],
    )


NAME = ItemModel(
    id="terms-name-the-error",
    topic="terms",
    level="recall",
    kind="choice",
    draw=_draw_scene,
    work=_named,
    second=lambda d: term_by_ledger(d["scene"]),
    second_way=LEDGERS,
    words=Words(
        stem="{phrase} is called:",
        reason="It comes from {cause}: {key}.",
        feedback=dict.fromkeys(IDEA_NAMES, "This comes from {cause}; it is {key}, not {this}."),
        options={key: term.name for key, term in TERMS.items()},
        phrases={scene: text for term in TERMS.values() for scene, text in term.seen.items()},
    ),
    source=SOURCE,
    steps=1,
    least=3,
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


CAUSE = ItemModel(
    id="terms-what-causes-it",
    topic="terms",
    level="recall",
    kind="choice",
    draw=_draw_term,
    work=_caused,
    second=lambda d: term_by_ledger(next(iter(TERMS[d["term"]].seen))),
    second_way=LEDGERS,
    words=Words(
        stem="What causes {name}?",
        reason="It comes from {key}.",
        feedback=dict.fromkeys(IDEA_NAMES, "The cause of {name} is {key}."),
        options={key: term.cause for key, term in TERMS.items()},
    ),
    source=SOURCE,
    steps=1,
    least=3,
)


def _instrument(d: Drawn) -> Worked:
    key = "compass" if d["term"] in COMPASS_SCENES else "gyro"
    other = "gyro" if key == "compass" else "compass"
    return Worked(
        key,
        (Wrong("errors-of-the-other-instrument", other), Wrong("errors-of-the-other-instrument", "both")),
        {"name": TERMS[d["term"]].name, "cause": TERMS[d["term"]].cause},
    )


@cache
def _moves_which(term: str) -> str:
    """Which of the two instruments is wrong in the flight of the term's first scene."""
    latitude, heading, speed, legs, aircraft = SCENES[next(iter(TERMS[term].seen))]
    flown = flown_legs(latitude, heading, speed, legs, aircraft)
    column = TERMS[term].column
    return "gyro" if column in flown.ledger and np.ptp(flown.ledger[column]) > 1.0 else "compass"


INSTRUMENT = ItemModel(
    id="terms-which-instrument",
    topic="terms",
    level="recall",
    kind="choice",
    draw=_draw_term,
    work=_instrument,
    second=lambda d: _moves_which(d["term"]),
    second_way=LEDGERS,
    words=Words(
        stem="Which instrument has {name}: the heading indicator (a free gyro), or the magnetic compass?",
        reason="It comes from {cause}: {key}.",
        feedback={"errors-of-the-other-instrument": "It comes from {cause}, so it is an error of {key}."},
        options={"gyro": "the heading indicator", "compass": "the magnetic compass", "both": "both of them"},
    ),
    source=SOURCE,
    steps=1,
)

MODELS = (NAME, CAUSE, INSTRUMENT)
