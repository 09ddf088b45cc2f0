"""Wrong ideas as wrong models: each a named change of the laws, with the sentence that mends it.

All of these are physical: they change coefficients that the kernels read. The published place holds the
right fact; where it is given as common practice, no source was found.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from lubberline.errors import InputError, nearest_of
from lubberline.simulation.laws import PHYSICS, Laws

PHYSICAL, CAUSAL, VERBAL = "physical", "causal", "verbal"


@dataclass(frozen=True)
class Misconception:
    """A wrong idea that runs.

    Attributes:
        id: a short name.
        statement: what a student would say.
        change: the fields of `Laws` that differ, with their wrong values.
        mend: the sentence that mends it.
        source: a published place with the right fact.
        kind: 'physical' (coefficients in the kernels), 'causal' (relations of the fault model) or
            'verbal' (a term given another's quantity).
    """

    id: str
    statement: str
    change: dict[str, float]
    mend: str
    source: str
    kind: str = PHYSICAL

    @property
    def laws(self) -> Laws:
        """The laws as somebody with this idea has them."""
        changed: dict[str, Any] = self.change
        return PHYSICS._replace(**changed)


HANDBOOK = "FAA-H-8083-15B, Instrument Flying Handbook, chapter 5 (from memory)"
GYRO_TEXT = "FAA-H-8083-25, Pilot's Handbook of Aeronautical Knowledge, chapter 8 (from memory)"
WANDER_TEXT = "apparent wander 15.04 sin(latitude) deg/h: any text on gyroscopic theory for pilots"
GIMBAL_PATENT = "US patent 3,870,940: gimbal error of a directional gyro by bank, pitch and spin axis"
COMPASS_TEXT = "Williams, Compass Errors (2001), equations 2 to 4"

ALL: tuple[Misconception, ...] = (
    Misconception(
        "same-wander-everywhere",
        "The heading indicator drifts 15 degrees an hour wherever you are.",
        {"earth_sine": 0.0, "earth_constant": 1.0},
        "The Earth turns under the gyro by 15 degrees an hour times the sine of the latitude: nothing at "
        "the equator, all of it at the poles.",
        WANDER_TEXT,
    ),
    Misconception(
        "no-wander-at-poles",
        "The drift is greatest at the equator and zero at the poles.",
        {"earth_sine": 0.0, "earth_cosine": 1.0},
        "It is the other way about: only the Earth's turning about the vertical moves the card, and that "
        "is all of it at the poles and none at the equator.",
        WANDER_TEXT,
    ),
    Misconception(
        "falls-in-both-hemispheres",
        "The Earth's turning makes the card read low in the southern hemisphere too.",
        {"earth_both_hemispheres": 1.0},
        "South of the equator the Earth turns the other way about the vertical, so there the card rises.",
        WANDER_TEXT,
    ),
    Misconception(
        "no-earth-wander",
        "A good heading indicator doesn't drift; drift means friction.",
        {"earth_sine": 0.0},
        "Even a perfect gyro keeps its direction in space, not over the ground, so its card drifts with "
        "the Earth's turning.",
        WANDER_TEXT,
    ),
    Misconception(
        "journey-adds-nothing",
        "Where you fly to makes no difference to the drift.",
        {"travel": 0.0},
        "Flying east or west turns your north under the gyro: by ground speed east times the tangent of "
        "the latitude over the Earth's radius.",
        "transport wander, groundspeed east x tan(latitude) / R: any text on gyroscopic theory for pilots",
    ),
    Misconception(
        "journey-the-other-way",
        "Flying east takes the Earth's drift away.",
        {"travel": -1.0},
        "Flying east adds to the Earth's own turning, flying west takes from it.",
        "transport wander, groundspeed east x tan(latitude) / R: any text on gyroscopic theory for pilots",
    ),
    Misconception(
        "bank-leaves-card-alone",
        "A bank does not change what the card reads.",
        {"geometry": 0.0},
        "Two gimbals work as a universal joint: in a bank the card departs from the true turn, most about "
        "half way between the spin axis and the line across it, and comes right with the wings level.",
        GIMBAL_PATENT,
    ),
    Misconception(
        "finds-north-by-itself",
        "The heading indicator finds north by itself, like a compass.",
        # A time constant of 2 min: clearly seen within a lesson, as the believer expects.
        {"north_seeking_per_s": 1.0 / 120.0},
        "It has no sense of north at all: it shows what you last set, less its drift.",
        GYRO_TEXT,
    ),
    Misconception(
        "more-suction-more-drift",
        "The faster the rotor spins, the more it drifts.",
        {"slow_rotor_power": -1.0},
        "The faster the rotor, the stiffer the gyro: friction moves the card less. A slow rotor drifts more.",
        HANDBOOK,
    ),
    Misconception(
        "rotor-speed-does-not-matter",
        "As long as the rotor turns at all, its speed doesn't matter.",
        {"slow_rotor_power": 0.0},
        "Friction's drift grows as the rotor slows: at half speed it is twice as much.",
        HANDBOOK,
    ),
    Misconception(
        "balance-works-everywhere",
        "Once it is balanced for the Earth's turning, that is right at every latitude.",
        {"balance_everywhere": 1.0},
        "The balance is a fixed weight, right at one latitude only; in the other hemisphere it doubles "
        "the drift instead of cancelling it.",
        WANDER_TEXT,
    ),
    Misconception(
        "balance-cancels-journey",
        "The latitude balance cancels the journey's drift as well.",
        {"balance_cancels_travel": 1.0},
        "A fixed weight knows nothing of your speed: transport wander stays.",
        "transport wander, groundspeed east x tan(latitude) / R: any text on gyroscopic theory for pilots",
    ),
    Misconception(
        "add-east-variation",
        "Variation east is added to the true heading to get magnetic.",
        {"variation_sign": -1.0},
        "East variation is taken from true to get magnetic: magnetic = true - variation, east positive.",
        GYRO_TEXT,
    ),
    Misconception(
        "set-it-in-the-turn",
        "The compass is right in a turn, so the heading indicator may be set then.",
        {"compass_turning": 0.0},
        "In a turn the dip of the field pulls the tilted card round: set the heading indicator only in "
        "straight, unaccelerated flight.",
        COMPASS_TEXT,
    ),
    Misconception(
        "levelling-does-no-harm",
        "The levelling jets only keep the gyro upright; they can't move the card.",
        {"levelling": 0.0},
        "In a long turn the jets level the gyro to the wrong plane, and a little error stays when the "
        "wings are level again; with a slow rotor, a lot.",
        "common practice, no source",
    ),
)

BY_ID = {misconception.id: misconception for misconception in ALL}


def misconception(id: str) -> Misconception:
    """The wrong idea with this id.

    Raises:
        InputError: when there is none.
    """
    if id not in BY_ID:
        raise InputError("--believe", f"there is no wrong idea '{id}'", nearest_of(id, list(BY_ID)))
    return BY_ID[id]
