"""What each term of the trade means: by its own definition along a flight, and in the table of quantities."""

from collections.abc import Callable
from functools import cache

import numpy as np

from lubberline.angles import wrapped_deg
from lubberline.arrays import Floats
from lubberline.flight.legs.motion import read_legs_text
from lubberline.questions.model import Drawn
from lubberline.questions.models import FULL_RPM, ItemModel, Words, Worked, Wrong, facts
from lubberline.simulation.aircraft import aircraft_from_text
from lubberline.simulation.flown import Flown, measured
from lubberline.simulation.flying import fly
from lubberline.simulation.misconceptions import QUANTITIES, VERBAL

DEVIATION_B_DEG, REAL_DEG_15MIN, AXIS_DEG = 5.0, 3.0, 100.0
LEGS = """
title = "all terms at once"
start_utc = 2026-06-21T09:00:00Z
latitude_deg = 56.0
longitude_deg = 24.0
altitude_ft = 3000
heading_deg = 60
airspeed_kt = 120
wind_from_deg = 320
wind_kt = 25
[[leg]]
kind = "straight"
minutes = 4
[[leg]]
kind = "turn"
by_deg = 400
bank_deg = 40
[[leg]]
kind = "accelerate"
to_kt = 150
at_g = 0.1
[[leg]]
kind = "straight"
minutes = 4
"""
AIRCRAFT = f"""
[heading_indicator]
random_wander_deg_15min = 0.0
real_wander_deg_15min = {REAL_DEG_15MIN}
spin_axis_deg = {AXIS_DEG}
balance_latitude_deg = 35
[compass]
deviation_b_deg = {DEVIATION_B_DEG}
"""


@cache
def _flown() -> Flown:
    return fly(read_legs_text("terms", LEGS), aircraft_from_text("terms", AIRCRAFT), set_from="truth")


# Each term by its own definition, from the raw columns of a flight and not from the table of measures.
BY_DEFINITION: dict[str, Callable[[Flown], Floats]] = {
    "variation": lambda f: wrapped_deg(f.trace["true_heading_deg"] - f.trace["magnetic_heading_deg"]),
    "deviation": lambda f: DEVIATION_B_DEG * np.sin(np.radians(f.trace["compass_deg"])),
    "magnetic-heading": lambda f: (f.trace["true_heading_deg"] - f.trace["variation_deg"]) % 360.0,
    "compass-heading": lambda f: (f.trace["magnetic_heading_deg"] + f.trace["compass_error_deg"]) % 360.0,
    "drift-angle": lambda f: wrapped_deg(f.trace["track_deg"] - f.trace["true_heading_deg"]),
    "gyro-drift": lambda f: wrapped_deg(f.trace["indicated_heading_deg"] - f.trace["magnetic_heading_deg"]),
    "apparent-wander": lambda f: _apparent(f),
    "transport-wander": lambda f: _transport(f),
    "topple": lambda f: f.trace["housing_tilt_deg"],
    "dip": lambda f: np.degrees(np.arctan(2.0 * np.tan(np.radians(f.trace["latitude_deg"])))),
    "real-wander": lambda f: _summed(REAL_DEG_15MIN / 900.0 * FULL_RPM / f.trace["rotor_rpm"]),
    "precession": lambda f: _precession(f),
    "turning-error": lambda f: _turning(f),
    "gimballing-error": lambda f: _gimballing(f),
}


def _summed(rate_deg_s: Floats) -> Floats:
    return np.concatenate(([0.0], np.cumsum(0.5 * (rate_deg_s[1:] + rate_deg_s[:-1]))))


def _apparent(flown: Flown) -> Floats:
    return _summed(-15.041067 / 3600.0 * np.sin(np.radians(flown.trace["latitude_deg"])))


def _transport(flown: Flown) -> Floats:
    latitude = np.radians(flown.trace["latitude_deg"])
    east_kt = flown.trace["groundspeed_kt"] * np.sin(np.radians(flown.trace["track_deg"]))
    return _summed(-east_kt / 60.0 / 3600.0 * np.tan(latitude))


def _precession(flown: Flown) -> Floats:
    """The card's drift less everything that no torque causes."""
    drift = BY_DEFINITION["gyro-drift"](flown)
    rest = _apparent(flown) + _transport(flown) + _gimballing(flown)
    left: Floats = drift - rest - flown.ledger["variation_change_deg"]
    return left


def _turning(flown: Flown) -> Floats:
    """Williams, Compass Errors (2001), equation 2, with the dip of a dipole field."""
    nose, bank = np.radians(flown.trace["magnetic_heading_deg"]), np.radians(flown.trace["bank_deg"])
    pull = 2.0 * np.tan(np.radians(flown.trace["latitude_deg"])) * np.sin(bank)
    shown = np.degrees(np.arctan2(np.sin(nose) * np.cos(bank) - pull, np.cos(nose)))
    return wrapped_deg(shown - flown.trace["magnetic_heading_deg"])


def _gimballing(flown: Flown) -> Floats:
    """The universal joint, from the spin axis that the flight began with."""
    angle = np.radians(flown.trace["true_heading_deg"] - AXIS_DEG)
    pitch, bank = np.radians(flown.trace["pitch_deg"]), np.radians(flown.trace["bank_deg"])
    across = np.sin(bank) * np.sin(pitch) * np.cos(angle) + np.cos(bank) * np.sin(angle)
    return wrapped_deg(np.degrees(np.arctan2(across, np.cos(pitch) * np.cos(angle)) - angle))


@cache
def quantity_by_flight(term: str) -> str:
    """The quantity of the table whose values along a flight match the term's definition."""
    flown = _flown()
    wanted = BY_DEFINITION[term](flown)
    away = {name: float(np.abs(measured(name, flown) - wanted).mean()) for name in QUANTITIES}
    return min(away, key=lambda name: away[name])


MIXED_UP = "name-of-another-error"
MEANING_SOURCE = "FAA-H-8083-25C, chapter 8; FAA-H-8083-15B, chapter 5; AFPAM 11-216 (2001), section 14.18"
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
    most=2,
    also_right=lambda d: OFTEN_SAID.get(d["term"], ()),
    asks=facts("term {term}"),
)

MODELS = (MEANING,)
