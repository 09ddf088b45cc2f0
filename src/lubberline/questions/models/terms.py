"""Terms of the trade: which name belongs to which error, and what each term means."""

from functools import cache
from typing import Any

import numpy as np

from lubberline.questions.belief import Belief
from lubberline.questions.model import Draw, Drawn, ItemModel, Words, Worked, Wrong, facts
from lubberline.questions.named_errors import (
    BY_SCENE,
    COMPASS_SCENES,
    SCENES,
    SCENES_ANYWHERE,
    SEEN_SOUTH,
    SOUTH,
    TERMS,
    term_by_ledger,
)
from lubberline.questions.second_ways import flown_legs
from lubberline.questions.terms_flown import BY_DEFINITION, quantity_by_flight
from lubberline.simulation.misconceptions import QUANTITIES, VERBAL

SOURCE = "names as in FAA-H-8083-25, chapter 8, FAA-H-8083-15B, chapter 5, and texts on gyroscopic theory"
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
        stem="{phrase} is called:",
        reason="It comes from {cause}, so it is {key}.",
        feedback=dict.fromkeys(IDEA_NAMES, "This comes from {cause}, so it is {key}, not {this}."),
        options={key: term.name for key, term in TERMS.items()},
        phrases={scene: text for term in TERMS.values() for scene, text in term.seen.items()} | SEEN_SOUTH,
    ),
    source=SOURCE,
    steps=1,
    least=3,
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
    least=3,
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

MEANING_SOURCE = "FAA-H-8083-25, chapter 8, and FAA-H-8083-15B, chapter 5; texts on gyroscopic theory"
VERBAL_IDEAS = {(idea.term, idea.taken_for): idea.id for idea in VERBAL}
# The order of the options; it does not hang on their words.
IN_ORDER = (
    *("gyro-drift", "dip", "deviation", "drift-angle", "variation", "magnetic-heading", "real-wander"),
    *("apparent-wander", "transport-wander", "tumbling", "topple", "precession", "gimballing-error"),
    *("compass-heading", "turning-error", "acceleration-error"),
)
# Some texts also call drift from friction precession, so neither is offered with the other.
OFTEN_SAID: dict[str, tuple[str, ...]] = {"precession": ("real-wander",), "real-wander": ("precession",)}


def _meaning(d: Drawn) -> Worked:
    term = d["term"]
    return Worked(
        term,
        tuple(
            Wrong(VERBAL_IDEAS.get((term, other), MIXED_UP), other) for other in QUANTITIES if other != term
        ),
        {"term": QUANTITIES[term].term},
    )


MEANING = ItemModel(
    id="terms-meaning",
    topic="terms",
    level="recall",
    kind="choice",
    draw=lambda draw: {"term": draw.pick(tuple(BY_DEFINITION))},
    work=_meaning,
    second=lambda d, believed: quantity_by_flight(believed.means(d["term"])),
    second_way="an engine flight: its values by the term's own definition, compared with the table's",
    words=Words(
        stem="What does the term '{term}' mean?",
        reason="The term means {key}.",
        feedback=dict.fromkeys(
            (MIXED_UP, *(idea for (term, _), idea in VERBAL_IDEAS.items() if term in BY_DEFINITION)),
            "Here the term means {key}.",
        ),
        options={name: QUANTITIES[name].definition for name in IN_ORDER},
    ),
    source=MEANING_SOURCE,
    steps=1,
    least=3,
    also_right=lambda d: OFTEN_SAID.get(d["term"], ()),
    asks=facts("term {term}"),
)


MODELS = (NAME, CAUSE, INSTRUMENT, MEANING)
